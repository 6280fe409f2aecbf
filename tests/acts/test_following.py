"""What follows when an entry is put right: never does it let out what was held."""

from __future__ import annotations

from typing import Any

import pytest
from sprout_farm import SproutFarm

from hygiene.acts.holds import release
from hygiene.acts.mending import StaysAsItWas, correct, strike
from hygiene.acts.standing import open_holds
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold


def put_right(sprouts: SproutFarm, entry: Entry, **changes: Any) -> list[Entry]:
    body = {**entry.body, **changes}
    _, opened = sprouts.act(
        lambda w: correct(w, entry.name, body, reason="misread", by="AB")
    )
    return opened


def hold_batch(sprouts: SproutFarm, batch: str, because: str | None = None) -> Entry:
    thing = Hold(held=batch, sort="batch", why="musty", because=because)
    return sprouts.act(lambda w: w.add(thing, by="AB"))


def held(entries: list[Entry]) -> list[tuple[str, str]]:
    return [(str(e.get("sort")), str(e.get("held"))) for e in entries]


def test_a_find_of_another_batch_after_all_holds_both(sprouts: SproutFarm) -> None:
    """The first hold stays, the other batch and its lot are held as well."""
    one = sprouts.batch(trays=range(1, 3))
    lot = sprouts.lot(supplier_lot="AF/2")
    other = str(sprouts.sow((lot, 1_000), trays=range(3, 5)).sow.get("batch"))
    found = sprouts.mould(one)
    opened = put_right(sprouts, found.mould, batch=other)
    assert held(opened) == [("batch", other), ("lot", lot)]
    names = {hold.name for hold in sprouts.read(open_holds)}
    assert {h.name for h in (*found.holds, *opened)} <= names


def test_a_word_put_right_opens_nothing(sprouts: SproutFarm) -> None:
    """The same batch, another colour."""
    found = sprouts.mould(sprouts.batch())
    assert put_right(sprouts, found.mould, colour="black") == []


def test_a_lot_that_turns_out_dressed_is_held(sprouts: SproutFarm) -> None:
    """Once."""
    lot = sprouts.lot()
    (seed,) = sprouts.entries("seed")
    opened = put_right(sprouts, seed, dressing="a fungicide")
    assert held(opened) == [("lot", lot)]
    assert put_right(sprouts, sprouts.entries("seed")[0], grade="2") == []


def test_a_sowing_from_an_undeclared_lot_after_all_is_held(
    sprouts: SproutFarm,
) -> None:
    """The bag was another one."""
    batch = sprouts.batch()
    (sow,) = sprouts.entries("sow")
    wrong = sprouts.lot(supplier_lot="AF/2", untreated_seen_by=None)
    opened = put_right(sprouts, sow, seeds=[{"lot": wrong, "grams": 6_000}])
    assert held(opened) == [("batch", batch)]


def test_trays_that_grow_again_after_all_are_held_again(sprouts: SproutFarm) -> None:
    """The hold had ended, since nothing was left of them."""
    batch = sprouts.batch()
    hold = sprouts.mould(batch).holds[0]
    gone = sprouts.discard(batch, 1, 2, 3, 4, witness="CD").entry
    sprouts.act(lambda w: release(w, hold.name, why="nothing left", by="AB"))
    sprouts.act(lambda w: strike(w, gone.name, reason="other batch", by="AB"))
    again = [h.first for h in sprouts.read(open_holds) if h.first.get("held") == batch]
    assert [h.get("because") for h in again] == [hold.get("because")]


def test_fed_from_a_held_batch_after_all_is_an_incident(sprouts: SproutFarm) -> None:
    """The code was misread, and the marks of the first version do not show it."""
    held_one, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    sprouts.mould(held_one)
    fed = sprouts.feed(other, 5).entry
    (incident,) = put_right(sprouts, fed, batch=held_one, trays=["T001"])
    assert (incident.kind, incident.get("incident")) == ("action", True)
    assert incident.get("about") == fed.name


def test_a_find_in_other_trays_after_all_holds_their_batch(sprouts: SproutFarm) -> None:
    """A find by trays names its batches anew; the first ones stay held."""
    one, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    found = sprouts.mould(trays=("T002",))
    opened = put_right(sprouts, found.mould, trays=["T006"])
    assert ("batch", other) in held(opened)
    still = {hold.first.get("held") for hold in sprouts.read(open_holds)}
    assert {one, other} <= still


def test_a_minted_code_is_not_corrected(sprouts: SproutFarm) -> None:
    """Else the finds and holds that name it would be left behind."""
    one, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    sprouts.mould(one)
    sow = next(e for e in sprouts.entries("sow") if e.get("batch") == one)
    with pytest.raises(StaysAsItWas, match="batch of a sow"):
        put_right(sprouts, sow, batch=other)
    seed = sprouts.entries("seed")[0]
    with pytest.raises(StaysAsItWas, match="lot of a seed"):
        put_right(sprouts, seed, lot=sprouts.lot(supplier_lot="AF/9"))


def test_a_sowing_put_right_to_trays_of_a_held_batch_is_held(
    sprouts: SproutFarm,
) -> None:
    """The mouldy tray does not become fodder by being written under another batch."""
    mouldy, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    sprouts.mould(mouldy)
    sow = next(e for e in sprouts.entries("sow") if e.get("batch") == other)
    places = [{"tray": "T003", "rack": "R1"}, {"tray": "T005", "rack": "R1"}]
    assert held(put_right(sprouts, sow, places=places)) == [("batch", other)]


def test_what_was_discarded_of_whichever_batch_is_held_again(
    sprouts: SproutFarm,
) -> None:
    """A batch named by any version of the entry, not by the first alone."""
    one, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    hold = hold_batch(sprouts, other)
    gone = sprouts.discard(one, 1, 2, 3, 4).entry
    put_right(sprouts, gone, batch=other, trays=["T005", "T006"])
    sprouts.act(lambda w: release(w, hold.name, why="nothing left", by="AB"))
    sprouts.act(lambda w: strike(w, gone.name, reason="neither", by="AB"))
    assert other in {h.first.get("held") for h in sprouts.read(open_holds)}


def test_each_cause_holds_again(sprouts: SproutFarm) -> None:
    """The sterner one, that ended since nothing was left, is not lost in the other."""
    batch = sprouts.batch()
    (sow,) = sprouts.entries("sow")
    one = hold_batch(sprouts, batch, because=sow.name)
    two = hold_batch(sprouts, batch)
    gone = sprouts.discard(batch, 1, 2, 3, 4).entry
    sprouts.act(lambda w: release(w, one.name, why="nothing left", by="AB"))
    sprouts.act(lambda w: strike(w, gone.name, reason="other", by="AB"))
    causes = {h.first.get("because") for h in sprouts.read(open_holds)}
    assert {None, sow.name} == causes
    assert two.name in {h.name for h in sprouts.read(open_holds)}


def test_a_released_hold_put_right_holds_what_it_names_then(
    sprouts: SproutFarm,
) -> None:
    """A release of one thing is none of another."""
    one, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    hold = hold_batch(sprouts, one)
    sprouts.act(lambda w: release(w, hold.name, why="fine", by="AB"))
    assert held(put_right(sprouts, hold, held=other)) == [("batch", other)]
    assert put_right(sprouts, sprouts.entries("hold")[0], why="musty, R2") == []


def test_a_sowing_that_stands_again_is_held_for_what_was_found_in_its_trays(
    sprouts: SproutFarm,
) -> None:
    """The find was written while the sowing was ruled through, so no batch is in it."""
    batch = sprouts.batch()
    (sow,) = sprouts.entries("sow")
    sprouts.act(lambda w: strike(w, sow.name, reason="wrong rack", by="AB"))
    found = sprouts.mould(trays=("T002",))
    assert found.batches == ()
    opened = put_right(sprouts, sow, note="it was that rack")
    mould, *holds = opened
    assert found.mould.name in mould.get("note")
    assert mould.get("batch") == batch
    assert ("batch", batch) in held(holds)
    assert put_right(sprouts, sow, note="R1") == []


def test_trays_that_grow_again_are_held_for_what_was_found_in_them_since(
    sprouts: SproutFarm,
) -> None:
    """The find named the batch that was said to grow there by then."""
    batch = sprouts.batch(trays=range(1, 3))
    fed = sprouts.feed(batch, 1, 2).entry
    other = sprouts.batch(trays=range(1, 2))
    sprouts.mould(trays=("T001",))
    assert ("batch", batch) in held(put_right(sprouts, fed, trays=["T002"]))
    assert {batch, other} <= {h.first.get("held") for h in sprouts.read(open_holds)}


def test_what_was_sown_in_a_tray_that_a_mouldy_batch_did_not_leave_is_held(
    sprouts: SproutFarm,
) -> None:
    """The discard named the wrong trays: the mouldy one is still in the new batch's."""
    mouldy = sprouts.batch(trays=range(1, 3))
    sprouts.mould(mouldy)
    gone = sprouts.discard(mouldy, 1).entry
    other = sprouts.batch(trays=range(1, 2))
    assert other not in {h.first.get("held") for h in sprouts.read(open_holds)}
    assert ("batch", other) in held(put_right(sprouts, gone, trays=["T002"]))
