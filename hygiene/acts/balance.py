"""What is read to see whether seed, trays and fodder add up. Read only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import NamedTuple

from hygiene.acts.standing import LOOK_BACK
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, rows_of
from hygiene.tracing.balance import Balance, balance, together
from hygiene.tracing.batches import ENDS, KINDS, Batch, read_batches

SEED: tuple[str, ...] = ("seed", "sow", "scrap", "sample")


class Wanted(NamedTuple):
    """The lots and the batches of which the sums are asked."""

    lots: tuple[str, ...]
    batches: tuple[str, ...]


def of_days(record: Record, since: datetime, before: datetime) -> Wanted:
    """The lots that came in or were used, and the batches sown, in [since, before)."""
    found = record.entries(SEED, since=since, before=before)
    lots = dict.fromkeys(lot for entry in found for lot in _lots(entry))
    sown = dict.fromkeys(str(e.get("batch")) for e in found if e.kind == "sow")
    return Wanted(tuple(lots), tuple(sown))


def of_code(record: Record, sort: str, code: str) -> Wanted:
    """A lot with the batches sown from it, or a batch with its lots."""
    found = [e for e in record.mentioning(code) if e.kind == "sow"]
    if sort == "lot":
        return Wanted((code,), tuple(str(entry.get("batch")) for entry in found))
    lots = dict.fromkeys(lot for entry in found for lot in _lots(entry))
    return Wanted(tuple(lots), (code,))


def _lots(entry: Entry) -> list[str]:
    if entry.kind == "sow":
        return [str(row.get("lot")) for row in rows_of(entry, "seeds")]
    return [str(entry.get("lot"))] if entry.get("lot") else []


def add_up(
    record: Record,
    wanted: Wanted,
    now: datetime,
    *,
    ended: Iterable[Entry] = (),
    weighed: Mapping[str, int] | None = None,
) -> Balance:
    """The sums of what is wanted, and every gap.

    ``ended`` are further entries that ended trays, which must find their sowing.
    """
    outside = list(ended)
    codes = {*wanted.batches, *(str(e.get("batch")) for e in outside if e.get("batch"))}
    named = record.mentioning(*sorted(codes)) if codes else []
    batches = read_batches(entry for entry in named if entry.kind in KINDS)
    of_lots = record.mentioning(*wanted.lots) if wanted.lots else []
    entries = {entry.name: entry for entry in (*of_lots, *named, *outside)}
    return balance(
        entries.values(),
        {**_later(record, batches, wanted.batches, now), **batches},
        now,
        lots=wanted.lots,
        of=wanted.batches,
        weighed=weighed,
    )


def _later(
    record: Record, batches: Mapping[str, Batch], of: Iterable[str], now: datetime
) -> dict[str, Batch]:
    """What was sown while these batches stood, or in their trays after them."""
    mine = [batches[code] for code in of if code in batches]
    if not mine:
        return {}
    last = max(batch.sown for batch in mine)
    since, before = min(batch.sown for batch in mine), min(last + LOOK_BACK, now)
    return read_batches(record.entries(["sow"], since=since, before=before))


def all_of_days(
    record: Record,
    since: datetime,
    before: datetime,
    now: datetime,
    weighed: Mapping[str, int] | None = None,
    *,
    at_once: timedelta = timedelta(days=370),
) -> Balance:
    """The balance of a stretch of days, and what ended in them without a sowing.

    It is read a year ``at_once``: what is added up may be more than one can keep.
    """
    parts: list[Balance] = []
    end = since
    while not parts or end < before:
        start, end = end, before if before - end <= at_once else end + at_once
        parts.append(_all_of(record, start, end, now, weighed))
    return together(parts)


def _all_of(
    record: Record,
    since: datetime,
    before: datetime,
    now: datetime,
    weighed: Mapping[str, int] | None,
) -> Balance:
    ended = record.entries([*ENDS], since=since, before=before)
    wanted = of_days(record, since, before)
    return add_up(record, wanted, now, ended=ended, weighed=weighed)
