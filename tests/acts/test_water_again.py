"""Water that failed is good again when a new sample says so, not when somebody does."""

from __future__ import annotations

from decimal import Decimal

import pytest
from small_farm import SmallFarm
from water_shed import sampled

from hygiene.acts.actions import NotRechecked, close, look_again
from hygiene.acts.mending import correct
from hygiene.acts.sampling import next_samples
from hygiene.kinds.action import Recheck
from hygiene.kinds.entry import Entry, has_passed

LAB = "Lowmoor Laboratory"


def failed(farm: SmallFarm, lab: str | None = LAB) -> Entry:
    """The action about E. coli at P1."""
    return sampled(farm, "P1", lab=lab, results={"ecoli": "5"}).actions[0]


def looked(farm: SmallFarm, action: Entry, value: str | None = None) -> Entry:
    farm.later(minutes=1)
    thing = Recheck(
        action=action.name,
        seen="looked",
        passed=True,
        value=None if value is None else Decimal(value),
        unit=None if value is None else "CFU/100 mL",
    )
    made: Entry = farm.write(lambda w: look_again(w, thing, by="AB"))
    return made


def ended(farm: SmallFarm, action: Entry) -> Entry:
    made: Entry = farm.write(lambda w: close(w, action.name, did="flushed", by="AB"))
    return made


def test_a_word_is_no_sample(watered: SmallFarm) -> None:
    """It is written and marked, and the action stays open; the way out is a sample."""
    action = failed(watered)
    made = looked(watered, action)
    assert made.get("marks") == ["no-new-sample"]
    assert not has_passed(made)
    with pytest.raises(NotRechecked, match="no new sample") as refused:
        ended(watered, action)
    assert refused.value.way_out == (
        "sample it again: hygiene water P1 ecoli=RESULT --lab NAME"
    )


def test_a_sample_that_passed_ends_it(watered: SmallFarm) -> None:
    """Also after a word that was none; and what is said after it is not marked."""
    action = failed(watered)
    looked(watered, action)
    (look,) = sampled(watered, "P1", lab=LAB, results={"ecoli": "<1"}).rechecks
    assert has_passed(look)
    assert looked(watered, action).get("marks") in (None, [], ())
    assert ended(watered, action).kind == "close"


@pytest.mark.parametrize(
    ("point", "result"), [("P2", {"ecoli": "<1"}), ("P1", {"ph": "7.2"})]
)
def test_another_tap_or_parameter_shows_nothing(
    watered: SmallFarm, point: str, result: dict[str, str]
) -> None:
    """Nor is it the recheck."""
    action = failed(watered)
    sampled(watered, point, lab=LAB, results=result)
    assert not has_passed(looked(watered, action))


def test_a_value_is_a_reading_of_what_a_kit_read(watered: SmallFarm) -> None:
    """Until a laboratory has found it out of limit as well."""
    action = failed(watered, lab=None)
    assert has_passed(looked(watered, action, value="0"))
    sampled(watered, "P1", lab=LAB, results={"ecoli": "3"})
    assert not has_passed(looked(watered, action, value="0"))


def test_a_value_is_nothing_next_to_a_laboratorys(watered: SmallFarm) -> None:
    """It is not rechecked with a kit."""
    assert not has_passed(looked(watered, failed(watered), value="0"))


def test_a_slip_of_the_pen_needs_no_sample(watered: SmallFarm) -> None:
    """The certificate said less than one, and the entry says so now."""
    action = failed(watered)
    watered.later(minutes=1)
    test = str(action.get("about"))
    said = sampled(watered, "P2", lab=LAB, results={"ecoli": "<1"}).water
    body = {**said.body, "point": "P1"}
    watered.write(lambda w: correct(w, test, body, reason="misread", by="AB"))
    assert has_passed(looked(watered, action))


@pytest.mark.parametrize("lab", [None, LAB])
def test_the_day_asks_for_the_sample_and_never_says_that_there_was_none(
    watered: SmallFarm, lab: str | None
) -> None:
    """Whoever read it: it is said to have failed, until a sample has passed."""
    looked(watered, failed(watered, lab))
    with watered.open() as record:
        due = next_samples(record, watered.in_force(), watered.now)
    assert [d.rule for d in due if d.point == "P1"] == ["resample"]
