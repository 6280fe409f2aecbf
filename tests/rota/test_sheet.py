"""Lines of a rota on paper, and the codes by which they are found again."""

from __future__ import annotations

from datetime import date, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rota_makers import checklist, entry, farm, retire

from hygiene.kinds.codes import ALPHABET, WrongCode, scannable
from hygiene.rota.schedule import Rota, read_rota
from hygiene.rota.sheet import (
    ChecklistChanged,
    NotASheet,
    changed_on,
    dues_of,
    farm_of,
    find,
    lines,
    month_of,
    week_of,
)

FARM = "shed-test/1"
WEEK = week_of(date(2026, 4, 1))


def rota(*entries) -> Rota:
    return read_rota([farm(), *entries])


PLAIN = rota(
    checklist("walk", clock=("07:00", "18:00")),
    checklist("deep", rule="FREQ=WEEKLY;BYDAY=WE"),
)


def test_a_week_runs_from_monday_to_sunday() -> None:
    """ISO 8601, also over the turn of the year."""
    assert (WEEK.first, WEEK.last) == (date(2026, 3, 30), date(2026, 4, 5))
    assert week_of(date(2027, 1, 1)).text == "W2653"


def test_a_month_is_a_calendar_month() -> None:
    """With its last day, also in February."""
    made = month_of(date(2028, 2, 10))
    assert (made.first, made.last) == (date(2028, 2, 1), date(2028, 2, 29))
    assert made.text == "M2802"


def test_there_is_a_line_for_each_task_and_time_of_day() -> None:
    """By the clock; what is not due in those days has none."""
    made = [(line.task.code, line.at) for line in lines(PLAIN, FARM, WEEK)]
    assert made == [
        ("deep", time(7)),
        ("walk", time(7)),
        ("walk", time(18)),
    ]


def test_a_line_has_the_days_of_its_own_time() -> None:
    """Twice a day makes two lines of seven days each."""
    for line in lines(PLAIN, FARM, WEEK):
        assert len(dues_of(PLAIN, line)) == (1 if line.task.code == "deep" else 7)


def test_a_code_is_found_again_without_anything_written_down() -> None:
    """In any case, with or without hyphens, typed or scanned."""
    for days in (WEEK, month_of(date(2026, 4, 1))):
        for line in lines(PLAIN, FARM, days):
            code = line.code
            for given_ in (code, code.lower(), code.replace("-", ""), scannable(code)):
                assert find(PLAIN, FARM, given_) == line


def test_a_code_says_its_week_or_month() -> None:
    """What a person can read of it."""
    assert {line.code[:5] for line in lines(PLAIN, FARM, WEEK)} == {"W2614"}


@given(place=st.integers(0, 9), char=st.sampled_from(ALPHABET))
@settings(max_examples=60, deadline=None)
def test_one_wrong_character_is_always_noticed(place: int, char: str) -> None:
    """And the right code is named."""
    code = lines(PLAIN, FARM, WEEK)[0].code
    plain = code.replace("-", "")
    wrong = f"{plain[:place]}{char}{plain[place + 1 :]}"
    if wrong == plain:
        return
    with pytest.raises((WrongCode, NotASheet)) as refused:
        find(PLAIN, FARM, wrong)
    assert code in str(refused.value.way_out)


def test_another_farm_has_other_codes() -> None:
    """A sheet of the neighbour is not typed in here."""
    there = {line.code for line in lines(PLAIN, "shed-none/1", WEEK)}
    assert not there & {line.code for line in lines(PLAIN, FARM, WEEK)}
    with pytest.raises(NotASheet):
        find(PLAIN, FARM, min(there))


def test_a_changed_checklist_has_another_code() -> None:
    """A sheet that was printed before still finds its own version, and its days."""
    before = lines(PLAIN, FARM, WEEK)
    changed = rota(
        checklist("walk", clock=("07:00", "18:00")),
        checklist("walk", at="2026-04-02T00:00:00+00:00", version=2),
    )
    after = lines(changed, FARM, WEEK)
    old = next(line for line in before if line.task.code == "walk")
    assert [(line.task.version, len(dues_of(changed, line))) for line in after] == [
        (1, 3),
        (2, 4),
        (1, 3),
    ]
    assert find(changed, FARM, old.code).task.version == 1
    assert len({line.code for line in after}) == 3


def test_a_day_of_the_new_version_is_refused_by_the_old_sheet() -> None:
    """Nothing that was ticked by one list is read by another."""
    changed = rota(
        checklist("walk"),
        checklist("walk", at="2026-04-02T00:00:00+00:00", version=2),
    )
    old = lines(changed, FARM, WEEK)[0]
    assert changed_on(changed, old, date(2026, 4, 1)) is None
    refused = changed_on(changed, old, date(2026, 4, 3))
    assert isinstance(refused, ChecklistChanged)
    assert refused.exit_code == 5
    assert "version 2" in str(refused)


def test_a_retired_task_is_still_found() -> None:
    """The sheet of last week is typed in this week."""
    ended = rota(checklist("walk"), retire("walk", "2026-04-02T00:00:00+00:00"))
    line = lines(ended, FARM, WEEK)[0]
    assert find(ended, FARM, line.code) == line
    assert len(dues_of(ended, line)) == 3


def test_the_clock_change_moves_no_day() -> None:
    """A time that is skipped on Sunday 29 March is still that line's."""
    night = rota(checklist("night", clock=("01:30",)))
    line = lines(night, FARM, week_of(date(2026, 3, 29)))[0]
    assert [due.day.day for due in dues_of(night, line)] == list(range(23, 30))


@pytest.mark.parametrize("odd", ["", "walk", "W2614", "W9999-AAAA-A", "M2613-2222-2"])
def test_what_is_no_code_is_refused(odd: str) -> None:
    """In words; a week or a month that there is not, too."""
    with pytest.raises((NotASheet, WrongCode)):
        find(PLAIN, FARM, odd)


def test_the_farm_is_its_first_entry() -> None:
    """However often it is set up anew."""
    from hygiene.kinds.setup import Farm

    again = entry(
        Farm(name="F", address="A", time_zone="Europe/London"),
        "2026-05-01T00:00:00+00:00",
    )
    first = farm()
    assert farm_of([again, first]) == first.name
    assert farm_of([]) == ""
