"""What is held: the strictest reading of all versions."""

from __future__ import annotations

import pytest
from entry_makers import Book
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.kinds.entry import Entry
from hygiene.tracing.holds import Hold, Layout, mould_records, stops

LAYOUT = Layout({"R1": "GROW", "R2": "GROW", "R3": "DARK"}, {"L1": "K1"})


def held(versions: list[Entry], *holds: Entry) -> dict[str, set[str]]:
    """The trays of batch B that each hold stops."""
    found = stops("B", versions, [Hold(h.name, (h,)) for h in holds], LAYOUT)
    return {stop.entry: set(stop.trays) for stop in found}


@pytest.mark.parametrize(
    ("sort", "code", "trays"),
    [
        ("batch", "B", {"T1", "T2"}),
        ("batch", "C", set()),
        ("tray", "T2", {"T2"}),
        ("rack", "R2", {"T2"}),
        ("rack", "R3", set()),
        ("room", "GROW", {"T1", "T2"}),
        ("lot", "L-1", {"T1", "T2"}),
        ("line", "L1", {"T1", "T2"}),
        ("tank", "K1", {"T1", "T2"}),
        ("tank", "K2", set()),
    ],
)
def test_a_hold_catches_what_it_names(sort: str, code: str, trays: set[str]) -> None:
    """A batch, a tray of it, where it stood, what went in, what watered it."""
    book = Book()
    versions = [book.sow(0, "B", "T1", "T2", line="L1"), book.move(1, "B", "R2", "T2")]
    hold = book.hold(2, sort, code)
    assert held(versions, hold) == ({hold.name: trays} if trays else {})


def test_a_stop_of_sowing_stops_nothing_that_grows() -> None:
    """Its batches are proposed to be held, each by itself."""
    book = Book()
    hold = book.hold(2, "lot", "L-1", stops="sowing")
    assert held([book.sow(0, "B", "T1")], hold) == {}


def test_only_some_trays_are_held_where_every_version_says_so() -> None:
    """A narrower correction lets nothing out."""
    book = Book()
    first = book.hold(2, "batch", "B")
    narrower = book.hold(3, "batch", "B", trays=["T1"], corrects=first.name)
    sown = [book.sow(0, "B", "T1", "T2")]
    assert held(sown, narrower) == {narrower.name: {"T1"}}
    both = stops("B", sown, [Hold(first.name, (first, narrower))], LAYOUT)
    assert both[0].trays == {"T1", "T2"}


def test_a_find_in_a_tray_alone_holds_all_that_grew_there() -> None:
    """Its batch was not known where it was written: another book had sown it.

    What is held for another reason, or as a precaution, holds that tray.
    """
    book = Book()
    sown = [book.sow(0, "B", "T1", "T2")]
    found = book.hold(1, "tray", "T1", because="tablet-k7q2/9")
    assert held(sown, found) == {found.name: {"T1", "T2"}}
    beside = book.hold(1, "tray", "T1", because="tablet-k7q2/9", shares="tub")
    by_hand = book.hold(1, "tray", "T1")
    assert held(sown, beside, by_hand) == {beside.name: {"T1"}, by_hand.name: {"T1"}}


def test_a_corrected_hold_holds_what_any_version_named() -> None:
    """Naming another batch does not let the first one go."""
    book = Book()
    first = book.hold(2, "batch", "B")
    other = book.hold(2, "batch", "C", corrects=first.name)
    found = stops(
        "B", [book.sow(0, "B", "T1")], [Hold(first.name, (first, other))], LAYOUT
    )
    assert [stop.entry for stop in found] == [first.name]


def test_a_corrected_tray_or_rack_stays_caught() -> None:
    """It stood there by one version, and that is enough."""
    book = Book()
    sown = book.sow(0, "B", "T1", rack="R3")
    put_right = book.sow(0, "B", "T1", rack="R1", corrects=sown.name)
    hold = book.hold(2, "rack", "R3")
    assert held([sown, put_right], hold) == {hold.name: {"T1"}}


def test_a_find_that_no_hold_answers_holds_the_batch_itself() -> None:
    """A correction, an import, or another book may bring a find without its hold."""
    book = Book()
    sown, mould = book.sow(0, "B", "T1"), book.add("mould", 5, batch="B")
    assert held([sown, mould]) == {mould.name: {"T1"}}
    answer = book.hold(5, "batch", "B", because=mould.name)
    assert held([sown, mould, answer]) == {}
    assert held([sown, mould, answer], answer) == {answer.name: {"T1"}}


def test_a_struck_find_is_a_mould_record_still() -> None:
    """What any version said counts, also where a batch was named beside others."""
    book = Book()
    mould = book.add("mould", 5, rack="R1", batches=["A", "B"])
    other = book.add("mould", 5, rack="R1", batches=["A"], corrects=mould.name)
    assert mould_records("B", [mould, other]) == [mould]


def test_a_hold_is_a_precaution_only_where_every_version_is() -> None:
    """A correction cannot make the mouldy batch a sibling of itself."""
    book = Book()
    first = book.hold(2, "batch", "B", because="shed-k7q2/1")
    second = book.hold(2, "batch", "B", shares="room GROW", corrects=first.name)
    assert Hold(first.name, (first, second)).shares is None
    assert Hold(second.name, (second,)).shares == "room GROW"


@given(st.data())
@settings(max_examples=80, deadline=None)
def test_no_further_version_ever_lets_anything_out(data: st.DataObject) -> None:
    """Corrections and strikes of the find, the tray, the date or the hold."""
    book = Book()
    versions = [book.sow(0, "B", "T1", "T2"), book.add("mould", 5, batch="B")]
    hold = book.hold(
        data.draw(st.integers(0, 9)),
        *data.draw(st.sampled_from([("batch", "B"), ("rack", "R1"), ("lot", "L-1")])),
    )
    before = stops("B", versions, [Hold(hold.name, (hold,))], LAYOUT)
    later = data.draw(
        st.sampled_from(
            [
                book.sow(
                    4, "B", "T9", rack="R3", lots={"L-9": 1}, corrects="shed-k7q2/1"
                ),
                book.add("mould", 1, batch="C", corrects="shed-k7q2/2"),
                book.add("strike", 6, struck="mould", corrects="shed-k7q2/2"),
                book.move(6, "B", "R3", "T1", "T2"),
            ]
        )
    )
    changed = data.draw(
        st.sampled_from(
            [
                book.hold(1, "batch", "C", stops="sowing", corrects=hold.name),
                book.hold(1, "batch", "B", trays=["T1"], corrects=hold.name),
                book.add("strike", 6, struck="hold", corrects=hold.name),
            ]
        )
    )
    after = stops("B", [*versions, later], [Hold(hold.name, (hold, changed))], LAYOUT)
    held_after = {stop.entry: stop.trays for stop in after}
    for stop in before:
        assert stop.trays <= held_after[stop.entry]
