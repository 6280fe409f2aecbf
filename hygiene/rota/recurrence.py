"""On which days a task comes round: RFC 5545 recurrence rules over civil dates.

The days come from the calendar where a rule names weekdays, days of the month and
months, else from python-dateutil. This module reads a rule when it is adopted, refuses
what would never come or would drop out without a word, and rewrites the one trap of the
standard: a rule for the 31st has no day at all in a short month (RFC 5545 3.3.10: a
date that does not exist "MUST be ignored"). Such a rule becomes another RFC 5545 rule
that falls on the last day there, so that it can still be handed to any calendar. Every
day is reckoned from the rule, never from the day before it.
"""

from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from hygiene.errors import CannotBe
from hygiene.kinds.moments import month_length

if TYPE_CHECKING:
    from dateutil.rrule import rrule

LOOK_DAYS = (10, 70, 400, 1600)
"""How far the latest or the next day is looked for, in steps: over four years."""

FREQUENCIES = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")

By = dict[str, tuple[Any, ...]]


class _Part(NamedTuple):
    """A list of numbers in a rule: its bounds, and which frequencies may have it.

    Bounds stop where a number would be missing from some months or years; days of
    the month after the 28th are the exception, since they are rewritten.
    """

    least: int
    most: int
    frequencies: tuple[str, ...]


_PARTS = {
    "BYMONTH": _Part(1, 12, FREQUENCIES),
    "BYWEEKNO": _Part(-52, 52, ("YEARLY",)),
    "BYYEARDAY": _Part(-365, 365, ("YEARLY",)),
    "BYMONTHDAY": _Part(-28, 31, ("DAILY", "MONTHLY", "YEARLY")),
    "BYSETPOS": _Part(-366, 366, FREQUENCIES),
}
_ORDER = ("BYMONTH", "BYWEEKNO", "BYYEARDAY", "BYMONTHDAY", "BYDAY", "BYSETPOS")


class Rule(NamedTuple):
    """A recurrence rule with everything said that RFC 5545 takes from its start.

    ``by`` holds the BY parts, a weekday as (which, 0 for Monday) where ``which`` is
    0 for every one. ``starts`` is the first day that it may fall on, ``times`` the
    COUNT.
    """

    freq: str
    starts: date
    interval: int
    by: Mapping[str, tuple[Any, ...]]
    times: int | None = None
    until: date | None = None
    week_starts: int = 0

    @property
    def text(self) -> str:
        """The rule as RFC 5545 writes it; reading it again makes the same rule."""
        parts = [f"FREQ={self.freq}"]
        if self.interval > 1:
            parts.append(f"INTERVAL={self.interval}")
        if self.until:
            parts.append(f"UNTIL={self.until:%Y%m%d}")
        if self.times:
            parts.append(f"COUNT={self.times}")
        for key in _ORDER:
            if key in self.by:
                shown = _weekday_text if key == "BYDAY" else str
                parts.append(f"{key}={','.join(map(shown, self.by[key]))}")
        if self.week_starts:
            parts.append(f"WKST={WEEKDAYS[self.week_starts]}")
        return ";".join(parts)

    def between(self, first: date, last: date) -> list[date]:
        """The days from ``first`` to ``last``, both included, in order."""
        return list(self._days(first, last))

    def next(self, after: date) -> date | None:
        """The first day later than ``after``, or None where the rule has ended."""
        return next(self.days(after + _DAY), None)

    def last(self, before: date) -> date | None:
        """The last day earlier than ``before``, if one lies within 1600 days."""
        for days in LOOK_DAYS:
            found = self.between(before - timedelta(days=days), before - _DAY)
            if found:
                return found[-1]
        return None

    def days(self, first: date) -> Iterator[date]:
        """The days from ``first`` on; there may be no end to them.

        Only a rule with a COUNT is walked from its start, whatever ``first`` is.
        """
        return self._days(first, date.max)

    def _days(self, first: date, last: date) -> Iterator[date]:
        first, last = max(first, self.starts), min(last, self.until or date.max)
        if first > last:
            return
        plain = not self.times and not self._beyond
        for day in self._plain(first) if plain else self._by_dateutil(first):
            if day > last:
                return
            if day >= first and (not plain or self._fits(day)):
                yield day

    @property
    def _beyond(self) -> bool:
        """Whether the rule counts days in a period: places, weeks, days of a year."""
        by = self.by
        whole_year = self.freq == "YEARLY" and "BYMONTH" not in by
        nth = any(which for which, _ in by.get("BYDAY", ()))
        return not by.keys() <= _PLAIN or (whole_year and nth)

    def _plain(self, first: date) -> Iterator[date]:
        """Every day of its periods, from the one on that leads to ``first``.

        dateutil knows every rule, and takes longer to load than a day's list to read.
        """
        begins = self._begins(first)
        try:
            yield from self._months(begins) if self._monthly else self._weeks(begins)
        except (OverflowError, ValueError):  # the calendar ends with the year 9999
            return

    @property
    def _monthly(self) -> bool:
        return self.freq in ("MONTHLY", "YEARLY")

    def _weeks(self, begins: date) -> Iterator[date]:
        length = 1 if self.freq == "DAILY" else 7
        while True:
            for n in range(length):
                yield begins + n * _DAY
            begins += length * self.interval * _DAY

    def _months(self, begins: date) -> Iterator[date]:
        yearly = self.freq == "YEARLY"
        year, month = begins.year, begins.month
        while True:
            for n in self.by.get("BYMONTH", range(1, 13)) if yearly else (month,):
                for day in range(1, month_length(year, n) + 1):
                    yield date(year, n, day)
            months = month - 1 + self.interval * (12 if yearly else 1)
            year, month = year + months // 12, months % 12 + 1

    def _fits(self, day: date) -> bool:
        """Whether a day of one of its periods is one of its days."""
        by = self.by
        if "BYDAY" in by and not any(_is(day, *on) for on in by["BYDAY"]):
            return False
        if "BYMONTH" in by and day.month not in by["BYMONTH"]:
            return False
        days = by.get("BYMONTHDAY")
        return days is None or day.day in days or -_left(day) - 1 in days

    def _by_dateutil(self, first: date) -> Iterator[date]:
        anchor = self.starts if self.times else max(self._begins(first), self.starts)
        return (moment.date() for moment in self._rrule(anchor))

    def _begins(self, first: date) -> date:
        """The start of the rule's own day, week, month or year that leads to first."""
        start, step = self.starts, self.interval
        if self.freq == "DAILY":
            return first - timedelta(days=(first - start).days % step)
        if self.freq == "WEEKLY":
            week = start - timedelta(days=(start.weekday() - self.week_starts) % 7)
            return first - timedelta(days=(first - week).days % (7 * step))
        if self.freq == "MONTHLY":
            months = (first.year - start.year) * 12 + first.month - start.month
            month = first.year * 12 + first.month - 1 - months % step
            return date(month // 12, month % 12 + 1, 1)
        return date(first.year - (first.year - start.year) % step, 1, 1)

    def _rrule(self, anchor: date) -> "rrule":
        from dateutil import rrule  # 3 ms, which most farms' days do without

        by = self.by
        return rrule.rrule(
            getattr(rrule, self.freq),
            dtstart=datetime(anchor.year, anchor.month, anchor.day),
            interval=self.interval,
            wkst=self.week_starts,
            count=self.times,
            bysetpos=by.get("BYSETPOS"),
            bymonth=by.get("BYMONTH"),
            bymonthday=by.get("BYMONTHDAY"),
            byyearday=by.get("BYYEARDAY"),
            byweekno=by.get("BYWEEKNO"),
            byweekday=[
                rrule.weekday(day, which or None) for which, day in by.get("BYDAY", ())
            ]
            or None,
        )


_DAY = timedelta(days=1)
_PLAIN = {"BYMONTH", "BYMONTHDAY", "BYDAY"}


def _left(day: date) -> int:
    """How many days of its month follow on a day."""
    return month_length(day.year, day.month) - day.day


def _is(day: date, which: int, weekday: int) -> bool:
    """Whether a day is the nth such weekday of its month, counted back below 0."""
    if day.weekday() != weekday:
        return False
    return which in (0, (day.day - 1) // 7 + 1, -(_left(day) // 7) - 1)


@lru_cache(maxsize=512)
def read_rule(text: str, starts: date) -> Rule:
    """Read an RFC 5545 rule whose first day is ``starts`` or later.

    Raises ``CannotBe`` (key ``rule``) for what RFC 5545 3.3.10 does not allow, for
    times of day (those stand under ``at``), for a day that some months or years do
    not have and that cannot be rewritten, and for a rule that never comes.
    """
    parts = _split(text)
    freq = parts.pop("FREQ", "")
    if freq not in FREQUENCIES:
        raise _wrong(f"FREQ is one of {', '.join(FREQUENCIES)}; {freq!r} is not")
    if "UNTIL" in parts and "COUNT" in parts:
        raise _wrong("UNTIL and COUNT cannot both be said")
    interval = _whole(parts.pop("INTERVAL", "1"), "INTERVAL", 1, 1000)
    count = _whole(parts.pop("COUNT"), "COUNT", 1, 10_000) if "COUNT" in parts else None
    until = _until(parts.pop("UNTIL")) if "UNTIL" in parts else None
    week_starts = _weekday(parts.pop("WKST", "MO"), "WKST")
    by = _explicit(freq, _by(freq, parts), starts)
    freq, by = _in_short_months(freq, interval, by)
    made = Rule(freq, starts, interval, by, count, until, week_starts)
    if not _ever_comes(made):
        raise _wrong(f"{text} never comes, reckoned from {starts}")
    return made


def _wrong(what: str) -> CannotBe:
    return CannotBe(key="rule", what=what)


def _split(text: str) -> dict[str, str]:
    parts: dict[str, str] = {}
    for piece in text.strip().upper().removeprefix("RRULE:").split(";"):
        key, _, value = piece.strip().partition("=")
        if not key or not value:
            raise _wrong(f"{text!r} is no rule; write one such as FREQ=WEEKLY;BYDAY=MO")
        if key in parts:
            raise _wrong(f"{key} is said twice")
        parts[key] = value
    return parts


def _whole(text: str, key: str, least: int, most: int) -> int:
    digits = text.removeprefix("-").removeprefix("+")
    # isdigit alone would let through digits of other scripts
    if not (digits.isascii() and digits.isdigit()) or not least <= int(text) <= most:
        raise _wrong(f"{key} runs from {least} to {most}; {text} does not fit")
    return int(text)


def _until(text: str) -> date:
    try:
        if len(text) != 8 or not text.isdigit():
            raise ValueError(text)
        return date(int(text[:4]), int(text[4:6]), int(text[6:]))
    except ValueError:
        raise _wrong(
            f"UNTIL is a day such as 20261231, itself still counted; {text} is not"
        ) from None


def _weekday(text: str, key: str) -> int:
    if text not in WEEKDAYS:
        raise _wrong(f"{key}: {text} is none of {', '.join(WEEKDAYS)}")
    return WEEKDAYS.index(text)


def _weekday_text(made: tuple[int, int]) -> str:
    which, day = made
    return f"{which or ''}{WEEKDAYS[day]}"


def _by(freq: str, parts: Mapping[str, str]) -> By:
    """The BY parts as numbers, each one allowed for the frequency (RFC 5545 3.3.10)."""
    by: By = {}
    for key, text in parts.items():
        if key in ("BYHOUR", "BYMINUTE", "BYSECOND"):
            raise _wrong(f"{key}: the times of day stand under 'at'")
        if key != "BYDAY" and key not in _PARTS:
            raise _wrong(f"{key} is no part of a rule")
        if key == "BYDAY":
            by[key] = tuple(_byday(item, freq, parts) for item in text.split(","))
            continue
        part = _PARTS[key]
        if freq not in part.frequencies:
            raise _wrong(f"{key} does not go with FREQ={freq}")
        numbers = {_whole(n, key, part.least, part.most) for n in text.split(",")}
        if 0 in numbers:
            raise _wrong(f"{key}: there is no number 0")
        by[key] = tuple(sorted(numbers))
    if by.keys() == {"BYSETPOS"}:
        raise _wrong("BYSETPOS needs another BY part to choose from")
    return by


def _byday(item: str, freq: str, parts: Mapping[str, str]) -> tuple[int, int]:
    """A weekday such as MO, 1MO or -1FR as (which, weekday)."""
    which, day = item[:-2], _weekday(item[-2:], "BYDAY")
    if not which:
        return 0, day
    if freq not in ("MONTHLY", "YEARLY") or "BYWEEKNO" in parts:
        raise _wrong(f"BYDAY={item} goes only with FREQ=MONTHLY or FREQ=YEARLY")
    most = 52 if freq == "YEARLY" and "BYMONTH" not in parts else 4
    number = _whole(which, "BYDAY", -99, 99)
    if not 1 <= abs(number) <= most:
        raise _wrong(
            f"BYDAY={item}: not every {'year' if most == 52 else 'month'} has it; "
            f"write -1{item[-2:]} for the last"
        )
    return number, day


def _explicit(freq: str, by: By, starts: date) -> By:
    """Say what RFC 5545 3.3.10 takes from the start where the rule leaves it open."""
    weekday = ((0, starts.weekday()),)
    if by.keys() & {"BYDAY", "BYMONTHDAY", "BYYEARDAY"} or freq == "DAILY":
        return by
    if freq == "WEEKLY" or "BYWEEKNO" in by:
        return by | {"BYDAY": weekday}
    if freq == "YEARLY":
        by = {"BYMONTH": (starts.month,)} | by
    return by | {"BYMONTHDAY": (starts.day,)}


def _in_short_months(freq: str, interval: int, by: By) -> tuple[str, By]:
    """Rewrite days after the 28th so that a short month has them on its last day.

    The days from the 28th to the last one named are all listed, and BYSETPOS picks:
    days that every month has by their place, the last one named by -1. A weekday
    beside them makes a limit (Friday the 13th), which stays as it was said.
    """
    days = by.get("BYMONTHDAY", ())
    if not days or days[-1] <= 28 or by.keys() & {"BYDAY", "BYYEARDAY", "BYWEEKNO"}:
        return freq, by
    last = days[-1]
    if "BYSETPOS" in by:
        if not set(range(28, last + 1)) <= set(days):
            raise _wrong(f"with BYSETPOS, list every day from 28 to {last}")
        return freq, by
    if days[0] < 0:
        raise _wrong(f"write {last} as -1 too, or leave the days before 0 out")
    if freq == "DAILY":
        raise _wrong(f"for day {last} of the month write FREQ=MONTHLY")
    if freq == "YEARLY" and len(by.get("BYMONTH", ())) != 1:
        if interval != 1:
            raise _wrong(f"for day {last} of several months leave INTERVAL out")
        freq = "MONTHLY"
    early = [day for day in days if day < 28]
    places = [*range(1, len(early) + 1)]
    places += [len(early) + day - 27 for day in days if 28 <= day < last]
    listed = (*early, *range(28, last + 1))
    return freq, by | {"BYMONTHDAY": listed, "BYSETPOS": (-1, *places)}


def _ever_comes(rule: Rule) -> bool:
    """Whether the rule has a first day.

    dateutil looks for one until the year 9999. The calendar repeats every 400 years,
    weekdays too, so the same rule is asked with 100 to 500 years left to look through.
    """
    if rule.until is None and _surely_comes(rule):
        return True
    late = (9899 - rule.starts.year) // 400 * 400
    if late < 0:
        raise _wrong(f"starts in the year {rule.starts.year}")
    shifted = rule._rrule(rule.starts.replace(year=rule.starts.year + late))
    found = next(iter(shifted), None)
    if found is None:
        return False
    first = found.date().replace(year=found.year - late)
    return rule.until is None or first <= rule.until


def _surely_comes(rule: Rule) -> bool:
    """Whether no calendar is needed: every month has each weekday four times."""
    if not rule.by.keys() <= {"BYMONTH", "BYDAY"}:
        return False
    every_month = "BYMONTH" not in rule.by and rule.freq != "DAILY"
    return rule.interval == 1 or every_month or not rule.by
