"""Entries of any kind as one line each: for what has no telling of its own."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple

from hygiene.kinds.entry import Entry
from hygiene.kinds.words import gist
from hygiene.reports.reading import Matter, Reading, span_of
from hygiene.reports.words import clock, signed
from hygiene.rota.schedule import moment_or_none


class Line(NamedTuple):
    """Something that was written: when, by whom, what kind, and what it says."""

    when: str
    by: str
    what: str
    told: str
    entry: str
    struck: bool


def line(reading: Reading, matter: Matter) -> Line:
    """The matter on one line, as it stands. Striking a hold never ends it."""
    entry, kind = matter.said, matter.first.kind
    hours = reading.rota.hours_on(reading.period.last)
    return Line(
        clock(entry.happened_at, hours, reading.period),
        signed(entry),
        kind.replace("_", " "),
        _told(reading, matter),
        entry.name,
        matter.struck and kind != "hold",
    )


def _told(reading: Reading, matter: Matter) -> str:
    entry = matter.said
    match entry.kind:
        case "hold":
            return _hold(reading, matter)
        case "sign_off":
            return f"{entry.get('task')}, due {entry.get('due')}: done"
        case "miss":
            return f"{entry.get('task')}, due {entry.get('due')}: {entry.get('why')}"
    return gist(entry)


def _hold(reading: Reading, hold: Matter) -> str:
    entry = hold.said
    told = f"{entry.get('sort')} {entry.get('held')}: {entry.get('why')}"
    if entry.get("stops"):
        told += f" (stops {entry.get('stops')})"
    hours = reading.rota.hours_on(reading.period.last)
    for end in reading.answers(hold, "release"):
        when = clock(end.said.happened_at, hours, reading.period)
        told += f". Released {when} by {signed(end.said)} ({end.said.name})"
    return told


def held(reading: Reading, hold: Matter) -> bool:
    """Whether it still held when the period was over: only a release ends it."""
    _, end = span_of(reading.rota, reading.period)
    ends = reading.answers(hold, "release")
    return before(hold.first, end) and not any(before(e.said, end) for e in ends)


def before(entry: Entry, moment: datetime) -> bool:
    """Whether an entry happened before a moment; an odd one did not."""
    happened = moment_or_none(entry.happened_at)
    return happened is not None and happened < moment
