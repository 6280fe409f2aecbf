"""``hygiene causes``: what mouldy batches share, and what that can and cannot show.

``--json`` writes ``from``, ``to``, ``sowings``, ``mouldy_sowings``, ``trays``,
``mouldy_trays``, ``not_known``, ``questions``, ``ranked``, ``stretches``,
``not_asked``, ``reach``, ``chart``, ``unclear``, ``not_by_tray``, ``young``, ``says``
and ``hint``.
"""

from __future__ import annotations

import dataclasses
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import Annotated, Any

import typer

from hygiene.acts.causes import Gathered, gather
from hygiene.acts.subject import in_days
from hygiene.cli.desk import AsJson, LastDay, RecordPath, reading, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import columns
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import day_span, typed_day
from hygiene.tracing.causes import (
    HINT,
    LEVEL,
    Causes,
    Finding,
    find_causes,
)
from hygiene.tracing.gaps import Gap, GapChart

app = one_command()

A_YEAR = timedelta(days=364)
WIDTH = 79
A_FEW = 5
"""Questions that are listed though nothing stands out in them."""
LONGEST_BAR = 44
LATEST = 16
"""Finds that are drawn; the earlier ones are in --json."""


class Backwards(WronglyPut):
    """A stretch of days that ends before it begins."""

    sentence = "--to {last} lies before --from {first}"


@app.command()
def causes(
    ctx: typer.Context,
    first: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="DATE", help="First day of sowing (else a year)."
        ),
    ] = None,
    last: LastDay = None,
    people: Annotated[
        bool, typer.Option("--people", help="Also by who sowed; never in a report.")
    ] = False,
    every: Annotated[
        bool, typer.Option("--all", help="List every question that was asked.")
    ] = False,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Rank what mouldy batches and trays share. A hint where to look, never proof.

    Exit code 3 says that something stands out.

    Example: hygiene causes --from 2026-01-01 --to 2026-06-30
    """
    with reading(ctx, record) as desk:
        today = desk.now.date()
        until = typed_day(last, today) if last else today
        since = typed_day(first, today) if first else until - A_YEAR
        if until < since:
            raise Backwards(first=since, last=until)
        span = day_span(since, until, desk.farm.zone)
        found = gather(desk.record, desk.setup, *span, desk.now)
    made = find_causes(found.sowings, with_people=people)
    if as_json:
        show_json(causes_json(made, found, since, until))
    else:
        for line in _page(made, found, (since, until), every=every):
            print(line)
    if made.stretches or any(finding.stands_out for finding in made.ranked):
        raise typer.Exit(3)


def _page(
    made: Causes, found: Gathered, days: tuple[date, date], *, every: bool
) -> Iterator[str]:
    yield f"CAUSES   what was sown {in_days(*days)}, both days included"
    yield from _wrapped(made.sentence, "")
    yield from _left_out(made, found)
    yield from _ranked(made, every=every)
    yield from _stretches(made)
    yield from _chart(made.chart)
    yield from _reach(made)
    yield ""
    yield HINT


def _left_out(made: Causes, found: Gathered) -> Iterator[str]:
    if made.not_known:
        yield from _wrapped(
            f"Not counted, since nobody can know: {made.not_known} sowings that grow, "
            "were thrown away as a precaution, or were fed before their last day.",
            "",
        )
    if found.young:
        yield from _wrapped(
            "Fed or sent before their last day, wholly or in part: "
            f"{_few(found.young)}.",
            "",
        )
    if found.unclear:
        yield from _wrapped(
            "Mould was found on a rack where several batches stood, and in which is "
            f"not written: {_few(found.unclear)}. Name the batch: hygiene mould BATCH.",
            "",
        )
    if found.by_batch:
        yield from _wrapped(
            "Which trays bore it is not written, so they are judged as a whole: "
            f"{_few(found.by_batch)}. Name them: hygiene mould BATCH --trays TRAYS.",
            "",
        )


def _few(codes: Sequence[str]) -> str:
    if len(codes) <= A_FEW:
        return ", ".join(codes)
    return f"{', '.join(codes[:A_FEW])} and {len(codes) - A_FEW} more"


def _ranked(made: Causes, *, every: bool) -> Iterator[str]:
    out = [each for each in made.ranked if each.stands_out]
    rest = [each for each in made.ranked if not each.stands_out]
    yield ""
    yield f"STANDS OUT, of {made.questions} questions that could have shown something"
    for each in out:
        yield from _finding(each)
    if not out:
        yield "  nothing"
    shown = rest if every else rest[:A_FEW]
    if shown:
        yield ""
        yield "THE NEXT ONES: chance may well do this"
    for each in shown:
        yield from _finding(each)
    if len(rest) > len(shown):
        yield f"  and {len(rest) - len(shown)} more: --all lists them"


def _finding(each: Finding) -> Iterator[str]:
    yield from _wrapped(f"{each.sentence} (p {_p(each.corrected_p)})", "  ")
    if each.same:
        yield from _wrapped(
            f"the very same {each.unit}s: {', '.join(each.same)}", "    "
        )
    if each.changed:
        yield from _wrapped(f"changed with it: {'; '.join(each.changed)}", "    ")


def _p(p: float) -> str:
    """A corrected chance, to one figure that matters."""
    return "below 0.0001" if p < 0.0001 else f"{min(p, 1):.2g}"


def _stretches(made: Causes) -> Iterator[str]:
    if made.stretches:
        yield ""
        yield "DAYS WITH MORE MOULD than the rest, which had something to themselves"
    for each in made.stretches:
        yield from _wrapped(f"{each.sentence} (p {_p(each.corrected_p)})", "  ")
        if each.changed:
            yield from _wrapped(f"changed with it: {'; '.join(each.changed)}", "    ")


def _chart(chart: GapChart) -> Iterator[str]:
    yield ""
    yield "SOWINGS BETWEEN FINDS"
    yield from _wrapped(chart.sentence, "  ")
    if not chart.gaps or chart.limits is None:
        return
    shown = chart.gaps[-LATEST:]
    longest = max([gap.sowings for gap in shown] + [chart.since_last])
    scale = LONGEST_BAR / max(longest, LONGEST_BAR)
    for gap in shown:
        yield _bar(gap, scale)
    now = max(round(chart.since_last * scale), 0)
    yield f"  since the last    {'.' * now} {chart.since_last}"


def _bar(gap: Gap, scale: float) -> str:
    bar = "#" * max(round(gap.sowings * scale), 1)
    outside = f"  {gap.outside.upper()}" if gap.outside else ""
    return f"  {gap.sown:%d %b} {gap.code:<11}{bar} {gap.sowings}{outside}"


def _reach(made: Causes) -> Iterator[str]:
    yield ""
    yield "WHAT SO MANY SOWINGS CAN SHOW"
    told: dict[str, list[str]] = {}
    for each in made.reach:
        factor, _, sentence = each.sentence.partition(": ")
        told.setdefault(sentence, []).append(factor)
    for sentence, factors in told.items():
        yield from _wrapped(f"{', '.join(factors)}: {sentence}", "  ")
    reasons: dict[str, list[str]] = {}
    for left in made.not_asked:
        reasons.setdefault(left.why, []).append(f"{left.questions} of {left.factor}")
    for why, which in reasons.items():
        yield from _wrapped(f"Not asked: {', '.join(which)}: {why}.", "  ")
    if not made.reach and not made.not_asked:
        yield "  nothing: there is no sowing with mould and one without"


def _wrapped(text: str, start: str) -> list[str]:
    return textwrap.wrap(
        text,
        columns(WIDTH),
        initial_indent=start,
        subsequent_indent=f"{start}  " if start else "",
        break_on_hyphens=False,
    )


def causes_json(
    made: Causes, found: Gathered, first: date, last: date
) -> dict[str, Any]:
    """The answer under keys that stay put; see the head of this module."""
    return {
        "from": first,
        "to": last,
        **dataclasses.asdict(made.year),
        "not_known": made.not_known,
        "level": LEVEL,
        "questions": made.questions,
        "ranked": [
            {**dataclasses.asdict(each), "stands_out": each.stands_out}
            for each in made.ranked
        ],
        "stretches": _plain(made.stretches),
        "not_asked": _plain(made.not_asked),
        "reach": _plain(made.reach),
        "chart": {
            "gaps": _plain(made.chart.gaps),
            "limits": made.chart.limits._asdict() if made.chart.limits else None,
            "since_last": made.chart.since_last,
            "says": made.chart.sentence,
        },
        "unclear": list(found.unclear),
        "not_by_tray": list(found.by_batch),
        "young": list(found.young),
        "says": made.sentence,
        "hint": HINT,
    }


def _plain(items: Iterable[Any]) -> list[dict[str, Any]]:
    return [dataclasses.asdict(item) for item in items]
