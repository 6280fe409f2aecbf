"""Seed to the gram and trays to the last one; what does not add up is named."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from random import Random

import pytest
from entry_makers import Book, at
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Entry
from hygiene.tracing.balance import Balance, balance
from hygiene.tracing.batches import read_batches

DAYS = 365
ENDS = ("feed", "feed", "feed", "feed", "dispatch", "discard", "sample")


def add_up(entries: list[Entry], day: float = 20, **weighed: int) -> Balance:
    batches = read_batches(entries)
    lots = {
        str(row["lot"]) for e in entries if e.kind == "sow" for row in e.get("seeds")
    } | {str(e.get("lot")) for e in entries if e.get("lot")}
    return balance(
        entries, batches, at(day), lots=sorted(lots), of=sorted(batches),
        weighed={lot.replace("_", "-"): grams for lot, grams in weighed.items()},
    )  # fmt: skip


def says(made: Balance) -> list[str]:
    return [f"{gap.sort} {gap.code}: {gap.says}" for gap in made.gaps]


def seed(book: Book, lot: str = "L-1", grams: int = 100_000) -> Entry:
    return book.add("seed", 0, lot=lot, supplier="ALDER", grams=grams)


def fed(book: Book) -> list[Entry]:
    """Two trays, sown and fed."""
    return [seed(book), book.sow(1, "B", "T1", "T2"), book.feed(8, "B", "T1", "T2")]


def test_received_is_sown_and_scrapped_and_in_store() -> None:
    """In grams, exactly; a sample of the seed counts as well."""
    book = Book()
    made = add_up(
        [
            *fed(book),
            book.add("scrap", 2, lot="L-1", grams=1_501, why="wet"),
            book.add("sample", 2, lot="L-1", grams=499, why="to keep"),
        ]
    )
    (lot,) = made.seed
    assert lot[1:6] == (100_000, 6_000, 1_501, 499, 92_000)
    assert not made.gaps


def test_every_tray_is_somewhere_once() -> None:
    """Fed, sent, thrown away, kept as a sample, or growing."""
    book = Book()
    trays = [f"T{n}" for n in range(6)]
    made = add_up(
        [
            seed(book),
            book.sow(1, "B", *trays),
            book.feed(8, "B", "T0", "T1"),
            book.add("dispatch", 8, batch="B", trays=["T2"], buyer="H", grams=1),
            book.add("discard", 8, batch="B", trays=["T3"], grams=1),
            book.add("sample", 8, batch="B", trays=["T4"], why="mould"),
        ],
        day=9,
    )
    (sums,) = made.trays
    assert sums[1:] == (6, 2, 1, 1, 1, 1, ())
    assert sums.closes
    assert not made.gaps


def test_the_yield_is_shown_and_not_forced() -> None:
    """By weight, for batches that are over; it is no gap by itself."""
    made = add_up(fed(Book()))
    assert made.kg_per_kg == Decimal("1.17")
    assert not made.gaps


PLANTED: dict[str, tuple[Callable[[Book], list[Entry]], str]] = {
    "more sown than came in": (
        lambda book: [seed(book, grams=5_999), *fed(book)[1:]],
        "lot L-1: 1 g more taken than came in",
    ),
    "a lot that nobody took in": (
        lambda book: fed(book)[1:],
        "lot L-1: the sow names it, and no entry that stands took it in",
    ),
    "a feed that was forgotten": (
        lambda book: [
            *fed(book)[:2],
            book.feed(8, "B", "T1"),
            book.sow(9, "D", "T2"),
            book.feed(16, "D", "T2"),
        ],
        "batch B: nothing says what became of T2, and D was sown in it since",
    ),
    "a tray fed twice": (
        lambda book: [*fed(book), book.feed(8, "B", "T2")],
        "batch B: T2 was fed already (shed-k7q2/3)",
    ),
    "a tray that was never sown": (
        lambda book: [*fed(book), book.feed(8, "B", "T9")],
        "batch B: T9 is no tray of this batch",
    ),
    "fodder of no batch": (
        lambda book: [*fed(book), book.feed(8, "X", "T5")],
        "batch X: fed (T5), and no sowing of it stands",
    ),
    "a weight with a nought too many": (
        lambda book: [
            *fed(book),
            *(book.sow(1, f"D{n}", f"T1{n}") for n in range(2)),
            book.feed(8, "D0", "T10"),
            book.feed(8, "D1", "T11", grams=70_000),
        ],
        "fodder D1: 11.67 kg of fodder a kg of seed, where 1.17 is the middle: look at "
        "its weights",
    ),
}


@pytest.mark.parametrize("name", PLANTED)
def test_each_planted_gap_is_named(name: str) -> None:
    """That one, and no other."""
    plant, said = PLANTED[name]
    assert says(add_up(plant(Book()))) == [said]


def test_a_tray_that_stands_for_weeks_is_asked_for() -> None:
    """On day 20 it may be held; after that somebody must say where it is."""
    entries = fed(Book())[:2]
    assert not add_up(entries, day=20).gaps
    said = ["batch B: nothing says what became of T1, T2"]
    assert says(add_up(entries, day=23)) == said


def test_a_weight_with_a_nought_too_few_is_pointed_at() -> None:
    """By the yields of the others."""
    book = Book()
    made = add_up(
        [*fed(book), book.sow(1, "D", "T5"), book.feed(8, "D", "T5", grams=700)]
    )
    assert [(gap.sort, gap.code) for gap in made.gaps] == [("fodder", "D")]


def test_a_batch_that_was_sown_twice_is_named() -> None:
    """Two devices gave the same code, or one wrote it twice."""
    book = Book()
    entries = [*fed(book), book.sow(8, "B", "T5", lots={"L-1": 1})]
    assert "batch B: sows a batch that was sown already" in says(add_up(entries))


def test_what_was_weighed_is_held_against_what_is_written() -> None:
    """Half a kilogram less in the bin than by the record is a gap."""
    entries = fed(Book())
    assert not add_up(entries, L_1=94_000).gaps
    assert says(add_up(entries, L_1=93_500)) == [
        "lot L-1: 500 g less in store than the record says (93500 g weighed, 94000 g "
        "written)"
    ]


def a_year(chance: Random) -> list[Entry]:
    """A batch of four trays every day, out of two open lots, and where each went."""
    book, entries = Book(), []
    for day in range(DAYS):
        lot = f"L-{2 * (day // 28) + day % 2}"
        if day % 28 < 2:
            entries.append(book.add("seed", day, lot=lot, supplier="S", grams=99_000))
        if chance.random() < 0.05:
            entries.append(book.add("scrap", day, lot=lot, grams=17, why="wet"))
        trays = [f"T{4 * (day % 9) + n}" for n in range(4)]
        grams = chance.randint(5_500, 6_500)
        entries.append(book.sow(day + 0.3, f"B{day:03}", *trays, lots={lot: grams}))
        for tray in trays:
            kind, to = chance.choice(ENDS), {"buyer": "H", "animals": "EWES"}
            out = {"batch": f"B{day:03}", "trays": [tray], "grams": 1_450, **to}
            entries.append(book.add(kind, day + 7.1, **out))
    return entries


@settings(max_examples=2, deadline=None)
@given(st.integers(0, 10**9))
def test_a_simulated_year_closes_to_the_gram_and_to_the_tray(number: int) -> None:
    """Received is what went out and what is left; every tray went one way."""
    entries = a_year(Random(number))
    made = add_up(entries, day=DAYS + 1)
    assert not made.gaps
    assert all(each.closes for each in made.trays)
    came = sum(e.get("grams") for e in entries if e.kind == "seed")
    sown = sum(r["grams"] for e in entries if e.kind == "sow" for r in e.get("seeds"))
    scrapped = sum(e.get("grams") for e in entries if e.kind == "scrap")
    assert came == sown + scrapped + sum(each.in_store for each in made.seed)
    out = [e for e in entries if e.get("trays")]
    assert sum(t.sown - t.growing for t in made.trays) == len(out)


@settings(max_examples=2, deadline=None)
@given(st.integers(0, 10**9))
def test_every_forgotten_end_of_a_year_is_named_and_nothing_else(
    number: int,
) -> None:
    """Three entries that nobody wrote: each tray is asked for by name."""
    chance = Random(number)
    entries = a_year(chance)
    ends = [
        e for e in entries if e.get("trays") and e.happened_at < at(340).isoformat()
    ]
    lost = chance.sample(ends, 3)
    made = add_up([e for e in entries if e not in lost], day=DAYS + 1)
    named = [says for code, says in sorted((gap.code, gap.says) for gap in made.gaps)]
    by_batch: dict[str, list[str]] = {}
    for entry in lost:
        by_batch.setdefault(entry.get("batch"), []).extend(entry.get("trays"))
    assert sorted(by_batch) == sorted(gap.code for gap in made.gaps)
    assert [ranges(sorted(by_batch[code])) for code in sorted(by_batch)] == [
        said.removeprefix("nothing says what became of ").partition(", and B")[0]
        for said in named
    ]
