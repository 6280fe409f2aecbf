from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from hygiene.kinds.entry import Entry
from hygiene.kinds.words import gist
from hygiene.reports import words
from hygiene.reports.period import Period, month_of
from hygiene.reports.words import Change
from hygiene.rota.schedule import Hours

HOURS = Hours(ZoneInfo("Europe/London"))
DAY = Period(date(2026, 3, 25), date(2026, 3, 25))


def entry(body, happened_at="2026-03-25T07:00:00+00:00") -> Entry:
    return Entry("shed-aaaa", 2, "sign_off", happened_at, happened_at, "AB", body)


def test_the_day_of_the_page_is_not_repeated():
    """On a day's own page a time stands without its date."""
    assert words.clock("2026-03-25T07:00:00+00:00", HOURS, DAY) == "07:00"


def test_another_day_is_named():
    """A time of another day bears that day; of another year, the year too."""
    assert words.clock("2026-03-26T07:00:00+00:00", HOURS, DAY) == "26 March, 07:00"
    assert words.clock("2027-04-01T07:00:00+00:00", HOURS, DAY) == "1 April 2027, 08:00"


def test_the_hour_that_exists_twice_says_which():
    """Where the clocks go back, the offset tells the first hour from the second."""
    month = month_of(date(2026, 10, 1))
    first = words.clock("2026-10-25T01:30:00+01:00", HOURS, month)
    second = words.clock("2026-10-25T01:30:00+00:00", HOURS, month)
    assert first == "25 October, 01:30 (+0100)"
    assert second == "25 October, 01:30 (+0000)"


def test_odd_times_are_shown_as_they_stand():
    """A text that is no moment never breaks a page."""
    assert words.clock("half past", HOURS, DAY) == "half past"


@pytest.mark.parametrize(
    ("said", "minutes"),
    [
        ("under a minute", 0),
        ("10 min", 10),
        ("1 h", 60),
        ("4 h 10 min", 250),
        ("1 day", 1440),
        ("3 days 4 h", 3 * 1440 + 245),
    ],
)
def test_lengths_are_said_in_words(said, minutes):
    """A length of time is told in its two largest units."""
    assert said == words.length(timedelta(minutes=minutes))


def test_digits_stay_as_typed():
    """A reading keeps its last nought, since that says how it was read."""
    assert words.said({"value": Decimal("21.50"), "unit": "C"}) == "21.50 °C"


def test_a_corrected_answer_stands_beside_the_old_one():
    """A change of one answer names its step and what it is of, and nothing else."""
    before = entry({"answers": [{"step": "temp", "of": "GROW", "value": Decimal(12)}]})
    after = entry({"answers": [{"step": "temp", "of": "GROW", "value": Decimal(21)}]})
    found = words.changes(before, after, {"temp": "Temperature"}, HOURS, DAY)
    assert [Change("Temperature GROW", "12", "21")] == found


def test_what_was_not_said_before_has_no_old_value():
    """An answer and a field that are new have nothing ruled through."""
    before = entry({"answers": []})
    after = entry({"answers": [{"step": "dry", "done": True}], "note": "late bus"})
    assert [Change("dry", "", "done"), Change("note", "", "late bus")] == (
        words.changes(before, after, {}, HOURS, DAY)
    )


def test_a_corrected_time_is_a_change():
    """When it happened is put right like any other value."""
    before, after = entry({}), entry({}, "2026-03-25T06:40:00+00:00")
    found = words.changes(before, after, {}, HOURS, DAY)
    assert [Change("time", "07:00", "06:40")] == found


def test_odd_bodies_are_shown_as_they_stand():
    """An entry of a newer kind is told field by field."""
    odd = entry({"tray_codes": ["T001", "T002"], "wet": True, "share": Decimal("0.50")})
    assert (
        gist(odd._replace(kind="of_a_later_version"))
        == "tray codes T001, T002, wet yes, share 0.50"
    )


@pytest.mark.parametrize(
    ("said", "step"),
    [
        ("16 to 22 °C", {"low": Decimal(16), "high": Decimal(22), "unit": "C"}),
        ("0 trays", {"low": 0, "high": 0, "unit": "trays"}),
        ("0 trays at most", {"high": Decimal(0), "unit": "trays"}),
        ("", {"low": Decimal(0), "unit": "mg/L"}),
        ("", {"unit": "trays"}),
    ],
)
def test_a_limit_is_said_only_where_it_limits(said, step):
    """What passes is told shortly; that a count is not below nought, not at all."""
    assert words.limit({"sort": "reading", **step}) == said
