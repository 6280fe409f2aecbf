"""The end of a hold: on whose word, on which paper."""

from __future__ import annotations

from typing import Any

import pytest
from sprout_farm import SproutFarm

from hygiene.acts import finds
from hygiene.acts.holds import (
    NeedsAssessment,
    NeedsPaper,
    NeedsTheirWord,
    NotAHold,
    ReleasedAlready,
    WhoIsThat,
    release,
    whose_word,
)
from hygiene.acts.how import How
from hygiene.acts.mending import correct, strike
from hygiene.acts.standing import open_holds, stops_by_batch
from hygiene.errors import WronglyPut
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold
from hygiene.kinds.incident import Assess
from hygiene.kinds.setup import Rack
from hygiene.kinds.words import gist

VET = {"word_of": "E. Ash", "word_role": "vet", "document": "letter of 3 March"}


def let_go(sprouts: SproutFarm, name: str, **said: Any) -> tuple[Entry, ...]:
    made = {"why": "looked at", "by": "AB", **said}
    return sprouts.act(lambda w: release(w, name, **made))


def still(sprouts: SproutFarm) -> set[str]:
    return {hold.name for hold in sprouts.read(open_holds)}


def trays_held(sprouts: SproutFarm, batch: str) -> set[str]:
    found = sprouts.read(
        lambda r: stops_by_batch(r, sprouts.in_force(), [batch], open_holds(r))
    )
    return {tray for stop in found.get(batch, []) for tray in stop.trays}


def sibling_hold(sprouts: SproutFarm) -> Entry:
    mouldy = sprouts.batch(trays=range(1, 3))
    sprouts.batch(trays=range(3, 5), rack="R2")
    made = sprouts.mould(mouldy)
    (hold,) = sprouts.act(
        lambda w: finds.hold_proposed(w, made.mould, made.proposed, How("AB"))
    )
    return hold


def test_inside_a_mouldy_batch_only_the_vet_or_the_authority(
    sprouts: SproutFarm,
) -> None:
    """By name and document."""
    hold = sprouts.mould(sprouts.batch()).holds[0]
    for said in ({}, {"word_of": "E. Ash", "word_role": "vet"}, {"document": "x"}):
        with pytest.raises(NeedsTheirWord, match="mould"):
            let_go(sprouts, hold.name, **said)
    let_go(sprouts, hold.name, **VET)
    assert hold.name not in still(sprouts)


def test_a_release_and_an_assessment_say_whose_word_and_which_paper(
    sprouts: SproutFarm,
) -> None:
    """Wherever they are told in a line: on a screen, in a log, in the pack."""
    hold = sprouts.mould(sprouts.batch()).holds[0]
    (made,) = let_go(sprouts, hold.name, **VET)
    assert gist(made).endswith("on the word of E. Ash (vet), on letter of 3 March")
    thing = Assess(holds=(hold.name,), found="clean", document="sheet 4")
    assert gist(sprouts.act(lambda w: w.add(thing, by="CD"))).endswith("on sheet 4")


def test_a_name_that_is_nobodys_ends_nothing(sprouts: SproutFarm) -> None:
    """Somebody must say what they are."""
    hold = sprouts.mould(sprouts.batch()).holds[0]
    with pytest.raises(WhoIsThat):
        let_go(sprouts, hold.name, word_of="Somebody", document="a note")


def test_the_farm_file_knows_the_vet_and_the_authority(sprouts: SproutFarm) -> None:
    """In whatever case the name is typed."""
    farm = sprouts.in_force()
    assert whose_word(farm, "e. ash") == "vet"
    assert whose_word(farm, "Feed Office") == "authority"
    assert whose_word(farm, "A. Birch") is None


def test_a_written_assessment_lets_a_sibling_go(sprouts: SproutFarm) -> None:
    """By a named person; not without one, and not on a bare document."""
    hold = sibling_hold(sprouts)
    with pytest.raises(NeedsAssessment, match=hold.name):
        let_go(sprouts, hold.name, document="letter")
    thing = Assess(holds=(hold.name,), found="clean on day 7")
    sprouts.act(lambda w: w.add(thing, by="CD"))
    let_go(sprouts, hold.name)
    assert hold.name not in still(sprouts)


def test_an_assessment_does_not_let_the_mouldy_batch_go(sprouts: SproutFarm) -> None:
    """Nor does its assessment end a hold by itself."""
    hold = sprouts.mould(sprouts.batch()).holds[0]
    sprouts.act(lambda w: w.add(Assess(holds=(hold.name,), found="clean"), by="CD"))
    assert hold.name in still(sprouts)
    with pytest.raises(NeedsTheirWord):
        let_go(sprouts, hold.name)


def test_the_mouldy_batch_cannot_be_corrected_into_a_sibling(
    sprouts: SproutFarm,
) -> None:
    """What it needs is what its sternest version needs."""
    hold = sprouts.mould(sprouts.batch()).holds[0]
    body = {**hold.body, "shares": "room GROW"}
    sprouts.act(lambda w: correct(w, hold.name, body, reason="softer", by="AB"))
    with pytest.raises(NeedsTheirWord):
        let_go(sprouts, hold.name)


def test_a_lot_waits_for_its_paper(sprouts: SproutFarm) -> None:
    """The word that it is untreated and fit for feed."""
    sprouts.lot(untreated_seen_by=None)
    (hold,) = sprouts.entries("hold")
    with pytest.raises(NeedsPaper):
        let_go(sprouts, hold.name)
    let_go(sprouts, hold.name, document="letter of the supplier")


def test_a_batch_sown_against_the_rules_waits_for_an_assessment(
    sprouts: SproutFarm,
) -> None:
    """It was held from its first minute."""
    made = sprouts.sow((sprouts.lot(untreated_seen_by=None), 6_000))
    with pytest.raises(NeedsAssessment):
        let_go(sprouts, made.hold.name, document="letter")


def test_a_hold_that_somebody_set_ends_on_a_reason(sprouts: SproutFarm) -> None:
    """It follows from nothing that needs more."""
    thing = Hold(held="R2", sort="rack", why="smells musty")
    hold = sprouts.act(lambda w: w.add(thing, by="AB"))
    let_go(sprouts, hold.name)
    with pytest.raises(ReleasedAlready):
        let_go(sprouts, hold.name)


@pytest.mark.parametrize(
    "said", [{"why": "Precaution"}, {"why": "same seed", "shares": "the lot"}], ids=str
)
def test_a_precaution_by_hand_needs_its_assessment(
    sprouts: SproutFarm, said: dict[str, str]
) -> None:
    """Though it names no find that it follows from."""
    thing = Hold(held=sprouts.batch(), sort="batch", **said)
    hold = sprouts.act(lambda w: w.add(thing, by="AB"))
    with pytest.raises(NeedsAssessment, match="assessed"):
        let_go(sprouts, hold.name)
    sprouts.act(lambda w: w.add(Assess(holds=(hold.name,), found="clean"), by="CD"))
    let_go(sprouts, hold.name)
    assert hold.name not in still(sprouts)


def test_only_a_hold_is_released(sprouts: SproutFarm) -> None:
    """A find is not."""
    found = sprouts.mould(sprouts.batch())
    with pytest.raises(NotAHold):
        let_go(sprouts, found.mould.name)


def test_striking_or_correcting_the_find_ends_no_hold(sprouts: SproutFarm) -> None:
    """Nor striking the hold, nor the sowing that it is about."""
    batch = sprouts.batch()
    found = sprouts.mould(batch)
    (sow,) = sprouts.entries("sow")
    for entry in (found.mould, found.holds[0], sow):
        sprouts.act(lambda w, e=entry: strike(w, e.name, reason="wrong", by="AB"))
    assert found.holds[0].name in still(sprouts)
    assert trays_held(sprouts, batch) == {"T001", "T002", "T003", "T004"}


def test_a_struck_release_holds_again(sprouts: SproutFarm) -> None:
    """Only a release that stands ends a hold."""
    hold = sprouts.mould(sprouts.batch()).holds[0]
    (made,) = let_go(sprouts, hold.name, **VET)
    sprouts.act(lambda w: strike(w, made.name, reason="wrong batch", by="AB"))
    assert hold.name in still(sprouts)


def test_a_narrowed_hold_stays_on_the_other_trays(sprouts: SproutFarm) -> None:
    """On the vet's word, and only for trays of that batch."""
    batch = sprouts.batch()
    hold = sprouts.mould(batch).holds[0]
    with pytest.raises(WronglyPut, match="T030 is no tray"):
        let_go(sprouts, hold.name, keep=("T030",), **VET)
    _, kept = let_go(sprouts, hold.name, keep=("T003", "T004"), **VET)
    assert kept.get("because") == hold.get("because")
    assert trays_held(sprouts, batch) == {"T003", "T004"}


def test_what_is_gone_to_the_last_tray_needs_nobodys_word(
    sprouts: SproutFarm,
) -> None:
    """Nothing is left that could be fed."""
    batch = sprouts.batch()
    hold = sprouts.mould(batch).holds[0]
    sprouts.sample(batch)
    sprouts.discard(batch, 1, 2, 3, witness="CD")
    with pytest.raises(NeedsTheirWord):
        let_go(sprouts, hold.name)
    sprouts.discard(batch, 4, witness="CD")
    let_go(sprouts, hold.name)
    assert hold.name not in still(sprouts)


def test_setting_the_shed_up_anew_ends_no_hold_on_a_room(sprouts: SproutFarm) -> None:
    """The rack is said to stand elsewhere now; its trays stood in the held room."""
    batch = sprouts.batch()
    room = str((sprouts.in_force().get("rack", "R1") or {}).get("room"))
    thing = Hold(held=room, sort="room", why="a hot spell")
    sprouts.act(lambda w: w.add(thing, by="AB"))
    before = trays_held(sprouts, batch)
    sprouts.act(lambda w: w.add(Rack(code="R1", room="DARK", levels=3), by="AB"))
    assert before == trays_held(sprouts, batch) != set()
