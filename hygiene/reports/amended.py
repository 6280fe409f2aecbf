"""What no longer stands, beside what replaced it: ruled through, not rubbed out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from hygiene.kinds.entry import Entry
from hygiene.kinds.words import gist
from hygiene.reports.reading import Matter, Reading
from hygiene.reports.words import Change, changes, clock, signed
from hygiene.rota.schedule import Due


class Amended(NamedTuple):
    """What one correction or strike changed, and who did so, when and why."""

    changes: tuple[Change, ...]
    how: str


def amended(reading: Reading, due: Due, matter: Matter) -> Iterator[Amended]:
    """Each correction and strike of a sign-off or a miss, in order."""
    titles = {str(s.get("code")): str(s.get("text")) for s in due.task.steps}
    return _amended(reading, matter, titles, _done)


def amended_by(
    reading: Reading, matter: Matter, said: Callable[[Entry], str] = gist
) -> Iterator[Amended]:
    """Each correction and strike of a matter of any other kind, in order.

    ``said`` puts a version that was struck into a few words.
    """
    return _amended(reading, matter, {}, said)


def _amended(
    reading: Reading,
    matter: Matter,
    titles: Mapping[str, str],
    said: Callable[[Entry], str],
) -> Iterator[Amended]:
    before = matter.first
    for after in matter.history[1:]:
        if after.kind == "strike":
            yield Amended(
                (_struck(reading, before, said(before)),),
                _how(reading, "Ruled through", after),
            )
            continue
        yield Amended(
            tuple(_changes(reading, before, after, titles)),
            _how(reading, "Put right", after),
        )
        before = after


def _changes(
    reading: Reading, before: Entry, after: Entry, titles: Mapping[str, str]
) -> list[Change]:
    hours = reading.rota.hours_on(reading.period.last)
    return changes(before, after, titles, hours, reading.period)


def _done(entry: Entry) -> str:
    return "Done" if entry.kind == "sign_off" else "Not done"


def _struck(reading: Reading, entry: Entry, said: str) -> Change:
    hours = reading.rota.hours_on(reading.period.last)
    when = clock(entry.happened_at, hours, reading.period)
    return Change("", f"{said} {when}, {signed(entry)}", "")


def _how(reading: Reading, what: str, entry: Entry) -> str:
    hours = reading.rota.hours_on(reading.period.last)
    when = clock(entry.recorded_at, hours, reading.period)
    why = f": {entry.reason}" if entry.reason else ""
    return f"{what} {when} by {signed(entry)}{why} ({entry.name})"
