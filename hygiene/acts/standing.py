"""What stands now in the shed: batches, lots, holds. Read for acts and for the day.

Every question is asked by index and bounded in time, so that it costs the same in the
tenth year. Nothing here imports a kind's dataclass: the page of the day reads this.
"""

from collections.abc import Collection, Iterable
from datetime import datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Final, NamedTuple

from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import KINDS, Batch, Stay, read_batches
from hygiene.tracing.exposure import FLAG_DAYS, Exposure, exposures
from hygiene.tracing.holds import Hold, Layout, Stop, ever, stops

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
    batches = batches_of(record, {code})
    versions = record.mentioning(code, every_version=True)
    finds = grew_there(record, batches.values()).get(code, ())
    return BatchFile(batches.get(code), (*versions, *finds))


def batches_of(record: Record, codes: Collection[str]) -> dict[str, Batch]:
    """These batches as they stand, by code; one that nothing says was sown is none."""
    standing = record.mentioning(*codes)
    return read_batches(e for e in standing if str(e.get("batch")) in codes)


def grew_there(record: Record, batches: Iterable[Batch]) -> dict[str, list[Entry]]:
    """The mould in trays that grew a batch then, which does not name it, by batch.

    Another book did not know the sowing, or it was written later or anew under another
    code. Each find is given as if it named the batch: a find holds what it was in.
    """
    asked = list(batches)
    since = min((batch.sown for batch in asked), default=None)
    found: dict[str, list[Entry]] = {}
    for mould in record.all_versions(["mould"], since=since) if since else ():
        standing = [
            (batch, batch.standing(moment_of(mould.happened_at)))
            for batch in asked
            if batch.code not in named(mould)
        ]
        trays = _trays_of(record, mould) if any(s for _, s in standing) else frozenset()
        for batch, stays in standing:
            if any(_was_there(stay, mould, trays) for stay in stays):
                body = {
                    **mould.body,
                    "batches": (*texts_of(mould, "batches"), batch.code),
                }
                found.setdefault(batch.code, []).append(mould._replace(body=body))
    return found


def _trays_of(record: Record, mould: Entry) -> frozenset[str]:
    """The trays of a find; of a batch whose sowing was ruled through, all it had."""
    codes = named(mould)
    trays = {*texts_of(mould, "trays")}
    standing = record.mentioning(*codes) if codes else []
    sown = {e.get("batch") for e in standing if e.kind == "sow"}
    for code in codes - sown:
        known = ever(record.mentioning(code, every_version=True))
        trays |= {tray for tray, _ in known.places}
    return frozenset(trays)


def _was_there(stay: Stay, mould: Entry, trays: frozenset[str]) -> bool:
    if trays or named(mould):
        return stay.tray in trays
    return stay.rack in (mould.get("rack"), None)


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
    for code, finds in _found_where_they_grew(record, by_code).items():
        by_code[code] += finds
    held, place = list(holds), layout(farm)
    found = {c: stops(c, versions, held, place) for c, versions in by_code.items()}
    return {code: reasons for code, reasons in found.items() if reasons}


def mould_of_lot(
    record: Record, lot: str, versions: Iterable[Entry]
) -> list[tuple[str, Entry]]:
    """The batches of a lot with a find for which no hold on the lot was ever written.

    ``versions`` is every version of what names the lot. Of each batch the first find:
    it named only trays, or was written where the sowing was not known.
    """
    said = list(versions)
    sown = [v for v in said if v.kind == "sow"]
    since = min((moment_of(sow.happened_at) for sow in sown), default=None)
    if since is None or not record.all_versions(["mould"], since=since):
        return []
    by_code: dict[str, list[Entry]] = {str(v.get("batch")): [] for v in sown}
    for sow in sown:
        by_code[str(sow.get("batch"))].append(sow)
    finds = _found_where_they_grew(record, by_code)
    for entry in record.mentioning(*by_code, every_version=True):
        if entry.kind == "mould":
            for code in named(entry) & by_code.keys():
                finds.setdefault(code, []).append(entry)
    holds = [v for v in said if v.kind == "hold" and v.get("held") == lot]
    answered = {str(hold.get("because")) for hold in holds}
    left = {
        code: [find for find in found if not answered & {find.first, find.name}]
        for code, found in finds.items()
    }
    return [(code, found[0]) for code, found in sorted(left.items()) if found]


def _found_where_they_grew(
    record: Record, by_code: dict[str, list[Entry]]
) -> dict[str, list[Entry]]:
    sown = (v for versions in by_code.values() for v in versions if v.kind == "sow")
    since = min((moment_of(sow.happened_at) for sow in sown), default=None)
    if since is None or not record.all_versions(["mould"], since=since):
        return {}
    return grew_there(record, batches_of(record, by_code).values())


def named(entry: Entry) -> set[str]:
    """The batches that an entry names."""
    single = (entry.get("batch"), entry.get("held"))
    return {code for code in single if isinstance(code, str)} | {
        *texts_of(entry, "batches")
    }


def exposed_groups(record: Record, zone: tzinfo, now: datetime) -> list[Exposure]:
    """The feeds from mouldy batches that are still flagged, the latest of each group.

    Struck finds count: what may be used is judged by the strictest version.
    """
    since = now - timedelta(days=FLAG_DAYS) - LOOK_BACK
    moulds = record.all_versions(["mould"], since=since)
    moulds += [find for mould in moulds for find in _in_what(record, mould)]
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


def _in_what(record: Record, mould: Entry) -> list[Entry]:
    """A find that names no batch, as if it named what grew in its trays."""
    if named(mould):
        return []
    at = moment_of(mould.happened_at)
    sown = [
        entry
        for tray in texts_of(mould, "trays")
        for entry in record.latest("sow", tray, before=at)
    ]
    files = [batch_file(record, c) for c in sorted({str(e.get("batch")) for e in sown})]
    return [v for f in files for v in f.versions if v.name == mould.name]
