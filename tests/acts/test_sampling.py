"""What is coming: water to sample, kits to check, papers to review."""

from __future__ import annotations

from datetime import date

from small_farm import SmallFarm
from water_shed import sampled

from hygiene.acts.how import How
from hygiene.acts.mending import strike
from hygiene.acts.papers import keep, upset
from hygiene.acts.sampling import Coming, coming
from hygiene.kinds.papers import File
from hygiene.kinds.water import Disturbance


def near(farm: SmallFarm) -> Coming:
    with farm.open() as record:
        actions = record.unanswered("action", "close")
        return coming(record, farm.in_force(), farm.now, actions)


def samples(farm: SmallFarm) -> dict[str, str]:
    return {sample.point: sample.rule for sample in near(farm).samples}


def test_a_new_farm_samples_its_points_first(watered: SmallFarm) -> None:
    """Those that have a rule; P2 has none."""
    assert samples(watered) == {"P0": "never", "P1": "never"}


def test_a_laboratorys_sample_counts_a_kits_does_not(watered: SmallFarm) -> None:
    """A reading at the tap is no sample."""
    sampled(watered, "P1", kits=("DPD",), results={"free": "0.5"})
    assert samples(watered)["P1"] == "never"
    sampled(watered, "P1", lab="L", results={"ecoli": "0"})
    sampled(watered, "P1", kits=("DPD",), results={"free": "0.5"})
    assert samples(watered) == {"P0": "never"}


def test_it_is_shown_a_fortnight_before(watered: SmallFarm) -> None:
    """Bottles have to be ordered."""
    sampled(watered, "P1", lab="L", results={"ecoli": "0"})
    watered.later(days=184 - 15)
    assert "P1" not in samples(watered)
    watered.later(days=1)
    assert samples(watered)["P1"] == "routine"


def test_a_struck_sample_was_none(watered: SmallFarm) -> None:
    """The one before it counts again."""
    done = sampled(watered, "P1", lab="L", results={"ecoli": "0"})
    watered.later(minutes=1)
    watered.write(lambda w: strike(w, done.water.name, reason="house tap", by="AB"))
    assert samples(watered)["P1"] == "never"


def test_what_failed_is_to_be_taken_again_until_it_passes(watered: SmallFarm) -> None:
    """An open action about a result is a sample to take."""
    sampled(watered, "P2", lab="L", results={"ecoli": "4"})
    assert samples(watered)["P2"] == "resample"
    sampled(watered, "P2", lab="L", results={"ecoli": "2"})
    assert samples(watered)["P2"] == "resample"
    sampled(watered, "P2", lab="L", results={"ecoli": "0"})
    assert "P2" not in samples(watered)


def test_a_flood_makes_a_sample_due(watered: SmallFarm) -> None:
    """Even at a point without a routine."""
    flood = Disturbance(points=("P2",), sort="flood", what="x")
    watered.write(lambda w: upset(w, watered.in_force(), How("AB"), flood))
    assert samples(watered)["P2"] == "upset"
    sampled(watered, "P2", lab="L", results={"ecoli": "0"})
    assert "P2" not in samples(watered)


def test_kits_out_of_use_and_soon_out_of_date_are_shown(watered: SmallFarm) -> None:
    """PH was never checked; DPD has until the year's end."""
    assert {kit.kit: kit.fault for kit in near(watered).kits} == {
        "PH": "was never checked"
    }
    watered.later(days=295)
    assert {kit.kit: kit.fault for kit in near(watered).kits} == {
        "PH": "was never checked",
        "DPD": None,
    }


def test_papers_are_shown_a_fortnight_before_their_review(watered: SmallFarm) -> None:
    """The overdue first."""
    for title, day in (("far", date(2026, 4, 1)), ("near", date(2026, 3, 16)),
                       ("past", date(2026, 2, 1)), ("never", None)):  # fmt: skip
        thing = File(sort="assessment", title=title, review_on=day)
        watered.write(lambda w, thing=thing: keep(w, How("AB"), thing))
    assert [paper.title for paper in near(watered).papers] == ["past", "near"]
