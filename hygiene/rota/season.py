"""When the shed runs: the farm file's stretches, and the starts and stops since.

A start or stop that is written on the day counts from its day on, until the next one
or until the farm file says that a stretch begins or ends.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple

Stretch = tuple[date, date | None]
"""The first and the last day that the shed runs; no last day: it still runs."""


class Turn(NamedTuple):
    """From ``day`` on the shed runs, or stands."""

    day: date
    runs: bool


def turn_of(body: Any) -> Turn | None:
    """The turn that a season entry's body says: it stops after its last day."""
    try:
        day = date.fromisoformat(body.get("day"))
    except (AttributeError, TypeError, ValueError):
        return None
    runs = body.get("runs") is True
    return Turn(day if runs else _after(day), runs)


def stretches(base: Sequence[Stretch], turns: Iterable[Turn]) -> tuple[Stretch, ...]:
    """The stretches in which the shed runs; none at all means that it always does.

    ``turns`` are in the order in which they were said. Where the farm file says that
    a stretch begins on the day of a stop, it begins.
    """
    said = list(turns)
    if not said:
        return tuple(base)
    points = [(turn.day, 0, turn.runs) for turn in said]
    for first, last in base or ((date.min, None),):
        points.append((first, 1, True))
        if last is not None:
            points.append((_after(last), -1, False))
    points.sort(key=lambda point: point[:2])
    made: list[Stretch] = []
    for day, _, runs in points:
        going = bool(made) and made[-1][1] is None
        if runs and not going:
            made.append((day, None))
        elif not runs and going:
            made[-1] = (made[-1][0], day - timedelta(days=1))
    return tuple(made)


def runs(season: Sequence[Stretch], day: date) -> bool:
    """Whether the shed runs on a day; with no stretch at all it always does."""
    return not season or any(
        first <= day and (last is None or day <= last) for first, last in season
    )


def _after(day: date) -> date:
    return day if day == date.max else day + timedelta(days=1)
