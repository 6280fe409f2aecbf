"""How reports say things: times by the farm's clock, answers, changes, entries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, NamedTuple

from hygiene.kinds.entry import Entry, rows_of
from hygiene.reports.period import Period, plain_day
from hygiene.rota.judging import limits
from hygiene.rota.schedule import Hours, moment_or_none

UNITS = {"C": "°C", "F": "°F"}


class Change(NamedTuple):
    """One thing that a correction put right: what it was, and what it is now.

    ``old`` is empty where nothing had been said, ``new`` where nothing is said now.
    """

    what: str
    old: str
    new: str


def clock(text: str, hours: Hours, period: Period) -> str:
    """A moment of the record by the farm's clock; odd text is shown as it stands."""
    moment = moment_or_none(text)
    return said_at(moment, hours, period) if moment else str(text)


def said_at(moment: datetime, hours: Hours, period: Period) -> str:
    """A moment by the farm's clock, with as much of its date as the page needs.

    On the page of that very day the time is enough; within the page's year the year
    is left out. In the hour that exists twice the offset is said.
    """
    local = moment.astimezone(hours.zone)
    time = f"{local:%H:%M}"
    if local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset():
        time += f" ({local:%z})"
    day = local.date()
    if period.first == period.last == day:
        return time
    if period.first.year == period.last.year == day.year:
        return f"{day.day} {day:%B}, {time}"
    return f"{plain_day(day)}, {time}"


def length(span: timedelta) -> str:
    """A length of time in words: 3 days 4 h, 4 h 10 min, 10 min."""
    minutes = int(span.total_seconds() // 60)
    days, rest = divmod(minutes, 24 * 60)
    hours, left = divmod(rest, 60)
    parts = [
        f"{days} day{'s' if days > 1 else ''}" if days else "",
        f"{hours} h" if hours else "",
        f"{left} min" if left and not days else "",
    ]
    return " ".join(part for part in parts if part) or "under a minute"


def number(value: Any) -> str:
    """A number with the digits as typed."""
    return format(value, "f") if isinstance(value, Decimal) else str(value)


def count(amount: int, one: str, many: str | None = None) -> str:
    """A count with its noun: 1 task, 2 tasks."""
    return f"{amount:,} {one if amount == 1 else many or one + 's'}"


def short(text: str, most: int = 80) -> str:
    """A text cut to fit a narrow place; what is cut is said by the last sign."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def listed(parts: Iterable[str]) -> str:
    """Words with commas, the last two with ``and``."""
    said = [part for part in parts if part]
    if len(said) < 2:
        return "".join(said)
    return f"{', '.join(said[:-1])} and {said[-1]}"


def said(answer: Mapping[str, Any]) -> str:
    """What was answered, without its step: 21.5 °C, clear, done."""
    if "value" in answer:
        unit = str(answer.get("unit") or "")
        return f"{number(answer['value'])} {UNITS.get(unit, unit)}".rstrip()
    if "chosen" in answer:
        return str(answer["chosen"])
    return "done" if answer.get("done") else "not done"


def limit(step: Mapping[str, Any]) -> str:
    """What would have passed, in words; empty where anything does."""
    unit = str(step.get("unit") or "")
    unit = UNITS.get(unit, unit)
    low, high = step.get("low"), step.get("high")
    if low is not None and low == high:
        return f"{number(low)} {unit}".rstrip()
    if low == 0 and high is None:
        return ""
    return limits({**step, "unit": unit})


def changes(
    before: Entry,
    after: Entry,
    titles: Mapping[str, str],
    hours: Hours,
    period: Period,
) -> list[Change]:
    """What differs between two versions of an entry, in words."""
    found = []
    if before.happened_at != after.happened_at:
        found.append(
            Change(
                "time",
                clock(before.happened_at, hours, period),
                clock(after.happened_at, hours, period),
            )
        )
    for key in dict.fromkeys([*before.body, *after.body]):
        old, new = before.get(key), after.get(key)
        if old == new:
            continue
        if key == "answers":
            found += _answers(rows_of(before, key), rows_of(after, key), titles)
        else:
            found.append(Change(key.replace("_", " "), plain(old), plain(new)))
    return found


def _answers(
    old: list[Mapping[str, Any]],
    new: list[Mapping[str, Any]],
    titles: Mapping[str, str],
) -> list[Change]:
    before, after = ({_place(a): a for a in answers} for answers in (old, new))
    found = []
    for place in dict.fromkeys([*before, *after]):
        step, of = place
        was, now = before.get(place), after.get(place)
        if was == now:
            continue
        what = titles.get(step, step) + (f" {of}" if of else "")
        found.append(Change(what, _full(was), _full(now)))
    return found


def _place(answer: Mapping[str, Any]) -> tuple[str, str]:
    return str(answer.get("step")), str(answer.get("of") or "")


def _full(answer: Mapping[str, Any] | None) -> str:
    if answer is None:
        return ""
    did = f"; {answer['did']}" if answer.get("did") else ""
    return said(answer) + did


def plain(value: Any) -> str:
    """Any plain value of a body, on one line."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{k.replace('_', ' ')} {plain(v)}" for k, v in value.items())
    if isinstance(value, list | tuple):
        return "; ".join(plain(item) for item in value)
    return number(value)


def signed(entry: Entry) -> str:
    """Who did or saw it, and who typed it, if that was another."""
    if entry.written_by:
        return f"{entry.by} (typed by {entry.written_by})"
    return entry.by
