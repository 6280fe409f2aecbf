"""When things of the year lie: everything is counted back from its last day.

The farm file was written for a year that ends on ``WRITTEN_FOR``. For another year its
dates are moved by as many days, so that papers and trainings are as old as they were.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any, NamedTuple

from hygiene.acts.set_up import FarmFiles

WRITTEN_FOR = date(2026, 11, 25)
A_DAY = timedelta(days=1)
STOP_DAYS = 14
QUIET = ((0, 45), (140, 180), (350, 10_000))
"""Days before the last one that must not fall into the stop: stories lie there."""


class Stop(NamedTuple):
    """The days on which the shed stands still, both included."""

    first: date
    last: date


def moved(thing: Any, by: timedelta) -> Any:
    """The same value with every date in it moved."""
    if isinstance(thing, date):
        return thing + by
    if isinstance(thing, tuple):
        return tuple(moved(item, by) for item in thing)
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        fields = [field.name for field in dataclasses.fields(thing)]
        given = {name: getattr(thing, name) for name in fields}
        return dataclasses.replace(thing, **{k: moved(v, by) for k, v in given.items()})
    return thing


def for_a_year_to(files: FarmFiles, last: date) -> FarmFiles:
    """The farm files as they would be written for a year that ends on ``last``.

    The checklists keep their dates: they hold from long before.
    """
    by, wanted = last - WRITTEN_FOR, files.wanted
    things = {sort: moved(found, by) for sort, found in wanted.things.items()}
    farm = moved(wanted.farm, by)
    return dataclasses.replace(
        files, wanted=dataclasses.replace(wanted, farm=farm, things=things)
    )


def stop_of(last: date) -> Stop:
    """The two weeks of summer in which the shed stops: as near to 6 July as can be."""
    first = min(_starts(last), key=_far_from_july)
    return Stop(first, first + (STOP_DAYS - 1) * A_DAY)


def stop_in(first: date, last: date) -> Stop:
    """The stop of a record that begins on ``first``.

    Where the record begins in it, nobody said that it came: then there is none, and it
    is the stop of the summer before.
    """
    stop = stop_of(last)
    if first < stop.first:
        return stop
    return Stop(stop.first - 364 * A_DAY, stop.last - 364 * A_DAY)


def _starts(last: date) -> Iterator[date]:
    for days in range(364):
        first = last - days * A_DAY
        if first.month in (6, 7, 8) and not any(
            from_ <= days < to + STOP_DAYS for from_, to in QUIET
        ):
            yield first


def _far_from_july(day: date) -> int:
    return abs((day - date(day.year, 7, 6)).days)
