from __future__ import annotations

from datetime import date

import pytest

from hygiene.reports.period import Period, month_of


@pytest.mark.parametrize(
    ("words", "first", "last"),
    [
        ("Wednesday 25 March 2026", "2026-03-25", "2026-03-25"),
        ("1 to 31 March 2026, both days included", "2026-03-01", "2026-03-31"),
        ("3 to 9 March 2026, both days included", "2026-03-03", "2026-03-09"),
        (
            "30 March to 2 April 2026, both days included",
            "2026-03-30",
            "2026-04-02",
        ),
        (
            "31 December 2025 to 1 January 2026, both days included",
            "2025-12-31",
            "2026-01-01",
        ),
    ],
)
def test_says_whether_its_last_day_counts(words, first, last):
    """A period of more than a day says that both its ends are included."""
    period = Period(date.fromisoformat(first), date.fromisoformat(last))
    assert words == period.words


def test_a_whole_month_goes_by_its_name():
    """A calendar month is titled by its name alone."""
    assert month_of(date(2024, 2, 11)).title == "February 2024"


def test_a_month_ends_on_its_last_day():
    """The month of a day runs to its own last day, in a leap year too."""
    assert date(2024, 2, 29) == month_of(date(2024, 2, 11)).last


def test_months_make_up_the_period():
    """The parts by month cover every day of the period, once."""
    period = Period(date(2025, 12, 20), date(2026, 2, 3))
    parts = list(period.months())
    assert len(parts) == 3
    assert period.days == [day for part in parts for day in part.days]
