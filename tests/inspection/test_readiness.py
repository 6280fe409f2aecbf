"""Every readiness rule finds its trouble, passes over its like, and knows no farm."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest
from inspected_farm import Clean, at, begin, found
from near_troubles import NEAR
from troubles import PLANTS, gap, plant_many

from hygiene.acts.clauses import published
from hygiene.acts.readiness import WRITTEN
from hygiene.inspection.readiness import HEAPS, RULES
from hygiene.kinds import kind_class
from hygiene.kinds.action import Action
from hygiene.kinds.base import shapes
from hygiene.kinds.setup import OwnClause

SHORT = 13
"""Days: enough that a tray is sown, fed and sown again around any of them."""
ON = 7
"""The day of a single trouble: early enough that a second look is overdue."""
LONG = 100
"""Days that hold one of each."""


@pytest.fixture(scope="session")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty record, laid out once."""
    return begin(tmp_path_factory.mktemp("begun"))


def test_there_is_a_trouble_and_its_like_for_every_rule() -> None:
    """No rule stands there untried."""
    tried = {name.partition(",")[0] for name in PLANTS}
    assert {rule.code for rule in RULES} == tried
    assert set(PLANTS) == set(NEAR)


def test_nothing_is_found_on_a_clean_farm(tmp_path: Path, begun: Path) -> None:
    """All is well there, and every rule is silent."""
    assert found(Clean(SHORT, seed=1).look(tmp_path, begun)) == set()


@pytest.mark.parametrize("name", PLANTS)
def test_a_rule_finds_its_trouble_and_nothing_else_is_found(
    name: str, tmp_path: Path, begun: Path
) -> None:
    """It fires where its trouble is, on its day, and no other rule fires with it."""
    farm = Clean(SHORT, seed=len(name))
    expected = PLANTS[name](farm, farm.first + timedelta(days=ON))
    assert expected == found(farm.look(tmp_path, begun))


@pytest.mark.parametrize("name", {near: name for name, near in NEAR.items()}.values())
def test_what_only_looks_like_a_trouble_is_passed_over(
    name: str, tmp_path: Path, begun: Path
) -> None:
    """The nearest thing to it that is in order: every rule stays silent."""
    farm = Clean(SHORT, seed=len(name))
    NEAR[name](farm, farm.first + timedelta(days=ON))
    assert found(farm.look(tmp_path, begun)) == set()


@pytest.mark.parametrize("seed", range(3))
def test_troubles_planted_at_random_are_found_and_nothing_else(
    seed: int, tmp_path: Path, begun: Path
) -> None:
    """One of each on a farm that no rule has seen, on days that chance draws."""
    farm = Clean(LONG, seed)
    expected = plant_many(farm, Random(f"planted {seed}"))
    assert expected == found(farm.look(tmp_path, begun))


@dataclass(frozen=True)
class Odd:
    """An entry of a kind whose body is not what the kind says."""

    kind: str
    said: dict[str, Any]

    def body(self) -> dict[str, Any]:
        return self.said


def junk(kind: str, value: Any) -> Odd:
    """Every field of the kind, with a value that is none of it."""
    return Odd(kind, {shape.name: value for shape in shapes(kind_class(kind))})


@pytest.mark.parametrize("value", ["x", 7, ["x"], [{"y": 7}], True], ids=str)
def test_an_odd_body_never_stops_the_rules(
    value: Any, tmp_path: Path, begun: Path
) -> None:
    """Of every kind that says what happened, as an older or newer program wrote it."""
    farm = Clean(10, seed=2)
    for minute, kind in enumerate(WRITTEN):
        farm.add(f"odd {kind}", at(farm.first, "12:00", minute), junk(kind, value))
        farm.add(f"no {kind}", at(farm.first, "14:00", minute), Odd(kind, {}))
    assert farm.look(tmp_path, begun).ready.findings


def test_a_page_long_text_is_cut_where_it_is_only_quoted(
    tmp_path: Path, begun: Path
) -> None:
    """The entry has all of it; the list stays a list."""
    farm = Clean(10, seed=2)
    farm.add(
        "long",
        at(farm.first, "12:00"),
        lambda names: Action(about=names["lot"], problem="o" * 9_000),
    )
    (finding,) = farm.look(tmp_path, begun).ready.findings
    assert [len(item.says) for item in finding.items] == [240]


def asked(farm: Clean, folder: Path, begun: Path) -> dict[str, str]:
    """What asks for the one finding of a farm: the clauses, by our codes."""
    (finding,) = farm.look(folder, begun).ready.findings
    return {clause.code: clause.clause for clause in finding.clauses}


@pytest.mark.parametrize(
    ("profile", "law"),
    [
        ("uk-primary", "cleaning"),
        ("eu-primary", "cleaning"),
        ("us-sprout-strict", "us-cleaning"),
        ("local", None),
    ],
)
def test_a_finding_names_the_clauses_of_the_farms_profile(
    profile: str, law: str | None, tmp_path: Path, begun: Path
) -> None:
    """Common practice asks for it everywhere, and a law where that counts."""
    farm = Clean(10, seed=8)
    farm.set("farm", profile=profile)
    gap(farm, farm.first + timedelta(days=4))
    codes = set(asked(farm, tmp_path, begun))
    assert "gaps" in codes
    laws = {"cleaning", "us-cleaning"} & codes
    assert laws == ({law} if law else set())


def test_the_farms_own_rule_is_named_in_place_of_the_published_one(
    tmp_path: Path, begun: Path
) -> None:
    """It wins, and one that does not apply is not named at all."""
    farm = Clean(10, seed=8)
    own = (
        OwnClause(code="gaps", clause="House rule 1", says="No empty squares."),
        OwnClause(code="cleaning", applies=False, why="another rule covers it"),
    )
    farm.set("farm", clauses=own)
    gap(farm, farm.first + timedelta(days=4))
    named = asked(farm, tmp_path, begun)
    assert named["gaps"] == "House rule 1"
    assert "cleaning" not in named


def test_every_rule_answers_clauses_that_there_are() -> None:
    """A misspelt code would never be shown."""
    known = {clause.code for clause in published().clauses}
    for rule in RULES:
        assert set(rule.answers) <= known, rule.code


def test_every_rule_lies_in_a_heap_and_says_what_to_do() -> None:
    """No finding leaves the reader alone with it."""
    for rule in RULES:
        assert rule.heap in HEAPS
        assert all((rule.what, rule.do, rule.answers))
        assert (rule.minutes == 0) == (rule.heap == "say")
