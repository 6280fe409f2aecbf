"""Signing: facts are written as they are, with all that follows from them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from small_farm import SmallFarm

from hygiene.acts.signing import (
    DoerCannot,
    LateNeedsReason,
    MissedAlready,
    NotDueYet,
    Signed,
    SignedAlready,
    countersign,
    miss,
    questions,
    sign,
)
from hygiene.kinds.setup import Room
from hygiene.rota.signing import NoSuchStep, NotAnAnswer, StillWanted, answer_all

GOOD = {"temp": "21.3", "mould.R1": "0", "mould.R2": "0", "pests": "none"}


def signed(
    shed: SmallFarm,
    task: str = "walk",
    given: dict[str, str] | None = None,
    day: date | None = None,
    by: str = "AB",
    **more: object,
) -> Signed:
    due, farm = shed.due(task, day), shed.in_force()
    words = (GOOD if task == "walk" else {}) if given is None else given
    made = answer_all(task, questions(due.task, farm), words)
    return shed.write(
        lambda w: sign(w, farm, due, made, by=by, happened_at=shed.now, **more)
    )


def test_a_good_task_writes_one_entry(shed: SmallFarm) -> None:
    """What passes needs no action."""
    done = signed(shed)
    assert (done.actions, done.finds, done.already) == ((), (), False)
    assert [a["passed"] for a in done.sign_off.get("answers")] == [True] * 6


def test_a_reading_keeps_the_digits_as_typed(shed: SmallFarm) -> None:
    """21.30 stays 21.30 in the line."""
    done = signed(shed, given=GOOD | {"temp": "21.30"})
    with shed.open() as record:
        (line,) = record.db.execute(
            "select line from entry where seq = ?", (done.sign_off.seq,)
        ).fetchone()
    assert '"value":21.30' in line


def test_a_reading_out_of_limit_is_written_and_opens_an_action(
    shed: SmallFarm,
) -> None:
    """It is recorded as it is, and must be put right."""
    done = signed(shed, given=GOOD | {"temp": "27.5", "temp.did": "opened the vents"})
    (action,) = done.actions
    assert action.get("about") == done.sign_off.name
    assert action.get("problem") == "walk: temp was 27.5 C"
    assert action.get("did") == "opened the vents"


def test_mould_counted_above_zero_opens_the_record_and_a_hold(shed: SmallFarm) -> None:
    """One act is typed once: the count writes the find, the hold and the tick."""
    done = signed(shed, given=GOOD | {"mould.R2": "3"})
    kinds = [entry.kind for entry in done.finds]
    assert kinds[0] == "mould"
    assert "hold" in kinds
    mould = done.finds[0]
    assert (mould.get("rack"), mould.get("tray_count")) == ("R2", 3)
    answer = next(a for a in done.sign_off.get("answers") if a.get("of") == "R2")
    assert answer["wrote"] == mould.name


def test_a_pest_step_writes_the_sighting(shed: SmallFarm) -> None:
    """A step that names a kind writes an entry of it."""
    done = signed(shed, given=GOOD | {"pests": "mouse droppings, seed store, 4"})
    (pest,) = done.finds
    assert pest.body == {"what": "mouse droppings", "place": "seed store", "count": 4}
    assert [a.get("problem") for a in done.actions] == ["walk: pests was seen"]


def test_rooms_are_asked_where_racks_stand(shed: SmallFarm) -> None:
    """The seed store is not held to the warmth of the growing room."""
    farm = shed.in_force()
    shed.write(lambda w: w.add(Room(code="STORE", name="Seed store"), by="AB"))
    step = {"code": "temp", "per": "room"}
    task = shed.due("walk").task._replace(steps=(step,))
    assert [ask.of for ask in questions(task, shed.in_force())] == ["GROW"]
    assert "STORE" not in farm.things("room")


def test_a_safety_step_has_no_default(shed: SmallFarm) -> None:
    """Mouldy trays are a number typed for each rack, never Enter, never for all."""
    with pytest.raises(StillWanted, match=r"mould\.R1=.*mould\.R2="):
        signed(shed, given={"temp": "21", "pests": "none"})
    with pytest.raises(NoSuchStep):
        signed(shed, given={"temp": "21", "pests": "none", "mould": "0"})


@pytest.mark.parametrize("text", ["", "nan", "inf", "1e3", "-", "--2", "21,5", "1.5.2"])
def test_nonsense_is_no_reading(shed: SmallFarm, text: str) -> None:
    """A reading is a plain number."""
    with pytest.raises(NotAnAnswer):
        signed(shed, given=GOOD | {"temp": text})


@pytest.mark.parametrize("text", ["-1", "1.5", "many"])
def test_a_count_is_whole_and_not_below_zero(shed: SmallFarm, text: str) -> None:
    """Half a tray cannot be mouldy."""
    with pytest.raises(NotAnAnswer):
        signed(shed, given=GOOD | {"mould.R1": text})


def test_the_same_again_is_already_recorded(shed: SmallFarm) -> None:
    """A retry after a crash is no second act."""
    first, again = signed(shed), signed(shed)
    assert again.already
    assert again.sign_off.name == first.sign_off.name


def test_signing_twice_is_refused_with_the_way_out(shed: SmallFarm) -> None:
    """Another answer, or another person, is not a second sign-off."""
    name = signed(shed).sign_off.name
    with pytest.raises(SignedAlready) as refused:
        signed(shed, given=GOOD | {"temp": "20"})
    assert f"hygiene correct {name}" in str(refused.value.way_out)
    with pytest.raises(SignedAlready):
        signed(shed, by="CD")


def test_tomorrow_cannot_be_signed(shed: SmallFarm) -> None:
    """A plan of the future is refused."""
    with pytest.raises(NotDueYet):
        signed(shed, day=shed.now.date() + timedelta(days=1))


def test_late_needs_a_reason_and_shows_it_for_ever(shed: SmallFarm) -> None:
    """After the end of the working day the entry says how late it is."""
    day = shed.now.date()
    shed.later(days=1, hours=3)
    with pytest.raises(LateNeedsReason, match="13 h late"):
        signed(shed, day=day)
    done = signed(shed, day=day, reason="phone was flat")
    assert done.sign_off.get("marks") == ["late"]
    assert done.sign_off.reason == "phone was flat"
    assert "13 h late" in done.actions[0].get("problem")


def test_untrained_is_written_and_marked(shed: SmallFarm) -> None:
    """What has really been done by an untrained person is a fact."""
    done = signed(shed, task="floors", by="CD")
    assert done.sign_off.get("marks") == ["untrained"]
    assert len(done.actions) == 1


def test_without_the_right_is_written_and_marked(shed: SmallFarm) -> None:
    """A task for managers that a worker did says so."""
    shed.later(days=1)
    done = signed(shed, task="review", by="CD")
    assert done.sign_off.get("marks") == ["not-allowed"]


def test_a_miss_is_written_once(shed: SmallFarm) -> None:
    """A gap with a reason; the same again is already there; another is refused."""
    due = shed.due("floors")
    first = shed.write(lambda w: miss(w, due, why="no water", by="AB"))
    again = shed.write(lambda w: miss(w, due, why="no water", by="AB"))
    assert first.name == again.name
    with pytest.raises(MissedAlready):
        shed.write(lambda w: miss(w, due, why="forgot", by="CD"))


def test_what_was_done_after_all_is_written(shed: SmallFarm) -> None:
    """A miss does not stop the fact; the sign-off says that it was missed before."""
    due = shed.due("floors")
    shed.write(lambda w: miss(w, due, why="no water", by="AB"))
    done = signed(shed, task="floors")
    assert done.sign_off.get("marks") == ["was-missed"]


def test_the_doer_never_countersigns(shed: SmallFarm) -> None:
    """A second look is another person's; alone it is self-reviewed, and called so."""
    done = signed(shed)
    with pytest.raises(DoerCannot):
        shed.write(lambda w: countersign(w, [done.sign_off], by="AB"))
    made = shed.write(lambda w: countersign(w, [done.sign_off], by="AB", alone=True))
    assert made.get("how") == "self-reviewed"
    made = shed.write(lambda w: countersign(w, [done.sign_off], by="CD", alone=True))
    assert made.get("how") == "countersigned"
