"""What else changed with a level, and what makes a comparison uneven."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from hygiene.tracing.outcomes import Batch, Outcome, TrayOutcome
from hygiene.tracing.questions import (
    FACTORS,
    PERSON,
    SCALES,
    Question,
    UnitKind,
    measured,
)
from hygiene.tracing.statistics import hypergeometric_tail

CHANGED_IN, CHANGED_OUT = 0.8, 0.5
"""Something changed with a level if it holds for so much of it, and so little else."""

UNEVEN = 0.05
"""One-sided p below which more of a level than of the rest went unwatched."""


class _Sides(NamedTuple):
    """Trays that bear a level, and those it was compared with."""

    bearing: list[tuple[Batch, TrayOutcome]]
    others: list[tuple[Batch, TrayOutcome]]


def _sides(question: Question, known: Sequence[Batch]) -> _Sides:
    places = [place for place, _ in question.bearing]
    if question.unit is UnitKind.TRAY:
        pairs = [(place, at) for place in {*places} for at in _trays(known[place])]
        mine = question.bearing
    else:
        window = range(min(places), max(places) + 1)
        if question.comparison is None or question.alone:
            window = range(len(known))
        pairs = [(place, at) for place in window for at in _trays(known[place])]
        mine = frozenset((place, at) for place in places for at in _trays(known[place]))
    sides = _Sides([], [])
    for place, at in pairs:
        batch = known[place]
        (sides.bearing if (place, at) in mine else sides.others).append(
            (batch, batch.trays[at])
        )
    return sides


def _trays(batch: Batch) -> range:
    return range(len(batch.trays))


def changed(question: Question, known: Sequence[Batch]) -> Iterator[str]:
    """Name what else holds for most of a level and for little of what it stood by."""
    if not question.bearing:
        return
    sides = _sides(question, known)
    for factor in (*FACTORS, PERSON):
        if factor.name in (question.factor, PERSON.name):
            continue
        inside = _tally(sides.bearing, factor.of)
        usual = [level for level, share in inside.items() if share >= CHANGED_IN]
        outside = _tally(sides.others, factor.of) if usual else {}
        for level in usual:
            if outside.get(level, 0.0) <= CHANGED_OUT:
                yield f"{factor.said} {level}"
    if question.unit is UnitKind.SOWING:
        yield from _changed_measures(question, known)


def _tally(
    pairs: Sequence[tuple[Batch, TrayOutcome]],
    of: Callable[[Batch, TrayOutcome], tuple[str, ...]],
) -> dict[str, float]:
    counts: dict[str, int] = {}
    for batch, tray in pairs:
        for level in of(batch, tray):
            counts[level] = counts.get(level, 0) + 1
    return {level: count / len(pairs) for level, count in counts.items()}


def _changed_measures(question: Question, known: Sequence[Batch]) -> Iterator[str]:
    places = {place for place, _ in question.bearing}
    window = range(len(known))
    if not question.alone:
        window = range(min(places), max(places) + 1)
    for scale in SCALES:
        values = measured(scale, known)
        mine = [values[p] for p in window if p in places and p in values]
        rest = [values[p] for p in window if p not in places and p in values]
        if not mine or not rest:
            continue
        above = sum((m > r) + (m >= r) for m in mine for r in rest)
        share = above / (2 * len(mine) * len(rest))
        if share >= CHANGED_IN or share <= 1 - CHANGED_IN:
            yield f"{scale.said} {'higher' if share >= CHANGED_IN else 'lower'}"


def uneven(
    question: Question, known: Sequence[Batch], batches: Sequence[Batch]
) -> Iterator[str]:
    """Warn where more of a level than of the rest was not watched to the end."""
    factor = next((f for f in (*FACTORS, PERSON) if f.name == question.factor), None)
    if factor is None or question.unit is UnitKind.TRAY or len(known) == len(batches):
        return
    bearing = [
        batch
        for batch in batches
        if any(question.level in factor.of(batch, tray) for tray in batch.trays)
    ]
    lost = sum(batch.outcome is Outcome.NOT_KNOWN for batch in bearing)
    whole, all_lost = len(batches), len(batches) - len(known)
    if lost and hypergeometric_tail(lost, len(bearing), all_lost, whole) <= UNEVEN:
        yield (
            f"{lost} of its {len(bearing)} sowings were not watched to the end, more "
            "than elsewhere: the comparison leans against it"
        )
