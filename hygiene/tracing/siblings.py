"""Sideways from a batch: which others share a cause with it, one step and no more."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import NamedTuple

from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import Batch, Stay
from hygiene.tracing.holds import Layout


class Sibling(NamedTuple):
    """Another batch, and what it shares with the one that was asked about."""

    code: str
    shares: tuple[str, ...]


def siblings(
    batch: Batch,
    others: Iterable[Batch],
    layout: Layout,
    washes: Mapping[str, frozenset[str]],
) -> list[Sibling]:
    """The others that share a room or line in overlapping days, a lot, wash or tray.

    ``washes`` gives the entries of the doses that the trays of a batch, by code, were
    last washed with. A tray is shared with the batch that grew in it afterwards.
    """
    found = []
    for other in others:
        if other.code != batch.code:
            shares = (
                *_rooms(batch, other, layout),
                *(f"lot {lot}" for lot in batch.lots if lot in other.lots),
                *_washes(batch, other, washes),
                *_line(batch, other),
                *_trays(batch, other),
            )
            if shares:
                found.append(Sibling(other.code, shares))
    return found


def _rooms(batch: Batch, other: Batch, layout: Layout) -> list[str]:
    rooms = layout.room_of
    mine = [(rooms.get(stay.rack or ""), stay) for stay in batch.stays]
    theirs = [(rooms.get(stay.rack or ""), stay) for stay in other.stays]
    shared = {
        room
        for room, stay in mine
        for their_room, their in theirs
        if room and room == their_room and overlap(stay, their)
    }
    return [f"room {room}" for room in sorted(shared)]


def overlap(one: Stay, other: Stay) -> bool:
    """Whether two stays have a moment in common."""
    return (one.until is None or other.since < one.until) and (
        other.until is None or one.since < other.until
    )


def _washes(
    batch: Batch, other: Batch, washes: Mapping[str, frozenset[str]]
) -> list[str]:
    none: frozenset[str] = frozenset()
    shared = washes.get(batch.code, none) & washes.get(other.code, none)
    return [f"wash {name}" for name in sorted(shared)]


def _line(batch: Batch, other: Batch) -> list[str]:
    if not batch.line or batch.line != other.line:
        return []
    mine = Stay("", None, None, batch.sown, batch.over)
    theirs = Stay("", None, None, other.sown, other.over)
    return [f"line {batch.line}"] if overlap(mine, theirs) else []


def _trays(batch: Batch, other: Batch) -> list[str]:
    if other.sown < batch.sown:
        return []
    shared = [tray for tray in batch.trays if tray in set(other.trays)]
    return [f"tray {tray}" for tray in shared[:1]] + (
        [f"{len(shared) - 1} more trays"] if len(shared) > 1 else []
    )


def last_washes(
    batches: Iterable[Batch], doses: Iterable[Entry]
) -> dict[str, frozenset[str]]:
    """The doses that the trays of each batch last met, by the tub they were made in."""
    by_tray: dict[str, list[tuple[datetime, str]]] = {}
    for dose in doses:
        for tray in texts_of(dose, "trays"):
            by_tray.setdefault(tray, []).append(
                (moment_of(dose.happened_at), str(dose.get("tub") or dose.first))
            )
    return {
        batch.code: frozenset(
            max(before)[1]
            for tray in batch.trays
            if (before := [w for w in by_tray.get(tray, ()) if w[0] <= batch.sown])
        )
        for batch in batches
    }
