"""Papers that the farm keeps; the start and the stop of the shed; what upsets water."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Final

from hygiene.acts.codes import known
from hygiene.acts.how import How
from hygiene.acts.people import Written, write_once
from hygiene.book.writing import Writing
from hygiene.errors import Refused
from hygiene.farm.in_force import InForce
from hygiene.kinds.papers import File, Season
from hygiene.kinds.water import Disturbance
from hygiene.rota.season import runs

LONG_STOP_DAYS: Final = 7
"""From so many days of standing water on, lines are flushed and sanitised before
anybody goes in (common practice for a misted room, no source)."""


class RunsAlready(Refused):
    """A start of a shed that runs, or a stop of one that stands."""

    sentence = "refused: the shed {how} already on {day}"


def keep(writing: Writing, how: How, thing: File) -> Written:
    """Keep a paper. A complaint opens its corrective action: it wants an answer."""
    if thing.sort != "complaint":
        return write_once(writing, how, thing)
    about = thing.abouts[0] if len(thing.abouts) == 1 else None
    problem = f"complaint: {thing.title}"
    return write_once(writing, how, thing, problem=problem, concerns=about)


def turn(writing: Writing, farm: InForce, how: How, thing: Season) -> Written:
    """Start or stop the shed; refused where it runs, or stands, already."""
    before = how.retried(writing, thing)
    if before is not None:
        return Written(before, already=True)
    if thing.runs == runs(farm.season, thing.day):
        raise RunsAlready(
            how="runs" if thing.runs else "stands",
            day=thing.day,
            way_out="say the day with --on DATE; see the season in the farm file",
        )
    return write_once(writing, how, thing)


def stood_days(farm: InForce, start: date) -> int:
    """For how many days the shed has stood when it starts on a day."""
    ends = [last for _, last in farm.season if last is not None and last < start]
    return (start - max(ends)).days - 1 if ends else 0


def upset(writing: Writing, farm: InForce, how: How, thing: Disturbance) -> Written:
    """Write what may have changed the water at points: from now on samples are due."""
    points = tuple(known(farm, "point", point) for point in thing.points)
    return write_once(writing, how, replace(thing, points=points))
