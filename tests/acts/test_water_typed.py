"""A checklist step that writes a water test is answered by typing readings."""

from __future__ import annotations

import pytest
from small_farm import SmallFarm

from hygiene.acts.codes import UnknownCode
from hygiene.acts.signing import Signed, questions, sign
from hygiene.acts.water import Given
from hygiene.acts.water_typed import NotReadings, Typed, WhichPoint, read_typed
from hygiene.rota.signing import answer_all


def signed(farm: SmallFarm, **answers: str) -> Signed:
    farm.later(minutes=1)
    due, stands = farm.due("lines"), farm.in_force()
    given = {name.replace("_", "."): text for name, text in answers.items()}
    made = answer_all("lines", questions(due.task, stands), given)
    return farm.write(
        lambda w: sign(w, stands, due, made, by="AB", happened_at=farm.now)
    )


def test_readings_are_read_with_their_point_and_kits(watered: SmallFarm) -> None:
    """In any order, with commas or without."""
    wanted = Typed("P1", (Given("free", "0.5"), Given("ph", "7")), ("DPD", "PH"))
    for text in (
        "P1 free=0.5 ph=7 kit=DPD kit=PH",
        "free=0.5, ph=7, kit=DPD, kit=PH, p1",
    ):
        assert read_typed(watered.in_force(), text) == wanted


def test_a_line_stands_for_its_point(watered: SmallFarm) -> None:
    """Where it has one."""
    assert read_typed(watered.in_force(), "free=0.5", "L1").point == "P1"
    with pytest.raises(WhichPoint, match="no point"):
        read_typed(watered.in_force(), "free=0.5", "L9")


@pytest.mark.parametrize(
    "text", ["", "0.5", "free=0.5", "P1", "P1 P2 free=1", "P1 free='"]
)
def test_what_is_no_reading_is_refused(watered: SmallFarm, text: str) -> None:
    """With an example of what to type."""
    with pytest.raises(NotReadings, match=r"P1 free=0\.6"):
        read_typed(watered.in_force(), text)


def test_a_point_that_is_not_there_is_refused(watered: SmallFarm) -> None:
    """With the nearest."""
    with pytest.raises(UnknownCode):
        read_typed(watered.in_force(), "P7 free=0.5")


def test_signing_writes_the_water_test(watered: SmallFarm) -> None:
    """One act is typed once: the answer names what it wrote."""
    done = signed(watered, water_L1="free=0.5 kit=DPD", water_L2="none")
    (test,) = done.finds
    assert (test.kind, test.get("point")) == ("water", "P1")
    answers = {a.get("of"): a.get("wrote") for a in done.sign_off.get("answers")}
    assert answers["L1"] == test.name
    assert answers["L2"] is None


def test_what_is_out_of_limit_opens_its_action_there_too(watered: SmallFarm) -> None:
    """Every door leads to the same act."""
    done = signed(watered, water_L1="free=0.05 kit=DPD")
    (action,) = done.actions
    assert action.get("problem") == "P1: free chlorine 0.05 is less than 0.2 mg/L"


def test_a_slip_in_the_readings_signs_nothing(watered: SmallFarm) -> None:
    """All of it is written or none."""
    with pytest.raises(NotReadings):
        signed(watered, water_L1="half a litre")
    with watered.open() as record:
        assert record.entries(["sign_off", "water"]) == []
