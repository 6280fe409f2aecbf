"""What an inspector would find in the demonstration: all that is planted, no more."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from parts_of_a_year import DAYS, LAST, UNTIL, Part

from demo_farm.inspector import TO_FIND
from hygiene.acts.readiness import readiness
from hygiene.inspection.readiness import RULES

A_DAY = timedelta(days=1)
SUMMER = (178, 125)
"""Days before the last one on which that part begins and ends."""
Found = set[tuple[str, date | None]]


def found(part: Part, first: date, last: date, now: datetime) -> Found:
    """The rules that find something, each with its days."""
    looked = readiness(part.record, first, last, now)
    return {(f.rule.code, i.day) for f in looked.ready.findings for i in f.items}


def planted(first: int, last: int) -> Found:
    """What is planted in so many days, and shows in them."""
    return {each.key(LAST) for each in TO_FIND if each.lies_in(first, last)}


def test_the_last_weeks_show_what_is_planted_and_nothing_else(recent: Part) -> None:
    """Every trouble by its rule, on its day."""
    first = LAST - (DAYS - 1) * A_DAY
    assert planted(DAYS - 1, 0) == found(recent, first, LAST, UNTIL)


def test_the_summer_shows_what_is_planted_and_what_came_by_chance(summer: Part) -> None:
    """Months before, small things go wrong as well; the year says which."""
    first, last = (LAST - before * A_DAY for before in SUMMER)
    now = datetime.combine(last, UNTIL.time(), UNTIL.tzinfo).replace(hour=23)
    expected = planted(*SUMMER) | {(rule, day) for day, rule in summer.by_chance}
    assert expected == found(summer, first, last, now)


def test_what_is_to_be_found_names_rules_that_there_are() -> None:
    """A misspelt one would never be found."""
    assert {each.rule for each in TO_FIND} <= {rule.code for rule in RULES}
