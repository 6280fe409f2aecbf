"""Which task a person means by what was typed."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rota_makers import checklist, farm, moment, sign

from hygiene.errors import Unknown
from hygiene.rota.day import asked, day_list, written
from hygiene.rota.names import NoSuchNumber, NotToday, SeveralTasks, pick, resolve
from hygiene.rota.schedule import read_rota

TITLES = {
    "walk": "Opening walk-round",
    "wash": "Tray wash",
    "watersample": "Water sample",
    "deepclean": "Weekly deep clean",
    "w": "Whole shed",
}


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("walk", "walk"),
        ("WALK ", "walk"),
        ("wat", "watersample"),
        ("w", "w"),
        ("deep clean", "deepclean"),
        ("opening", "walk"),
        ("tray w", "wash"),
    ],
)
def test_a_task_by_its_code_its_beginning_or_its_title(typed, code):
    """A code in full beats a beginning, a beginning beats words of a title."""
    assert resolve(typed, TITLES) == code


def test_a_beginning_of_several_codes_names_them():
    """Nothing is guessed."""
    with pytest.raises(SeveralTasks, match="walk, wash, watersample"):
        resolve("wa", TITLES)


@pytest.mark.parametrize("typed", ["wsh", "tray wsh"])
def test_a_wrong_name_gets_the_nearest(typed):
    """By code or by title."""
    with pytest.raises(Unknown) as wrong:
        resolve(typed, TITLES)
    assert wrong.value.way_out == "did you mean wash?"


@pytest.mark.parametrize("typed", ["", "  ", "zzz", "---"])
def test_a_name_near_nothing_gets_the_list(typed):
    """So that the person need not look it up elsewhere."""
    with pytest.raises(Unknown) as wrong:
        resolve(typed, TITLES)
    assert "deepclean" in str(wrong.value.way_out)


@given(st.text(max_size=12))
def test_whatever_is_typed_is_a_task_or_is_refused(typed):
    """Never a task that does not exist, never another failure."""
    try:
        found, refused = resolve(typed, TITLES), None
    except Unknown as wrong:
        found, refused = None, wrong
    assert found in TITLES or (refused and refused.exit_code == 4 and refused.way_out)


ROTA = read_rota(
    [
        farm(),
        checklist("walk", clock=("07:00", "16:00")),
        checklist("wash", clock=("12:00",)),
        checklist("deep", rule="FREQ=WEEKLY;BYDAY=MO"),
    ]
)
TUESDAY = date(2026, 3, 3)
IN_FORCE = {task.code: task.title for task in ROTA.tasks}


def picked(typed: str, hour: int = 17, *, morning_signed: bool = False) -> list[str]:
    now = moment(f"2026-03-03T{hour:02d}:00:00+00:00")
    # Monday is all signed, so that nothing is carried into Tuesday
    monday = ROTA.dues(date(2026, 3, 2), date(2026, 3, 2))
    entries = [sign(due, "2026-03-02T18:00:00+00:00") for due in monday]
    if morning_signed:
        entries.append(
            sign(ROTA.dues(TUESDAY, TUESDAY)[0], "2026-03-03T07:30:00+00:00")
        )
    listed = day_list(ROTA, asked(ROTA, now), written(entries), now)
    return [
        f"{state.due.code} {state.due.at:%H:%M}"
        for state in pick(typed, listed, IN_FORCE)
    ]


def test_a_number_or_a_stretch_of_numbers_on_todays_list():
    """As they stand on the screen, from 1."""
    assert picked("2") == ["wash 12:00"]
    assert picked("1-3") == ["walk 07:00", "wash 12:00", "walk 16:00"]


@pytest.mark.parametrize("typed", ["0", "4", "2-4", "3-1", "999"])
def test_a_number_that_is_not_on_the_list_is_refused(typed):
    """It says how far the list runs."""
    with pytest.raises(NoSuchNumber) as wrong:
        picked(typed)
    assert wrong.value.way_out == "it runs from 1 to 3: type hygiene today"


def test_a_name_means_the_first_of_its_dues_that_is_open():
    """The morning's first, then the afternoon's; in the morning never the later one."""
    assert picked("walk") == ["walk 07:00"]
    assert picked("walk", morning_signed=True) == ["walk 16:00"]


def test_a_task_of_another_day_is_not_unknown():
    """It is in the rota and not on today's list: it can be said when it is due next."""
    with pytest.raises(NotToday, match="deep is not on today's list"):
        picked("deep")
