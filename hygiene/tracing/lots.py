"""Seed lots: what is left in store, and what stands against sowing from one."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from hygiene.kinds.entry import Body, Entry, rows_of
from hygiene.tracing.batches import whole


class Lot(NamedTuple):
    """One lot as the standing entries tell it; grams of dry seed."""

    code: str
    seed: Entry
    received_grams: int
    sown_grams: int
    scrapped_grams: int
    sampled_grams: int

    @property
    def in_store_grams(self) -> int:
        """What must be in store; below nothing is a finding, never forced."""
        return (
            self.received_grams
            - self.sown_grams
            - self.scrapped_grams
            - self.sampled_grams
        )


def read_lots(entries: Iterable[Entry]) -> dict[str, Lot]:
    """The lots by code, from standing entries (seed, sow, scrap, sample)."""
    found = list(entries)
    lots = {
        str(e.get("lot")): Lot(str(e.get("lot")), e, whole(e, "grams"), 0, 0, 0)
        for e in found
        if e.kind == "seed"
    }
    for entry in found:
        for code, grams in _taken(entry):
            if code in lots:
                lots[code] = _less(lots[code], entry.kind, grams)
    return lots


def _taken(entry: Entry) -> list[tuple[str, int]]:
    if entry.kind == "sow":
        shares = [(r.get("lot"), r.get("grams")) for r in rows_of(entry, "seeds")]
        return [(str(lot), g) for lot, g in shares if isinstance(g, int)]
    if entry.kind in ("scrap", "sample"):
        return [(str(entry.get("lot")), whole(entry, "grams"))]
    return []


def _less(lot: Lot, kind: str, grams: int) -> Lot:
    match kind:
        case "sow":
            return lot._replace(sown_grams=lot.sown_grams + grams)
        case "scrap":
            return lot._replace(scrapped_grams=lot.scrapped_grams + grams)
    return lot._replace(sampled_grams=lot.sampled_grams + grams)


class Fault(NamedTuple):
    """What a lot lacks: the mark that it leaves for ever, and the words for it."""

    mark: str
    says: str


def faults(seed: Body) -> list[Fault]:
    """What stands against sowing from a lot, by one version of its entry's body."""
    code, found = seed.get("lot"), []
    if not seed.get("untreated_seen_by"):
        found.append(
            Fault(
                "lot-not-declared",
                f"nobody saw the word that {code} is untreated and fit for feed",
            )
        )
    if seed.get("dressing"):
        found.append(
            Fault("lot-dressed", f"{code} was dressed with {seed.get('dressing')}")
        )
    if not seed.get("accepted", True):
        found.append(
            Fault("lot-refused", f"{code} was refused: {seed.get('refused_why')}")
        )
    return found


def lasting_faults(
    versions: Sequence[Entry], holds: Iterable[Entry], open_holds: Iterable[str]
) -> list[Fault]:
    """What stands against a lot by the strictest of its versions.

    A fault of an older version is over only where a hold on the lot, written because
    of it, was released; ``holds`` are all versions of holds on the lot, and
    ``open_holds`` the first names of those that are open.
    """
    still = set(open_holds)
    names = {v.name for v in versions} | {v.first for v in versions}
    released = any(
        hold.get("because") in names and hold.first not in still for hold in holds
    )
    seeds = [v for v in versions if v.kind == "seed"]
    judged = seeds[-1:] if released else seeds
    return list(dict.fromkeys(fault for v in judged for fault in faults(v.body)))


def past_best(seed: Entry, on: date) -> bool:
    """Whether a day lies after the lot's best-before date."""
    try:
        return on > date.fromisoformat(str(seed.get("best_before")))
    except ValueError:
        return False
