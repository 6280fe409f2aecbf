"""Doses at the shed: what a plan is refused for, and what a fact is marked with."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from dose_farm import AB, DoseFarm, drawn, read, tray

from hygiene.acts.actions import close, look_again
from hygiene.acts.against_dosing import Case
from hygiene.acts.codes import UnknownCode
from hygiene.acts.dosing import NotADose, NoVolume, dose, dose_lines, plan_dose
from hygiene.acts.how import How
from hygiene.acts.mending import strike
from hygiene.acts.rules import PlanRefused
from hygiene.kinds.action import Recheck
from hygiene.kinds.sanitising import Drawn
from hygiene.sanitising.dosing import CannotPlan


def refusal(doses: DoseFarm, thing, *codes: str, by: str = "AB") -> str:
    """What a plan is refused with; nothing is written."""
    before = doses.read(lambda record: record.count())
    with pytest.raises(PlanRefused) as refused:
        doses.plan(thing, *codes, by=by)
    assert doses.read(lambda record: record.count()) == before
    told = " ".join(str(refused.value).split())
    assert "rule:" in told
    assert "way out:" in told
    return told


def planned(doses: DoseFarm, *numbers: int, **said):
    return doses.thing(*numbers, **{"readings": (), "ended_at": None, **said})


# plans


def test_a_plan_says_both_ends(doses: DoseFarm) -> None:
    """As aged, as labelled, and the chlorate that it brings."""
    code = doses.can(made_on=date(2026, 1, 2))
    made = doses.plan(planned(doses, 1), code)
    assert made.low_mg_per_l >= 200
    assert made.high_mg_per_l > made.low_mg_per_l
    assert made.answer.values["chlorate_mg_per_l"] > 0
    assert made.planned == made.answer.values["planned_tenth_ml"]


def test_a_plan_whose_strong_end_passes_the_label(doses: DoseFarm) -> None:
    """The target is allowed, a can still as labelled would not be."""
    code = doses.can(made_on=date(2025, 3, 1), kept_at_c=Decimal(25))
    told = refusal(doses, planned(doses, 1, target_mg_per_l=Decimal(450)), code)
    assert "above the label's maximum of 500" in told
    assert "--strength" in told


def test_a_measured_can_is_planned_from_what_it_holds(doses: DoseFarm) -> None:
    """A check replaces both the label and the model."""
    code = doses.can(made_on=date(2025, 3, 1), kept_at_c=Decimal(25))
    doses.strength(code, 80)
    made = doses.plan(planned(doses, 1, target_mg_per_l=Decimal(450)), code)
    assert made.high_mg_per_l == pytest.approx(450, rel=0.002)


def test_a_plan_without_a_volume(doses: DoseFarm) -> None:
    """There is nothing to work out: it says what to add."""
    with pytest.raises(NoVolume):
        doses.plan(planned(doses, 1, volume_l=None), doses.can())


def test_a_plan_without_a_strength_asks_the_rules_alone(doses: DoseFarm) -> None:
    """A detergent has none; what must not meet is asked all the same."""
    code = doses.can("soap")
    thing = planned(doses, 1, product="soap", target_mg_per_l=None)
    assert doses.plan(thing, code) is None
    with pytest.raises(CannotPlan):
        doses.plan(planned(doses, 1, product="soap"), code)


def test_a_lines_volume_is_worked_out(doses: DoseFarm) -> None:
    """From its pipe runs; with how long it stands and how it is flushed."""
    thing = planned(doses, line="L1", volume_l=None, target_mg_per_l=Decimal(100))
    made = doses.plan(thing, doses.can())
    assert made.answer.values["volume_l"] == pytest.approx(9.817, abs=0.001)
    assert made.answer.values["hold_hours"] == 3
    assert any("flush" in said for said in made.answer.says)


def test_a_tanks_volume_is_its_own(doses: DoseFarm) -> None:
    """A little chlorine that stays in the water, below what may be drunk."""
    thing = planned(
        doses, tank="K1", target="tank", volume_l=None, target_mg_per_l=Decimal(1)
    )
    assert doses.plan(thing, doses.can()).answer.values["made_l"] == 200


def test_chlorate_in_water_that_is_drunk(doses: DoseFarm) -> None:
    """An old can cannot be made good by taking more of it."""
    code = doses.can(made_on=date(2024, 10, 1), kept_at_c=Decimal(25))
    thing = planned(
        doses, tank="K1", target="tank", volume_l=None, target_mg_per_l=Decimal(4)
    )
    told = refusal(doses, thing, code)
    assert "chlorate" in told
    assert "2020/2184" in told


def test_pt2_on_a_tray(doses: DoseFarm) -> None:
    """A product for floors is no product for what touches feed."""
    thing = planned(doses, 1, product="floor", target_mg_per_l=Decimal(500))
    told = refusal(doses, thing, doses.can("floor"))
    assert "Floor Quat is PT2, and a tray takes PT4" in told
    assert "Regulation (EU) 528/2012" in told
    assert "labelled for floor, not for a tray" in told


def test_a_shock_product_kept_in_the_water_takes_pt5(doses: DoseFarm) -> None:
    """Water that is drunk is product type 5."""
    thing = planned(
        doses, product="peracid", tank="K1", target="tank", volume_l=None,
        target_mg_per_l=Decimal(100),
    )  # fmt: skip
    assert "labelled for tray, tool" in refusal(doses, thing, doses.can("peracid"))


def test_two_products_in_one_dose(doses: DoseFarm) -> None:
    """Never; and what forms is said."""
    thing = planned(doses, 1, volume_l=None, target_mg_per_l=None)
    told = refusal(doses, thing, doses.can(), doses.can("peracid"))
    assert "two products in one dose" in told
    assert "chlorine gas" in told


def test_two_containers_are_warned_about(doses: DoseFarm) -> None:
    """The first is emptied, the second makes up the rest; it is not refused."""
    first = doses.can(tenth_ml=500)
    made = doses.plan(planned(doses, 1), first, doses.can())
    assert next(many for _, many in made.drawn) == 500
    assert any("Two containers" in said for said in made.answer.warnings)


def test_expired_by_its_label(doses: DoseFarm) -> None:
    """Refused, unless the farm file only warns."""
    code = doses.can(expires_on=date(2026, 3, 1))
    assert "was to be used by 2026-03-01" in refusal(doses, planned(doses, 1), code)
    doses.setting(on_expired="warn")
    assert doses.plan(planned(doses, 1), code)


def test_expired_since_it_was_opened(doses: DoseFarm) -> None:
    """It keeps ninety days open."""
    code = doses.can()
    doses.dose(9, drawn=drawn(code, 10))
    doses.later(days=91)
    assert "keeps 90 days" in refusal(doses, planned(doses, 1), code)


def test_empty_or_not_enough(doses: DoseFarm) -> None:
    """What it holds is said."""
    code = doses.can(tenth_ml=500)
    told = refusal(doses, planned(doses, 1), code)
    assert f"{code} holds 50 ml, not " in told


def test_a_stale_data_sheet(doses: DoseFarm) -> None:
    """Nobody has looked at it for a year."""
    code = doses.can()
    doses.later(days=330)
    fresh = doses.can()
    told = refusal(doses, planned(doses, 1), fresh)
    assert "data sheet of Shed Hypochlorite was last looked at on 2026-01-15" in told
    doses.setting(on_stale_sds="warn", on_expired="warn")
    assert doses.plan(planned(doses, 1), code)


def test_the_farm_may_ask_for_a_training(doses: DoseFarm) -> None:
    """Whoever doses must hold it."""
    doses.setting(dosing_training="chemicals")
    code = doses.can()
    assert doses.plan(planned(doses, 1), code)
    assert "CD has no training in chemicals" in refusal(
        doses, planned(doses, 1), code, by="CD"
    )


def test_trays_that_grow(doses: DoseFarm) -> None:
    """Emptied and washed first."""
    batch = doses.batch(trays=range(1, 3))
    told = refusal(doses, planned(doses, 1, 2, 3), doses.can())
    assert f"T001, T002 still grow: {batch}" in told


def test_trays_below_a_line(doses: DoseFarm) -> None:
    """A shock dose must not drip on what will be fed."""
    doses.batch(trays=range(1, 3))
    thing = planned(doses, line="L1", volume_l=None, target_mg_per_l=Decimal(100))
    assert "trays grow below it: T001, T002" in refusal(doses, thing, doses.can())
    other = replace(thing, line="L2", volume_l=Decimal(10))
    assert doses.plan(other, doses.can())


def test_unknown_codes(doses: DoseFarm) -> None:
    """Exit code 4, whether planned or done."""
    with pytest.raises(UnknownCode):
        doses.plan(planned(doses, 1, product="magic"), doses.can())
    with pytest.raises(UnknownCode):
        doses.dose(99)
    with pytest.raises(UnknownCode):
        doses.dose(1, drawn=drawn("C-XX-1-A", 10))


def test_a_regions_ceiling_without_a_rinse(doses: DoseFarm) -> None:
    """United States: above 100 mg/L of peracid a plan says to rinse, a fact is marked.

    40 CFR 180.940, as in tests of the Food Code's ceilings.
    """
    strong = {
        "product": "peracid", "target_mg_per_l": Decimal(150),
        "readings": (read("start", 150), read("end", 150)),
    }  # fmt: skip
    assert doses.dose(1, 2, rinsed=False, **strong).dose.get("marks") is None
    doses.setting(profile="us-sprout-strict")
    code = doses.can("peracid")
    thing = planned(doses, 3, product="peracid", target_mg_per_l=Decimal(150))
    with doses.open() as record:
        case = Case(record, record.setup(), doses.in_force(), thing, "AB", doses.now)
        _, warned = plan_dose(case, [code])
    assert [rule.mark for rule in warned] == ["above-no-rinse"]
    done = doses.dose(3, 4, rinsed=False, **strong)
    assert done.dose.get("marks") == ["above-no-rinse"]
    assert doses.whys(3) != ()
    doses.rinse(3, dry=True)
    assert doses.whys(3) == ()


# what must not meet


def test_an_acid_after_hypochlorite_without_a_rinse(doses: DoseFarm) -> None:
    """Refused as a plan; as a fact marked, an incident, and not cleared."""
    doses.dose(1, 2, rinsed=False, tools=("JUG1",))
    code = doses.can("peracid")
    thing = planned(doses, 1, product="peracid", target_mg_per_l=Decimal(150))
    told = refusal(doses, thing, code)
    assert "chlorine gas" in told
    assert "hygiene rinse T001" in told
    done = doses.dose(1, product="peracid", target_mg_per_l=Decimal(150))
    assert "must-not-meet" in done.dose.get("marks")
    assert [action.get("incident") for action in done.actions] == [True]
    assert any("must not meet" in why for why in doses.whys(1))


def test_an_acid_after_hypochlorite_with_the_rinse(doses: DoseFarm) -> None:
    """The recorded rinse lets it pass, of that tray and no other."""
    doses.dose(1, 2, rinsed=False)
    doses.rinse(1)
    thing = planned(doses, 1, product="peracid", target_mg_per_l=Decimal(150))
    assert doses.plan(thing, doses.can("peracid"))
    assert "T002" in refusal(
        doses, replace(thing, trays=(tray(1), tray(2))), doses.can("peracid")
    )


def test_the_reverse_as_well(doses: DoseFarm) -> None:
    """Hypochlorite after an acid."""
    doses.dose(1, product="peracid", rinsed=False, readings=(read("start", 150),))
    assert "must not meet" in refusal(doses, planned(doses, 1), doses.can())


def test_jugs_count_like_trays(doses: DoseFarm) -> None:
    """The dose's own rinse is of the trays; the jug needs one of its own."""
    doses.dose(1, rinsed=True, tools=("JUG1",))
    thing = planned(
        doses, 8, product="peracid", target_mg_per_l=Decimal(150), tools=("JUG1",)
    )
    assert "JUG1" in refusal(doses, thing, doses.can("peracid"))
    doses.rinse(tools=("JUG1",))
    assert doses.plan(thing, doses.can("peracid"))


def test_a_dose_may_say_that_its_tools_were_rinsed(doses: DoseFarm) -> None:
    """One entry for both."""
    doses.dose(1, rinsed=True, tools=("JUG1",), tools_rinsed=True)
    thing = planned(
        doses, 8, product="peracid", target_mg_per_l=Decimal(150), tools=("JUG1",)
    )
    assert doses.plan(thing, doses.can("peracid"))


def test_what_lies_between_does_not_hide_it(doses: DoseFarm) -> None:
    """Soap without a rinse between bleach and acid is no rinse."""
    doses.dose(1, rinsed=False)
    doses.dose(1, product="soap", rinsed=None, readings=(), target_mg_per_l=None)
    thing = planned(doses, 1, product="peracid", target_mg_per_l=Decimal(150))
    assert "Shed Hypochlorite" in refusal(doses, thing, doses.can("peracid"))


def test_a_tank_runs_through_its_line(doses: DoseFarm) -> None:
    """Descaler into a line whose tank holds chlorine."""
    doses.dose(
        tank="K1", target="tank", target_mg_per_l=Decimal(1), rinsed=None,
        readings=(read("start", 1),),
    )  # fmt: skip
    thing = planned(doses, product="descale", line="L1", target_mg_per_l=None)
    assert "K1" in refusal(doses, thing)


def test_a_struck_dose_is_still_in_the_jug(doses: DoseFarm) -> None:
    """Striking it takes nothing out."""
    done = doses.dose(1, rinsed=False)
    doses.act(lambda w: strike(w, done.dose.name, reason="wrong", by="AB"))
    thing = planned(doses, 1, product="peracid", target_mg_per_l=Decimal(150))
    assert "must not meet" in refusal(doses, thing, doses.can("peracid"))


# facts


def test_a_good_dose_has_no_mark(doses: DoseFarm) -> None:
    """And its plan is worked out again and kept beside what was drawn."""
    code = doses.can()
    amount = doses.plan(planned(doses, 1, 2), code).planned
    done = doses.dose(1, 2, drawn=drawn(code, amount), gear=("gloves", "goggles"))
    assert done.said.every == ()
    assert done.actions == ()
    assert done.dose.get("planned_tenth_ml") == amount
    assert all(made.cleared for made in done.trays.values())


@pytest.mark.parametrize(
    ("said", "mark"),
    [
        ({"readings": (read("start", 190), read("end", 60))}, "too-weak"),
        ({"readings": (read("start", 600), read("end", 300))}, "too-strong"),
        ({"minutes": 3}, "contact-short"),
        ({"washed_before": False}, "not-washed"),
        ({"rinsed": False}, "not-rinsed"),
        ({"readings": (read("start", 190, kit="OLD"),)}, "kit-out-of-date"),
        ({"readings": (read("start", 190, kit="PAA"),)}, "kit-reads-another"),
        ({"readings": (read("start", 190, temp_c=Decimal(2)),)}, "too-cold"),
        ({"gear": ("gloves",)}, "gear-missing"),
        ({"product": "floor"}, "wrong-product-type"),
        ({"product": "floor"}, "not-for-this-use"),
    ],
)
def test_a_fact_is_marked_and_opens_its_action(
    doses: DoseFarm, said: dict, mark: str
) -> None:
    """It happened, so it is written as it is."""
    done = doses.dose(1, 2, **said)
    assert mark in done.dose.get("marks")
    (action,) = done.actions
    assert action.get("about") == done.dose.name
    assert not action.get("incident")
    assert action.get("step")


def test_what_is_not_written_is_no_failure(doses: DoseFarm) -> None:
    """It clears nothing, but nobody did wrong: no mark, no action."""
    done = doses.dose(
        1, 2, washed_before=None, rinsed=None, dry=None, readings=(), minutes=None
    )
    assert done.dose.get("marks") is None
    assert done.actions == ()
    assert not done.trays["T001"].cleared


def test_far_from_the_plan_is_marked_only(doses: DoseFarm) -> None:
    """The strength that was measured decides."""
    done = doses.dose(1, 2, drawn=drawn(doses.can(), 3_000))
    assert done.dose.get("marks") == ["off-plan"]
    assert done.actions == ()


def test_a_dose_from_an_expired_can_is_written(doses: DoseFarm) -> None:
    """Marked for ever; where the farm file refuses plans, to be put right too."""
    code = doses.can(expires_on=date(2026, 3, 1))
    done = doses.dose(1, 2, drawn=drawn(code, 960))
    assert done.dose.get("marks") == ["expired"]
    assert len(done.actions) == 1
    doses.setting(on_expired="warn")
    done = doses.dose(1, 2, drawn=drawn(code, 960))
    assert done.dose.get("marks") == ["expired"]
    assert done.actions == ()


def test_two_products_in_one_fact(doses: DoseFarm) -> None:
    """An incident."""
    two = (*drawn(doses.can(), 900), *drawn(doses.can("peracid"), 900))
    done = doses.dose(1, 2, drawn=two)
    assert "two-products" in done.dose.get("marks")
    assert done.actions[0].get("incident")
    assert doses.whys(1) != ()


def test_a_solid_is_weighed(doses: DoseFarm) -> None:
    """Milligrams, planned and drawn."""
    code = doses.can("granules")
    thing = planned(doses, 1, product="granules", target_mg_per_l=Decimal(200))
    made = doses.plan(thing, code)
    # 60 L x 200 mg/L / 560 mg per g = 21.428571 g, up to the next milligram
    assert made.planned == 21_429
    done = doses.dose(
        1, 2, product="granules", drawn=(Drawn(container=code, mg=made.planned),)
    )
    assert done.dose.get("planned_mg") == 21_429
    assert doses.held(code).left == 5_000_000 - 21_429


def test_the_same_again_is_one_dose(doses: DoseFarm) -> None:
    """After a crash the person types it again."""
    code = doses.can()
    thing = doses.thing(1, 2, drawn=drawn(code, 1_000))
    how = AB._replace(happened_at=doses.now)
    doses.later(minutes=30)

    def act(w):
        return dose(w, w.record.setup(), doses.in_force(), thing, how)

    first, again = doses.act(act), doses.act(act)
    assert again.already
    assert again.dose.name == first.dose.name
    assert doses.held(code).drawn == 1_000


def test_a_tub_is_a_dose(doses: DoseFarm) -> None:
    """It names the first of them, whichever was typed."""
    first = doses.dose(1, 2).dose.name
    second = doses.dose(3, 4, tub=first, readings=()).dose.name
    third = doses.dose(5, 6, tub=second, readings=())
    assert third.dose.get("tub") == first
    with pytest.raises(NotADose):
        doses.dose(7, tub=doses.entries("product")[0].name)


def test_an_earlier_time_may_be_typed_later(doses: DoseFarm) -> None:
    """It happened then, and is judged by what stood then."""
    morning = doses.now
    doses.later(hours=6)
    done = doses.dose(1, 2, at=morning)
    assert done.dose.happened_at == morning.isoformat(timespec="seconds")
    assert doses.whys(1) == ()


# stories


def test_a_failed_dose_and_its_recheck(doses: DoseFarm) -> None:
    """Too weak, opened, done again, looked at again, closed."""
    failed = doses.dose(1, 2, readings=(read("start", 190), read("end", 70)))
    name = failed.actions[0].name
    again = doses.dose(1, 2)
    thing = Recheck(action=name, seen="done again, 160 mg/L at the end", passed=True)
    doses.act(lambda w: look_again(w, thing, by="CD"))
    doses.act(
        lambda w: close(
            w, name, did="tub made up anew", by="AB", cause="tub of the day before"
        )
    )
    assert again.actions == ()
    assert doses.whys(1) == ()
    assert doses.read(lambda r: r.unanswered("action", "close")) == []


def test_a_week_of_dosing(doses: DoseFarm) -> None:
    """Every day a dozen trays from one can: what is drawn balances to the drop."""
    code = doses.can(tenth_ml=50_000)
    opened = doses.now.date()
    amounts = []
    for day in range(7):
        numbers = range(1 + 4 * day, 5 + 4 * day)
        thing = planned(doses, *numbers)
        amount = doses.plan(thing, code).planned
        done = doses.dose(*numbers, drawn=drawn(code, amount))
        assert done.said.every == ()
        amounts.append(amount)
        doses.later(days=1)
    held = doses.held(code)
    assert held.drawn == sum(amounts)
    assert held.left == 50_000 - sum(amounts)
    assert held.opened_on == opened
    # the can ages, so the same strength takes more of it every day
    assert amounts == sorted(amounts)
    assert amounts[-1] > amounts[0]


def test_a_log_of_a_period_has_the_rinses_and_the_struck_ones(doses: DoseFarm) -> None:
    """What is laid out on paper later."""
    since = doses.now
    first = doses.dose(1, 2, rinsed=None).dose.name
    rinse = doses.rinse(1, 2).rinse.name
    second = doses.dose(3, 4).dose.name
    doses.act(lambda w: strike(w, second, reason="twice", by="AB"))
    lines = doses.read(lambda r: dose_lines(r, since, since + timedelta(days=1)))
    assert [(line.dose.name, line.struck) for line in lines] == [
        (first, False),
        (second, True),
    ]
    assert [e.name for e in lines[0].rinses] == [rinse]


def test_somebody_else_may_type_it(doses: DoseFarm) -> None:
    """Who did it, and who typed it."""
    done = doses.dose(1, how=How("AB", written_by="CD"))
    assert (done.dose.by, done.dose.written_by) == ("AB", "CD")
