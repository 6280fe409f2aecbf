"""A rule in plain words."""

from __future__ import annotations

from datetime import date

import pytest

from hygiene.rota.recurrence import read_rule
from hygiene.rota.words import in_words

THURSDAY = date(2026, 1, 1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("FREQ=DAILY", "every day"),
        ("FREQ=DAILY;INTERVAL=3", "every 3 days"),
        ("FREQ=DAILY;BYMONTH=3,4,5", "every day in March, April and May"),
        ("FREQ=WEEKLY", "every Thursday"),
        ("FREQ=WEEKLY;BYDAY=MO,TH", "every Monday and Thursday"),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO", "every 2 weeks on Monday"),
        ("FREQ=MONTHLY", "day 1 of every month"),
        ("FREQ=MONTHLY;BYDAY=1MO", "the first Monday of every month"),
        ("FREQ=MONTHLY;BYDAY=-1FR", "the last Friday of every month"),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", "the last day of every month"),
        ("FREQ=MONTHLY;BYMONTHDAY=31", "day 31 (or the last day) of every month"),
        (
            "FREQ=MONTHLY;BYMONTHDAY=15,30,31",
            "day 15, day 30 and day 31 (or the last day) of every month",
        ),
        ("FREQ=MONTHLY;INTERVAL=6;BYMONTHDAY=1", "every 6 months on day 1"),
        ("FREQ=YEARLY", "day 1 of January"),
        (
            "FREQ=YEARLY;BYMONTH=3,9;BYDAY=2TU",
            "the second Tuesday of March and September",
        ),
        ("FREQ=YEARLY;INTERVAL=2", "every 2 years on day 1 of January"),
        ("FREQ=DAILY;COUNT=10", "every day, 10 times"),
        ("FREQ=DAILY;UNTIL=20261231", "every day, until 31 December 2026"),
    ],
)
def test_a_rule_in_words(text, words):
    """As it would be said across the yard."""
    assert words == in_words(read_rule(text, THURSDAY))


@pytest.mark.parametrize(
    "text",
    [
        "FREQ=DAILY;BYDAY=MO",
        "FREQ=MONTHLY;BYMONTHDAY=13;BYDAY=FR",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "FREQ=MONTHLY;BYMONTHDAY=1,2,3;BYSETPOS=-2",
        "FREQ=MONTHLY;BYMONTHDAY=28,29;BYSETPOS=2",
        "FREQ=MONTHLY;BYMONTHDAY=-1,1;BYSETPOS=1",
        "FREQ=YEARLY;BYDAY=20MO",
        "FREQ=YEARLY;BYYEARDAY=100",
        "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
    ],
)
def test_a_rule_beyond_words_is_shown_as_it_is_written(text):
    """Better the standard's own text than words that are not quite true."""
    assert text == in_words(read_rule(text, THURSDAY))
