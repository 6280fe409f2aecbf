"""What stands now in the shed: batches, lots, holds. Read for acts and for the day.

Every question is asked by index and bounded in time, so that it costs the same in the
tenth year. Nothing here imports a kind's dataclass: the page of the day reads this.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Final, NamedTuple

from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry
from hygiene.tracing.batches import KINDS, Batch, read_batches, texts
from hygiene.tracing.exposure import FLAG_DAYS, Exposure, exposures
from hygiene.tracing.holds import Hold, Layout, Stop, stops

if TYPE_CHECKING:
    from hygiene.tracing.lots import Lot

LOOK_BACK: Final = timedelta(days=60)
GROWING_AT_MOST: Final = timedelta(days=35)
"""How long after its sowing a batch is still looked for among those that grow. One
that is held longer stands on the page by its hold."""


class BatchFile(NamedTuple):
    """A batch as it stands, and every version of every entry that names it."""

    batch: Batch | None
    versions: tuple[Entry, ...]


class LotFile(NamedTuple):
    """A lot as it stands, and every version of every entry that names it."""

    lot: "Lot | None"
    versions: tuple[Entry, ...]


class Growing(NamedTuple):
    """A batch on the page of the day: its growing day, and why any of it is held."""

    batch: Batch
    day: int
    stops: tuple[Stop, ...]


class ShedNow(NamedTuple):
    """What grows, the oldest first, and which groups are flagged by what they ate."""

    growing: tuple[Growing, ...]
    exposed: tuple[Exposure, ...]


def shed_now(record: Record, farm: InForce, now: datetime) -> ShedNow:
    """What the page of the day says of the shed."""
    batches = growing_batches(record, now)
    held = stops_by_batch(record, farm, [b.code for b in batches], open_holds(record))
    today = now.astimezone(farm.zone).date()
    return ShedNow(
        tuple(
            Growing(b, b.day(today, farm.zone), tuple(held.get(b.code, ())))
            for b in batches
        ),
        tuple(exposed_groups(record, farm.zone, now)),
    )


def batch_file(record: Record, code: str) -> BatchFile:
    """All that the record holds of a batch."""
    batches = read_batches(_of(record.mentioning(code), "batch", code))
    return BatchFile(
        batches.get(code), tuple(record.mentioning(code, every_version=True))
    )


def _of(entries: Iterable[Entry], key: str, code: str) -> list[Entry]:
    return [e for e in entries if e.kind in KINDS and e.get(key) == code]


def lot_file(record: Record, code: str) -> LotFile:
    """All that the record holds of a lot."""
    from hygiene.tracing.lots import read_lots  # which the page of the day never asks

    lots = read_lots(record.mentioning(code))
    return LotFile(lots.get(code), tuple(record.mentioning(code, every_version=True)))


def recent_batches(record: Record, now: datetime) -> dict[str, Batch]:
    """The batches that were sown in the last five weeks, by code.

    The farm file allows fourteen days of growing: what is older and was never written
    out is found by ``hygiene balance``, and by its hold.
    """
    return read_batches(record.entries(KINDS, since=now - GROWING_AT_MOST))


def growing_batches(record: Record, now: datetime) -> list[Batch]:
    """The batches of which a tray still grows, the oldest first."""
    found = recent_batches(record, now).values()
    return sorted((b for b in found if b.growing), key=lambda b: (b.sown, b.code))


def open_holds(record: Record) -> list[Hold]:
    """The holds that no standing release names, each with all its versions."""
    return [
        Hold(entry.name, tuple(record.history(entry.name)))
        for entry in record.unanswered("hold", "release")
    ]


def layout(farm: InForce) -> Layout:
    """Which room a rack stands in, and which tank feeds a line."""
    return Layout(
        {code: str(body.get("room")) for code, body in farm.things("rack").items()},
        {code: str(body.get("tank")) for code, body in farm.things("line").items()},
        farm.ever_said("rack", "room"),
        farm.ever_said("line", "tank"),
    )


def stops_by_batch(
    record: Record, farm: InForce, codes: Iterable[str], holds: Iterable[Hold]
) -> dict[str, list[Stop]]:
    """Why something of these batches is held, by batch; only those that are held."""
    wanted = sorted(codes)
    if not wanted:
        return {}
    by_code: dict[str, list[Entry]] = {code: [] for code in wanted}
    for entry in record.mentioning(*wanted, every_version=True):
        for code in named(entry) & by_code.keys():
            by_code[code].append(entry)
    held, place = list(holds), layout(farm)
    found = {c: stops(c, versions, held, place) for c, versions in by_code.items()}
    return {code: reasons for code, reasons in found.items() if reasons}


def named(entry: Entry) -> set[str]:
    """The batches that an entry names."""
    single = (entry.get("batch"), entry.get("held"))
    return {code for code in single if isinstance(code, str)} | {
        *texts(entry, "batches")
    }


def exposed_groups(record: Record, zone: tzinfo, now: datetime) -> list[Exposure]:
    """The feeds from mouldy batches that are still flagged, the latest of each group.

    Struck finds count: what may be used is judged by the strictest version.
    """
    since = now - timedelta(days=FLAG_DAYS) - LOOK_BACK
    moulds = record.all_versions(["mould"], since=since)
    codes = sorted({c for mould in moulds for c in named(mould)})
    if not codes:
        return []
    feeds = [e for e in record.mentioning(*codes) if e.kind == "feed"]
    today = now.astimezone(zone).date()
    latest: dict[str, Exposure] = {}
    for exposure in exposures(feeds, moulds, zone):
        before = latest.get(exposure.animals)
        if exposure.until >= today and (
            before is None or before.until <= exposure.until
        ):
            latest[exposure.animals] = exposure
    return list(latest.values())
