"""Sideways: one hop, each with its reason, and time is respected."""

from __future__ import annotations

from entry_makers import Book
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.kinds.entry import Entry
from hygiene.tracing.batches import read_batches
from hygiene.tracing.holds import Layout
from hygiene.tracing.siblings import last_washes, siblings

LAYOUT = Layout({"R1": "GROW", "R2": "GROW", "R3": "DARK"}, {})


def beside(
    entries: list[Entry], doses: list[Entry] | None = None
) -> dict[str, tuple[str, ...]]:
    """What each other batch shares with B."""
    batches = read_batches(entries)
    washes = last_washes(batches.values(), doses or [])
    found = siblings(batches["B"], batches.values(), LAYOUT, washes)
    return {sibling.code: sibling.shares for sibling in found}


def test_the_same_room_in_overlapping_days() -> None:
    """One that came after the other was gone shares nothing."""
    book = Book()
    entries = [
        book.sow(0, "B", "T1"),
        book.feed(7, "B", "T1"),
        book.sow(3, "C", "T2", rack="R2", lots={"L-2": 1}),
        book.sow(8, "D", "T3", rack="R2", lots={"L-3": 1}),
        book.sow(3, "E", "T4", rack="R3", lots={"L-4": 1}),
    ]
    assert beside(entries) == {"C": ("room GROW",)}


def test_a_moved_tray_shares_the_room_it_was_moved_to() -> None:
    """From that day on."""
    book = Book()
    entries = [
        book.sow(0, "B", "T1", rack="R3", lots={"L-1": 1}),
        book.sow(0, "C", "T2", lots={"L-2": 1}),
    ]
    assert beside(entries) == {}
    assert beside([*entries, book.move(5, "B", "R2", "T1")]) == {"C": ("room GROW",)}


def test_the_same_lot_whenever_it_was_sown() -> None:
    """A lot is one cause, months apart."""
    book = Book()
    entries = [
        book.sow(0, "B", "T1", lots={"L-1": 1, "L-2": 1}),
        book.feed(7, "B", "T1"),
        book.sow(60, "C", "T2", rack="R3", lots={"L-2": 1}),
    ]
    assert beside(entries) == {"C": ("lot L-2",)}


def test_the_same_wash_is_the_last_one_before_sowing() -> None:
    """An earlier or a later wash of the same tray is another wash."""
    book = Book()
    dose = lambda day, *trays: book.add("dose", day, trays=list(trays))  # noqa: E731
    older, shared, later = (
        dose(-9, "T1", "T9"),
        dose(-1, "T1", "T2"),
        dose(9, "T1", "T3"),
    )
    entries = [
        book.sow(0, "B", "T1", rack=None),
        book.sow(0, "C", "T2", rack=None, lots={"L-2": 1}),
        book.sow(0, "D", "T9", rack=None, lots={"L-3": 1}),
        book.sow(10, "E", "T3", rack=None, lots={"L-4": 1}),
    ]
    assert beside(entries, [older, shared, later]) == {"C": (f"wash {shared.name}",)}


def test_trays_that_met_one_tub_share_its_wash() -> None:
    """Although each was dosed by itself."""
    book = Book()
    first = book.add("dose", -2, trays=["T1"])
    again = book.add("dose", -1, trays=["T2"], tub=first.name)
    entries = [
        book.sow(0, "B", "T1", rack=None),
        book.sow(0, "C", "T2", rack=None, lots={"L-2": 1}),
    ]
    assert beside(entries, [first, again]) == {"C": (f"wash {first.name}",)}


def test_the_same_line_while_both_grew() -> None:
    """Water that ran before or after is not shared."""
    book = Book()
    entries = [
        book.sow(0, "B", "T1", rack=None, line="L1"),
        book.feed(7, "B", "T1"),
        book.sow(6, "C", "T2", rack=None, line="L1", lots={"L-2": 1}),
        book.sow(8, "D", "T3", rack=None, line="L1", lots={"L-3": 1}),
        book.sow(6, "E", "T4", rack=None, line="L2", lots={"L-4": 1}),
    ]
    assert beside(entries) == {"C": ("line L1",)}


def test_a_tray_is_shared_with_what_grew_in_it_afterwards() -> None:
    """Never with what grew in it before."""
    book = Book()
    entries = [
        book.sow(-9, "A", "T1", rack=None, lots={"L-9": 1}),
        book.feed(-2, "A", "T1"),
        book.sow(0, "B", "T1", "T2", "T3", rack=None),
        book.feed(7, "B", "T1", "T2", "T3"),
        book.sow(8, "C", "T1", "T2", rack=None, lots={"L-2": 1}),
    ]
    assert beside(entries) == {"C": ("tray T1", "1 more trays")}


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_sharing_a_room_lot_or_line_goes_both_ways(data: st.DataObject) -> None:
    """If B shares it with C, C shares it with B."""
    book = Book()
    entries = []
    for code, tray in (("B", "T1"), ("C", "T2")):
        day = data.draw(st.integers(0, 9))
        entries.append(
            book.sow(
                day,
                code,
                tray,
                rack=data.draw(st.sampled_from(["R1", "R2", "R3", None])),
                lots={data.draw(st.sampled_from(["L-1", "L-2"])): 1},
                line=data.draw(st.sampled_from(["L1", "L2"])),
            )
        )
        if data.draw(st.booleans()):
            entries.append(book.feed(day + data.draw(st.integers(1, 7)), code, tray))
    batches = read_batches(entries)
    one = siblings(batches["B"], batches.values(), LAYOUT, {})
    other = siblings(batches["C"], batches.values(), LAYOUT, {})
    assert [s.shares for s in one] == [s.shares for s in other]
