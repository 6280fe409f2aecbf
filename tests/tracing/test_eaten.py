"""What animals ate, by head and day, and the air in which it grew."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

from entry_makers import Book

from hygiene.tracing.batches import read_batches
from hygiene.tracing.eaten import fed_by_day, head_on, out_of_limit
from hygiene.tracing.holds import Layout

LONDON = ZoneInfo("Europe/London")
LAYOUT = Layout({"R1": "GROW", "R3": "DARK"}, {})


def test_kilograms_a_head_follow_the_head_count_of_the_day() -> None:
    """An animal that moved on Tuesday is counted where it was that day."""
    book = Book()
    versions = [
        book.add("animals", -9, code="EWES", head=40),
        book.add("animals", 1, code="EWES", head=50),
    ]
    feeds = [book.feed(day, "B", "T1", grams=40_000) for day in (0, 1)]
    days = fed_by_day(feeds, versions, date(2026, 3, 2), date(2026, 3, 4), LONDON)
    assert [day.kg_per_head for day in days] == [
        Decimal("1.00"),
        Decimal("0.80"),
        Decimal("0.00"),
    ]
    assert [day.batches for day in days] == [("B",), ("B",), ()]


def test_heads_that_nobody_counted_are_not_made_up() -> None:
    """Before the group was set up, or after it was retired."""
    book = Book()
    versions = [
        book.add("animals", 0, code="EWES", head=40),
        book.add("retire", 3, sort="animals", code="EWES"),
    ]
    heads = [head_on(versions, date(2026, 3, day), LONDON) for day in (1, 2, 5)]
    assert heads == [None, 40, None]
    (day,) = fed_by_day([], [], date(2026, 3, 2), date(2026, 3, 2), LONDON)
    assert day.kg_per_head is None


def test_a_room_reading_out_of_limit_sticks_to_what_grew_there_then() -> None:
    """Not to the other room, nor to what was gone, nor a reading of something else."""
    book = Book()
    answer = {"step": "temp", "value": Decimal("27"), "unit": "C", "passed": False}
    hot = book.add("sign_off", 3, answers=[{**answer, "of": "GROW"}])
    late = book.add("sign_off", 9, answers=[{**answer, "of": "GROW"}])
    trays = book.add("sign_off", 3, answers=[{**answer, "of": "GROW", "unit": "trays"}])
    batches = read_batches(
        [
            book.sow(0, "B", "T1"),
            book.feed(7, "B", "T1"),
            book.sow(0, "C", "T2", rack="R3"),
        ]
    )
    readings = out_of_limit(batches["B"], [hot, late, trays], LAYOUT)
    assert [reading.sign_off for reading in readings] == [hot]
    assert out_of_limit(batches["C"], [hot], LAYOUT) == []


def test_a_reading_that_names_no_room_sticks_to_every_batch() -> None:
    """What cannot be told apart is not let off."""
    book = Book()
    answer = {"step": "rh", "value": 95, "unit": "%", "passed": False}
    damp = book.add("sign_off", 3, answers=[answer])
    batch = read_batches([book.sow(0, "C", "T2", rack="R3")])["C"]
    assert len(out_of_limit(batch, [damp], LAYOUT)) == 1
