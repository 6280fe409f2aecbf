"""A recurrence rule in plain words, for a person who never heard of RFC 5545."""

from __future__ import annotations

from calendar import day_name, month_name
from collections.abc import Iterable

from hygiene.rota.recurrence import Rule

_PLACES = {
    1: "first",
    2: "second",
    3: "third",
    4: "fourth",
    -1: "last",
    -2: "second last",
    -3: "third last",
    -4: "fourth last",
}
_PERIODS = {"DAILY": "day", "WEEKLY": "week", "MONTHLY": "month", "YEARLY": "year"}


def in_words(rule: Rule) -> str:
    """How often a task comes round, such as ``the first Monday of every month``.

    A rule that these words do not reach is shown as RFC 5545 writes it.
    """
    said = _said(rule)
    if said is None:
        return rule.text
    if rule.times:
        said += f", {rule.times} times"
    if rule.until:
        said += f", until {rule.until.day} {rule.until:%B %Y}"
    return said


def _said(rule: Rule) -> str | None:
    months = _listed(month_name[month] for month in rule.by.get("BYMONTH", ()))
    if rule.freq == "DAILY":
        plain = rule.by.keys() <= {"BYMONTH"}
        return _every(rule) + (f" in {months}" if months else "") if plain else None
    days = _days(rule)
    if days is None or (rule.freq == "YEARLY" and not months):
        return None
    if rule.freq == "WEEKLY":
        said = f"every {days}" if rule.interval == 1 else f"{_every(rule)} on {days}"
        return said + (f" in {months}" if months else "")
    if rule.interval > 1:
        return f"{_every(rule)} on {days}" + (f" of {months}" if months else "")
    return f"{days} of {months or 'every month'}"


def _every(rule: Rule) -> str:
    period = _PERIODS[rule.freq]
    return (
        f"every {period}" if rule.interval == 1 else f"every {rule.interval} {period}s"
    )


def _days(rule: Rule) -> str | None:
    """The days within a week or a month, where one list of them says it all."""
    by = rule.by
    if by.keys() <= {"BYMONTH", "BYDAY"} and "BYDAY" in by:
        if rule.freq == "WEEKLY":
            return _listed(day_name[day] for _, day in by["BYDAY"])
        if all(which in _PLACES for which, _ in by["BYDAY"]):
            return _listed(
                f"the {_PLACES[which]} {day_name[day]}" for which, day in by["BYDAY"]
            )
    if by.keys() <= {"BYMONTH", "BYMONTHDAY", "BYSETPOS"} and "BYMONTHDAY" in by:
        return _month_days(by["BYMONTHDAY"], by.get("BYSETPOS", ()))
    return None


def _month_days(days: tuple[int, ...], places: tuple[int, ...]) -> str | None:
    """Days of a month; of those after the 28th the ones that were first asked for."""
    if places and (days[0] < 0 or places[0] < -1 or places[-1] > len(days)):
        return None
    chosen = sorted({days[p - 1 if p > 0 else p] for p in places}) or list(days)
    if chosen[-1] > 28 and -1 not in places:
        return None
    named = [f"day {day}" for day in chosen if day > 0]
    named += [
        "the last day" if day == -1 else f"day {-day} from the end"
        for day in chosen
        if day < 0
    ]
    short = " (or the last day)" if max(chosen) > 28 else ""
    return _listed(named) + short


def _listed(words: Iterable[str]) -> str:
    """``Monday``, ``Monday and Friday``, ``Monday, Tuesday and Friday``."""
    *most, last = [*words] or [""]
    return f"{', '.join(most)} and {last}" if most else last
