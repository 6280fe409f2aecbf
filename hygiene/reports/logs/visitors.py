"""Visitors and accidents: who came in and what they did first, and who was hurt.

An accident stands here since nothing else holds it, and an inspector of safety asks for
it by this name.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Final, NamedTuple

from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, rows_of
from hygiene.reports.logs import page as log
from hygiene.reports.logs.rounds import (
    rounds,
    rounds_counted,
    rounds_silent,
    rounds_told,
    with_rounds,
)
from hygiene.reports.logs.told import (
    Told,
    against,
    clock_of,
    marks_of,
    open_or_closed,
    told,
)
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, read_only
from hygiene.reports.words import count, plain
from hygiene.rota.day import State
from hygiene.rota.schedule import Task

KINDS: Final = ("visitor", "accident")
COUNTED_IN: Final = "people"
"""The unit of a step that counts who came in."""
HEADS: Final = (
    "Who", "From", "Why", "Where", "Hands", "Boots", "Well", "With", "Left", "Verdict",
    "By", "Entry",
)  # fmt: skip


class Gathered(NamedTuple):
    """What the page is made from."""

    reading: Reading
    rounds: tuple[State, ...]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the visitors and accidents of the period, and the checks of the door."""
    return beside(record, read_only(record, period, printed_at, KINDS))


def beside(record: Record, reading: Reading) -> Gathered:
    """The rounds of the period that count who came in."""
    made = rounds(record, reading, _counts)
    return Gathered(with_rounds(record, reading, made), made)


def _counts(task: Task) -> bool:
    return any(step.get("unit") == COUNTED_IN for step in task.steps)


def page(gathered: Gathered) -> log.Page:
    """The visitors and the accidents of the period."""
    reading, made = gathered
    visits, accidents = (log.in_period(reading, kind) for kind in KINDS)
    return log.page_of(
        reading,
        "Visitors and accidents",
        nothing="No visitor and no accident is written in this time.",
        summary=_summary(reading, visits, accidents, made),
        parts=(
            log.stories("Accidents", [_accident(reading, m) for m in accidents]),
            log.stories(
                "Came in without what the door asks for",
                against(reading, visits, lambda e: str(e.get("name"))),
            ),
            log.stories(
                "Checks of the door that found something wrong, or were missed",
                rounds_told(reading, made),
            ),
            log.sentences(
                "Checks of the door of which nothing is written", rounds_silent(made)
            ),
            log.listing(
                reading,
                HEADS,
                [_row(reading, m) for m in visits],
                ("visitor", "visitors"),
                title="Everyone who is written as a visitor",
                file=log.csv_name("visitor", reading.period),
                note="Hands washed, boots dipped, well: yes, NO, or ? not asked.",
            ),
        ),
        matters=[*visits, *accidents],
        attached=(
            *log.file_of(reading, "visitor", visits),
            *log.file_of(reading, "accident", accidents),
        ),
    )


def _row(reading: Reading, matter: Matter) -> log.Row:
    entry = matter.said
    printed, verdict = log.verdict(reading, matter)
    left = entry.get("left_at")
    return log.Row(
        matter,
        (
            str(entry.get("name")),
            str(entry.get("business") or ""),
            str(entry.get("why")),
            str(entry.get("places") or "not said"),
            *(_yes(entry.get(k)) for k in ("washed_hands", "dipped_boots", "well")),
            str(entry.get("with_whom") or ""),
            clock_of(reading, str(left)).rpartition(", ")[2] if left else "",
            verdict,
            entry.by,
            matter.first.name,
        ),
        printed,
    )


def _yes(given: object) -> str:
    if given is None:
        return "?"
    return "yes" if given is True else "NO"


def _accident(reading: Reading, matter: Matter) -> Told:
    entry = matter.said
    said = (
        ("Where", "place"),
        ("With", "product"),
        ("Worn", "gear_worn"),
        ("Done for them", "first_aid"),
        ("Told", "told"),
        ("Sent to", "sent_to"),
        ("Days off", "days_off"),
    )
    made = told(
        reading,
        matter,
        f"{entry.get('sort')}: {entry.get('who')}, {entry.get('what')}",
        [
            f"{word}: {plain(entry.get(key))}"
            for word, key in said
            if entry.get(key) is not None
        ],
    )
    closed = open_or_closed(reading, matter) == "action closed"
    return made._replace(sign="✔" if closed else "▲")


def _summary(
    reading: Reading,
    visits: Sequence[Matter],
    accidents: Sequence[Matter],
    made: Sequence[State],
) -> Iterator[str]:
    standing = [m for m in visits if not m.struck]
    if visits or made:
        yield f"{count(len(standing), 'visitor')} written with their names."
    at_the_door = sum((_people(s.entry) for s in made if s.entry), Decimal(0))
    if at_the_door:
        sign = "▲ " if at_the_door > len(standing) else ""
        many = plain(at_the_door)
        who = "person who" if at_the_door == 1 else "people who"
        yield f"{sign}The checks of the door counted {many} {who} came in."
    marked = sum(bool(marks_of(m)) for m in visits)
    if marked:
        yield f"▲ {count(marked, 'visitor')} came in without what the door asks for."
    if accidents:
        waiting = sum(open_or_closed(reading, m) != "action closed" for m in accidents)
        yield f"▲ {count(len(accidents), 'accident')}, {waiting} of them not closed."
    elif visits or made:
        yield "No accident is written in this time."
    yield from rounds_counted(made)


def _people(entry: Entry) -> Decimal:
    found = (
        row.get("value")
        for row in rows_of(entry, "answers")
        if row.get("unit") == COUNTED_IN
    )
    numbers = (value for value in found if isinstance(value, int | Decimal))
    return sum(map(Decimal, numbers), Decimal(0))
