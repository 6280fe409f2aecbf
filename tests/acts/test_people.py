"""Trainings, visitors, accidents: what is written, and what follows."""

from __future__ import annotations

from datetime import date

import pytest
from small_farm import SmallFarm
from water_shed import sampled

from hygiene.acts.codes import UnknownCode
from hygiene.acts.how import How
from hygiene.acts.people import Written, accident, train, visit
from hygiene.kinds.base import CannotBe
from hygiene.kinds.people import Accident, Train, Visitor


def trained(farm: SmallFarm, person: str = "cd", **more: object) -> Written:
    thing = Train(person=person, topic="water", had_on=date(2026, 3, 2), **more)
    return farm.write(lambda w: train(w, farm.in_force(), How("AB"), thing))


def visited(farm: SmallFarm, **more: object) -> Written:
    thing = Visitor(name="J. Reed", why="new pump", **more)
    return farm.write(lambda w: visit(w, How("AB"), thing))


def hurt(farm: SmallFarm, **more: object) -> Written:
    said = {"sort": "splash", "who": "CD", "what": "bleach in the eye"} | more
    return farm.write(
        lambda w: accident(w, farm.in_force(), How("AB"), Accident(**said))
    )


def test_a_training_counts_from_then_on(watered: SmallFarm) -> None:
    """The reading after it bears no mark, the one before it does for ever."""
    before = sampled(watered, "P2", by="CD", kits=("DPD",), results={"free": "1"})
    trained(watered)
    watered.later(minutes=1)
    after = sampled(watered, "P2", by="CD", kits=("DPD",), results={"free": "1"})
    assert before.water.get("marks") == ["untrained"]
    assert after.water.get("marks") is None


def test_a_training_that_lapsed_counts_no_more(watered: SmallFarm) -> None:
    """Its last day is its last day."""
    trained(watered, until=date(2026, 3, 3))
    watered.later(days=2)
    done = sampled(watered, "P2", by="CD", kits=("DPD",), results={"free": "1"})
    assert done.water.get("marks") == ["untrained"]


def test_only_people_of_the_farm_are_trained(watered: SmallFarm) -> None:
    """A code that nobody signs with is a slip."""
    with pytest.raises(UnknownCode):
        trained(watered, "ZZ")


def test_a_training_cannot_end_before_it_was_had(watered: SmallFarm) -> None:
    """The dates were mixed up."""
    with pytest.raises(CannotBe):
        trained(watered, until=date(2026, 1, 1))


def test_a_visitor_who_did_all_is_one_entry(watered: SmallFarm) -> None:
    """Nothing follows."""
    done = visited(watered, washed_hands=True, dipped_boots=True, well=True)
    assert (done.action, done.entry.get("marks")) == (None, None)


def test_a_visitor_who_was_not_asked_is_not_marked(watered: SmallFarm) -> None:
    """What was not asked is not said."""
    assert visited(watered).action is None


def test_what_was_not_done_at_the_door_is_marked(watered: SmallFarm) -> None:
    """And opens its action, which says where they were."""
    done = visited(watered, places="GROW", well=False, dipped_boots=False)
    assert done.entry.get("marks") == ["not-well", "no-dip"]
    assert done.action is not None
    assert done.action.get("problem") == (
        "J. Reed came in though not well and did not dip the boots (GROW)"
    )


def test_an_accident_is_an_incident(watered: SmallFarm) -> None:
    """It ends only with its cause and its effect."""
    done = hurt(watered)
    assert done.action is not None
    assert done.action.get("incident") is True
    assert done.action.get("problem") == "splash: CD, bleach in the eye"


def test_an_accident_with_a_product_that_is_not_there_is_refused(
    watered: SmallFarm,
) -> None:
    """The name on the can is asked for again."""
    with pytest.raises(UnknownCode):
        hurt(watered, product="acid")


def test_an_accident_needs_its_sort(watered: SmallFarm) -> None:
    """One of a short list."""
    with pytest.raises(CannotBe, match="splash"):
        hurt(watered, sort="oops")


def test_the_same_again_is_already_recorded(watered: SmallFarm) -> None:
    """A retry opens no second incident."""
    first, again = hurt(watered), hurt(watered)
    assert again.already
    assert again.entry.name == first.entry.name
