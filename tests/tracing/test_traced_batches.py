"""What became of batches, from their entries."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from entry_makers import Book, at
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.kinds.entry import Entry
from hygiene.tracing.batches import read_batches

LONDON = ZoneInfo("Europe/London")


def test_each_tray_ends_once() -> None:
    """Fed, sent, discarded, sampled or growing: together they are what was sown."""
    book = Book()
    batch = read_batches(
        [
            book.sow(0, "B", "T1", "T2", "T3", "T4", "T5"),
            book.feed(7, "B", "T1"),
            book.add("dispatch", 7, batch="B", trays=["T2"], buyer="X", grams=5_000),
            book.add(
                "discard", 7, batch="B", trays=["T3"], grams=4_000, why="x", route="y"
            ),
            book.add("sample", 7, batch="B", trays=["T4"], why="x", frozen_at="y"),
        ]
    )["B"]
    ended = {how: batch.ended(how) for how in ("fed", "sent", "discarded", "sampled")}
    assert ended == {
        "fed": ("T1",),
        "sent": ("T2",),
        "discarded": ("T3",),
        "sampled": ("T4",),
    }
    assert batch.growing == ("T5",)
    assert batch.out_grams("sent") == 5_000


def test_a_tray_stands_where_it_was_last_moved() -> None:
    """And where it stood before is kept with its days."""
    book = Book()
    batch = read_batches(
        [
            book.sow(0, "B", "T1", "T2"),
            book.move(3, "B", "R2", "T2"),
            book.feed(7, "B", "T2"),
        ]
    )["B"]
    assert {s.tray: s.rack for s in batch.standing(at(5))} == {"T1": "R1", "T2": "R2"}
    assert {s.tray: s.rack for s in batch.standing(at(1))} == {"T1": "R1", "T2": "R1"}
    assert [s.tray for s in batch.standing(at(8))] == ["T1"]


def test_a_tray_that_ended_ends_no_second_time() -> None:
    """The second entry is named, and changes nothing."""
    book = Book()
    first, again = book.feed(6, "B", "T1"), book.feed(7, "B", "T1")
    batch = read_batches([book.sow(0, "B", "T1"), first, again])["B"]
    assert batch.ends["T1"].entry == first
    assert [odd.entry for odd in batch.odd] == [again.name]


def test_the_day_of_sowing_is_day_0_at_the_farm() -> None:
    """Not 24 hours later: a batch sown at 23:30 is on day 1 half an hour after."""
    book = Book()
    batch = read_batches([book.sow(0.6875 + 1 / 24, "B", "T1")])["B"]
    assert batch.sown.astimezone(LONDON).strftime("%H:%M") == "00:30"
    assert batch.day(date(2026, 3, 3), LONDON) == 0
    assert batch.day(date(2026, 3, 10), LONDON) == 7


def test_the_order_in_which_entries_are_handed_over_does_not_matter() -> None:
    """Two books that were merged are read as they happened."""
    book = Book()
    entries = [
        book.sow(0, "B", "T1", "T2"),
        book.move(1, "B", "R2", "T1"),
        book.feed(7, "B", "T1"),
    ]
    one, other = read_batches(entries)["B"], read_batches(reversed(entries))["B"]
    assert (one.stays, one.ends) == (other.stays, other.ends)


def test_an_odd_body_is_never_fatal() -> None:
    """An older or damaged body is read for what it says."""
    book = Book()
    odd = book.add("sow", 0, batch="B", places="T1", seeds=[7, {"lot": "L"}])
    batch = read_batches([odd, book.add("feed", 1, batch="B", trays=7, grams="x")])["B"]
    assert (batch.trays, batch.seeds, batch.out_grams("fed")) == ((), (("L", 0),), 0)


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_trays_sown_are_fed_and_sent_and_discarded_and_growing(
    data: st.DataObject,
) -> None:
    """Exactly, whatever is written about them, in whatever order."""
    book, trays = Book(), ["T1", "T2", "T3", "T4"]
    entries: list[Entry] = [book.sow(0, "B", *trays)]
    acts = st.tuples(
        st.sampled_from(["move", "feed", "dispatch", "discard", "sample"]),
        st.integers(0, 9),
        st.lists(st.sampled_from([*trays, "T9"]), unique=True, max_size=4),
    )
    for kind, day, some in data.draw(st.lists(acts, max_size=8)):
        if kind == "move":
            entries.append(book.move(day, "B", "R2", *some))
        else:
            entries.append(book.add(kind, day, batch="B", trays=some, grams=1_000))
    batch = read_batches(data.draw(st.permutations(entries)))["B"]
    parts = [batch.ended(how) for how in ("fed", "sent", "discarded", "sampled")]
    told = [tray for part in [*parts, batch.growing] for tray in part]
    assert sorted(told) == trays
    assert {s.tray for s in batch.stays if s.until is None} == set(batch.growing)
