"""``causes``: what is gathered from the record, and what is said of it.

How the questions are judged is tested beside the statistics; here, that the record
feeds them rightly: who bore mould, who did not, and of whom nobody can know.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

import pytest
from dose_farm import DoseFarm, drawn
from small_farm import SmallFarm
from sprout_farm import SproutFarm, build_sprouts

from hygiene.acts.causes import Gathered, gather
from hygiene.acts.how import How
from hygiene.acts.mending import strike
from hygiene.kinds.batch import Discard, Feed, Move, Place, SeedShare, Sow
from hygiene.kinds.day import Answer, SignOff
from hygiene.kinds.find import Mould
from hygiene.kinds.seed import Seed
from hygiene.tracing.outcomes import Batch, Outcome

MOULD, CLEAN, UNKNOWN = Outcome.MOULD, Outcome.NO_MOULD, Outcome.NOT_KNOWN
DAYS = 240
RACKS = ("R1", "R2", "R3")


def gathered(farm: SmallFarm) -> Gathered:
    return farm.read(
        lambda record: gather(
            record, record.setup(), farm.now - timedelta(days=365), farm.now, farm.now
        )
    )


def sowing(farm: SproutFarm, code: str) -> Batch:
    return next(each for each in gathered(farm).sowings if each.code == code)


def outcomes(farm: SproutFarm, code: str) -> list[Outcome]:
    return [tray.outcome for tray in sowing(farm, code).trays]


# what became of each tray


def test_fed_on_its_last_day_without_mould_is_no_mould(sprouts: SproutFarm) -> None:
    """It was watched to its end."""
    batch = sprouts.batch()
    sprouts.later(days=7)
    sprouts.feed(batch, 1, 2, 3, 4)
    assert outcomes(sprouts, batch) == [CLEAN] * 4


def test_fed_young_grown_on_or_thrown_away_is_not_known(sprouts: SproutFarm) -> None:
    """Nobody saw whether it would have moulded."""
    batch = sprouts.batch()
    sprouts.later(days=5)
    sprouts.feed(batch, 1)
    sprouts.later(days=2)
    sprouts.discard(batch, 2, witness="CD")
    sprouts.sample(batch, trays=("T003",))
    assert outcomes(sprouts, batch) == [UNKNOWN] * 4
    assert gathered(sprouts).young == (batch,)


def test_in_a_mouldy_batch_what_was_looked_at_and_bore_none_counts(
    sprouts: SproutFarm,
) -> None:
    """Though it is thrown away with the others; what was fed young before does not."""
    batch = sprouts.batch()
    sprouts.later(days=5)
    sprouts.feed(batch, 1)
    sprouts.mould(batch, trays=("T003",))
    sprouts.discard(batch, 2, 3, 4, witness="CD")
    assert outcomes(sprouts, batch) == [UNKNOWN, CLEAN, MOULD, CLEAN]
    assert sowing(sprouts, batch).outcome is MOULD


def test_mould_in_no_tray_by_name_says_nothing_of_trays(sprouts: SproutFarm) -> None:
    """The batch is mouldy; its trays and levels are not held against each other."""
    batch = sprouts.batch()
    places = tuple(Place(tray=f"T00{n}", rack="R3", level=2) for n in (1, 2, 3))
    moved = Move(batch=batch, places=places)
    sprouts.act(lambda w: w.add(moved, by="AB"))
    sprouts.later(days=1)
    assert {tray.level for tray in sowing(sprouts, batch).trays} == {"", "2"}
    sprouts.mould(batch)
    assert sowing(sprouts, batch).outcome is MOULD
    assert {(t.tray, t.level, t.rack) for t in sowing(sprouts, batch).trays} == {
        ("", "", "")
    }
    assert gathered(sprouts).by_batch == (batch,)


def test_on_a_rack_with_one_batch_the_rack_is_known(sprouts: SproutFarm) -> None:
    """The walk-round counts mouldy trays by rack, not by their codes."""
    batch = sprouts.batch()
    sprouts.mould(None, rack="R1", tray_count=1)
    made = sowing(sprouts, batch)
    assert made.outcome is MOULD
    assert {tray.rack for tray in made.trays} == {"R1"}
    assert {tray.tray for tray in made.trays} == {""}


def test_all_the_trays_of_a_rack_are_all_of_them(sprouts: SproutFarm) -> None:
    """Four of four: which ones needs no saying."""
    batch = sprouts.batch()
    sprouts.mould(None, rack="R1", tray_count=4)
    assert outcomes(sprouts, batch) == [MOULD] * 4
    assert gathered(sprouts).by_batch == ()


def test_on_a_rack_with_two_batches_nobody_knows_which(sprouts: SproutFarm) -> None:
    """Neither of them counts, either way, and that is said."""
    one = sprouts.batch()
    other = sprouts.batch(trays=range(5, 9))
    sprouts.mould(None, rack="R1", tray_count=4)
    sprouts.later(days=7)
    sprouts.feed(one, 1, 2, 3, 4, how=How("AB", reason="vet said so"))
    assert outcomes(sprouts, one) + outcomes(sprouts, other) == [UNKNOWN] * 8
    assert set(gathered(sprouts).unclear) == {one, other}


def test_a_find_that_was_named_later_decides(sprouts: SproutFarm) -> None:
    """The batch that bore it is named: the other one was looked at."""
    one = sprouts.batch()
    other = sprouts.batch(trays=range(5, 9))
    sprouts.mould(None, rack="R1", tray_count=1)
    sprouts.feed(one, 4)
    sprouts.mould(one, trays=("T002",))
    assert outcomes(sprouts, one) == [CLEAN, MOULD, CLEAN, UNKNOWN]
    assert sowing(sprouts, other).outcome is UNKNOWN


def test_a_struck_find_is_no_find(sprouts: SproutFarm) -> None:
    """It holds until it is released, but it was no mould."""
    batch = sprouts.batch()
    found = sprouts.mould(batch, trays=("T001",)).mould
    sprouts.act(lambda w: strike(w, found.name, reason="was mud", by="AB"))
    assert MOULD not in outcomes(sprouts, batch)


# what each tray and each sowing met


def test_each_tray_has_its_place_its_wash_and_its_container(doses: DoseFarm) -> None:
    """One tub is one wash, and leads to the container that it was made from."""
    doses.setting()
    lot, can = doses.lot(), doses.can()
    first = doses.dose(1, 2, drawn=drawn(can, 960)).dose.name
    doses.dose(3, 4, tub=first, drawn=())
    other = doses.dose(5, drawn=drawn(doses.can(), 960)).dose.name
    places = tuple(Place(tray=f"T00{n}", rack="R3", level=n) for n in (1, 3, 5))
    made = doses.act(
        lambda w: w.add(
            Sow(batch="B-X", seeds=(SeedShare(lot=lot, grams=900),), places=places),
            by="CD",
        )
    )
    trays = sowing(doses, made.get("batch")).trays
    assert [(t.rack, t.level, t.position, t.wash) for t in trays] == [
        ("R3", "1", 0, first),
        ("R3", "3", 1, first),
        ("R3", "5", 2, other),
    ]
    assert [tray.container == can for tray in trays] == [True, True, False]


def test_each_sowing_has_its_lot_its_supplier_and_who_sowed(sprouts) -> None:
    """The person only for what they did."""
    lot = sprouts.lot()
    code = str(sprouts.sow((lot, 6_000)).sow.get("batch"))
    made = sowing(sprouts, code)
    assert [(each.code, each.supplier) for each in made.lots] == [(lot, "ALDER")]
    assert made.people == ("AB",)
    assert {tray.line for tray in made.trays} == {"L1"}


def signed(farm: SproutFarm, task: str, *answers: Answer) -> None:
    thing = SignOff(
        task=task, due=f"{farm.now.isoformat()}", version=1, answers=answers
    )
    farm.act(lambda w: w.add(thing, by="AB"))


def reading(value: str, unit: str, of: str | None) -> Answer:
    return Answer(step="x", passed=True, value=Decimal(value), unit=unit, of=of)


def test_heat_and_damp_are_those_of_its_own_rooms_and_days(sprouts) -> None:
    """A tank's temperature is none of the room's; nor is last week's."""
    signed(sprouts, "walk", reading("30", "C", "GROW"))
    batch = sprouts.batch()
    for value in ("20", "21"):
        sprouts.later(days=1)
        air = reading(value, "C", "GROW"), reading("64", "%", "GROW")
        signed(
            sprouts, "walk", *air, reading("9", "C", "K1"), reading("40", "C", "DARK")
        )
    made = sowing(sprouts, batch)
    assert (made.room_temperature_c, made.room_humidity_percent) == (20.5, 64)
    assert sowing(sprouts, batch).days_since_deep_clean is None


def test_deep_cleans_are_those_of_the_rota(doses: DoseFarm) -> None:
    """One that a find made necessary would look like the cause of its own find."""
    doses.setting()
    signed(doses, "deepclean")
    doses.later(days=3)
    found = doses.mould(None, rack="R3").mould.name
    after_a_find = doses.thing(9, deep=True, finds=(found,))
    doses.act(lambda w: w.add(after_a_find, by="AB"))
    batch = doses.batch()
    assert sowing(doses, batch).days_since_deep_clean == 3
    of_the_rota = doses.thing(9, deep=True)
    doses.act(lambda w: w.add(of_the_rota, by="AB"))
    assert sowing(doses, doses.batch(trays=range(5, 9))).days_since_deep_clean == 0


# a year of it


def a_year(farm: SproutFarm, chance: Random, bad: Callable[[str], float]) -> None:
    """A batch a day on three racks; ``bad`` is how often a tray on a rack moulds."""
    start = farm.now

    def write(writing) -> None:
        for day in range(DAYS):
            farm.now = start + timedelta(days=day)
            for lot in (0, 1) if day % 28 == 0 else ():
                code = f"L-{2 * (day // 28) + lot}"
                seed = Seed(lot=code, supplier="ALDER", supplier_lot=code, grams=90_000)
                writing.add(seed, by="AB")
            trays = chance.sample([f"T{n:03}" for n in range(1, 41)], 6)
            racks = dict(zip(trays, RACKS * 2, strict=True))
            code = f"B{day}"
            writing.add(a_sowing(code, racks, day), by=chance.choice(("AB", "CD")))
            farm.now += timedelta(days=7)
            mouldy = tuple(t for t in trays if chance.random() < bad(racks[t]))
            if mouldy:
                writing.add(Mould(batch=code, trays=mouldy), by="AB")
                gone = {"why": "mould", "route": "burnt", "grams": 9}
                writing.add(Discard(batch=code, trays=tuple(trays), **gone), by="AB")
            else:
                fed = Feed(batch=code, trays=tuple(trays), animals="EWES", grams=9)
                writing.add(fed, by="AB")

    farm.write(write)


def a_sowing(code: str, racks: dict[str, str], day: int) -> Sow:
    return Sow(
        batch=code,
        seeds=(SeedShare(lot=f"L-{2 * (day // 28) + day % 2}", grams=600),),
        places=tuple(Place(tray=t, rack=r, level=1) for t, r in racks.items()),
        line="L1",
    )


@pytest.fixture(scope="module")
def years(tmp_path_factory: pytest.TempPathFactory) -> dict[str, SproutFarm]:
    """One year in which a rack moulds eight times as often, and one with no cause."""
    made = {}
    rates = {
        "rack": lambda rack: 0.16 if rack == "R2" else 0.02,
        "none": lambda _: 0.02,
    }
    for name, rate in rates.items():
        made[name] = build_sprouts(tmp_path_factory.mktemp(name))
        a_year(made[name], Random(f"causes {name}"), rate)
        made[name].now += timedelta(days=30)
    return made


def asked(run, farm: SproutFarm, *words: str):
    return run("causes", *words, world=farm.world())


def test_a_planted_rack_comes_first_and_stands_out(run, years) -> None:
    """Exit 3, with counts, a sentence, and what a hint is."""
    made = asked(run, years["rack"])
    assert made.exit_code == 3
    page = made.output
    first = page[page.index("STANDS OUT") : page.index("THE NEXT ONES")]
    assert first.splitlines()[1].startswith("  Rack R2: ")
    assert "led one to expect" in " ".join(first.split())
    assert "This is a hint, not proof." in page


def test_a_year_without_a_cause_is_silent(run, years) -> None:
    """Exit 0; what it could not have shown is said as well."""
    made = asked(run, years["none"])
    assert made.exit_code == 0
    page = " ".join(made.output.split())
    assert "STANDS OUT, of" in page
    assert "Nothing stands out. That does not show that there is no cause." in page
    assert "WHAT SO MANY SOWINGS CAN SHOW" in page
    assert "such years of 5" in page


def test_the_chart_shows_sowings_between_finds(run, years) -> None:
    """Geometric limits, a bar for each find, and the time since the last."""
    page = asked(run, years["none"]).output
    chart = page[page.index("SOWINGS BETWEEN FINDS") : page.index("WHAT SO MANY")]
    assert "limits" in chart
    assert chart.count("#") > 20
    assert "since the last" in chart
    assert max(map(len, page.splitlines())) <= 80


def test_people_are_asked_about_only_on_request(run, years) -> None:
    """And only for what they did themselves."""
    plain = json.loads(asked(run, years["none"], "--json").output)
    also = json.loads(asked(run, years["none"], "--people", "--json").output)
    for made, there in ((plain, False), (also, True)):
        factors = [row["factor"] for row in made["ranked"] + made["not_asked"]]
        assert ("person" in factors) is there


def test_json_keys_stay_put(run, years) -> None:
    """What a program reads."""
    made = json.loads(asked(run, years["rack"], "--json").output)
    assert made.keys() == {
        "from", "to", "sowings", "mouldy_sowings", "trays", "mouldy_trays", "not_known",
        "level", "questions", "ranked", "stretches", "not_asked", "reach", "chart",
        "unclear", "not_by_tray", "young", "says", "hint",
    }  # fmt: skip
    assert made["ranked"][0].keys() == {
        "factor", "level", "name", "unit", "found", "expected", "borne", "p",
        "corrected_p", "sentence", "same", "changed", "stands_out",
    }  # fmt: skip
    assert (made["ranked"][0]["factor"], made["ranked"][0]["level"]) == ("rack", "R2")


def test_days_are_those_of_sowing_both_included(run, years, tmp_path: Path) -> None:
    """A stretch that runs backwards is refused."""
    farm = years["none"]
    first = datetime.fromisoformat("2026-04-01")
    words = ("--from", f"{first:%Y-%m-%d}", "--to", "2026-04-10", "--json")
    made = json.loads(asked(run, farm, *words).output)
    assert made["sowings"] + made["not_known"] == 10
    assert asked(run, farm, "--from", "2026-05-01", "--to", "2026-04-01").exit_code == 2


def test_a_shed_without_sowings_says_so(run, sprouts: SproutFarm) -> None:
    """Nothing breaks on an empty record."""
    made = asked(run, sprouts)
    assert made.exit_code == 0
    assert "0 of 0 sowings had mould" in made.output
