"""An old, newer or odd body is read without raising; damage of the envelope is said."""

from __future__ import annotations

from datetime import date

import pytest

from hygiene.errors import Damaged
from hygiene.kinds.entry import items, rows_of
from hygiene.kinds.moments import days_after, moment_of, months_after

ODD = (None, True, 0, "abc", {"a": 1}, 10**17)


@pytest.mark.parametrize("given", ODD)
def test_a_list_that_is_none_holds_nothing(given: object) -> None:
    """A text is no list of its letters, a table no list of its keys."""
    assert items({"marks": given}, "marks") == ()
    assert rows_of({"answers": given}, "answers") == []


def test_a_row_that_is_none_is_left_out() -> None:
    """The other rows are read."""
    assert rows_of({"answers": [1, {"step": "a"}, None]}, "answers") == [{"step": "a"}]


@pytest.mark.parametrize("given", ["é2T07:47:00+00:00", "2026-03-02T 07:43:00Z", 7])
def test_a_moment_that_is_none_is_damage(given: object) -> None:
    """Exit code 6, and verify says which line."""
    with pytest.raises(Damaged, match="where a moment should") as said:
        moment_of(given)  # type: ignore[arg-type]
    assert said.value.exit_code == 6
    assert "hygiene verify" in str(said.value.way_out)


def test_the_calendar_has_an_end() -> None:
    """However many days or months a body says."""
    day = date(2026, 3, 31)
    assert days_after(day, 10**17) == months_after(day, 10**6) == date.max
    assert days_after(day, -(10**17)) == months_after(day, -(10**6)) == date.min
    assert days_after(day, 1) == date(2026, 4, 1)
    assert months_after(day, 1) == date(2026, 4, 30)
