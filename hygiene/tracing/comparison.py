"""Compare like with like: what bears a level against what stood or was sown beside it.

Only neighbours are compared: trays inside one batch, or sowings inside one fortnight.
So a bad summer, a hot spell or spores left by the last find raise both sides alike.
And what hangs together counts once: a run of sowings, or of trays side by side, that
share a level is one unit, because one spell or one patch of mould fills it whole.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import NamedTuple

from hygiene.tracing.statistics import (
    Chances,
    added,
    at_least,
    doubled_ranks,
    drawn_sum,
    turned_sum,
)

STRATUM_DAYS = 14
"""Sowings this near in time are neighbours: a season moves little in a fortnight, and
two lots sown in turn meet seven times in it."""

STEPS_PER_FIND = 60
"""A find is cut in this many steps, so that what was expected is a whole number too."""


class Seen(NamedTuple):
    """One tray in its batch, or one sowing: does it bear the level, was it mouldy?"""

    bears: bool
    mouldy: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """What was found on a level, and what its neighbours led one to expect.

    ``borne`` and ``against`` count sowings or trays, in ``strata`` that hold both.
    ``chances`` are those of the summed score under no cause; a step of ``one_find`` in
    the score is one find more (for a rank: the whole way from lowest to highest).
    """

    found: int
    expected: float
    borne: int
    against: int
    strata: int
    score: int
    chances: Chances
    one_find: float

    @property
    def p(self) -> float:
        """Chance of as many or more, if nothing but chance were at work."""
        return at_least(self.chances, self.score)

    @property
    def least_p(self) -> float:
        """The least p that this comparison could have given."""
        return self.chances[max(self.chances)]


class Unit(NamedTuple):
    """Neighbours of one side that count as one: side, finds, how many they are."""

    bears: bool
    finds: int
    size: int


def unit_length(row: Sequence[Seen]) -> int:
    """Give how long a unit is in a row: the usual run of the side with shorter runs.

    Sides that take turns one by one give 1, the single tray or sowing; a rack of four
    gives 4, the rack; a side that is never interrupted gives 0: nothing to compare.
    """
    runs: dict[bool, list[int]] = {True: [], False: []}
    for bears, run in groupby(row, key=lambda seen: seen.bears):
        runs[bears].append(sum(1 for _ in run))
    if not runs[True] or not runs[False]:
        return 0
    return min(_middle(runs[True]), _middle(runs[False]))


def _middle(lengths: list[int]) -> int:
    return sorted(lengths)[(len(lengths) - 1) // 2]


def units(row: Sequence[Seen], length: int) -> list[Unit]:
    """Cut each run of a row into units of about ``length``."""
    cut = []
    for bears, run in groupby(row, key=lambda seen: seen.bears):
        mouldy = [seen.mouldy for seen in run]
        pieces = max(1, round(len(mouldy) / length))
        for piece in range(pieces):
            part = mouldy[
                piece * len(mouldy) // pieces : (piece + 1) * len(mouldy) // pieces
            ]
            cut.append(Unit(bears, sum(part), len(part)))
    return cut


def compared(strata: Iterable[Sequence[Unit]]) -> Comparison | None:
    """Compare inside each stratum: any of its units might have been the bearing ones.

    None when no stratum holds both sides.
    """
    parts: list[Chances] = []
    found = borne = against = mixed = score = 0
    expected = 0.0
    for row in strata:
        bearing = [unit for unit in row if unit.bears]
        if not bearing or len(bearing) == len(row):
            continue
        finds, size = sum(u.finds for u in row), sum(u.size for u in row)
        here = sum(u.size for u in bearing)
        found += sum(u.finds for u in bearing)
        borne, against, mixed = borne + here, against + size - here, mixed + 1
        expected += finds * here / size
        if 0 < finds < size:
            scores = [_score(unit, finds, size) for unit in row]
            score += sum(s for s, u in zip(scores, row, strict=True) if u.bears)
            parts.append(drawn_sum(scores, len(bearing)))
    if not borne:
        return None
    return Comparison(
        found, expected, borne, against, mixed, score, added(parts), STEPS_PER_FIND
    )


def _score(unit: Unit, finds: int, size: int) -> int:
    """Finds above what the unit's size led one to expect, in steps."""
    return STEPS_PER_FIND * unit.finds - round(
        STEPS_PER_FIND * unit.size * finds / size
    )


def fortnights(days: Sequence[date]) -> list[slice]:
    """Cut days in rising order into equal stretches of at most a fortnight."""
    if not days:
        return []
    span = (days[-1] - days[0]).days + 1
    parts = math.ceil(span / STRATUM_DAYS)
    places = [(day - days[0]).days * parts // span for day in days]
    cut, start = [], 0
    for _, run in groupby(places):
        stop = start + sum(1 for _ in run)
        cut.append(slice(start, stop))
        start = stop
    return cut


def compared_sowings(days: Sequence[date], row: Sequence[Seen]) -> Comparison | None:
    """Compare sowings that bear a level with others between its first and its last."""
    bearing = [place for place, seen in enumerate(row) if seen.bears]
    if not bearing:
        return None
    window = slice(bearing[0], bearing[-1] + 1)
    days, row = days[window], row[window]
    length = unit_length(row)
    if not length:
        return None
    return compared(units(row[cut], length) for cut in fortnights(days))


def compared_trays(batches: Iterable[Sequence[Seen]]) -> Comparison | None:
    """Compare the trays that bear a level with the others of their own batch.

    Trays come in the order in which they stand, so that neighbours are neighbours.
    """
    return compared(
        units(row, length) for row in batches if (length := unit_length(row))
    )


def compared_measures(
    days: Sequence[date], values: Sequence[float], mouldy: Sequence[bool]
) -> Comparison | None:
    """Compare the rank of a measure where mould was found with turns of its fortnight.

    ``found`` counts mouldy sowings above the middle of their fortnight, ties by half.
    """
    parts: list[Chances] = []
    found = score = finds = 0
    sizes: list[int] = []
    for cut in fortnights(days):
        ranks, marks = doubled_ranks(values[cut]), mouldy[cut]
        size, here = len(ranks), sum(marks)
        if not 0 < here < size or min(ranks) == max(ranks):
            continue
        marked = [rank for rank, mark in zip(ranks, marks, strict=True) if mark]
        found += sum((rank > size + 1) + (rank >= size + 1) for rank in marked)
        score += sum(marked)
        finds += here
        sizes.append(size)
        parts.append(turned_sum(ranks, marks))
    if not parts:
        return None
    one = 2 * sum(sizes) / len(sizes)
    against = sum(sizes) - finds
    return Comparison(
        found // 2, finds / 2, finds, against, len(sizes), score, added(parts), one
    )
