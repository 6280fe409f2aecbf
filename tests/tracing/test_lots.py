"""Seed lots: what is left, and what stands against sowing from them."""

from __future__ import annotations

from datetime import date

from entry_makers import Book

from hygiene.kinds.entry import Entry
from hygiene.tracing.lots import faults, lasting_faults, past_best, read_lots


def seed(book: Book, day: float = 0, **said: object) -> Entry:
    made = {"untreated_seen_by": "AB", "accepted": True, **said}
    return book.add("seed", day, lot="L-1", grams=100_000, **made)


def marks(versions: list[Entry], holds: list[Entry], still: list[str]) -> list[str]:
    return [fault.mark for fault in lasting_faults(versions, holds, still)]


def test_in_store_is_what_came_in_less_what_went() -> None:
    """Sown, scrapped and sampled; other lots do not count."""
    book = Book()
    lot = read_lots(
        [
            seed(book),
            book.sow(1, "B", "T1", lots={"L-1": 18_000, "L-2": 5_000}),
            book.add("scrap", 2, lot="L-1", grams=2_500, why="spilt"),
            book.add("sample", 2, lot="L-1", grams=500, why="mould", frozen_at="x"),
            book.add("scrap", 2, lot="L-2", grams=9, why="spilt"),
        ]
    )["L-1"]
    assert lot.in_store_grams == 79_000


def test_more_sown_than_came_in_is_shown_as_it_is() -> None:
    """Below nothing: it is never forced to balance."""
    book = Book()
    lot = read_lots([seed(book), book.sow(1, "B", "T1", lots={"L-1": 100_001})])["L-1"]
    assert lot.in_store_grams == -1


def test_a_sound_lot_has_no_fault() -> None:
    """Declared, not dressed, accepted."""
    assert faults(seed(Book()).body) == []


def test_a_correction_alone_takes_no_fault_away() -> None:
    """The strictest version counts until a hold because of it was released."""
    book = Book()
    first = seed(book, untreated_seen_by=None)
    right = seed(book, corrects=first.name)
    hold = book.hold(0, "lot", "L-1", because=first.name)
    versions = [first, right]
    assert marks(versions, [hold], [hold.name]) == ["lot-not-declared"]
    assert marks(versions, [], []) == ["lot-not-declared"]
    assert marks(versions, [hold], []) == []


def test_a_release_alone_takes_no_fault_away() -> None:
    """The entry itself must say who saw the paper."""
    book = Book()
    first = seed(book, untreated_seen_by=None)
    hold = book.hold(0, "lot", "L-1", because=first.name)
    assert marks([first], [hold], []) == ["lot-not-declared"]


def test_a_hold_for_something_else_takes_no_fault_away() -> None:
    """It must follow from the lot's own entry."""
    book = Book()
    first = seed(book, dressing="a fungicide")
    right = seed(book, corrects=first.name)
    other = book.hold(0, "lot", "L-1", because="shed-k7q2/99")
    assert marks([first, right], [other], []) == ["lot-dressed"]


def test_the_best_before_day_itself_is_in_date() -> None:
    """The day after is not."""
    lot = seed(Book(), best_before="2026-03-31")
    assert [past_best(lot, date(2026, 3, 31)), past_best(lot, date(2026, 4, 1))] == [
        False,
        True,
    ]
    assert not past_best(seed(Book()), date(2030, 1, 1))
