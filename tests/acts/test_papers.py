"""Papers, the seasons of the shed, and what upsets the water."""

from __future__ import annotations

from datetime import date

import pytest
from small_farm import SmallFarm

from hygiene.acts.codes import UnknownCode
from hygiene.acts.how import How
from hygiene.acts.papers import RunsAlready, keep, stood_days, turn, upset
from hygiene.acts.people import Written
from hygiene.acts.sampling import papers
from hygiene.kinds.base import CannotBe
from hygiene.kinds.papers import File, Season
from hygiene.kinds.water import Disturbance


def kept(farm: SmallFarm, sort: str, title: str, **more: object) -> Written:
    farm.later(minutes=1)
    thing = File(sort=sort, title=title, **more)
    return farm.write(lambda w: keep(w, How("AB"), thing))


def turned(farm: SmallFarm, runs: bool, day: date) -> Written:
    farm.later(minutes=1)
    thing = Season(runs=runs, day=day)
    return farm.write(lambda w: turn(w, farm.in_force(), How("AB"), thing))


def test_the_last_paper_of_a_title_stands(watered: SmallFarm) -> None:
    """Whatever the case of its letters; those of other sorts stand beside it."""
    kept(watered, "assessment", "RA-07 hypochlorite", review_on=date(2026, 9, 1))
    new = kept(watered, "assessment", "RA-07 Hypochlorite", review_on=date(2027, 9, 1))
    plan = kept(watered, "site-plan", "RA-07 hypochlorite")
    with watered.open() as record:
        assert {e.name for e in papers(record)} == {new.entry.name, plan.entry.name}


def test_a_complaint_wants_an_answer(watered: SmallFarm) -> None:
    """It opens a corrective action about what it concerns."""
    done = kept(watered, "complaint", "trays smelled sour", abouts=("B-K7-1-X",))
    assert done.action is not None
    assert done.action.get("problem") == "complaint: trays smelled sour"
    assert done.action.get("concerns") == "B-K7-1-X"
    assert kept(watered, "audit", "spring audit").action is None


def test_a_paper_is_of_a_known_sort(watered: SmallFarm) -> None:
    """The list is short."""
    with pytest.raises(CannotBe, match="site-plan"):
        kept(watered, "leaflet", "x")


def test_a_stopped_shed_is_asked_for_nothing(watered: SmallFarm) -> None:
    """From the day after its last, until it starts."""
    turned(watered, False, date(2026, 3, 2))
    rota = watered.rota()
    assert rota.dues(date(2026, 3, 2), date(2026, 3, 2))
    assert rota.dues(date(2026, 3, 3), date(2026, 3, 3)) == []
    watered.later(days=10)
    turned(watered, True, date(2026, 3, 12))
    assert watered.rota().dues(date(2026, 3, 12), date(2026, 3, 12))
    assert watered.rota().dues(date(2026, 3, 11), date(2026, 3, 11)) == []


def test_how_long_the_water_stood(watered: SmallFarm) -> None:
    """From the last day that it ran to the first that it runs again."""
    turned(watered, False, date(2026, 3, 2))
    watered.later(days=10)
    assert stood_days(watered.in_force(), date(2026, 3, 12)) == 9


def test_a_shed_that_runs_is_not_started(watered: SmallFarm) -> None:
    """Nor is one that stands stopped: the day was mistaken."""
    with pytest.raises(RunsAlready, match="runs already"):
        turned(watered, True, date(2026, 3, 2))
    turned(watered, False, date(2026, 3, 2))
    with pytest.raises(RunsAlready, match="stands already"):
        turned(watered, False, date(2026, 3, 4))


def test_an_upset_names_points_that_are_there(watered: SmallFarm) -> None:
    """As they were set up, in any case."""
    thing = Disturbance(points=("p1",), sort="flood", what="yard under water")
    made = watered.write(lambda w: upset(w, watered.in_force(), How("AB"), thing))
    assert made.entry.get("points") == ["P1"]
    wrong = Disturbance(points=("P9",), sort="flood", what="x")
    with pytest.raises(UnknownCode):
        watered.write(lambda w: upset(w, watered.in_force(), How("AB"), wrong))
