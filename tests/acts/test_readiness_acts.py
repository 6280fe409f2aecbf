"""What is read for readiness: the days asked for, as they stand now."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from inspected_farm import Clean, Found, at, begin, found
from troubles import gap, too_warm

from hygiene.acts.readiness import readiness
from hygiene.book.record import Record
from hygiene.kinds.action import Action
from hygiene.kinds.book import Strike
from hygiene.kinds.day import Miss
from hygiene.kinds.moments import stamp

A_DAY = timedelta(days=1)
WEEK = 7
"""Days that are asked for, of a farm that goes on after them."""


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return begin(tmp_path_factory.mktemp("begun"))


@pytest.fixture
def farm() -> Clean:
    return Clean(14, seed=5)


def first_week(farm: Clean, folder: Path, begun: Path) -> Found:
    """What is found on the first seven days, at the end of the fortnight."""
    with Record.open(farm.write(folder, begun)) as record:
        last = farm.first + (WEEK - 1) * A_DAY
        return found(readiness(record, farm.first, last, farm.now))


def test_only_the_days_asked_for_are_looked_at(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """A gap before them or after them is none of theirs."""
    gap(farm, farm.first + 9 * A_DAY)
    assert first_week(farm, tmp_path, begun) == set()


def test_the_first_and_the_last_day_belong_to_them(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """Both ends are included."""
    last = farm.first + (WEEK - 1) * A_DAY
    gap(farm, farm.first)
    del farm.events[f"walk {last}"]
    expected = {("gap", farm.first), ("gap", last)}
    assert first_week(farm, tmp_path, begun) == expected


def test_what_was_explained_after_them_is_explained(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """A miss that was written a week later answers its day."""
    day = farm.first + 2 * A_DAY
    gap(farm, day)
    why = Miss(task="wash", due=stamp(at(day, "10:00")), why="no water")
    farm.add("why", at(day + 8 * A_DAY, "18:00"), why)
    farm.add(
        "seen why",
        at(day + 8 * A_DAY, "19:00"),
        lambda names: replace(
            farm.events[f"seen {day}"].make(names),  # type: ignore[type-var]
            entries=(names["why"],),
            day=None,
        ),
        by="CD",
    )
    assert first_week(farm, tmp_path, begun) == set()


def test_what_was_closed_after_them_is_closed(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """An action is read with all that answers it, whenever that was."""
    day = farm.first + 3 * A_DAY
    too_warm(farm, day)
    farm.acted("warm", day, about=f"walk {day}", step="temp")
    farm.events["warm close"].at = at(day + 9 * A_DAY, "12:00")
    assert first_week(farm, tmp_path, begun) == set()


def test_an_action_from_before_them_that_is_open_is_told(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """It is open on each of their days."""
    day = farm.first - A_DAY
    farm.add(
        "old", at(day, "12:00"), lambda n: Action(about=n["lot"], problem="a torn bag")
    )
    assert first_week(farm, tmp_path, begun) == {("open-action", day)}


def test_an_action_of_the_days_after_them_is_not_told(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """It is told of its own days."""
    day = farm.first + 10 * A_DAY
    farm.add(
        "new", at(day, "12:00"), lambda n: Action(about=n["lot"], problem="a torn bag")
    )
    assert first_week(farm, tmp_path, begun) == set()


def test_a_sign_off_that_was_ruled_through_leaves_a_gap(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """What is struck was not said."""
    day = farm.first + 4 * A_DAY
    farm.add(
        "strike", at(day, "20:30"), Strike(struck="sign_off"),
        corrects=f"wash {day}", reason="signed the wrong line",
    )  # fmt: skip
    assert first_week(farm, tmp_path, begun) == {("gap", day)}


def test_a_reading_that_was_put_right_is_judged_as_it_stands(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """Typed 27.3 for 20.3 and corrected within the hour: nothing is out of limit."""
    day = farm.first + 4 * A_DAY
    good = farm.events[f"walk {day}"].make({})
    too_warm(farm, day)
    farm.add(
        "right", at(day, "08:30"), good, corrects=f"walk {day}",
        happened_at=at(day, "07:10"), reason="misread",
        by=farm.events[f"walk {day}"].by,
    )  # fmt: skip
    assert first_week(farm, tmp_path, begun) == set()


def test_an_action_about_a_corrected_entry_is_about_its_matter(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """The action names the first version, the last one is what stands."""
    day = farm.first + 4 * A_DAY
    too_warm(farm, day)
    same = farm.events[f"walk {day}"].make({})
    farm.acted("warm", day, about=f"walk {day}", step="temp")
    farm.add(
        "note", at(day, "19:30"), replace(same, note="window was shut"),  # type: ignore[type-var]
        corrects=f"walk {day}", happened_at=at(day, "07:10"), reason="a note",
        by=farm.events[f"walk {day}"].by,
    )  # fmt: skip
    assert first_week(farm, tmp_path, begun) == set()


def test_days_to_come_are_not_looked_at(
    farm: Clean, tmp_path: Path, begun: Path
) -> None:
    """Nothing is missing of tomorrow."""
    with Record.open(farm.write(tmp_path, begun)) as record:
        looked = readiness(record, farm.first, date(2027, 1, 1), farm.now)
    assert looked.seen.last == farm.last
    assert found(looked) == set()
