"""Readiness on paper: what an inspector would find, in three heaps, and the walk.

It is the farm's own list for the evening before, not a page to hand over; a pack holds
it only when it is asked for. Every place travels inside as a table.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.clauses import published
from hygiene.acts.readiness import Looked, readiness
from hygiene.book.record import Record
from hygiene.exchange.table import Column, Table
from hygiene.inspection.clauses import Clause
from hygiene.inspection.readiness import HEAPS, SAY, TOMORROW, TONIGHT, Finding
from hygiene.inspection.seen import Item
from hygiene.inspection.walk import Line, walk
from hygiene.reports.attached import Attached, data
from hygiene.reports.frame import Frame, frame_of
from hygiene.reports.period import Period
from hygiene.reports.reading import Reading, read_only
from hygiene.reports.words import count, length

MOST: Final = 12
"""Places of one finding that stand on the page; the table inside has all of them."""
NAMED: Final = 3
"""Entries of one place that are named."""
COLUMNS: Final = (
    Column("rule", says="the rule that found it", required=True),
    Column("what", says="what it finds", required=True),
    Column("heap", says="tonight, tomorrow, or to be said first", required=True),
    Column("says", says="the place", required=True),
    Column("day", "date", "its day, where it has one"),
    Column("about", says="a task, a can, a kit, where no entry says it"),
    Column("entries", "json", "the entries that show it"),
    Column("clauses", "json", "our codes of the clauses that ask for it"),
)
LEAD: Final = {
    TONIGHT: "to put right tonight",
    TOMORROW: "to ring or order tomorrow",
    SAY: "to say first",
}


class Gathered(NamedTuple):
    """What the page is made from."""

    reading: Reading
    looked: Looked


class Place(NamedTuple):
    """One place of a finding, and the entries that show it."""

    says: str
    entries: str


class Found(NamedTuple):
    """A finding as it stands on the page."""

    what: str
    rule: str
    many: str
    takes: str
    places: tuple[Place, ...]
    left: int
    do: str
    asked: tuple[str, ...]


class Heap(NamedTuple):
    """One of the three heaps; ``told`` says how much it is."""

    code: str
    title: str
    told: str
    found: tuple[Found, ...]


class Page(NamedTuple):
    """The list as values; ``report_templates/readiness.html`` lays it out."""

    frame: Frame
    lead: tuple[tuple[str, str, str], ...]
    heaps: tuple[Heap, ...]
    walk: tuple[Line, ...]
    profile: str
    attached: tuple[Attached, ...]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Look at the days of the period as they stood when this was printed."""
    reading = read_only(record, period, printed_at)
    return Gathered(reading, readiness(record, *period, printed_at))


def page(gathered: Gathered) -> Page:
    """The three heaps, and the walk of the evening before."""
    reading, looked = gathered
    heaps = [_heap(heap, looked.ready.heap(heap)) for heap in HEAPS]
    return Page(
        frame=frame_of(reading, "Readiness"),
        lead=tuple(_lead(looked)),
        heaps=tuple(heap for heap in heaps if heap.found),
        walk=walk(looked.seen),
        profile=published().profile(looked.seen.body).name,
        attached=_attached(gathered),
    )


def _lead(looked: Looked) -> Iterator[tuple[str, str, str]]:
    """How many findings each heap has, what is to be done, and how long it takes."""
    for heap, says in LEAD.items():
        minutes = looked.ready.minutes(heap)
        takes = f"about {length(timedelta(minutes=minutes))}" if minutes else ""
        yield str(len(looked.ready.heap(heap))), says, takes


def _heap(code: str, findings: tuple[Finding, ...]) -> Heap:
    places = sum(finding.places for finding in findings)
    told = f"{count(len(findings), 'thing')} in {count(places, 'place')}"
    return Heap(code, HEAPS[code], told, tuple(map(_found, findings)))


def _found(finding: Finding) -> Found:
    rule = finding.rule
    return Found(
        what=rule.what,
        rule=rule.code,
        many=count(finding.places, "place") if finding.places > 1 else "",
        takes=length(timedelta(minutes=finding.minutes)) if finding.minutes else "",
        places=tuple(map(_place, finding.items[:MOST])),
        left=max(0, finding.places - MOST),
        do=rule.do,
        asked=tuple(map(_asked, finding.clauses)),
    )


def _place(item: Item) -> Place:
    names = ", ".join(item.entries[:NAMED])
    more = len(item.entries) - NAMED
    return Place(item.says, f"{names} and {more} more" if more > 0 else names)


def _asked(clause: Clause) -> str:
    return f"{clause.cited}: {clause.says}"


def _attached(gathered: Gathered) -> tuple[Attached, ...]:
    first, last = gathered.reading.period
    table = Table(
        f"readiness-{first}-to-{last}",
        "Everything that the readiness rules found, a row each",
        COLUMNS,
    )
    rows = [
        (
            finding.rule.code,
            finding.rule.what,
            finding.rule.heap,
            item.says,
            item.day,
            item.code or None,
            list(item.entries),
            [clause.code for clause in finding.clauses],
        )
        for finding in gathered.looked.ready.findings
        for item in finding.items
    ]
    return data(table, rows)
