"""Checks of kits, and what a failed one means for what was read with it."""

from __future__ import annotations

from datetime import date

import pytest
from small_farm import SmallFarm
from water_shed import sampled

from hygiene.acts.calibrating import Calibrated, calibrate
from hygiene.acts.codes import UnknownCode
from hygiene.acts.how import How
from hygiene.acts.kits import kit_fault


def check(farm: SmallFarm, kit: str = "PH", **described: object) -> Calibrated:
    farm.later(minutes=1)
    said = {"passed": True, "against": "buffer 7"} | described
    return farm.write(
        lambda w: calibrate(w, farm.in_force(), How("AB"), kit=kit, **said)
    )


def fault(farm: SmallFarm, kit: str) -> str | None:
    with farm.open() as record:
        return kit_fault(record, farm.in_force())(kit, farm.now)


def test_a_check_puts_a_meter_into_use(watered: SmallFarm) -> None:
    """For as long as the farm file says; its code in any case."""
    assert fault(watered, "PH") == "was never checked"
    assert check(watered, "ph").check.get("kit") == "PH"
    assert fault(watered, "PH") is None
    watered.later(days=40)
    assert fault(watered, "PH") == "was in date up to 2026-04-02 only"


def test_a_kit_that_is_not_there_is_refused(watered: SmallFarm) -> None:
    """And a reading with one cannot be relied on."""
    with pytest.raises(UnknownCode):
        check(watered, "K9")
    assert fault(watered, "K9") == "is no kit of the farm file"


def test_a_failed_check_says_what_was_read_since(watered: SmallFarm) -> None:
    """Its action counts the readings since the last good check."""
    check(watered)
    sampled(watered, "P2", kits=("PH",), results={"ph": "7.1"})
    sampled(watered, "P2", kits=("PH",), results={"ph": "7.2"})
    done = check(watered, passed=False)
    assert [entry.kind for entry in done.doubtful] == ["water", "water"]
    assert done.action is not None
    assert done.action.get("problem") == (
        "PH failed its check against buffer 7: out of use; 2 entries were read with "
        "it since it was good"
    )
    assert fault(watered, "PH") == "failed its check on 2026-03-02"


def test_a_later_good_check_is_the_recheck(watered: SmallFarm) -> None:
    """Typed once: it answers the open action of its kit."""
    bad = check(watered, passed=False)
    good = check(watered)
    (recheck,) = good.rechecks
    assert bad.action is not None
    assert recheck.get("action") == bad.action.name
    assert recheck.get("evidence") == good.check.name


def test_new_reagent_brings_its_expiry(watered: SmallFarm) -> None:
    """Without a new farm file."""
    watered.later(days=330)
    assert fault(watered, "DPD") == "was in date up to 2026-12-31 only"
    check(watered, "DPD", against="new reagent", expires_on=date(2027, 11, 30))
    assert fault(watered, "DPD") is None


def test_the_same_again_is_already_recorded(watered: SmallFarm) -> None:
    """A retry after a crash."""
    first = check(watered, passed=False)
    again = watered.write(
        lambda w: calibrate(w, watered.in_force(), How("AB"), kit="PH", passed=False,
                            against="buffer 7")
    )  # fmt: skip
    assert again.already
    assert again.check.name == first.check.name
