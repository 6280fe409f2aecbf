"""Which trays and lines are cleared, told as it happens in the shed."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from dose_farm import DoseFarm, read

from hygiene.acts.clearance import law_at, trays_now
from hygiene.acts.lines import line_cleared
from hygiene.acts.mending import correct, strike
from hygiene.acts.signing import countersign
from hygiene.kinds.moments import stamp

TRAYS = (1, 2, 3)


def test_a_tray_that_met_every_condition_is_cleared(doses: DoseFarm) -> None:
    """Emptied, washed, in range at both ends, warm, long enough, rinsed, dry."""
    doses.dose(*TRAYS)
    assert [doses.whys(n) for n in TRAYS] == [()] * 3


def test_a_tray_that_nobody_dosed_is_not_cleared(doses: DoseFarm) -> None:
    """Nothing known: not cleared."""
    doses.dose(1)
    assert doses.whys(9) == ("nothing shows that it was washed and sanitised lately",)


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ({"washed_before": None}, "washed first is not written"),
        ({"washed_before": False}, "not washed first"),
        ({"readings": ()}, "no strength was read at the start"),
        ({"readings": (read("start", 190),)}, "no strength was read at the end"),
        ({"readings": (read("end", 160),)}, "no strength was read at the start"),
        ({"readings": (read("start", 190), read("end", 99))}, "too weak"),
        ({"readings": (read("start", 90), read("end", 160))}, "too weak"),
        ({"readings": (read("start", 510), read("end", 400))}, "no strip has read 0"),
        ({"readings": (read("start", 150, sign=">"), read("end", 150))}, "scale ended"),
        ({"readings": (read("start", 190), read("end", 100, sign="<"))}, "too weak"),
        ({"readings": (read("start", 190, kit="OLD"), read("end", 160))}, "kit OLD"),
        ({"readings": (read("start", 190, kit=None), read("end", 160))}, "no kit was"),
        (
            {"readings": tuple(read(s, 160, temp_c=None) for s in ("start", "end"))},
            "temperature was not read",
        ),
        (
            {
                "readings": tuple(
                    read(s, 160, temp_c=Decimal("4.9")) for s in ("start", "end")
                )
            },
            "asks for 5 C",
        ),
        ({"minutes": 9}, "it stood 9 min, 10 are needed"),
        ({"minutes": None, "rinsed": None}, "when it ended is not written"),
        ({"rinsed": None}, "rinsed is not written"),
        ({"rinsed": False}, "not rinsed"),
        ({"dry": None}, "dry is not written"),
        ({"dry": False}, "dry is not written"),
        ({"product": "floor"}, "Floor Quat is PT2"),
        ({"product": "soap"}, "no strength at which Bay Detergent sanitises"),
    ],
)
def test_anything_missing_or_wrong_is_not_cleared(
    doses: DoseFarm, said: dict[str, Any], why: str
) -> None:
    """Each condition by itself, with its reason."""
    doses.dose(*TRAYS, **said)
    assert any(why in told for told in doses.whys(1)), doses.whys(1)


def test_one_tray_alone_needs_one_reading(doses: DoseFarm) -> None:
    """A tub that only one tray met is read once at least."""
    doses.dose(1, readings=(read("start", 190),))
    assert doses.whys(1) == ()


def test_a_sprayed_solution_is_read_once(doses: DoseFarm) -> None:
    """It is not used up by the trays before."""
    doses.dose(*TRAYS, readings=(read("start", 190),), way="spray")
    assert doses.whys(1) == ()


def test_a_rinse_written_later_counts(doses: DoseFarm) -> None:
    """Rinsed and dried by entries of their own; water after drying wets it again."""
    doses.dose(*TRAYS, rinsed=None, dry=None)
    doses.rinse(1, 2, 3)
    assert doses.whys(1) == ("that it is dry is not written",)
    doses.rinse(1, 2, rinsed=False, dry=True)
    assert doses.whys(1) == ()
    assert doses.whys(3) != ()
    doses.rinse(1)
    assert doses.whys(1) == ("that it is dry is not written",)


def test_a_rinse_ends_the_contact(doses: DoseFarm) -> None:
    """Where nobody wrote when it ended, water did."""
    doses.dose(1, readings=(read("start", 190),), minutes=None, rinsed=None, dry=None)
    doses.rinse(1, dry=True)
    assert doses.whys(1) == ()


def test_too_strong_needs_a_strip_at_zero(doses: DoseFarm) -> None:
    """Rinse again until a strip reads nothing."""
    doses.dose(*TRAYS, readings=(read("start", 600), read("end", 520)))
    doses.rinse(*TRAYS, readings=(read("rinsed", 2),), dry=True)
    assert any("no strip has read 0" in why for why in doses.whys(1))
    doses.rinse(*TRAYS, readings=(read("rinsed", 0),), dry=True)
    assert doses.whys(1) == ()


def test_it_lasts_for_the_farms_days(doses: DoseFarm) -> None:
    """Three days after the contact ended, and no minute longer."""
    doses.dose(1, 2)
    ended = doses.now - timedelta(minutes=32) + timedelta(minutes=12)
    assert doses.whys(1, ended + timedelta(days=3)) == ()
    late = doses.whys(1, ended + timedelta(days=3, minutes=1))
    assert late == ("sanitised over 3 days ago",)


def test_the_farm_file_sets_the_days(doses: DoseFarm) -> None:
    """A farm may ask for less."""
    doses.setting(clear_days=1)
    doses.dose(1, 2)
    assert doses.whys(1, doses.now + timedelta(days=2)) != ()


def test_a_later_dose_decides(doses: DoseFarm) -> None:
    """A good one is undone by a bad one after it, and the other way round."""
    doses.dose(1, 2)
    doses.dose(1, 2, readings=(read("start", 190), read("end", 40)))
    assert doses.whys(1) != ()
    doses.dose(1, 2)
    assert doses.whys(1) == ()


# what grew in it


def test_what_still_grows_is_not_clean(doses: DoseFarm) -> None:
    """Dosed, but the batch was never written as out of it."""
    batch = doses.batch(trays=range(1, 4))
    doses.dose(*TRAYS)
    assert any(f"{batch} was not written as out" in why for why in doses.whys(1))


def test_emptied_before_it_was_dosed(doses: DoseFarm) -> None:
    """Fed out first: cleared. Fed out after: not."""
    batch = doses.batch(trays=range(1, 5))
    doses.feed(batch, 1, 2)
    doses.dose(1, 2, 3)
    doses.feed(batch, 3)
    assert doses.whys(1) == ()
    assert doses.whys(3) != ()


def test_sown_in_since(doses: DoseFarm) -> None:
    """A clean tray that is sown is clean no more."""
    doses.dose(1, 2, 3)
    batch = doses.batch(trays=range(1, 3))
    assert f"{batch} was sown in it since" in doses.whys(1)
    assert doses.whys(3) == ()


def test_a_sowing_is_asked_about_cleared_trays(doses: DoseFarm) -> None:
    """The two acts meet: what is cleared is sown without a word against it."""
    doses.dose(1, 2, 3, 4)
    assert "tray-not-cleared" not in doses.sow((doses.lot(), 6_000)).sow.get(
        "marks", ()
    )
    made = doses.sow((doses.lot(), 6_000), trays=range(5, 7)).sow
    assert "tray-not-cleared" in made.get("marks")


# after mould


def test_after_mould_only_the_deep_variant_clears(doses: DoseFarm) -> None:
    """An ordinary dose is marked and clears none; the deep one clears."""
    batch = doses.batch(trays=range(1, 3))
    doses.mould(batch)
    doses.sample(batch)
    doses.discard(batch, 1, 2)
    plain = doses.dose(1, 2)
    assert "not-deep" in plain.dose.get("marks")
    assert any("needs the deep variant" in why for why in doses.whys(1))
    short = doses.dose(1, 2, deep=True)
    assert "contact-short" in short.dose.get("marks")
    deep = doses.dose(1, 2, deep=True, minutes=30)
    assert deep.dose.get("finds")
    assert doses.whys(1) == ()
    doses.dose(1, 2)
    assert doses.whys(1) == ()


def test_an_old_find_is_never_forgotten(doses: DoseFarm) -> None:
    """The page looks back sixty days; the dose itself names what is older."""
    batch = doses.batch(trays=range(1, 3))
    doses.mould(batch)
    doses.sample(batch)
    doses.discard(batch, 1, 2)
    doses.later(days=100)
    doses.dose(1, 2, 3)
    assert any("needs the deep variant" in why for why in doses.whys(1))
    assert doses.whys(3) == ()


def test_a_find_of_another_batch_touches_it_not(doses: DoseFarm) -> None:
    """Only trays of a mouldy batch, or that the find names."""
    batch = doses.batch(trays=range(1, 3))
    doses.mould(batch)
    doses.dose(8, 9)
    assert doses.whys(8) == ()


# a tub for many trays


def test_a_failed_end_unclears_all_since_the_last_good_one(doses: DoseFarm) -> None:
    """Three fillings of one tub: the middle reading saves the first only."""
    first = doses.dose(1, 2, readings=(read("start", 190),)).dose.name
    doses.dose(3, 4, tub=first, readings=(read("start", 130),))
    doses.dose(5, 6, tub=first, readings=(read("end", 60),))
    assert doses.whys(1) == ()
    for number in (3, 4, 5, 6):
        assert any("too weak" in why for why in doses.whys(number)), number


def test_a_tub_without_an_end_clears_nothing(doses: DoseFarm) -> None:
    """Not read at its end yet: unknown, so not cleared; a rinse may bring it."""
    first = doses.dose(1, 2, readings=(read("start", 190),)).dose.name
    doses.dose(3, 4, tub=first, readings=())
    assert any("at the end of the tub" in why for why in doses.whys(1))
    doses.rinse(3, 4, rinsed=False, readings=(read("end", 150),))
    assert doses.whys(1) == ()
    assert doses.whys(3) == ()


def test_a_failed_end_by_a_rinse_unclears_the_tub(doses: DoseFarm) -> None:
    """The act marks it, opens its action, and the trays are not cleared."""
    first = doses.dose(1, 2, readings=(read("start", 190),)).dose.name
    doses.dose(3, 4, tub=first, readings=())
    done = doses.rinse(3, 4, rinsed=False, readings=(read("end", 50),))
    assert done.rinse.get("marks") == ["too-weak"]
    assert len(done.actions) == 1
    assert any("too weak" in why for why in doses.whys(1))


# what is put right


def weak(doses: DoseFarm) -> str:
    bad = (read("start", 190), read("end", 60))
    return str(doses.dose(1, 2, readings=bad).dose.name)


def put_right(doses: DoseFarm, name: str, by: str = "AB", **changes: Any) -> str:
    with doses.open() as record:
        body = {**record.standing(name).body, **changes}
    made, _ = doses.act(lambda w: correct(w, name, body, reason="misread", by=by))
    return str(made.name)


RIGHT = [
    {"spot": "start", "value_mg_per_l": 190, "kit": "QS", "temp_c": 14},
    {"spot": "end", "value_mg_per_l": 160, "kit": "QS", "temp_c": 14},
]


def look(doses: DoseFarm, name: str, by: str, **said: Any) -> None:
    doses.act(lambda w: countersign(w, [w.record.entry(name)], by=by, **said))


def test_a_correction_clears_nothing(doses: DoseFarm) -> None:
    """The strictest of all versions holds, until a second person has looked."""
    fixed = put_right(doses, weak(doses), readings=RIGHT)
    assert any("too weak" in why for why in doses.whys(1))
    look(doses, fixed, "CD")
    assert doses.whys(1) == ()


def test_the_second_person_is_another(doses: DoseFarm) -> None:
    """Who wrote a version cannot be the second look, nor a look at the whole day."""
    fixed = put_right(doses, weak(doses), by="CD", readings=RIGHT)
    look(doses, fixed, "CD", alone=True)
    look(doses, fixed, "AB", alone=True)
    assert doses.whys(1) != ()


def test_a_correction_can_make_it_worse(doses: DoseFarm) -> None:
    """At once, and it opens its corrective action."""
    name = str(doses.dose(1, 2).dose.name)
    bad = [RIGHT[0], {**RIGHT[1], "value_mg_per_l": 40}]
    put_right(doses, name, readings=bad)
    assert any("too weak" in why for why in doses.whys(1))
    assert "40 mg/L at the end is too weak" in doses.entries("action")[-1].get(
        "problem"
    )


def test_a_tray_added_by_a_correction_is_not_cleared(doses: DoseFarm) -> None:
    """Only what every version names."""
    name = str(doses.dose(1, 2).dose.name)
    put_right(doses, name, trays=["T001", "T002", "T003"])
    assert doses.whys(1) == ()
    assert any("does not name it" in why for why in doses.whys(3))


def test_striking_clears_nothing(doses: DoseFarm) -> None:
    """A failed dose that is ruled through still stands in the way."""
    doses.dose(1, 2)
    name = weak(doses)
    gone = doses.act(lambda w: strike(w, name, reason="wrong trays", by="AB"))
    assert any("ruled through" in why for why in doses.whys(1))
    look(doses, gone.name, "CD")
    assert doses.whys(1) == ()


def test_a_good_dose_that_is_struck_is_none(doses: DoseFarm) -> None:
    """What no longer stands shows nothing."""
    name = str(doses.dose(1, 2).dose.name)
    doses.act(lambda w: strike(w, name, reason="never done", by="AB"))
    assert doses.whys(1) != ()


def test_a_struck_rinse_rinsed_nothing(doses: DoseFarm) -> None:
    """It was written in error, so nothing says that it was rinsed."""
    doses.dose(1, 2, rinsed=None)
    made = doses.rinse(1, 2, dry=True)
    assert doses.whys(1) == ()
    doses.act(lambda w: strike(w, made.rinse.name, reason="wrong", by="AB"))
    assert any("rinsed is not written" in why for why in doses.whys(1))


def test_a_struck_feeding_empties_nothing(doses: DoseFarm) -> None:
    """The tray still grows, as far as anybody knows."""
    batch = doses.batch(trays=range(1, 3))
    fed = doses.feed(batch, 1, 2)
    doses.dose(1, 2)
    assert doses.whys(1) == ()
    doses.act(lambda w: strike(w, fed.entry.name, reason="wrong", by="AB"))
    assert any("was not written as out" in why for why in doses.whys(1))


# lines


def shock(doses: DoseFarm, **said: Any) -> Any:
    given = {
        "line": "L1",
        "readings": (read("start", 120), read("nozzle", 110), read("end", 60)),
        "target_mg_per_l": Decimal(110),
        "minutes": 200,
        "locked_off_by": "AB",
        "washed_before": None,
        "rinsed": None,
        "dry": None,
        **said,
    }
    done = doses.dose(**given)
    doses.later(hours=4)
    return done


def flush(doses: DoseFarm, nozzle: float = 0.4, **said: Any) -> Any:
    given = {
        "line": "L1",
        "readings": (read("nozzle", nozzle), read("incoming", 0.3)),
        "timer_on": True,
        **said,
    }
    return doses.rinse(**given)


def test_a_line_that_was_never_shocked_is_cleared(doses: DoseFarm) -> None:
    """Nothing stands against its water."""
    assert doses.line_whys() == ()


def test_a_line_is_cleared_once_it_is_flushed_and_read(doses: DoseFarm) -> None:
    """Locked off, held, flushed, as the incoming water, timer on."""
    shock(doses)
    assert "it was not flushed" in doses.line_whys()
    flush(doses)
    assert doses.line_whys() == ()


@pytest.mark.parametrize(
    ("dosed", "flushed", "why"),
    [
        ({"locked_off_by": None}, {}, "who locked its timer off"),
        ({"minutes": 170}, {}, "it stood 170 min of 180"),
        ({"readings": (read("start", 120), read("end", 60))}, {}, "(nozzle)"),
        ({"readings": (read("nozzle", 110),)}, {}, "at the end of the hold"),
        (
            {"readings": (read("nozzle", 90), read("end", 60))}, {},
            "nozzle 90 mg/L, at least 100",
        ),
        (
            {"readings": (read("nozzle", 110), read("end", 49))}, {},
            "end 49 mg/L, at least 50",
        ),
        ({}, {"nozzle": 0.9}, "the last nozzle reads 0.9 mg/L"),
        ({}, {"readings": (read("nozzle", 0.3),)}, "the incoming water was not read"),
        ({}, {"timer_on": None}, "its timer is on again is not written"),
        ({}, {"rinsed": False}, "it was not flushed"),
        (
            {}, {"readings": (read("nozzle", 0.3, kit="OLD"), read("incoming", 0.3))},
            "kit OLD",
        ),
    ],
)  # fmt: skip
def test_anything_missing_of_a_line_is_not_cleared(
    doses: DoseFarm, dosed: dict[str, Any], flushed: dict[str, Any], why: str
) -> None:
    """Each condition by itself, with its reason."""
    shock(doses, **dosed)
    flush(doses, **flushed)
    assert any(why in told for told in doses.line_whys()), doses.line_whys()


def test_trays_below_a_shocked_line(doses: DoseFarm) -> None:
    """What grew there is said, and the dose is marked."""
    doses.dose(1, 2)
    doses.batch(trays=range(1, 3))
    done = shock(doses)
    flush(doses)
    assert "grows-below" in done.dose.get("marks")
    assert doses.line_whys() == ("trays grew below it: T001, T002",)


def test_a_second_flush_puts_the_first_right(doses: DoseFarm) -> None:
    """The last reading counts."""
    shock(doses)
    done = flush(doses, nozzle=3)
    assert done.rinse.get("marks") == ["not-flushed"]
    flush(doses)
    assert doses.line_whys() == ()


def test_a_line_stays_uncleared_for_years(doses: DoseFarm) -> None:
    """A shed that stopped with its line full of sanitiser starts no sowing."""
    shock(doses)
    doses.later(days=800)
    assert "it was not flushed" in doses.line_whys()
    with doses.open() as record:
        other = line_cleared(record, record.setup(), "L2", doses.now)
    assert other.cleared


def test_a_little_chlorine_that_stays_is_no_shock(doses: DoseFarm) -> None:
    """Up to what may be drunk; and it does not hide a shock before it."""
    little = {
        "tank": "K1", "line": None, "target": "tank",
        "readings": (read("start", 1),), "target_mg_per_l": Decimal(1),
    }  # fmt: skip
    shock(doses, **little)
    assert doses.line_whys() == ()
    shock(doses)
    for _ in range(3):
        shock(doses, **little)
    assert "it was not flushed" in doses.line_whys()


def test_a_shock_of_the_tank_runs_through_its_lines(doses: DoseFarm) -> None:
    """The line that it feeds waits as well."""
    shock(doses, line=None, tank="K1", target="tank")
    assert "it was not flushed" in doses.line_whys()
    flush(doses)
    assert doses.line_whys() == ()


def test_a_struck_shock_is_still_in_the_line(doses: DoseFarm) -> None:
    """Until a second person has looked at that."""
    done = shock(doses)
    gone = doses.act(lambda w: strike(w, done.dose.name, reason="wrong", by="AB"))
    assert any("ruled through" in why for why in doses.line_whys())
    look(doses, gone.name, "CD")
    assert doses.line_whys() == ()


# the page of the day


def test_cleared_trays_stand_beside_a_days_need(doses: DoseFarm) -> None:
    """The mean of the days sown of a week, rounded up; what is sown is not counted."""
    doses.dose(1, 2, 3, 4, 5)
    doses.dose(6, 7, rinsed=None)
    doses.batch(trays=range(1, 4))
    now = doses.read(lambda r: trays_now(r, law_at(r, r.setup(), doses.now), doses.now))
    assert now.cleared == ("T004", "T005")
    assert set(now.waiting) == {"T006", "T007"}
    assert now.sown_a_day == 3


def test_a_rinse_names_what_it_washes_off(doses: DoseFarm) -> None:
    """So no clock decides which dose it answers."""
    first = doses.dose(1, 2).dose.name
    second = doses.dose(2, 3).dose.name
    assert set(doses.rinse(2).rinse.get("doses")) == {first, second}
    assert doses.rinse(1).rinse.get("doses") == [first]


def test_the_moment_is_asked_about(doses: DoseFarm) -> None:
    """Yesterday's question is answered with what had happened by then."""
    before = doses.now - timedelta(minutes=1)
    doses.dose(1, 2)
    assert doses.whys(1) == ()
    assert doses.whys(1, before) != ()


def test_contact_that_ends_the_next_day(doses: DoseFarm) -> None:
    """A soak over night is one contact."""
    began = doses.now
    doses.dose(1, 2, minutes=14 * 60)
    ended = doses.entries("dose")[0].get("ended_at")
    assert ended == stamp(began + timedelta(hours=14))


def test_a_descaler_does_not_stand_in_for_a_shock_that_failed(doses: DoseFarm) -> None:
    """The line was flushed after both: what the shock lacked is still said."""
    shock(doses, readings=(read("start", 120), read("nozzle", 20)))
    flush(doses)
    lacking = doses.line_whys()
    assert lacking
    doses.later(hours=1)
    doses.dose(
        product="descale", line="L1", readings=(), target_mg_per_l=None, minutes=30,
        locked_off_by="AB", washed_before=None, rinsed=None, dry=None,
    )  # fmt: skip
    doses.later(hours=1)
    flush(doses)
    assert set(lacking) <= set(doses.line_whys())
