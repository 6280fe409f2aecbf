"""Every readiness rule finds its trouble, passes over its like, and knows no farm."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from random import Random

import pytest
from inspected_farm import Clean, begin, found
from near_troubles import NEAR
from troubles import PLANTS, plant_many

from hygiene.inspection.readiness import HEAPS, RULES

SHORT = 15
"""Days: enough that a tray is sown, fed and sown again around any of them."""
ON = 9
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


@pytest.mark.parametrize("name", NEAR)
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


def test_every_rule_lies_in_a_heap_and_says_what_to_do() -> None:
    """No finding leaves the reader alone with it."""
    for rule in RULES:
        assert rule.heap in HEAPS
        assert all((rule.what, rule.do, rule.answers))
        assert (rule.minutes == 0) == (rule.heap == "say")
