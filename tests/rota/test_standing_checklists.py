"""The checklists that come with the program, as a farm adopts them."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from decimal import Decimal
from itertools import combinations

import pytest

from hygiene.kinds import kind_class
from hygiene.kinds.base import read_plain
from hygiene.kinds.checklist import Checklist
from hygiene.rota.schedule import check_adoptable
from hygiene.shipped import shipped

FILES = sorted(shipped("checklists").glob("*.toml"))
WANTED = {
    "walk",
    "wash",
    "lines",
    "floors",
    "feedout",
    "seedstore",
    "pests",
    "chemicals",
    "deepclean",
    "tankweek",
    "meters",
    "watersample",
    "yearreview",
    "visitors",
}
CLEANING = (
    "debris",
    "detergent",
    "rinse",
    "look",
    "strength",
    "sanitise",
    "contact",
    "rinseoff",
    "dry",
    "stack",
)
SANITISED = {"wash", "floors", "feedout", "deepclean"}


def read(name: str) -> Checklist:
    text = (shipped("checklists") / f"{name}.toml").read_text(encoding="utf-8")
    return read_plain(Checklist, tomllib.loads(text, parse_float=Decimal))


ALL = {path.stem: read(path.stem) for path in FILES}
each = pytest.mark.parametrize("name", sorted(ALL))


def test_the_working_set_of_a_sprouting_shed_is_there():
    """One file for each task, named as its code."""
    assert set(ALL) == WANTED
    assert [made.code for made in ALL.values()] == list(ALL)


@each
def test_it_can_be_adopted(name):
    """Its rule comes round, its grace and its times can be read."""
    rule = check_adoptable(ALL[name])
    assert rule.next(date(2026, 1, 1)) is not None


@each
def test_a_safety_step_says_what_to_do(name):
    """Where somebody could be hurt, failing leads to words and not to a blank."""
    for step in ALL[name].steps:
        if step.safety:
            assert step.if_fails or ALL[name].cautions, step.code


@each
def test_a_step_that_can_fail_on_a_limit_says_what_to_do(name):
    """A reading out of limit or a bad choice is never left without a next step."""
    for step in ALL[name].steps:
        judged = step.high is not None or step.good
        assert step.if_fails or not judged, step.code


@each
def test_what_is_written_can_be_written(name):
    """A step that writes an entry names a kind that there is."""
    for step in ALL[name].steps:
        if step.writes is not None:
            assert kind_class(step.writes).kind == step.writes


@each
def test_it_is_short_enough_for_a_screen(name):
    """80 columns, with the number of a step before it."""
    made = ALL[name]
    lines = [made.title, *(step.text for step in made.steps)]
    assert [line for line in lines if len(line) > 76] == []
    longer = [*made.cautions, *(step.if_fails or "" for step in made.steps)]
    assert [line for line in longer if len(line) > 86] == []


@each
def test_it_recommends_no_dose(name):
    """Strength and contact time are the label's to say, never ours."""
    made = ALL[name]
    texts = [*made.cautions, *(f"{s.text} {s.if_fails}" for s in made.steps)]
    dose = re.compile(r"\d\s*(ppm|mg|ml|mL|l/|L/|%|drops|caps)")
    assert [text for text in texts if dose.search(text)] == []
    for step in made.steps:
        assert step.unit not in ("mg/L", "ppm") or (step.low, step.high) == (0, None)


@each
def test_cleaning_comes_before_sanitising_and_drying_comes_last(name):
    """Debris off, detergent, rinse, sanitise, rinse, dry: as food agencies teach."""
    places = [CLEANING.index(s.code) for s in ALL[name].steps if s.code in CLEANING]
    assert places == sorted(places)


@pytest.mark.parametrize("name", sorted(SANITISED))
def test_what_is_sanitised_was_cleaned_and_is_dried(name):
    """None of the four is left out."""
    codes = {step.code for step in ALL[name].steps}
    assert {"debris", "detergent", "rinse", "sanitise", "dry"} <= codes


@pytest.mark.parametrize("name", sorted(SANITISED | {"lines"}))
def test_work_with_chemicals_warns_of_what_must_not_meet(name):
    """Bleach and acid make chlorine gas; it stands with gear beside it."""
    cautions = " ".join(ALL[name].cautions)
    assert re.search(r"[Nn]ever .*(bleach|acid)", cautions)
    assert ALL[name].gear


def test_mould_is_a_number_typed_for_each_rack():
    """Never answered by Enter; above zero it writes the find."""
    step = next(step for step in ALL["walk"].steps if step.code == "mould")
    assert (step.sort, step.whole, step.per) == ("reading", True, "rack")
    assert (step.safety, step.writes, step.high) == (True, "mould", 0)
    cautions = " ".join(ALL["walk"].cautions)
    for words in ("do not feed", "do not trim", "do not sniff", "Mask", "ring the vet"):
        assert words in cautions


def test_four_letters_are_enough():
    """No two codes begin alike, so that four letters always mean one task."""
    for one, other in combinations(sorted(ALL), 2):
        assert one[:4] != other[:4]
        assert not other.startswith(one)


def test_a_stopped_shed_still_looks_after_its_water_and_its_pests():
    """What goes on all the year is not tied to the season."""
    always = {name for name, made in ALL.items() if made.season == "always"}
    assert {"tankweek", "pests", "seedstore", "chemicals", "watersample"} <= always


@each
def test_every_limit_says_where_it_comes_from(name):
    """A file with limits of temperature, humidity, pH or time names a source, or says
    that it is common practice.
    """
    limited = [
        step
        for step in ALL[name].steps
        if step.unit in ("C", "%", "pH", "per mille")
        and (step.high is not None or step.low not in (None, 0))
    ]
    text = (shipped("checklists") / f"{name}.toml").read_text(encoding="utf-8")
    comments = " ".join(line for line in text.splitlines() if line.startswith("#"))
    assert not limited or re.search("common practice, no source|HSE|agencies", comments)
