"""The questions that a stretch of sowings allows: each factor, each of its levels.

Whether a factor is judged by sowings or by the trays inside them is read from the
data: where the trays of a sowing differ in it they are compared with one another, and
otherwise the sowing is the unit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from hygiene.tracing.comparison import (
    Comparison,
    Seen,
    compared_measures,
    compared_sowings,
    compared_trays,
)
from hygiene.tracing.outcomes import Batch, Measure, Outcome, TrayOutcome

Bearing = frozenset[tuple[int, int]]
"""Who bears a level: (sowing, tray), or (sowing, WHOLE)."""

DAYS = (
    "Monday",
    "Tuesday",
    "Wednesday",
    "Thursday",
    "Friday",
    "Saturday",
    "Sunday",
)
WHOLE = -1
ALONE_SHARE = 0.8
"""A level that has this share of all sowings from its first to its last one is a
stretch of days, and cannot be told from whatever else those days brought."""


class UnitKind(StrEnum):
    """What was counted."""

    SOWING = "sowing"
    TRAY = "tray"


@dataclass(frozen=True, slots=True)
class Factor:
    """Something that trays or sowings share, by name.

    ``side_by_side`` says in which order trays stand when this factor is judged: trays
    of one rack together when racks are, so that a patch of mould stays in one piece.
    """

    name: str
    said: str
    of: Callable[[Batch, TrayOutcome], tuple[str, ...]]
    side_by_side: Callable[[TrayOutcome], tuple[str, ...]] = lambda tray: ()


@dataclass(frozen=True, slots=True)
class Scale:
    """Something measured on each sowing; more of it is what is suspected."""

    name: str
    said: str
    of: Callable[[Batch], Measure]
    high: str


def _named(*names: str) -> tuple[str, ...]:
    return tuple(name for name in names if name)


def _lots(batch: Batch, tray: TrayOutcome) -> tuple[str, ...]:
    lots = batch.lots if tray.lots is None else tray.lots
    return tuple(lot.code for lot in lots)


def _suppliers(batch: Batch, tray: TrayOutcome) -> tuple[str, ...]:
    lots = batch.lots if tray.lots is None else tray.lots
    return _named(*dict.fromkeys(lot.supplier for lot in lots))


FACTORS = (
    Factor("lot", "Lot", _lots),
    Factor("supplier", "Supplier", _suppliers),
    Factor("tray", "Tray", lambda b, t: _named(t.tray)),
    Factor("rack", "Rack", lambda b, t: _named(t.rack), lambda t: (t.rack,)),
    Factor("level", "Level", lambda b, t: _named(t.level), lambda t: (t.level,)),
    Factor("line", "Water line", lambda b, t: _named(t.line), lambda t: (t.line,)),
    Factor("wash", "Wash", lambda b, t: _named(t.wash)),
    Factor("container", "Container", lambda b, t: _named(t.container)),
    Factor("sowing day", "Sowing day", lambda b, t: (DAYS[b.sown.weekday()],)),
)
PERSON = Factor("person", "Person", lambda b, t: b.people)
SCALES = (
    Scale(
        "seed rate",
        "Seed rate",
        lambda b: b.seed_rate_kg_per_m2,
        "the half sown thickest",
    ),
    Scale(
        "days since deep clean",
        "Days since the deep clean",
        lambda b: b.days_since_deep_clean,
        "the half longest after the clean",
    ),
    Scale(
        "room temperature",
        "Room temperature",
        lambda b: b.room_temperature_c,
        "the warmer half",
    ),
    Scale(
        "room humidity",
        "Room humidity",
        lambda b: b.room_humidity_percent,
        "the damper half",
    ),
)


@dataclass(frozen=True, slots=True)
class Question:
    """Does this level, or a high measure, bear more mould than its neighbours?

    ``comparison`` is None where it had no neighbours; ``alone`` says that it had a
    stretch of days almost to itself.
    """

    factor: str
    said: str
    level: str
    unit: UnitKind
    bearing: Bearing
    comparison: Comparison | None
    alone: bool = False

    @property
    def name(self) -> str:
        """What is asked about, in words."""
        return f"{self.said} {self.level}" if self.level else self.said


def known_sowings(batches: Sequence[Batch]) -> list[Batch]:
    """Give the sowings whose outcome is known, in the order in which they were sown."""
    known = (batch for batch in batches if batch.outcome is not Outcome.NOT_KNOWN)
    return sorted(known, key=lambda batch: (batch.sown, batch.code))


@dataclass(frozen=True, slots=True)
class Spread:
    """How a factor lies over known sowings; trays None where the sowing is the unit.

    ``sowings`` has each sowing's levels; ``trays`` each sowing's trays with theirs, in
    the order in which they stand.
    """

    sowings: dict[int, tuple[str, ...]]
    trays: dict[int, list[tuple[int, tuple[str, ...]]]] | None


def spread(factor: Factor, known: Sequence[Batch]) -> Spread:
    """See whether most sowings differ inside in a factor, and lay it out by that."""
    alike: dict[int, tuple[str, ...]] = {}
    mixed: dict[int, list[tuple[int, tuple[str, ...]]]] = {}
    for place, batch in enumerate(known):
        levels = [
            (at, found)
            for at, tray in enumerate(batch.trays)
            if (found := factor.of(batch, tray))
        ]
        if len({found for _, found in levels}) > 1:
            mixed[place] = levels
        elif levels:
            alike[place] = levels[0][1]
    if len(mixed) < len(alike) or not mixed:
        return Spread(alike, None)
    return Spread(
        {}, {place: _standing(factor, known[place], mixed[place]) for place in mixed}
    )


def _standing(
    factor: Factor, batch: Batch, levels: list[tuple[int, tuple[str, ...]]]
) -> list[tuple[int, tuple[str, ...]]]:
    def order(item: tuple[int, tuple[str, ...]]) -> tuple[object, ...]:
        tray = batch.trays[item[0]]
        return (factor.side_by_side(tray), tray.rack, tray.level, tray.position)

    watched = [
        item for item in levels if batch.trays[item[0]].outcome is not Outcome.NOT_KNOWN
    ]
    return sorted(watched, key=order)


def ask(known: Sequence[Batch], *, with_people: bool = False) -> list[Question]:
    """Ask every question of known sowings in order; identical ones stand twice."""
    factors = (*FACTORS, PERSON) if with_people else FACTORS
    questions: list[Question] = []
    for factor in factors:
        laid = spread(factor, known)
        if laid.trays is None:
            questions += _of_sowings(factor, laid.sowings, known)
        else:
            questions += _of_trays(factor, laid.trays, known)
    return questions + [q for scale in SCALES for q in _of_scale(scale, known)]


def _of_sowings(
    factor: Factor, levels: dict[int, tuple[str, ...]], known: Sequence[Batch]
) -> Iterator[Question]:
    places = list(levels)
    mouldy = [known[place].outcome is Outcome.MOULD for place in places]
    days = [known[place].sown for place in places]
    bearers: dict[str, list[int]] = {}
    for row, place in enumerate(places):
        for level in levels[place]:
            bearers.setdefault(level, []).append(row)
    for level, rows in bearers.items():
        window, bears = slice(rows[0], rows[-1] + 1), set(rows)
        seen = [Seen(r in bears, mouldy[r]) for r in range(rows[0], rows[-1] + 1)]
        yield Question(
            factor.name,
            factor.said,
            level,
            UnitKind.SOWING,
            frozenset((places[row], WHOLE) for row in rows),
            compared_sowings(days[window], seen),
            len(rows) >= ALONE_SHARE * len(seen),
        )


def _of_trays(
    factor: Factor,
    trays: dict[int, list[tuple[int, tuple[str, ...]]]],
    known: Sequence[Batch],
) -> Iterator[Question]:
    bearers: dict[str, dict[int, set[int]]] = {}
    for place, row in trays.items():
        for at, levels in row:
            for level in levels:
                bearers.setdefault(level, {}).setdefault(place, set()).add(at)
    for level, where in bearers.items():
        rows = [
            [
                Seen(at in here, known[place].trays[at].outcome is Outcome.MOULD)
                for at, _ in trays[place]
            ]
            for place, here in where.items()
            if known[place].outcome is Outcome.MOULD
        ]
        bearing = frozenset((p, at) for p, here in where.items() for at in here)
        yield Question(
            factor.name,
            factor.said,
            level,
            UnitKind.TRAY,
            bearing,
            compared_trays(rows),
        )


def measured(scale: Scale, known: Sequence[Batch]) -> dict[int, float]:
    """Give the measure of each sowing that has one."""
    values = ((place, scale.of(batch)) for place, batch in enumerate(known))
    return {place: float(value) for place, value in values if value is not None}


def _of_scale(scale: Scale, known: Sequence[Batch]) -> Iterator[Question]:
    values = measured(scale, known)
    if not values:
        return
    comparison = compared_measures(
        [known[place].sown for place in values],
        list(values.values()),
        [known[place].outcome is Outcome.MOULD for place in values],
    )
    yield Question(scale.name, scale.said, "", UnitKind.SOWING, frozenset(), comparison)
