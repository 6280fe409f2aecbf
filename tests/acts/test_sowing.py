"""Sowing and moving: rules beforehand, facts as they were."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sprout_farm import FORCED, SproutFarm

from hygiene.acts import batches
from hygiene.acts.codes import UnknownCode
from hygiene.acts.holds import NeedsTheirWord, release
from hygiene.acts.how import How
from hygiene.acts.mending import correct, strike
from hygiene.acts.rules import ForcedNeedsReason, PlanRefused, refuse
from hygiene.acts.standing import batch_file
from hygiene.errors import WronglyPut
from hygiene.kinds.batch import Place, SeedShare
from hygiene.kinds.find import Hold


def asked(
    sprouts: SproutFarm,
    lot: str,
    tray: str = "T001",
    rack: str = "R1",
    line: str = "L1",
) -> set[str]:
    """The marks that a sowing would bear."""
    seeds = (SeedShare(lot=lot, grams=6_000),)
    places = (Place(tray=tray, rack=rack),)
    farm = sprouts.in_force()
    return {
        rule.mark
        for rule in sprouts.read(
            lambda r: batches.against_sowing(r, farm, seeds, places, line, sprouts.now)
        )
    }


def hold(sprouts: SproutFarm, sort: str, code: str) -> None:
    thing = Hold(held=code, sort=sort, why="found wanting")
    sprouts.act(lambda w: w.add(thing, by="AB"))


def test_a_good_lot_in_a_free_tray_is_only_asked_for_its_wash(
    sprouts: SproutFarm,
) -> None:
    """What is not known to be cleared is not cleared; nothing else is against it."""
    assert asked(sprouts, sprouts.lot()) == {"tray-not-cleared"}


def test_a_lot_without_the_declaration_is_refused_as_a_plan(
    sprouts: SproutFarm,
) -> None:
    """Nothing is written by a question."""
    lot = sprouts.lot(untreated_seen_by=None)
    assert {"lot-not-declared", "lot-held"} <= asked(sprouts, lot)
    assert sprouts.entries("sow") == []


def test_sown_from_it_all_the_same_the_batch_is_held_from_its_first_minute(
    sprouts: SproutFarm,
) -> None:
    """What was done is written as it was, and cannot be fed."""
    lot = sprouts.lot(untreated_seen_by=None)
    made = sprouts.sow((lot, 6_000))
    assert "lot-not-declared" in made.sow.get("marks")
    assert made.hold.get("held") == made.sow.get("batch")
    assert made.hold.get("because") == made.sow.name
    assert made.hold.happened_at == made.sow.happened_at


@pytest.mark.parametrize(
    ("described", "mark"),
    [
        ({"dressing": "a fungicide"}, "lot-dressed"),
        ({"accepted": False, "refused_why": "musty"}, "lot-refused"),
        ({"best_before": date(2026, 3, 1)}, "lot-past-best-before"),
        ({"grams": 5_999}, "lot-not-enough"),
    ],
)
def test_a_lot_that_is_not_to_be_sown_is_refused(
    sprouts: SproutFarm, described: dict[str, object], mark: str
) -> None:
    """Dressed, refused, out of date, or more than is there."""
    assert mark in asked(sprouts, sprouts.lot(**described))


@pytest.mark.parametrize(
    ("sort", "code"),
    [
        ("tray", "T001"),
        ("rack", "R1"),
        ("room", "GROW"),
        ("line", "L1"),
        ("tank", "K1"),
    ],
)
def test_nothing_is_sown_where_something_is_held(
    sprouts: SproutFarm, sort: str, code: str
) -> None:
    """A hold on the tray, the rack, its room, the line or its tank."""
    lot = sprouts.lot()
    hold(sprouts, sort, code)
    assert f"{sort}-held" in asked(sprouts, lot)
    assert f"{sort}-held" not in asked(sprouts, lot, "T002", "R3", "L2")


def test_a_tray_grows_one_batch_at_a_time(sprouts: SproutFarm) -> None:
    """Until it was fed, sent, thrown away or sampled."""
    batch = sprouts.batch()
    lot = sprouts.lot(supplier_lot="AF/2")
    assert "tray-in-use" in asked(sprouts, lot)
    sprouts.feed(batch, 1)
    assert "tray-in-use" not in asked(sprouts, lot)


def test_a_forced_sowing_needs_a_reason(sprouts: SproutFarm) -> None:
    """And is not written without one."""
    lot = sprouts.lot()
    with pytest.raises(ForcedNeedsReason, match="--reason"):
        sprouts.sow((lot, 6_000), how=How("AB"))
    assert sprouts.entries("sow") == []


def test_a_forced_sowing_is_seen_for_ever(sprouts: SproutFarm) -> None:
    """Its reason, its marks, and a corrective action about it."""
    made = sprouts.sow((sprouts.lot(), 6_000))
    assert made.sow.reason == FORCED.reason
    assert made.sow.get("marks") == ["tray-not-cleared"]
    assert made.action.get("about") == made.sow.name


def test_a_refused_plan_says_the_rule_its_source_and_the_way_out(
    sprouts: SproutFarm,
) -> None:
    """All rules at once, each with all three."""
    lot = sprouts.lot(dressing="a fungicide")
    seeds = (SeedShare(lot=lot, grams=6_000),)
    against = sprouts.read(
        lambda r: batches.against_sowing(
            r, sprouts.in_force(), seeds, (Place(tray="T001"),), None, sprouts.now
        )
    )
    with pytest.raises(PlanRefused) as refused:
        refuse(against)
    said = str(refused.value)
    assert refused.value.exit_code == 5
    assert said.count("refused:") == said.count("rule:") == said.count("way out:")
    assert said.count("refused:") == len(against) == 3


def test_a_retry_sows_no_second_batch(sprouts: SproutFarm) -> None:
    """Although its trays are in use by now: the first time changed what stands."""
    lot = sprouts.lot()
    seeds, places = (SeedShare(lot=lot, grams=6_000),), (Place(tray="T001"),)
    sow = lambda w: batches.sow(  # noqa: E731
        w, sprouts.in_force(), FORCED, seeds=seeds, places=places
    )
    first, again = sprouts.write(sow), sprouts.write(sow)
    assert (again.already, again.sow) == (True, first.sow)
    assert len(sprouts.entries("sow")) == 1


@pytest.mark.parametrize(
    "changed", [{"tray": "T999"}, {"rack": "R9"}, {"line": "L9"}, {"lot": "L-XX-9-9"}]
)
def test_what_the_farm_does_not_know_is_unknown(
    sprouts: SproutFarm, changed: dict[str, str]
) -> None:
    """A slip of the finger is no fact."""
    said = {"lot": sprouts.lot(), **changed}
    with pytest.raises(UnknownCode):
        asked(sprouts, **said)


def test_a_rack_has_only_its_own_levels(sprouts: SproutFarm) -> None:
    """R3 has three."""
    lot = sprouts.lot()
    with pytest.raises(WronglyPut, match="3 levels"):
        sprouts.read(
            lambda r: batches.against_sowing(
                r,
                sprouts.in_force(),
                (SeedShare(lot=lot, grams=1),),
                (Place(tray="T001", rack="R3", level=4),),
                None,
                sprouts.now,
            )
        )


def test_moving_parts_the_trays_and_keeps_the_batch(sprouts: SproutFarm) -> None:
    """Two trays stand elsewhere; the batch is one."""
    batch = sprouts.batch()
    places = (Place(tray="T003", rack="R2"), Place(tray="T004", rack="R2"))
    sprouts.later(days=1)
    sprouts.act(
        lambda w: batches.move(
            w, sprouts.in_force(), How("AB"), batch=batch, places=places
        )
    )
    found = sprouts.read(lambda r: batch_file(r, batch)).batch
    racks = {stay.tray: stay.rack for stay in found.standing(sprouts.now)}
    assert racks == {"T001": "R1", "T002": "R1", "T003": "R2", "T004": "R2"}
    before = sprouts.now - timedelta(hours=12)
    assert {stay.rack for stay in found.standing(before)} == {"R1"}


def test_moving_what_is_no_tray_of_it_is_marked(sprouts: SproutFarm) -> None:
    """It is written as it was said, and does not change the batch."""
    batch = sprouts.batch()
    places = (Place(tray="T030", rack="R2"),)
    made = sprouts.act(
        lambda w: batches.move(
            w, sprouts.in_force(), How("AB"), batch=batch, places=places
        )
    )
    assert made.move.get("marks") == ["tray-not-growing"]
    assert len(sprouts.read(lambda r: batch_file(r, batch)).batch.growing) == 4


def test_a_held_batch_is_not_sown_anew_under_another_code(sprouts: SproutFarm) -> None:
    """Its sowing is ruled through and typed again: the new batch is held as well."""
    batch = sprouts.batch()
    sprouts.mould(batch)
    (sow,) = sprouts.entries("sow")
    sprouts.act(lambda w: strike(w, sow.name, reason="typed twice", by="AB"))
    again = sprouts.sow((sprouts.lot(supplier_lot="AF/2"), 6_000))
    assert "tray-of-held-batch" in again.sow.get("marks")
    assert again.hold is not None


def test_a_tray_that_left_its_held_batch_is_sown_again(sprouts: SproutFarm) -> None:
    """It was discarded, and that is written; the rest of the batch stays held."""
    sprouts.mould(sprouts.batch(), trays=("T001",))
    sprouts.discard(str(sprouts.entries("sow")[0].get("batch")), 1)
    again = sprouts.sow((sprouts.lot(supplier_lot="AF/2"), 1_000), trays=range(1, 2))
    assert "tray-of-held-batch" not in again.sow.get("marks")


def test_a_tray_that_a_mouldy_batch_was_only_said_to_fill(sprouts: SproutFarm) -> None:
    """The hold of what stands there counts no more once another batch left the tray."""
    batch = sprouts.batch(trays=range(1, 3))
    (sow,) = sprouts.entries("sow")
    body = {**sow.body, "places": [{"tray": "T001", "rack": "R1"}]}
    sprouts.act(lambda w: correct(w, sow.name, body, reason="one", by="AB"))
    sprouts.mould(batch)
    lot = sprouts.lot(supplier_lot="AF/2")
    held = sprouts.sow((lot, 1_000), trays=range(2, 3))
    assert "tray-of-held-batch" in held.sow.get("marks")
    sprouts.discard(str(held.sow.get("batch")), 2)
    assert "tray-of-held-batch" not in asked(sprouts, lot, "T002")


def test_nothing_is_left_of_any_version_of_a_batch(sprouts: SproutFarm) -> None:
    """A tray that was corrected away may still stand somewhere: no hold ends by it."""
    batch = sprouts.batch(trays=range(1, 3))
    (sow,) = sprouts.entries("sow")
    hold = sprouts.mould(batch).holds[0]
    body = {**sow.body, "places": [{"tray": "T001", "rack": "R1"}]}
    sprouts.act(lambda w: correct(w, sow.name, body, reason="one", by="AB"))
    sprouts.discard(batch, 1)
    with pytest.raises(NeedsTheirWord):
        sprouts.act(lambda w: release(w, hold.name, why="nothing left", by="AB"))
