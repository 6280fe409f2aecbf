"""The walk of the evening before: ten lines, and what the record knows of each."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from inspected_farm import Clean, at, begin
from troubles import expired_store

from hygiene.inspection.walk import walk
from hygiene.kinds.find import Hold

A_DAY = timedelta(days=1)


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return begin(tmp_path_factory.mktemp("begun"))


@pytest.fixture
def farm() -> Clean:
    return Clean(9, seed=6)


def known(farm: Clean, folder: Path, begun: Path, word: str) -> str:
    """What the record knows of the line with that word."""
    lines = walk(farm.look(folder, begun).seen)
    assert len(lines) == 10
    (line,) = [line for line in lines if word in line.look]
    return line.known


def test_it_says_when_a_task_was_last_signed(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """The record cannot see the trays; it can say who last looked."""
    assert known(farm, tmp_path, begun, "mould") == "walk last signed 10 Mar 2026 by CD"


def test_a_task_that_nobody_signed_is_said(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """No tick is made up."""
    said = known(farm, tmp_path, begun, "store locked")
    assert said == "chemicals: not signed in these days"


def test_cans_stand_with_their_last_day_the_first_one_first(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """One past its day says so."""
    expired_store(farm, farm.first + 3 * A_DAY)
    said = known(farm, tmp_path, begun, "can labelled")
    assert said.startswith("C-2 hypo past its day, 4 Mar 2026, C-1 hypo by ")


def test_a_card_is_current_since_its_product_was_last_described(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """An older card may say another strength."""
    day = farm.first + 2 * A_DAY
    changed = replace(farm.things["product hypo"], contact_minutes=15)  # type: ignore[type-var]
    farm.add("label", at(day, "12:00"), changed)
    said = known(farm, tmp_path, begun, "cards")
    assert said == "cards of hypo since 4 Mar 2026; checklists all 2 version 1"


def test_what_is_held_is_named(farm: Clean, tmp_path: Path, begun: Path) -> None:
    """It is to stand apart, and marked."""
    assert known(farm, tmp_path / "a", begun, "held") == "nothing is held"
    hold = Hold(held="L-1", sort="lot", why="damp")
    farm.add("hold", at(farm.last, "12:00"), hold)
    assert known(farm, tmp_path / "b", begun, "held") == "L-1"


def test_strips_stand_with_their_last_day(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """What has none is not named."""
    assert known(farm, tmp_path, begun, "Strips") == "QS to 2030-01-01"
