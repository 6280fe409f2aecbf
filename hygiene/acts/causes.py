"""What the search for causes is fed with: sowings of a stretch of days, as they stand.

What was not watched to its end is never taken for "no mould", and where the record does
not say which tray bore it, that is left out rather than guessed. Read only.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta, tzinfo
from decimal import Decimal
from statistics import fmean
from typing import Any, Final, NamedTuple

from hygiene.acts.standing import LOOK_BACK, layout
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import KINDS, Batch, Stay, read_batches
from hygiene.tracing.lineage import Lineage, Node, read_lineage
from hygiene.tracing.outcomes import Batch as Sowing
from hygiene.tracing.outcomes import Lot, Outcome, TrayOutcome

GROWS: Final = 7
DEEP_TASK: Final = "deepclean"
"""The checklist of the rota's deep clean, as it is shipped."""
DAMP_UNITS: Final = ("%", "% rh", "%rh")
NOTHING_FOUND: Final[frozenset[str]] = frozenset()


class Gathered(NamedTuple):
    """The sowings, and how many of their finds could not be told to the tray.

    ``unclear`` are batches on a rack where mould was found and several stood: whether
    it was in this one is not written. ``by_batch`` bore mould, in trays not named;
    ``young`` were fed or sent before their last day.
    """

    sowings: tuple[Sowing, ...]
    unclear: tuple[str, ...]
    by_batch: tuple[str, ...]
    young: tuple[str, ...]


class Find(NamedTuple):
    """What one standing find says of one batch.

    ``trays`` bore it; ``place`` are those among which it was, where they are not named
    (those on ``rack``, if one is); ``shared`` says that other batches stood there too.
    """

    at: datetime
    trays: frozenset[str]
    place: frozenset[str]
    rack: str | None
    shared: bool


def gather(
    record: Record,
    setup: Sequence[Entry],
    since: datetime,
    before: datetime,
    now: datetime,
) -> Gathered:
    """Every batch sown in [since, before), as the search for causes reads it."""
    farm = in_force(setup, now)
    sown = record.entries(["sow"], since=since, before=before)
    codes = sorted({str(entry.get("batch")) for entry in sown})
    entries = record.mentioning(*codes) if codes else []
    batches = read_batches(entry for entry in entries if entry.kind in KINDS)
    shed = _Shed(record, farm, batches, since, before, now)
    finds = _finds([e for e in entries if e.kind == "mould"], batches)
    made = [
        shed.sowing(batch, finds.get(code, ()))
        for code, batch in batches.items()
        if code in codes
    ]
    return Gathered(
        tuple(made),
        tuple(code for code, found in finds.items() if _unclear(found)),
        tuple(code for code, found in finds.items() if _by_batch(found)),
        tuple(code for code, batch in batches.items() if shed.young(batch)),
    )


def _finds(
    moulds: Iterable[Entry], batches: Mapping[str, Batch]
) -> dict[str, list[Find]]:
    """What each standing find says of each batch that it names."""
    made: dict[str, list[Find]] = {}
    for mould in moulds:
        named = [mould.get("batch"), *texts_of(mould, "batches")]
        codes = list(dict.fromkeys(str(code) for code in named if code))
        for code in codes:
            if code in batches:
                find = _find(mould, batches[code], len(codes) > 1)
                made.setdefault(code, []).append(find)
    return made


def _find(mould: Entry, batch: Batch, several: bool) -> Find:
    at = moment_of(mould.happened_at)
    rack = mould.get("rack")
    there = [s.tray for s in batch.standing(at) if rack in (s.rack, None)]
    place = frozenset(there or batch.trays)
    named = frozenset(texts_of(mould, "trays")) & frozenset(batch.trays)
    count = mould.get("tray_count")
    if not named and isinstance(count, int) and count >= len(place) and not several:
        named = place
    return Find(at, named, place, rack, several and not named)


def _unclear(finds: Sequence[Find]) -> bool:
    return bool(finds) and all(find.shared for find in finds)


def _by_batch(finds: Sequence[Find]) -> bool:
    return any(not find.trays and not find.shared for find in finds)


class _Shed:
    """What is read once for all the sowings of a stretch of days."""

    def __init__(
        self,
        record: Record,
        farm: InForce,
        batches: Mapping[str, Batch],
        since: datetime,
        before: datetime,
        now: datetime,
    ) -> None:
        self.farm = farm
        self.now = now
        self.place = layout(farm)
        doses = record.entries(["dose"], since=since - LOOK_BACK, before=before)
        sows = [batch.sow for batch in batches.values()]
        self.lineage = read_lineage([*doses, *sows], self.place)
        self.suppliers = _suppliers(record, batches.values())
        signed = record.entries(["sign_off"], since=since - LOOK_BACK, before=now)
        self.cleans = _deep_cleans(signed, doses)
        self.air = _air(signed)

    @property
    def last_day(self) -> int:
        """The growing day on which a batch has stood its time."""
        return self.farm.growing_days

    def young(self, batch: Batch) -> bool:
        """Whether trays of it were fed or sent before their last day."""
        return any(
            end.how in ("fed", "sent")
            and self._age(batch, end.entry.happened_at) < self.last_day
            for end in batch.ends.values()
        )

    def _age(self, batch: Batch, at: str) -> int:
        return batch.day(_day(moment_of(at), self.farm.zone), self.farm.zone)

    def sowing(self, batch: Batch, finds: Sequence[Find]) -> Sowing:
        """One batch as the search for causes reads it."""
        trays = [
            self._tray(batch, tray, place, finds)
            for place, tray in enumerate(batch.trays)
        ]
        if _by_batch(finds):
            trays = [_without_place(tray, finds) for tray in trays]
        return Sowing(
            code=batch.code,
            sown=_day(batch.sown, self.farm.zone),
            trays=tuple(trays),
            lots=tuple(Lot(lot, self.suppliers.get(lot, "")) for lot in batch.lots),
            people=(batch.sow.by,),
            seed_rate_kg_per_m2=self._seed_rate(batch),
            days_since_deep_clean=self._since_clean(batch),
            room_temperature_c=self._mean_air(batch, "temperature"),
            room_humidity_percent=self._mean_air(batch, "humidity"),
        )

    def _tray(
        self, batch: Batch, tray: str, position: int, finds: Sequence[Find]
    ) -> TrayOutcome:
        stay = _longest([s for s in batch.stays if s.tray == tray], self.now)
        wash, container = self._wash(batch, tray)
        rack = (stay.rack if stay else None) or ""
        level = stay.level if stay else None
        return TrayOutcome(
            tray=tray,
            outcome=self.outcome(batch, tray, finds),
            rack=rack,
            level="" if level is None else str(level),
            position=position,
            line=batch.line
            or str((self.farm.get("rack", rack) or {}).get("line") or ""),
            wash=wash,
            container=container,
        )

    def outcome(self, batch: Batch, tray: str, finds: Sequence[Find]) -> Outcome:
        """Mould, no mould, or not known: what was not watched to its end says nothing.

        A tray that still stood when mould was looked for in its batch, and bore none,
        was as old as those that did; so it counts, though it was thrown away with them.
        """
        if _unclear(finds):
            return Outcome.NOT_KNOWN
        for find in finds:
            if tray in (find.trays or (NOTHING_FOUND if find.shared else find.place)):
                return Outcome.MOULD
        end = batch.ends.get(tray)
        left = None if end is None else moment_of(end.entry.happened_at)
        if any(left is None or left >= f.at for f in finds if not f.shared):
            return Outcome.NO_MOULD
        if end is None or end.how not in ("fed", "sent"):
            return Outcome.NOT_KNOWN
        old = self._age(batch, end.entry.happened_at) >= self.last_day
        return Outcome.NO_MOULD if old else Outcome.NOT_KNOWN

    def _wash(self, batch: Batch, tray: str) -> tuple[str, str]:
        """The last wash of a tray before it was sown, and the container it was of."""
        links = self.lineage.into(Node("batch", batch.code))
        washed = [n for n in links if n.how == "washed" and tray in n.trays]
        if not washed:
            return "", ""
        tub = self.lineage.tub(washed[-1].source)
        return tub.code, _first_container(self.lineage, tub)

    def _seed_rate(self, batch: Batch) -> float | None:
        areas = [self._area(tray) for tray in batch.trays]
        known = [area for area in areas if area]
        if len(known) < len(areas) or not known or not batch.seed_grams:
            return None
        return batch.seed_grams / 1000 / sum(known)

    def _area(self, tray: str) -> float | None:
        entry = self.farm.last_described("tray", tray)
        given = entry.get("area_m2") if entry else None
        return float(given) if isinstance(given, int | Decimal) else None

    def _since_clean(self, batch: Batch) -> int | None:
        place = bisect_right(self.cleans, batch.sown)
        return (batch.sown - self.cleans[place - 1]).days if place else None

    def _mean_air(self, batch: Batch, what: str) -> float | None:
        """The mean of the readings in its rooms over its growing days."""
        rooms = {self.place.room_of.get(stay.rack or "") for stay in batch.stays}
        last = min(batch.over or self.now, batch.sown + timedelta(days=self.last_day))
        found = [
            value
            for room in rooms
            for at, value in self.air.get((what, room or ""), ())
            if batch.sown <= at <= last
        ]
        return fmean(found) if found else None


def _without_place(tray: TrayOutcome, finds: Sequence[Find]) -> TrayOutcome:
    """A tray of a batch in which it is not written which of them bore mould.

    They are not held against each other by tray or level, and by rack only where it
    was found on one.
    """
    by_rack = all(find.trays or find.rack for find in finds)
    return replace(tray, tray="", level="", rack=tray.rack if by_rack else "")


def _first_container(lineage: Lineage, dose: Node) -> str:
    drawn = (link.source.code for link in lineage.into(dose) if link.how == "drawn")
    return next(drawn, "")


def _longest(stays: Sequence[Stay], now: datetime) -> Stay | None:
    return max(stays, key=lambda stay: (stay.until or now) - stay.since, default=None)


def _suppliers(record: Record, batches: Iterable[Batch]) -> dict[str, str]:
    lots = sorted({lot for batch in batches for lot in batch.lots})
    found = record.mentioning(*lots) if lots else []
    seeds = (entry for entry in found if entry.kind == "seed")
    return {str(seed.get("lot")): str(seed.get("supplier")) for seed in seeds}


def _deep_cleans(signed: Iterable[Entry], doses: Iterable[Entry]) -> list[datetime]:
    """Those of the rota: one that was made because of a find must not count."""
    cleans = [entry for entry in signed if entry.get("task") == DEEP_TASK]
    cleans += [
        dose
        for dose in doses
        if dose.get("deep") is True and not texts_of(dose, "finds")
    ]
    return sorted(moment_of(entry.happened_at) for entry in cleans)


Readings = Mapping[tuple[str, str], Sequence[tuple[datetime, float]]]


def _air(signed: Iterable[Entry]) -> Readings:
    """The readings of heat and damp by room."""
    made: dict[tuple[str, str], list[tuple[datetime, float]]] = {}
    for entry in signed:
        for answer in rows_of(entry, "answers"):
            for what, value in _reading(answer):
                key = (what, str(answer.get("of") or ""))
                made.setdefault(key, []).append((moment_of(entry.happened_at), value))
    return made


def _reading(answer: Mapping[str, Any]) -> Iterator[tuple[str, float]]:
    value, unit = answer.get("value"), str(answer.get("unit") or "").strip().lower()
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return
    match unit.lstrip("°"):
        case "c":
            yield "temperature", float(value)
        case "f":
            yield "temperature", (float(value) - 32) / 1.8
        case _ if unit in DAMP_UNITS:
            yield "humidity", float(value)


def _day(moment: datetime, zone: tzinfo) -> date:
    return moment.astimezone(zone).date()
