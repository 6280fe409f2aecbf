"""A trace on paper: where it came from, where it went, what shares a cause with it.

Made so that a vet or an inspector can act on it: times, quantities, people, the entry
behind every line, what is held, and who was told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from typing import Final, NamedTuple

from hygiene.acts import trace_beside as sideways
from hygiene.acts import trace_told as told
from hygiene.acts.subject import subject_of
from hygiene.acts.trace import Trace
from hygiene.acts.trace import trace as follow
from hygiene.book.record import Record
from hygiene.farm.in_force import in_force
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.moments import day_span, moment_of
from hygiene.reports.figures import Figure
from hygiene.reports.frame import Frame, Who, frame_of, who
from hygiene.reports.lineage_figure import Label, lineage_figure
from hygiene.reports.lines import Line, line
from hygiene.reports.period import Period, plain_day
from hygiene.reports.reading import Matter, Reading
from hygiene.reports.stories import Action, action_of
from hygiene.reports.words import count
from hygiene.rota.schedule import read_rota
from hygiene.tracing.batches import Batch
from hygiene.tracing.lineage import Link, Node

TOLD: Final = ("mould", "ill", "hold", "assess", "notify")
"""What has a line of its own among what was found, held and told."""
IN_STEPS: Final = ("action", "recheck", "close", "release")
"""What is told with the action or the hold that it ends."""
URGENT: Final = ("MOULD", "HELD", "SICK", "NOT TOLD", "STILL GROWING")
OVER: Final = "over"
WORDS: Final = {"ill": "sick", "notify": "told", "assess": "assessed"}
LAW: Final = (
    "Part of a batch that is unsafe makes all of it unsafe until it is assessed "
    "(178/2002 Article 15(3), from memory). What came from whom, and what went to "
    "whom, is shown on demand (Article 18(2) and (3)).",
    "No visible mould and a good appetite clear nothing, and no limit in law covers "
    "the toxins of mouldy sprouts: the vet says what happens to animals and milk.",
)


class Gathered(NamedTuple):
    """What the page is made from."""

    trace: Trace
    reading: Reading


class Row(NamedTuple):
    """A step of the material: its depth in the tree, what, when, by whom, its entry."""

    depth: int
    text: str
    when: str
    by: str
    entry: str
    struck: bool
    again: bool


class Beside(NamedTuple):
    """A batch one step sideways, or several that are over and share the same."""

    codes: tuple[str, ...]
    state: str
    fate: str
    shares: str


class Page(NamedTuple):
    """The trace as values; ``report_templates/trace.html`` lays it out."""

    frame: Frame
    summary: tuple[tuple[bool, str], ...]
    to_hold: tuple[str, ...]
    figure: Figure | None
    back: tuple[Row, ...]
    forward: tuple[Row, ...]
    asked_beside: bool
    beside: tuple[Beside, ...]
    actions: tuple[Action, ...]
    told: tuple[Line, ...]
    others: tuple[Line, ...]
    ring: tuple[tuple[str, str, str], ...]
    law: tuple[str, ...]
    evidence: int
    who: tuple[Who, ...]


def gather(
    record: Record, period: Period, printed_at: datetime, subject: str
) -> Gathered:
    """Follow the subject, on or over the days that were asked for."""
    setup = record.setup()
    zone = in_force(setup, printed_at).zone
    _, end = day_span(period.first, period.last, zone)
    farm = in_force(setup, min(end, printed_at))
    days: tuple[date | None, date | None] = (period.first, period.last)
    if subject.strip().upper() in {c.upper() for c in farm.things("supplier")}:
        days = days if period.first != period.last else (None, None)
    meant = subject_of(record, farm, subject, printed_at, *days)
    made = follow(record, setup, meant, printed_at)
    return Gathered(made, _reading(record, setup, made, printed_at))


def _reading(
    record: Record, setup: list[Entry], trace: Trace, printed_at: datetime
) -> Reading:
    """The evidence as matters, each with all that corrected or struck it."""
    firsts = dict.fromkeys(entry.first for entry in trace.entries)
    changed = {e.first for e in trace.entries if e.name in trace.superseded}
    by_name = {entry.name: entry for entry in trace.entries}
    matters = [
        Matter(tuple(record.history(first)))
        if first in changed or first not in by_name
        else Matter((by_name[first],))
        for first in firsts
    ]
    moments = [
        moment_of(m.said.happened_at).astimezone(trace.farm.zone) for m in matters
    ]
    days = [moment.date() for moment in moments] or [printed_at.date()]
    return Reading(
        Period(min(days), max(days)),
        printed_at,
        trace.farm,
        read_rota(setup),
        tuple(matters),
        tuple(record.heads()),
        trace.demonstration,
    )


def page(gathered: Gathered) -> Page:
    """The values of the page."""
    trace, reading = gathered
    actions = tuple(action_of(reading, m) for m in reading.of_kind("action"))
    shown = {link.entry for link in _links(trace)}
    return Page(
        frame=_frame(trace, reading),
        summary=tuple(_summary(trace)),
        to_hold=tuple(
            f"{each.code} grows, is not held, and shares {each.shares}"
            for each in sideways.to_hold(trace)
        ),
        figure=lineage_figure(_links(trace), _labels(trace), list(_words(trace))),
        back=tuple(_rows(trace, told.back_tree(trace))),
        forward=tuple(_rows(trace, told.forward_tree(trace))),
        asked_beside=bool(trace.subject.batches),
        beside=tuple(_beside(trace)),
        actions=actions,
        told=tuple(_line(reading, m) for m in reading.of_kind(*TOLD)),
        others=tuple(
            line(reading, matter)
            for matter in reading.matters
            if matter.first.kind not in (*TOLD, *IN_STEPS)
            and not {version.name for version in matter.history} & shown
        ),
        ring=tuple(_ring(trace)),
        law=LAW,
        evidence=len(trace.entries),
        who=tuple(who(trace.farm, _signers(trace.entries))),
    )


def _summary(trace: Trace) -> Iterator[tuple[bool, str]]:
    """The first things to know, and whether they are urgent."""
    if not trace.in_danger:
        yield False, "Nothing of it is held, and no mould was found in it."
    for sentence in told.glance(trace):
        if not sentence.startswith("NOT HELD"):
            yield sentence.startswith(URGENT), sentence


def _line(reading: Reading, matter: Matter) -> Line:
    made = line(reading, matter)
    return made._replace(what=WORDS.get(matter.said.kind, made.what))


def _frame(trace: Trace, reading: Reading) -> Frame:
    title = told.title(trace)
    at = trace.made_at
    return frame_of(reading, "Trace")._replace(
        period=title[:1].upper() + title[1:],
        period_words=f"as the record stood on {plain_day(at.date())}, {at:%H:%M}",
    )


def _links(trace: Trace) -> list[Link]:
    return list(dict.fromkeys((*trace.back, *trace.forward)))


def _rows(trace: Trace, roots: Iterable[told.Root]) -> Iterator[Row]:
    for root in roots:
        yield Row(0, root.text, "", "", "", False, False)
        yield from _steps(trace, root.steps, 1)


def _steps(trace: Trace, steps: Sequence[told.Step], depth: int) -> Iterator[Row]:
    for step in steps:
        gives = step.link.how == "gives"
        yield Row(
            depth,
            step.text,
            "" if gives else told.when(trace, step.link),
            "" if gives else step.by,
            "" if gives else step.link.entry,
            not step.link.stands,
            step.again,
        )
        yield from _steps(trace, step.steps, depth + 1)


def _beside(trace: Trace) -> Iterator[Beside]:
    """One row a batch; those that are over and share just the same stand in one row.

    A can of sanitiser is drawn from for months: a row a batch would fill pages.
    """
    alike: dict[tuple[str, str], list[sideways.Neighbour]] = {}
    for each in sideways.neighbours(trace):
        state = _state(trace, each)
        alone = "" if state == OVER else each.code
        shares = ", ".join(map(str, each.shares))
        alike.setdefault((state, alone + "\n" + shares), []).append(each)
    for (state, key), found in alike.items():
        codes = tuple(each.code for each in found)
        what = sideways.fate(*(each.batch for each in found))
        yield Beside(codes, state, what, key.partition("\n")[2])


def _state(trace: Trace, each: sideways.Neighbour) -> str:
    state = OVER
    if each.growing:
        day = each.batch.day(trace.made_at.date(), trace.farm.zone)
        state = f"day {day}, {'held' if each.held else 'NOT HELD'}"
    return f"{state}, MOULD" if each.mould else state


def _ring(trace: Trace) -> Iterator[tuple[str, str, str]]:
    """Whom to ring: the farm's own numbers, and whoever supplied it or got it."""
    for row in rows_of(trace.farm.farm or {}, "contacts"):
        if row.get("role") in ("vet", "authority", "laboratory"):
            number = row.get("telephone") or row.get("email") or "no number"
            yield str(row.get("role")), str(row.get("name")), str(number)
    traders = dict.fromkeys(
        node
        for link in _links(trace)
        for node in (link.source, link.target)
        if node.sort in ("supplier", "buyer")
    )
    for node in traders:
        body = trace.described(node.sort, node.code)
        number = str(body.get("telephone") or "no number")
        yield (
            node.sort,
            f"{body.get('name') or node.code}, {body.get('address')}",
            number,
        )


def _signers(entries: Iterable[Entry]) -> set[str]:
    return {c for e in entries for c in (e.by, e.written_by) if c and c != "hygiene"}


def _labels(trace: Trace) -> dict[Node, Label]:
    nodes = {node for link in _links(trace) for node in (link.source, link.target)}
    return {node: _label(trace, node) for node in nodes}


def _label(trace: Trace, node: Node) -> Label:
    match node.sort:
        case "batch":
            return _batch_label(trace, node.code)
        case "supplier" | "buyer":
            body = trace.described(node.sort, node.code)
            return Label(node.code, str(body.get("name") or ""))
        case "animals":
            body = trace.described("animals", node.code)
            return Label(node.code, f"{body.get('head')} {body.get('species')}")
        case "lot":
            lot = trace.lots.get(node.code)
            left = f"{told.kg(lot.in_store_grams)} in store" if lot else "seed"
            return Label(node.code, left)
        case "dose":
            return Label(told.describe(trace, node), f"wash {node.code}")
        case "waste":
            return Label("thrown away", node.code)
        case "sample":
            return Label("sample kept", node.code)
        case "produce":
            return Label(node.code.partition(" of ")[0], node.code)
    return Label(node.code, node.sort)


def _batch_label(trace: Trace, code: str) -> Label:
    batch: Batch | None = trace.batches.get(code)
    mould, held = bool(trace.moulds.get(code)), bool(trace.stops.get(code))
    if batch is None:
        return Label(code, "sowing ruled through", "▲", heavy=True)
    sown = batch.sown.astimezone(trace.farm.zone)
    said = "mould" if mould else "held" if held else count(len(batch.trays), "tray")
    return Label(
        code,
        f"{sown.day} {sown:%b}, {said}",
        "▲" if mould or held else "",
        open=bool(batch.growing),
        heavy=mould or held,
    )


def _words(trace: Trace) -> Iterator[str]:
    """Every link of the drawing as a sentence."""
    for link in _links(trace):
        source, target = (f"{n.sort} {n.code}" for n in (link.source, link.target))
        weight = f", {told.kg(link.grams)}" if link.grams else ""
        gone = "" if link.stands else ", no longer stands"
        yield f"{source} to {target}: {link.how}{weight}{gone}."
