"""Water tests: facts are written as they are, with all that follows from them."""

from __future__ import annotations

from datetime import timedelta

import pytest
from small_farm import SmallFarm
from sprout_farm import SproutFarm
from water_shed import sampled

from hygiene.acts import holds
from hygiene.acts.actions import close
from hygiene.acts.batches import against_sowing
from hygiene.acts.calibrating import calibrate
from hygiene.acts.codes import UnknownCode
from hygiene.acts.holds import NeedsSample
from hygiene.acts.how import How
from hygiene.acts.mending import correct, strike
from hygiene.acts.water import (
    Given,
    ReceivedBefore,
    WaterTest,
    after_correction,
    write_test,
)
from hygiene.kinds.base import CannotBe
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import stamp
from hygiene.kinds.setup import Point
from hygiene.water.parameters import UnknownParameter

LAB = "Lowmoor Laboratory"


def lab(farm: SmallFarm, point: str = "P1", **results: str) -> WaterTest:
    return sampled(farm, point, lab=LAB, results=results)


def checked(farm: SmallFarm, passed: bool = True) -> None:
    farm.later(minutes=1)
    farm.write(
        lambda w: calibrate(
            w, farm.in_force(), How("AB"), kit="PH", passed=passed, against="buffer 7"
        )
    )


def release(
    farm: SmallFarm, name: str, document: str | None = None
) -> tuple[Entry, ...]:
    return farm.write(
        lambda w: holds.release(w, name, why="clean", by="AB", document=document)
    )


# what is written


def test_readings_within_their_limits_write_one_entry(watered: SmallFarm) -> None:
    """With what they were held against, and nothing else."""
    checked(watered)
    done = sampled(
        watered, "P1", kits=("DPD", "PH"), results={"free": "0.60", "pH": "7.4"}
    )
    assert (done.actions, done.holds, done.marks, done.findings) == ((), (), (), False)
    free, ph = done.water.get("results")
    assert (free["parameter"], str(free["value"]), free["verdict"]) == (
        "free", "0.60", "within",
    )  # fmt: skip
    assert free["held_against"] == "1.0 mg/L at most (the farm's own limit)"
    assert (ph["parameter"], ph["kit"]) == ("ph", "PH")


def test_a_certificate_keeps_what_it_says(watered: SmallFarm) -> None:
    """<1 is within, >2419.6 is over, and both stay as written."""
    done = lab(watered, ecoli="<1", coliforms=">2419.6")
    ecoli, coliforms = done.water.get("results")
    assert (ecoli["as_written"], ecoli["sign"], ecoli["verdict"]) == (
        "<1",
        "<",
        "within",
    )
    assert (coliforms["sign"], coliforms["verdict"]) == (">", "over")
    (action,) = done.actions
    assert action.get("problem") == (
        "P1: coliform bacteria >2419.6 is over 0 per 100 ml"
    )
    assert done.holds == ()


def test_a_result_that_cannot_decide_opens_an_action(watered: SmallFarm) -> None:
    """<10 does not show 0: a finer test is asked for, and nothing is held."""
    done = lab(watered, ecoli="<10")
    assert "finer test" in done.actions[0].get("problem")
    assert done.holds == ()
    assert done.findings


def test_the_same_again_is_already_recorded(watered: SmallFarm) -> None:
    """A retry after a crash opens nothing twice."""
    at = watered.now
    first = sampled(watered, "P1", lab=LAB, at=at, results={"ecoli": "5"})
    again = sampled(watered, "P1", lab=LAB, at=at, results={"ecoli": "5"})
    assert again.already
    assert again.water.name == first.water.name


@pytest.mark.parametrize(
    ("given", "failure"),
    [
        ({"point": "P9"}, UnknownCode),
        ({"kits": ("K9",)}, UnknownCode),
        ({"results": {"moonlight": "1"}}, UnknownParameter),
        ({"results": {}}, CannotBe),
    ],
)
def test_what_is_not_known_is_refused(
    watered: SmallFarm, given: dict[str, object], failure: type[Exception]
) -> None:
    """A wrong name is a slip, and writes nothing."""
    words = {"point": "P1", "results": {"free": "0.5"}} | given
    with pytest.raises(failure):
        sampled(watered, words.pop("point"), **words)
    with watered.open() as record:
        assert record.entries(["water"]) == []


def test_one_parameter_is_not_given_twice(watered: SmallFarm) -> None:
    """Under whatever name."""
    with pytest.raises(CannotBe, match="free is given twice"):
        sampled(watered, "P1", results={"free": "0.5", "FC": "0.6"})


def test_a_sample_is_not_received_before_it_was_taken(watered: SmallFarm) -> None:
    """The two times were mixed up."""
    early = stamp(watered.now - timedelta(hours=3))
    with pytest.raises(ReceivedBefore):
        sampled(watered, "P1", lab=LAB, results={"ecoli": "0"}, received_at=early)


# marks


def test_a_kit_that_reads_something_else_reads_nothing(watered: SmallFarm) -> None:
    """Peracetic acid by a chlorine kit is marked, although no other kit reads it."""
    done = sampled(watered, "P2", kits=("DPD",), results={"paa": "5"})
    assert done.water.get("marks") == ["no-kit"]


def test_a_reading_with_a_kit_out_of_date_says_so_for_ever(watered: SmallFarm) -> None:
    """It is written, marked, and opens its action."""
    watered.later(days=330)
    done = sampled(watered, "P2", kits=("DPD",), results={"free": "0.5"})
    assert done.water.get("marks") == ["kit-out-of-date"]
    assert done.actions[0].get("problem") == (
        "water test: DPD was in date up to 2026-12-31 only, and read free"
    )


def test_a_meter_that_was_never_checked_marks_its_reading(watered: SmallFarm) -> None:
    """And only its own: the entry says which."""
    done = sampled(watered, "P2", kits=("DPD", "PH"), results={"free": "1", "ph": "7"})
    assert [mark.says for mark in done.marks] == ["PH was never checked, and read ph"]


def test_a_reading_without_a_kit_says_so(watered: SmallFarm) -> None:
    """Where the farm has one that reads it; a temperature by none is no fault."""
    done = sampled(watered, "P2", results={"free": "0.5", "temp": "12"})
    assert done.water.get("marks") == ["no-kit"]
    done = sampled(watered, "P2", kits=("DPD",), results={"ph": "7"})
    assert done.water.get("marks") == ["no-kit"]
    assert sampled(watered, "P2", results={"temp": "12"}).marks == ()


def test_an_untrained_person_says_so_for_ever(watered: SmallFarm) -> None:
    """A fact, marked; a sampler from outside answers for himself."""
    done = sampled(watered, "P2", by="CD", lab=LAB, results={"ecoli": "0"})
    assert done.water.get("marks") == ["untrained"]
    done = sampled(watered, "P2", by="CD", lab=LAB, sampler="the laboratory",
                  results={"ecoli": "0"})  # fmt: skip
    assert done.water.get("marks") is None


def test_correcting_the_kit_takes_no_mark_away(watered: SmallFarm) -> None:
    """What the reading stood against, it stands against for ever."""
    done = sampled(watered, "P2", results={"free": "0.5"})
    body = {**done.water.body, "kit": "DPD"}
    made, _ = watered.write(
        lambda w: correct(w, done.water.name, body, reason="forgot", by="AB")
    )
    assert made.get("marks") == ["no-kit"]


# a failed E. coli and the resample: the story


def test_a_failed_e_coli_stops_sowing_from_its_line(watered: SmallFarm) -> None:
    """The hold names the line, what it stops and the test."""
    done = lab(watered, ecoli="5")
    (hold,) = done.holds
    assert hold.body == {
        "held": "L1", "sort": "line", "why": "E. coli 5 per 100 ml at P1",
        "because": done.water.name, "stops": "sowing",
    }  # fmt: skip


def test_bad_incoming_water_stops_sowing_from_every_line(watered: SmallFarm) -> None:
    """A point without a line reaches them all."""
    done = lab(watered, "P0", ecoli="5")
    assert [hold.get("held") for hold in done.holds] == ["L1", "L2"]


def test_a_second_failure_is_a_failed_recheck_not_a_second_hold(
    watered: SmallFarm,
) -> None:
    """One trouble has one action and one hold."""
    first = lab(watered, ecoli="5")
    second = lab(watered, ecoli="2")
    assert (second.actions, second.holds) == ((), ())
    (recheck,) = second.rechecks
    assert (recheck.get("action"), recheck.get("passed"), recheck.get("evidence")) == (
        first.actions[0].name, False, second.water.name,
    )  # fmt: skip


def test_a_resample_that_passes_is_the_recheck_and_lets_the_line_go(
    watered: SmallFarm,
) -> None:
    """Typed once: the certificate answers the action, then it can be closed."""
    first = lab(watered, ecoli="5", nitrate="20")
    (hold,) = first.holds
    with pytest.raises(NeedsSample, match="ecoli at P1"):
        release(watered, hold.name)
    done = lab(watered, ecoli="<1")
    assert [recheck.get("passed") for recheck in done.rechecks] == [True]
    release(watered, hold.name)
    ended = watered.write(
        lambda w: close(w, first.actions[0].name, did="flushed, shock dosed", by="AB")
    )
    assert ended.get("recheck") == done.rechecks[0].name


def test_a_paper_does_not_stand_for_a_sample(watered: SmallFarm) -> None:
    """Nor does a recheck that somebody typed."""
    (hold,) = lab(watered, ecoli="5").holds
    with pytest.raises(NeedsSample):
        release(watered, hold.name, document="letter of today")


@pytest.mark.parametrize("results", [{"nitrate": "20"}, {"ecoli": "<10"}])
def test_another_or_an_undecided_result_is_no_resample(
    watered: SmallFarm, results: dict[str, str]
) -> None:
    """It must be the same parameter, and decide it."""
    (hold,) = lab(watered, ecoli="5").holds
    lab(watered, **results)
    with pytest.raises(NeedsSample):
        release(watered, hold.name)


def test_a_kit_does_not_recheck_a_laboratory(watered: SmallFarm) -> None:
    """Whatever a home test says."""
    (hold,) = lab(watered, ecoli="5").holds
    done = sampled(watered, "P1", results={"ecoli": "0"})
    assert done.rechecks == ()
    with pytest.raises(NeedsSample):
        release(watered, hold.name)


def test_an_older_sample_is_no_resample(watered: SmallFarm) -> None:
    """A certificate of last week that turns up today proves nothing of today."""
    (hold,) = lab(watered, ecoli="5").holds
    old = watered.now - timedelta(days=7)
    assert (
        sampled(watered, "P1", lab=LAB, at=old, results={"ecoli": "0"}).rechecks == ()
    )
    with pytest.raises(NeedsSample):
        release(watered, hold.name)


def test_a_marked_sample_is_no_resample(watered: SmallFarm) -> None:
    """Taken by somebody who was never taught how."""
    (hold,) = lab(watered, ecoli="5").holds
    done = sampled(watered, "P1", by="CD", lab=LAB, results={"ecoli": "0"})
    assert done.rechecks == ()
    with pytest.raises(NeedsSample):
        release(watered, hold.name)


def test_a_sample_of_another_point_is_no_resample(watered: SmallFarm) -> None:
    """Each line for itself."""
    (hold,) = lab(watered, ecoli="5").holds
    assert lab(watered, "P2", ecoli="0").rechecks == ()
    with pytest.raises(NeedsSample):
        release(watered, hold.name)


def test_the_last_sample_counts_not_the_best(watered: SmallFarm) -> None:
    """One that passed and then one that failed is a failed one."""
    (hold,) = lab(watered, ecoli="5").holds
    lab(watered, ecoli="0")
    lab(watered, ecoli="1")
    with pytest.raises(NeedsSample):
        release(watered, hold.name)


def test_a_resample_that_was_corrected_to_pass_does_not(watered: SmallFarm) -> None:
    """The strictest of its versions counts."""
    (hold,) = lab(watered, ecoli="5").holds
    bad = lab(watered, ecoli="1")
    row = {**bad.water.get("results")[0], "value": 0, "as_written": "0",
           "verdict": "within"}  # fmt: skip
    body = {
        **bad.water.body,
        "results": [{k: v for k, v in row.items() if k != "stops"}],
    }
    watered.later(minutes=1)
    watered.write(lambda w: correct(w, bad.water.name, body, reason="typo", by="AB"))
    with pytest.raises(NeedsSample):
        release(watered, hold.name)


def test_striking_the_failure_never_lets_the_line_go(watered: SmallFarm) -> None:
    """Ruled through, it still wants a sample or the paper that shows the slip."""
    done = lab(watered, ecoli="5")
    watered.later(minutes=1)
    watered.write(lambda w: strike(w, done.water.name, reason="wrong point", by="AB"))
    with pytest.raises(NeedsSample):
        release(watered, done.holds[0].name)
    release(watered, done.holds[0].name, document="certificate 7731 is of the house")


def test_a_correction_that_fails_now_opens_its_action_and_hold(
    watered: SmallFarm,
) -> None:
    """What was typed as 0 and is 5 stops sowing from then on."""
    done = lab(watered, ecoli="0")
    row = {"parameter": "ecoli", "value": 5, "unit": "per 100 ml", "as_written": "5",
           "verdict": "over", "stops": "sowing"}  # fmt: skip
    body = {**done.water.body, "results": [row]}
    watered.later(minutes=1)
    _, opened = watered.write(
        lambda w: correct(w, done.water.name, body, reason="misread", by="AB")
    )
    assert [entry.kind for entry in opened] == ["action", "hold"]


def test_a_correction_of_what_failed_before_opens_nothing_twice(
    watered: SmallFarm,
) -> None:
    """Its action is open already."""
    done = lab(watered, coliforms="5")
    body = {**done.water.body, "note": "tap flamed"}
    watered.later(minutes=1)
    made, opened = watered.write(
        lambda w: correct(w, done.water.name, body, reason="forgot", by="AB")
    )
    assert opened == []
    with watered.open() as record:
        assert after_correction(record, made) == []


# drift


def test_a_drift_is_called_when_the_eighth_reading_is_written(
    watered: SmallFarm,
) -> None:
    """The residual falls over eight readings."""
    falling = ("0.90", "0.82", "0.80", "0.71", "0.66", "0.61", "0.50", "0.41")
    for text in falling:
        watered.later(days=3)
        done = sampled(watered, "P2", kits=("DPD",), results={"free": text})
    ((parameter, found),) = done.drifts
    assert (parameter.code, found.falls, found.test.n) == ("free", True, 8)


def test_a_given_result_may_name_its_own_kit_and_method(watered: SmallFarm) -> None:
    """What was said of one result stays with it."""
    checked(watered)
    given = [Given("ph", "7.1", "electrode", "ph"), Given("free", "0.5")]
    done = watered.write(
        lambda w: write_test(w, watered.in_force(), How("AB"), point="p2", given=given,
                             kits=("dpd",))
    )  # fmt: skip
    ph, free = done.water.get("results")
    assert (ph["kit"], ph["method"], free.get("kit")) == ("PH", "electrode", None)
    assert (done.water.get("kit"), done.marks) == ("DPD", ())


# what follows in the shed


def test_bad_water_refuses_a_sowing_from_its_line_and_lets_fodder_be_fed(
    sprouts: SproutFarm,
) -> None:
    """The hold stops sowing alone: what grows is another question."""
    sprouts.act(lambda w: w.add(Point(code="P1", name="Nozzle", line="L1"), by="AB"))
    sprouts.later(minutes=1)
    batch = sprouts.batch(line="L1")
    done = sampled(sprouts, "P1", lab=LAB, sampler="the laboratory",
                   results={"ecoli": "5"})  # fmt: skip
    assert [hold.get("held") for hold in done.holds] == ["L1"]
    sprouts.later(days=6)
    with sprouts.open() as record:
        against = against_sowing(record, sprouts.in_force(), [], [], "L1", sprouts.now)
        other = against_sowing(record, sprouts.in_force(), [], [], "L2", sprouts.now)
    assert "held" in " ".join(rule.says for rule in against)
    assert [rule.mark for rule in other if "held" in rule.says] == []
    sprouts.feed(batch, 1)
    assert not [m for m in sprouts.entries("feed")[-1].get("marks", ()) if "held" in m]
