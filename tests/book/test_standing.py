"""What stands of a matter, whatever the order of the books and whatever their clocks.

Entries of several devices are made line by line, each in its own book with its own
clock, and then copied into records in different interleavings, as a merge would.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from hypothesis import example, given, settings
from hypothesis import strategies as some

from hygiene.book import chain
from hygiene.book.record import Record
from hygiene.book.schema import statements
from hygiene.kinds.book import Opening, Strike
from hygiene.kinds.entry import Entry, write_line
from hygiene.kinds.find import Mould
from hygiene.kinds.moments import stamp

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
BOOKS = ("barn-mmmm", "shed-aaaa", "shed-zzzz")
MATTERS = ("R1", "R2")


class Act(NamedTuple):
    """One act on a device: ``clock`` is how many seconds its clock shows past noon."""

    book: str
    matter: int
    strikes: bool
    clock: int


acts = some.lists(
    some.builds(
        Act,
        some.sampled_from(BOOKS),
        some.integers(0, len(MATTERS) - 1),
        some.booleans(),
        some.integers(-2, 2),  # few values, so that clocks often agree
    ),
    max_size=10,
)


def write_all(acts: list[Act], first_in: str) -> list[Entry]:
    """The entries of all devices; each matter begins in the book ``first_in``."""
    ends = dict.fromkeys(BOOKS, 0)
    made: list[Entry] = []

    def add(book: str, clock: int, thing: Opening | Mould | Strike, corrects=None):
        ends[book] += 1
        at = stamp(NOON + timedelta(seconds=clock))
        made.append(
            Entry(
                book, ends[book], thing.kind, at, at, "AB", thing.body(), None, corrects
            )
        )
        return made[-1].name

    for book in BOOKS:
        add(book, 0, Opening(record="x", why="y"))
    firsts = [add(first_in, 0, Mould(rack=rack)) for rack in MATTERS]
    for place, act in enumerate(acts):
        thing = (
            Strike(struck="mould")
            if act.strikes
            else Mould(rack=MATTERS[act.matter], colour=f"colour {place}")
        )
        add(act.book, act.clock, thing, firsts[act.matter])
    return made


def standing_by_hand(made: list[Entry]) -> dict[str, Entry]:
    """The rule said in another way: the greatest (recorded, book, seq) of those that
    answer the first; the first itself only where nothing answers it."""
    stands = {e.name: e for e in made if e.corrects is None}
    for first in stands:
        answers = [e for e in made if e.corrects == first]
        if answers:
            stands[first] = max(answers, key=lambda e: (e.recorded_at, e.book, e.seq))
    return stands


@contextmanager
def merged(made: list[Entry], order: list[int]) -> Iterator[Record]:
    """A record of these lines, each book's in its order, dealt by ``order``."""
    lines: dict[str, list[tuple[str, int, str, str]]] = {}
    for entry in made:
        book = lines.setdefault(entry.book, [])
        before = book[-1][3] if book else chain.start(entry.book)
        line = write_line(entry)
        hashed = chain.follow(before, line.encode())
        book.append((entry.book, entry.seq, line, hashed))
    db = sqlite3.connect(":memory:", isolation_level=None)
    for statement in LAYOUT:
        db.execute(statement)
    record = Record(Path("merged"), db)
    with record:
        for place in range(len(made)):
            waiting = sorted(name for name, left in lines.items() if left)
            book = waiting[order[place % len(order)] % len(waiting)]
            db.execute("insert into entry values (?, ?, ?, ?)", lines[book].pop(0))
        yield record


LAYOUT = [
    text
    for text in statements()
    if "create view" not in text or "view mould" in text or "view standing" in text
]
orders = some.lists(some.integers(0, 2), min_size=1, max_size=12)


def everything_read(record: Record, made: list[Entry]) -> list[object]:
    return [
        record.entries(["mould", "strike"]),
        record.all_versions(["mould", "strike", "opening"]),
        record.mentioning(*MATTERS),
        [record.history(entry.name) for entry in made],
        [record.standing(entry.name) for entry in made],
        record.heads(),
        record.db.execute("select * from mould order by entry").fetchall(),
        record.unanswered("mould", "strike"),
    ]


@given(acts, orders, orders, some.sampled_from(BOOKS))
@settings(max_examples=60, deadline=None)
def test_a_merge_reads_the_same_whatever_its_order(acts, one, other, first_in):
    """Two devices that merged in different orders read one and the same record."""
    made = write_all(acts, first_in)
    with merged(made, one) as first, merged(made, other) as second:
        assert everything_read(first, made) == everything_read(second, made)


TWICE = [Act(BOOKS[1], 0, False, 1), Act(BOOKS[1], 0, False, 1)]
STRUCK = [Act(BOOKS[1], 0, True, 0)]
UNSTRUCK = [Act(BOOKS[1], 0, True, 0), Act(BOOKS[1], 0, False, 1)]
CLOCK_BEHIND = [Act(BOOKS[1], 0, False, -2)]
ELSEWHERE = [Act(BOOKS[2], 0, False, 1), Act(BOOKS[0], 0, True, 1)]


@given(acts, orders, some.sampled_from(BOOKS))
@example([], [0], BOOKS[0])
@example(TWICE, [0], BOOKS[1])
@example(STRUCK, [2], BOOKS[1])
@example(UNSTRUCK, [0], BOOKS[1])
@example(CLOCK_BEHIND, [1], BOOKS[1])
@example(ELSEWHERE, [1], BOOKS[1])
@settings(max_examples=60, deadline=None)
def test_one_version_of_a_matter_stands_by_the_rule(acts, order, first_in):
    """Of each matter just one; the first loses to whatever answers it."""
    made = write_all(acts, first_in)
    stands = standing_by_hand(made)
    with merged(made, order) as record:
        read = record.entries(["mould", "strike", "opening"])
        assert {e.name for e in read} == {e.name for e in stands.values()}
        for entry in made:
            assert record.standing(entry.name) == stands[entry.first]
            assert record.history(entry.name)[0].name == entry.first
        shown = record.db.execute("select entry from mould").fetchall()
        assert {name for (name,) in shown} == {
            e.name for e in stands.values() if e.kind == "mould"
        }


@given(acts, orders)
@settings(max_examples=30, deadline=None)
def test_every_version_stays_readable(acts, order):
    """Nothing that was written is ever missing from the whole record."""
    made = write_all(acts, BOOKS[1])
    with merged(made, order) as record:
        every = record.all_versions(["mould", "strike", "opening"])
        assert sorted(every) == sorted(made)


def test_what_the_named_cases_come_to():
    """The rule, spelled out: which version stands in each case."""
    for acts, kind, colour in (
        ([], "mould", None),
        (TWICE, "mould", "colour 1"),
        (STRUCK, "strike", None),
        (UNSTRUCK, "mould", "colour 1"),
        (CLOCK_BEHIND, "mould", "colour 0"),
        (ELSEWHERE, "mould", "colour 0"),
    ):
        made = write_all(acts, BOOKS[1])
        with merged(made, [0]) as record:
            stands = record.standing(f"{BOOKS[1]}/2")
            assert (stands.kind, stands.get("colour")) == (kind, colour)
