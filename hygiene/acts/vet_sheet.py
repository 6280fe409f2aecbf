"""What the vet must know of a group of animals: three weeks of fodder and its story.

Read only. The sheet is plain values, so that the terminal and a PDF tell the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Final, NamedTuple

from hygiene.acts.standing import (
    LOOK_BACK,
    batch_file,
    growing_batches,
    layout,
    lot_file,
    open_holds,
)
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Body, Entry, rows_of
from hygiene.kinds.moments import at_the_farm, moment_of
from hygiene.tracing.batches import Batch
from hygiene.tracing.eaten import (
    DayFed,
    Moved,
    RoomReading,
    fed_by_day,
    newcomers,
    out_of_limit,
)
from hygiene.tracing.exposure import Exposure, exposures
from hygiene.tracing.holds import mould_records, stops

DAYS: Final = 21
STATEMENTS: Final = (
    "No visible mould and a good appetite clear nothing: cattle poisoned by mouldy "
    "sprouts kept their appetite (McKenzie and others, Aust. Vet. J., 2004), and a "
    "clean aflatoxin result clears nothing: other moulds make other poisons.",
    "Slow nervous signs may also be a notifiable disease: the vet decides whether the "
    "authority is rung.",
    "No animal of this group goes to slaughter meanwhile; milk and meat are food.",
    "The exposure stays flagged for half a year.",
)


class Eaten(NamedTuple):
    """One batch that the group ate of, and what stands about it."""

    batch: Batch
    grams: int
    lots: tuple[Body, ...]
    moulds: tuple[Entry, ...]
    held: tuple[str, ...]
    air: tuple[RoomReading, ...]


class Air(NamedTuple):
    """The readings of heat or damp of one room over the window."""

    room: str
    unit: str
    low: Decimal
    high: Decimal
    readings: int
    out_of_limit: int


class Left(NamedTuple):
    """What is still there to be sampled."""

    growing: tuple[tuple[str, int], ...]
    lots: tuple[tuple[str, int], ...]
    samples: tuple[Entry, ...]


class VetSheet(NamedTuple):
    """Everything of the sheet, as values; days are the farm's own, both included."""

    farm: Body
    demonstration: bool
    group: str
    animals: Body
    made_at: datetime
    first: date
    last: date
    counted: tuple[Entry, ...]
    came: tuple[Moved, ...]
    ill: tuple[Entry, ...]
    days: tuple[DayFed, ...]
    eaten: tuple[Eaten, ...]
    other_finds: tuple[Entry, ...]
    exposed: tuple[Exposure, ...]
    air: tuple[Air, ...]
    chemicals: tuple[Entry, ...]
    pests: tuple[Entry, ...]
    left: Left
    told: tuple[Entry, ...]
    sent: tuple[Entry, ...]


def vet_sheet(
    record: Record, setup: Sequence[Entry], group: str, now: datetime
) -> VetSheet:
    """Gather a group's sheet for the three weeks that end on the day of ``now``."""
    farm = in_force(setup, now)
    last = now.astimezone(farm.zone).date()
    first = last - timedelta(days=DAYS - 1)
    since = at_the_farm(first, time(0), farm.zone)
    feeds = [e for e in _since(record, ["feed"], since) if e.get("animals") == group]
    versions = [e for e in setup if _of_group(e, group)]
    eaten = _eaten(record, farm, feeds, since)
    sign_offs = record.entries(["sign_off"], since=since)
    return VetSheet(
        farm=farm.farm or {},
        demonstration=record.demonstration(),
        group=group,
        animals=farm.get("animals", group) or {},
        made_at=now,
        first=first,
        last=last,
        counted=_changes(versions, since),
        came=tuple(newcomers(setup, group, since)),
        ill=tuple(
            e for e in _since(record, ["ill"], since) if e.get("animals") == group
        ),
        days=tuple(fed_by_day(feeds, versions, first, last, farm.zone)),
        eaten=eaten,
        other_finds=_other_finds(record, eaten, since),
        exposed=tuple(
            exposures(feeds, [m for e in eaten for m in e.moulds], farm.zone)
        ),
        air=_air(sign_offs, {r for e in eaten for r in _rooms(e.batch, farm)}),
        chemicals=tuple(_since(record, ["dose"], since)),
        pests=tuple(_since(record, ["pest"], since)),
        left=_left(record, eaten, now),
        told=tuple(_since(record, ["notify"], since)),
        sent=tuple(_since(record, ["dispatch"], since)),
    )


def _since(record: Record, kinds: list[str], since: datetime) -> list[Entry]:
    return record.entries(kinds, since=since)


def _of_group(entry: Entry, group: str) -> bool:
    sort = entry.get("sort") if entry.kind == "retire" else entry.kind
    return sort == "animals" and entry.get("code") == group


def _changes(versions: Iterable[Entry], since: datetime) -> tuple[Entry, ...]:
    """The set-ups of the group that fell into the window: animals came or went."""
    later = list(versions)[1:]
    return tuple(v for v in later if moment_of(v.happened_at) >= since)


def _eaten(
    record: Record, farm: InForce, feeds: Iterable[Entry], since: datetime
) -> tuple[Eaten, ...]:
    weights: dict[str, int] = {}
    for feed in feeds:
        code, grams = str(feed.get("batch")), feed.get("grams")
        weights[code] = weights.get(code, 0) + (grams if isinstance(grams, int) else 0)
    holds, place = open_holds(record), layout(farm)
    sign_offs = record.entries(["sign_off"], since=since - LOOK_BACK / 2)
    made = []
    for code, grams in weights.items():
        batch, versions = batch_file(record, code)
        if batch is None:
            continue
        held = [stop.why for stop in stops(code, versions, holds, place)]
        made.append(
            Eaten(
                batch,
                grams,
                tuple(_lot(record, lot) for lot in batch.lots),
                tuple(mould_records(code, versions)),
                tuple(dict.fromkeys(held)),
                tuple(out_of_limit(batch, sign_offs, place)),
            )
        )
    return tuple(sorted(made, key=lambda eaten: eaten.batch.sown))


def _other_finds(
    record: Record, eaten: Iterable[Eaten], since: datetime
) -> tuple[Entry, ...]:
    """The finds in the shed that are in none of the batches eaten; struck ones too."""
    known = {mould.first for each in eaten for mould in each.moulds}
    found = {
        mould.first: mould for mould in record.all_versions(["mould"], since=since)
    }
    return tuple(mould for first, mould in found.items() if first not in known)


def _lot(record: Record, code: str) -> Body:
    found = lot_file(record, code)
    if found.lot is not None:
        return found.lot.seed.body
    return next((v.body for v in found.versions if v.kind == "seed"), {"lot": code})


def _rooms(batch: Batch, farm: InForce) -> set[str]:
    rooms = layout(farm).room_of
    return {rooms[s.rack] for s in batch.stays if s.rack and s.rack in rooms}


def _air(sign_offs: Iterable[Entry], rooms: set[str]) -> tuple[Air, ...]:
    found: dict[tuple[str, str], list[tuple[Any, bool]]] = {}
    for entry in sign_offs:
        for answer in rows_of(entry, "answers"):
            room, value = answer.get("of"), answer.get("value")
            if room in rooms and isinstance(value, int | Decimal):
                key = (str(room), str(answer.get("unit") or ""))
                failed = answer.get("passed") is False
                found.setdefault(key, []).append((Decimal(value), failed))
    return tuple(
        Air(
            room,
            unit,
            min(value for value, _ in readings),
            max(value for value, _ in readings),
            len(readings),
            sum(failed for _, failed in readings),
        )
        for (room, unit), readings in sorted(found.items())
    )


def _left(record: Record, eaten: Iterable[Eaten], now: datetime) -> Left:
    lots = {lot for each in eaten for lot in each.batch.lots}
    codes = {each.batch.code for each in eaten}
    growing = [
        batch
        for batch in growing_batches(record, now)
        if batch.code in codes or lots & set(batch.lots)
    ]
    stores = ((lot, lot_file(record, lot).lot) for lot in sorted(lots))
    named = record.mentioning(*sorted(codes | lots)) if codes | lots else []
    return Left(
        tuple((batch.code, len(batch.growing)) for batch in growing),
        tuple((lot, found.in_store_grams) for lot, found in stores if found),
        tuple(entry for entry in named if entry.kind == "sample"),
    )
