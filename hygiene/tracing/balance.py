"""Does it add up: seed by lot in grams, trays by batch exactly, fodder by weight.

Seed and trays are whole numbers and must balance to the last one; what does not is a
gap, and is named. Fodder is weighed wet and is never made to balance: its yield stands
beside what a trial published, and only a weight that looks mistyped is pointed at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from statistics import median
from typing import Final, NamedTuple

from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.tracing.batches import ENDS, Batch, whole
from hygiene.tracing.lots import Lot, read_lots

PUBLISHED_KG_PER_KG: Final = Decimal("5.81")
YIELD_SOURCE: Final = (
    "5.81 kg a kg of barley at 4.01 to 6.47 kg of seed a m2 (a trial in Egypt in a "
    "farmer's room at 28 C and 73 % humidity; its abstract was read)"
)
FORGOTTEN_DAYS: Final = 21
"""A tray that nothing ended for so long after sowing is asked for: three times as long
as it grows (common practice, no source)."""
MISTYPED: Final = 2
"""A yield this many times above or below the middle one is worth a look."""


class Gap(NamedTuple):
    """Something that does not add up: of what, in words, and the entries to look at.

    ``broken``: a link is missing, so that it cannot be traced at all.
    """

    sort: str
    code: str
    says: str
    entries: tuple[str, ...] = ()
    broken: bool = False


class SeedSum(NamedTuple):
    """One lot, in grams of dry seed; ``weighed`` is what somebody found in store."""

    lot: str
    received: int
    sown: int
    scrapped: int
    sampled: int
    in_store: int
    weighed: int | None = None


class TraySum(NamedTuple):
    """One batch, in whole trays; ``lost`` are those of which nothing says the end."""

    batch: str
    sown: int
    fed: int
    sent: int
    discarded: int
    sampled: int
    growing: int
    lost: tuple[str, ...]

    @property
    def closes(self) -> bool:
        """Whether every tray that was sown is somewhere, and only once."""
        ended = self.fed + self.sent + self.discarded + self.sampled
        return self.sown == ended + self.growing and not self.lost


class Fodder(NamedTuple):
    """What a batch gave: grams of seed in, grams of fresh fodder out."""

    batch: str
    seed_grams: int
    fodder_grams: int

    @property
    def kg_per_kg(self) -> Decimal | None:
        """Fresh fodder per dry seed; None where no seed was weighed."""
        if not self.seed_grams:
            return None
        ratio = Decimal(self.fodder_grams) / self.seed_grams
        return ratio.quantize(Decimal("0.01"))


class Balance(NamedTuple):
    """All sums of a stretch of days, and all gaps in them."""

    seed: tuple[SeedSum, ...]
    trays: tuple[TraySum, ...]
    fodder: tuple[Fodder, ...]
    gaps: tuple[Gap, ...]

    @property
    def kg_per_kg(self) -> Decimal | None:
        """The yield of all batches that are over, together."""
        seed = sum(each.seed_grams for each in self.fodder)
        return Fodder("", seed, sum(e.fodder_grams for e in self.fodder)).kg_per_kg


def balance(
    entries: Iterable[Entry],
    batches: Mapping[str, Batch],
    at: datetime,
    *,
    lots: Iterable[str],
    of: Iterable[str],
    weighed: Mapping[str, int] | None = None,
) -> Balance:
    """Add up ``lots``, and the batches ``of`` a stretch of days.

    ``entries`` stand, and are all that name these lots and batches. ``batches`` are all
    that are known, also later ones, which show where a tray was sown again.
    ``weighed`` is what was found in store, in grams by lot.
    """
    found, wanted = list(entries), [batches[code] for code in of if code in batches]
    seed = seed_sums(found, lots, weighed or {})
    again = _sown_again(batches.values())
    trays = tuple(_trays(batch, again, at) for batch in wanted)
    fodder = tuple(_fodder(batch) for batch in wanted if not batch.growing)
    gaps = (
        *_seed_gaps(seed),
        *_unknown_lots(found, lots),
        *(gap for batch in wanted for gap in _tray_gaps(batch, again, at)),
        *_strays(found, batches),
        *_odd_yields(fodder),
    )
    return Balance(seed, trays, fodder, gaps)


def together(parts: Sequence[Balance]) -> Balance:
    """The balances of stretches of days, one after another, as that of all of them.

    A lot that was used in several comes to the same sum in each.
    """
    if len(parts) == 1:
        return parts[0]
    seed = {each.lot: each for part in parts for each in part.seed}
    trays = {each.batch: each for part in parts for each in part.trays}
    fodder = {each.batch: each for part in parts for each in part.fodder}
    gaps = dict.fromkeys(
        gap for part in parts for gap in part.gaps if gap.sort != "fodder"
    )
    found = tuple(fodder.values())
    return Balance(
        tuple(seed.values()),
        tuple(trays.values()),
        found,
        (*gaps, *_odd_yields(found)),
    )


def seed_sums(
    entries: Iterable[Entry], lots: Iterable[str], weighed: Mapping[str, int]
) -> tuple[SeedSum, ...]:
    """Each lot that came in: received = sown + scrapped + sampled + in store."""
    known = read_lots(entries)
    return tuple(_seed(known[c], weighed.get(c)) for c in lots if c in known)


def _seed(lot: Lot, weighed: int | None) -> SeedSum:
    return SeedSum(
        lot.code,
        lot.received_grams,
        lot.sown_grams,
        lot.scrapped_grams,
        lot.sampled_grams,
        lot.in_store_grams,
        weighed,
    )


def _seed_gaps(sums: Iterable[SeedSum]) -> Iterator[Gap]:
    for each in sums:
        if each.in_store < 0:
            yield Gap("lot", each.lot, f"{-each.in_store} g more taken than came in")
        if each.weighed is not None and each.weighed != each.in_store:
            less = each.in_store - each.weighed
            how = f"{less} g less" if less > 0 else f"{-less} g more"
            says = (
                f"{how} in store than the record says ({each.weighed} g weighed, "
                f"{each.in_store} g written)"
            )
            yield Gap("lot", each.lot, says)


def _unknown_lots(entries: Sequence[Entry], lots: Iterable[str]) -> Iterator[Gap]:
    """Lots that were sown or scrapped, of which no entry says that they came in."""
    missing = set(lots) - {str(e.get("lot")) for e in entries if e.kind == "seed"}
    for entry in entries:
        for lot in _named_lots(entry):
            if lot in missing:
                says = f"the {entry.kind} names it, and no entry that stands took it in"
                yield Gap("lot", lot, says, (entry.name,), broken=True)


def _named_lots(entry: Entry) -> list[str]:
    if entry.kind == "sow":
        return [str(row.get("lot")) for row in rows_of(entry, "seeds")]
    if entry.kind in ("scrap", "sample", "germination") and entry.get("lot"):
        return [str(entry.get("lot"))]
    return []


Again = Mapping[str, Sequence[tuple[datetime, str]]]
"""When each tray was sown, and with which batch, in order."""


def _sown_again(batches: Iterable[Batch]) -> Again:
    made: dict[str, list[tuple[datetime, str]]] = {}
    for batch in batches:
        for tray in batch.trays:
            made.setdefault(tray, []).append((batch.sown, batch.code))
    return {tray: sorted(sowings) for tray, sowings in made.items()}


def _next(tray: str, batch: Batch, again: Again) -> str | None:
    """The batch that was sown next in a tray, after this one."""
    later = [code for at, code in again.get(tray, ()) if at > batch.sown]
    return later[0] if later else None


def _trays(batch: Batch, again: Again, at: datetime) -> TraySum:
    lost = _lost(batch, again, at)
    counts = {how: len(batch.ended(how)) for how in ENDS.values()}
    return TraySum(
        batch.code,
        len(batch.trays),
        **counts,
        growing=len(batch.growing) - len(lost),
        lost=lost,
    )


def _lost(batch: Batch, again: Again, at: datetime) -> tuple[str, ...]:
    forgotten = at - batch.sown > timedelta(days=FORGOTTEN_DAYS)
    return tuple(t for t in batch.growing if forgotten or _next(t, batch, again))


def _tray_gaps(batch: Batch, again: Again, at: datetime) -> Iterator[Gap]:
    by_next: dict[str | None, list[str]] = {}
    for tray in _lost(batch, again, at):
        by_next.setdefault(_next(tray, batch, again), []).append(tray)
    for later, trays in by_next.items():
        since = f", and {later} was sown in it since" if later else ""
        says = f"nothing says what became of {ranges(trays)}{since}"
        yield Gap("batch", batch.code, says, (batch.sow.name,))
    for odd in batch.odd:
        yield Gap("batch", batch.code, odd.what, (odd.entry,))


def _strays(entries: Iterable[Entry], batches: Mapping[str, Batch]) -> Iterator[Gap]:
    """What ended trays of a batch that nobody sowed, or whose sowing was struck."""
    for entry in entries:
        code = entry.get("batch")
        if entry.kind in ENDS and code and str(code) not in batches:
            trays = texts_of(entry, "trays")
            says = f"{ENDS[entry.kind]} ({ranges(trays)}), and no sowing of it stands"
            yield Gap("batch", str(code), says, (entry.name,), broken=True)


def _fodder(batch: Batch) -> Fodder:
    out = sum(whole(entry, "grams") for entry in batch.out)
    return Fodder(batch.code, batch.seed_grams, out)


def _odd_yields(fodder: Sequence[Fodder]) -> Iterator[Gap]:
    ratios = {each.batch: each.kg_per_kg for each in fodder}
    known = [ratio for ratio in ratios.values() if ratio]
    if not known:
        return
    middle = median(known)
    for batch, ratio in ratios.items():
        if ratio is None:
            continue
        if ratio * MISTYPED < middle or ratio > middle * MISTYPED:
            says = (
                f"{ratio} kg of fodder a kg of seed, where {middle:.2f} is the middle: "
                "look at its weights"
            )
            yield Gap("fodder", batch, says)
