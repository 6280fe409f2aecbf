"""The shed's seasons: what the farm file says, and starts and stops since."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.kinds.entry import Entry
from hygiene.rota.schedule import read_rota
from hygiene.rota.season import Turn, stretches, turn_of

D = date.fromisoformat
OPEN = ((D("2025-10-01"), None),)


def test_without_starts_or_stops_the_farm_file_stands() -> None:
    """Nothing is made of it, not even where it says nothing."""
    assert stretches(OPEN, []) == OPEN
    assert stretches((), []) == ()


def test_a_stop_ends_after_its_last_day() -> None:
    """The day of a stop is the last one that it ran."""
    stop = turn_of({"runs": False, "day": "2026-07-05"})
    assert stop == Turn(D("2026-07-06"), False)
    assert stretches(OPEN, [stop]) == ((D("2025-10-01"), D("2026-07-05")),)


def test_a_start_begins_a_new_stretch() -> None:
    """The day of a start is the first one that it runs."""
    turns = [Turn(D("2026-07-06"), False), Turn(D("2026-07-20"), True)]
    assert stretches(OPEN, turns) == (
        (D("2025-10-01"), D("2026-07-05")),
        (D("2026-07-20"), None),
    )


def test_a_farm_that_always_runs_can_be_stopped() -> None:
    """No stretch at all means always: up to the stop."""
    assert stretches((), [Turn(D("2026-07-06"), False)]) == (
        (date.min, D("2026-07-05")),
    )


def test_a_stretch_of_the_farm_file_begins_in_spite_of_an_earlier_stop() -> None:
    """The file's own next season stands."""
    base = ((D("2025-10-01"), D("2026-05-31")), (D("2026-10-01"), None))
    assert stretches(base, [Turn(D("2026-04-01"), False)]) == (
        (D("2025-10-01"), D("2026-03-31")),
        (D("2026-10-01"), None),
    )


def test_a_stop_before_the_first_day_never_makes_it_run_always() -> None:
    """An empty list would mean that the shed always runs."""
    assert stretches(OPEN, [Turn(D("2025-10-01"), False)]) == OPEN


def test_the_last_day_of_the_calendar_is_no_trouble() -> None:
    """A date is a date."""
    assert turn_of({"runs": False, "day": "9999-12-31"}) == Turn(date.max, False)
    assert stretches(((D("2025-01-01"), date.max),), [Turn(D("2024-01-01"), True)])


@pytest.mark.parametrize("body", [{}, {"day": "soon"}, {"day": 7}, None])
def test_an_odd_turn_is_passed_over(body: object) -> None:
    """Reading never raises."""
    assert turn_of(body) is None


DAYS = st.integers(0, 60).map(lambda n: D("2026-01-01") + timedelta(days=n))


@given(st.lists(st.tuples(DAYS, st.booleans()), min_size=1, max_size=8))
def test_day_by_day_it_is_what_was_said_last(said: list[tuple[date, bool]]) -> None:
    """The stretches are those of a plain walk over the days."""
    turns = [Turn(day, runs) for day, runs in said]
    made = stretches(((D("2026-01-01"), None),), turns)
    runs = False
    for n in range(70):
        day = D("2026-01-01") + timedelta(days=n)
        for turn in turns:
            if turn.day == day:
                runs = turn.runs
        runs = runs or day == D("2026-01-01")
        found = any(a <= day and (b is None or day <= b) for a, b in made)
        assert runs == found, day


def entry(kind: str, seq: int, at: str, **body: object) -> Entry:
    return Entry("shed-a2b3", seq, kind, at, at, "AB", body)


def test_the_rota_asks_nothing_of_a_shed_that_was_stopped() -> None:
    """A task of the running shed has no due between the stop and the start."""
    rota = read_rota(
        [
            entry("farm", 1, "2026-01-01T08:00:00+00:00", time_zone="UTC"),
            entry("checklist", 2, "2026-01-01T08:00:00+00:00", code="walk",
                  rule="FREQ=DAILY", starts="2026-01-01", steps=[]),
            entry("season", 3, "2026-01-03T08:00:00+00:00", runs=False,
                  day="2026-01-03"),
            entry("season", 4, "2026-01-06T08:00:00+00:00", runs=True,
                  day="2026-01-06"),
        ]
    )  # fmt: skip
    days = [due.day.day for due in rota.dues(D("2026-01-02"), D("2026-01-07"))]
    assert days == [2, 3, 6, 7]
    assert rota.day_of(datetime(2026, 1, 5, 12, tzinfo=UTC)) == D("2026-01-05")
