"""Moments: RFC 3339 in the record, the farm's own clock at the farm.

A local time that does not exist (the hour that is skipped) is refused; one that
exists twice (the doubled hour) must say which. Nothing here reads a clock.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from hygiene.errors import Damaged, WronglyPut
from hygiene.kinds.entry import YEARS

CLOCKS_DIFFER = timedelta(minutes=2)
"""Two clocks that differ by less are not worth a word; common practice, no source."""


class NoSuchZone(WronglyPut):
    """A time zone that the zone database does not know."""

    sentence = "there is no time zone {given!r}; write one such as Europe/London"


class NoSuchTime(WronglyPut):
    """A local time that the clock change skips."""

    sentence = "{given} did not exist at the farm: the clocks went forward over it"


class TwiceThatTime(WronglyPut):
    """A local time that the clock change repeats."""

    sentence = "{given} happened twice at the farm: the clocks went back over it"


class NotAMoment(WronglyPut):
    """Text that is neither a time nor a date and a time."""

    sentence = "{given!r} is not a time; write 07:00 or '2026-03-31 07:00'"


class NotADay(WronglyPut):
    """Text that is not a day."""

    sentence = "{given!r} is not a day; write 2026-03-31, today or yesterday"


def zone_of(name: str) -> ZoneInfo:
    """The zone by its name; raises ``NoSuchZone``."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as failure:
        raise NoSuchZone(given=name) from failure


class NoMoment(Damaged, ValueError):
    """A line of the record that says no moment where every line does."""

    sentence = "the record is damaged: {given!r} stands where a moment should"

    def __init__(self, *, given: object) -> None:
        super().__init__(given=given, way_out="see which line: hygiene verify")


def stamp(moment: datetime) -> str:
    """The moment as the record writes it: RFC 3339 with seconds and offset."""
    return moment.isoformat(timespec="seconds")


def moment_of(text: str) -> datetime:
    """A moment from the record's own text; raises ``NoMoment``."""
    try:
        return datetime.fromisoformat(text)
    except (ValueError, TypeError) as odd:
        raise NoMoment(given=text) from odd


def at_the_farm(day: date, at: time, zone: tzinfo) -> datetime:
    """The moment when the farm's clock shows ``at`` on ``day``.

    For a rota, not for what a person typed: a skipped time moves on by the change,
    a doubled one is the first of the two, as RFC 5545 3.3.5 says.
    """
    local = datetime.combine(day, at, zone)
    return local.astimezone(UTC).astimezone(zone)


def typed_moment(text: str, now: datetime, zone: tzinfo) -> datetime:
    """Read what a person typed as a time at the farm.

    ``now`` (aware) gives the day where only a time was typed. An offset that was
    typed is kept. Raises ``NotAMoment``, ``NoSuchTime`` or ``TwiceThatTime``.
    """
    made = _parse(text.strip(), now.astimezone(zone).date())
    if made is None:
        raise NotAMoment(given=text)
    if made.tzinfo is not None:
        return made.astimezone(zone)
    first, second = (made.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != made:
        raise NoSuchTime(given=f"{made:%Y-%m-%d %H:%M}")
    raise TwiceThatTime(
        given=f"{made:%Y-%m-%d %H:%M}",
        way_out=f"say which: {stamp(first)} or {stamp(second)}",
    )


def _parse(text: str, today: date) -> datetime | None:
    try:
        if len(text) <= 8 and ":" in text:
            return datetime.combine(today, time.fromisoformat(text.rjust(5, "0")))
        made = datetime.fromisoformat(text)
    except ValueError:
        return None
    return made if len(text) > 10 and made.year in YEARS else None


def days_between(first: date, last: date) -> list[date]:
    """Every day from ``first`` to ``last``, both included."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def months_after(day: date, months: int) -> date:
    """The same day so many months on, or the last day of that month.

    What would lie beyond the calendar is its last day.
    """
    years, month = divmod(day.month - 1 + months, 12)
    if not 1 <= day.year + years < date.max.year:
        return date.max if months > 0 else date.min
    return date(day.year + years, month + 1, 1) + timedelta(
        days=min(day.day, month_length(day.year + years, month + 1)) - 1
    )


def days_after(day: date, days: int) -> date:
    """So many days on; what would lie beyond the calendar is its last day."""
    return date.fromordinal(min(max(1, day.toordinal() + days), date.max.toordinal()))


def month_length(year: int, month: int) -> int:
    """How many days a month has."""
    later = date(year + month // 12, month % 12 + 1, 1)
    return (later - date(year, month, 1)).days


def a_year_to(last: date) -> date:
    """The first of the twelve months that end on a day, that day included."""
    return months_after(last, -12) + timedelta(days=1)


def day_span(first: date, last: date, zone: tzinfo) -> tuple[datetime, datetime]:
    """From the first moment of ``first`` up to the first moment after ``last``."""
    return (
        at_the_farm(first, time(0), zone),
        at_the_farm(last + timedelta(days=1), time(0), zone),
    )


def typed_day(text: str, today: date) -> date:
    """Read a day: 2026-03-31, or today, or yesterday; raises ``NotADay``."""
    word = text.strip().lower()
    if word in ("today", "yesterday"):
        return today - timedelta(days=word == "yesterday")
    try:
        made = date.fromisoformat(word)
    except ValueError as failure:
        raise NotADay(given=text) from failure
    if made.year not in YEARS:
        raise NotADay(given=text)
    return made


def span(length: timedelta) -> str:
    """A length of time in words: ``3 d 4 h``, ``4 h 10 min``, ``10 min``."""
    minutes = int(length.total_seconds() // 60)
    days, rest = divmod(minutes, 24 * 60)
    hours, left = divmod(rest, 60)
    if days:
        return f"{days} d {hours} h" if hours else f"{days} d"
    if hours:
        return f"{hours} h {left} min" if left else f"{hours} h"
    return f"{left} min"
