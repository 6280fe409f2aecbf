"""``hygiene trace``: from any code or find, both ways and one step sideways.

``--json`` writes ``subject``, ``at``, ``batches``, ``back`` and ``forward`` (links),
``sideways``, ``got`` (who got how much), ``answers`` (finds, holds, actions, who was
told), ``entries`` (the evidence, with its moments) and ``looked_up``. A link has
``from`` and ``to`` (``sort``, ``code``), ``how``, ``at``, ``by``, ``entry``,
``grams``, ``trays`` and ``stands``.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Annotated, Any

import typer

from hygiene.acts import trace_beside as sideways
from hygiene.acts import trace_told as told
from hygiene.acts.subject import Subject, subject_of
from hygiene.acts.trace import Trace
from hygiene.acts.trace import trace as follow
from hygiene.cli.desk import (
    AsJson,
    Desk,
    FirstDay,
    LastDay,
    NotYet,
    RecordPath,
    reading,
    show_json,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import columns
from hygiene.errors import WronglyPut
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.moments import day_span, typed_day
from hygiene.kinds.words import gist
from hygiene.tracing.lineage import Link, Node

app = one_command()

WIDTH = 79
A_FEW = 6


class OneOrTheOther(WronglyPut):
    """A day and a stretch of days at once, or a stretch that runs backwards."""

    sentence = "{what}"


@app.command()
def trace(
    ctx: typer.Context,
    code: Annotated[
        str,
        typer.Argument(
            metavar="CODE|ENTRY",
            help="Lot, supplier, batch, tray, group, buyer, container, line, rack, "
            "room, or an entry such as shed-k7q2/811.",
        ),
    ],
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="The day (else today)."),
    ] = None,
    first: FirstDay = None,
    last: LastDay = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Follow seed, batch, tray, animals or sanitiser back, forward and sideways.

    A tray, a group, a line or a rack needs a day: --on, or --from and --to. Exit
    code 3 says that something of it is held, bore mould, or ought to be held.

    Example: hygiene trace T004 --on 2026-03-09
    """
    with reading(ctx, record) as desk:
        found = traced(desk, code, on, first, last)
    if as_json:
        show_json(trace_json(found))
    else:
        for line in _page(found):
            print(line)
    if found.in_danger or sideways.to_hold(found):
        raise typer.Exit(3)


def traced(
    desk: Desk, code: str, on: str | None, first: str | None, last: str | None
) -> Trace:
    """The trace of a code or entry, on a day or over days as they were typed."""
    since, until = _days(desk, on, first, last)
    subject = _subject(desk, code, since, until)
    return follow(desk.record, desk.setup, subject, desk.now)


def _subject(desk: Desk, code: str, first: date | None, last: date | None) -> Subject:
    """What a code means, by the farm file of those days; else by that of today."""
    farm = desk.farm
    if last is not None:
        _, end = day_span(last, last, desk.farm.zone)
        farm = desk.farm_at(min(end, desk.now))
    return subject_of(desk.record, farm, code, desk.now, first, last)


def _days(
    desk: Desk, on: str | None, first: str | None, last: str | None
) -> tuple[date | None, date | None]:
    today = desk.now.date()
    if on and (first or last):
        raise OneOrTheOther(what="say --on DATE, or --from and --to, not both")
    start, end = on or first, on or last
    since = typed_day(start, today) if start else None
    until = typed_day(end, today) if end else None
    if since is not None and until is None:
        until = today
    if since is not None and until is not None and until < since:
        raise OneOrTheOther(what=f"--to {until} lies before --from {since}")
    if since is not None and since > today:
        raise NotYet(given=f"{since}", now=f"{today}")
    return since, until


def _page(trace: Trace) -> Iterator[str]:
    made = trace.made_at
    yield from _wrapped(f"TRACE   {told.title(trace)}", "")
    yield f"        as the record stood on {made.day} {made:%B %Y, %H:%M}"
    if trace.demonstration:
        yield "DEMONSTRATION RECORD: an invented farm, nothing here is real."
    for sentence in told.glance(trace):
        yield from _wrapped(sentence, "! ")
    yield ""
    yield "WHERE IT CAME FROM"
    yield from _tree(trace, told.back_tree(trace), "the record begins here")
    yield ""
    yield "WHERE IT WENT"
    yield from _tree(trace, told.forward_tree(trace), "nothing has left yet")
    yield from _sideways(trace)
    yield from _answers(trace)
    yield ""
    yield from _next(trace)


def _wrapped(text: str, start: str, more: str | None = None) -> list[str]:
    indent = " " * len(start) if more is None else more
    return textwrap.wrap(
        text,
        columns(WIDTH),
        initial_indent=start,
        subsequent_indent=indent + "  ",
        break_on_hyphens=False,
    )


def _tree(trace: Trace, roots: Sequence[told.Root], none: str) -> Iterator[str]:
    for root in roots:
        yield from _wrapped(root.text, "  ")
        if not root.steps:
            yield f"  `- {none}"
        yield from _steps(trace, root.steps, "  ")


def _steps(trace: Trace, steps: Sequence[told.Step], before: str) -> Iterator[str]:
    for place, step in enumerate(steps, 1):
        last = place == len(steps)
        head, more = f"{before}{'`' if last else '|'}- ", before + " |"[not last] + "  "
        inner = f"{more}|" if step.steps else more
        yield from _wrapped(_step(trace, step), head, inner)
        yield from _steps(trace, step.steps, more)


def _step(trace: Trace, step: told.Step) -> str:
    link = step.link
    said = "" if link.stands else " [put right or ruled through since]"
    again = " (as above)" if step.again else ""
    if link.how == "gives":
        return f"{step.text}{again}"
    by = f" {step.by}" if step.by else ""
    return f"{step.text}; {told.when(trace, link)}{by} ({link.entry}){said}{again}"


def _sideways(trace: Trace) -> Iterator[str]:
    if not trace.subject.batches:
        return
    yield ""
    yield "ONE STEP SIDEWAYS: what shares a cause with it"
    found = sideways.neighbours(trace)
    growing = [each for each in found if each.growing]
    for each in growing:
        yield from _wrapped(_neighbour(trace, each), "  ")
    yield from _over([each for each in found if not each.growing])
    if not found:
        yield "  nothing that is written down"


def _neighbour(trace: Trace, each: sideways.Neighbour) -> str:
    day = each.batch.day(trace.made_at.date(), trace.farm.zone)
    state = "held" if each.held else "NOT HELD"
    mould = ", MOULD" if each.mould else ""
    shares = ", ".join(map(str, each.shares))
    return f"{each.code}  day {day}, {each.fate}, {state}{mould}; shares {shares}"


def _over(over: Sequence[sideways.Neighbour]) -> Iterator[str]:
    """Batches that are over, by what they share; those with mould by name."""
    if not over:
        return
    yield f"  Over by now (fed, sent or thrown away): {len(over)}, by what they share"
    by_share: dict[str, list[sideways.Neighbour]] = {}
    for each in over:
        for share in each.shares:
            by_share.setdefault(str(share), []).append(each)
    for what, members in by_share.items():
        codes = [each.code for each in members]
        few = ", ".join(codes[:A_FEW])
        rest = f" and {len(codes) - A_FEW} more" if len(codes) > A_FEW else ""
        yield from _wrapped(f"{what}: {few}{rest}", "    ")
    bad = [each.code for each in over if each.mould]
    if bad:
        yield from _wrapped(f"MOULD was found in {', '.join(bad)}", "    ")


def _answers(trace: Trace) -> Iterator[str]:
    found = told.answers(trace)
    if not found:
        return
    yield ""
    yield "WHAT WAS FOUND, DONE AND TOLD"
    for entry in found:
        yield from _wrapped(_answer(trace, entry), "  ")


def _answer(trace: Trace, entry: Entry) -> str:
    gone = " [no longer stands]" if entry.name in trace.superseded else ""
    kind = entry.kind.replace("_", " ")
    return (
        f"{told.when(trace, entry)} {entry.by} {kind}: {gist(entry)}{gone} "
        f"({entry.name})"
    )


def _next(trace: Trace) -> Iterator[str]:
    wanted = sideways.to_hold(trace)
    if wanted:
        yield "To hold what shares a cause with the mould, as a precaution:"
    for each in wanted:
        yield f"  hygiene hold {each.code} --sort batch --why precaution \\"
        yield f'    --because {each.because} --shares "{each.shares}"'
    yield f"{len(trace.entries)} entries are its evidence; see one: hygiene show ENTRY"
    days = _typed_days(trace.subject)
    yield f"On paper: hygiene report trace {_named(trace.subject)}{days}"


def _named(subject: Subject) -> str:
    return subject.entry.name if subject.entry else subject.code


def _typed_days(subject: Subject) -> str:
    if subject.entry or subject.first is None or subject.last is None:
        return ""
    if subject.first == subject.last:
        return f" --on {subject.first}"
    return f" --from {subject.first} --to {subject.last}"


def trace_json(trace: Trace) -> dict[str, Any]:
    """The trace under keys that stay put; see the head of this module."""
    subject = trace.subject
    by = {entry.name: entry.by for entry in (*trace.entries, *trace.others)}
    return {
        "subject": {
            "sort": subject.sort,
            "code": subject.code,
            "from": subject.first,
            "to": subject.last,
            "entry": subject.entry.name if subject.entry else None,
            "batches": list(subject.batches),
        },
        "at": trace.made_at,
        "demonstration": trace.demonstration,
        "batches": [_batch(trace, code) for code in trace.flow],
        "back": [_link(link, by) for link in trace.back],
        "forward": [_link(link, by) for link in trace.forward],
        "sideways": [
            {
                "batch": row.beside.code,
                "of": row.of,
                "shares": [share._asdict() for share in row.beside.shares],
                **_state(trace, row.beside.code),
            }
            for row in trace.sideways
        ],
        "got": [
            {**_node(got.node), "grams": got.grams, "grams_struck": got.struck_grams}
            for got in told.who_got(trace)
        ],
        "answers": [_entry(trace, entry) for entry in told.answers(trace)],
        "entries": [_entry(trace, entry) for entry in trace.entries],
        "looked_up": {
            **trace.cost._asdict(),
            "found": len(trace.entries) + len(trace.others),
        },
    }


def _batch(trace: Trace, code: str) -> dict[str, Any]:
    batch = trace.batches.get(code)
    if batch is None:
        return {"batch": code, "stands": False, **_state(trace, code)}
    return {
        "batch": code,
        "stands": True,
        "entry": batch.sow.name,
        "sown": batch.sown,
        "by": batch.sow.by,
        "lots": [{"lot": lot, "grams": grams} for lot, grams in batch.seeds],
        "line": batch.line,
        "trays": list(batch.trays),
        "marks": list(items(batch.sow, "marks")),
        **_state(trace, code),
    }


def _state(trace: Trace, code: str) -> dict[str, Any]:
    batch = trace.batches.get(code)
    ended = {how: list(batch.ended(how)) for how in sideways.FATES[1:]} if batch else {}
    return {
        "growing": list(batch.growing) if batch else [],
        **ended,
        "held": [
            {"entry": stop.entry, "why": stop.why, "trays": sorted(stop.trays)}
            for stop in trace.stops.get(code, ())
        ],
        "mould": list(dict.fromkeys(m.first for m in trace.moulds.get(code, ()))),
    }


def _node(node: Node) -> dict[str, str]:
    return {"sort": node.sort, "code": node.code}


def _link(link: Link, by: dict[str, str]) -> dict[str, Any]:
    return {
        "from": _node(link.source),
        "to": _node(link.target),
        "how": link.how,
        "at": link.at,
        "by": by.get(link.entry),
        "entry": link.entry,
        "grams": link.grams,
        "trays": list(link.trays),
        "stands": link.stands,
    }


def _entry(trace: Trace, entry: Entry) -> dict[str, Any]:
    return {
        "entry": entry.name,
        "kind": entry.kind,
        "happened_at": entry.happened_at,
        "by": entry.by,
        "says": gist(entry),
        "stands": entry.name not in trace.superseded,
    }
