"""What stands beside a trace, one step away: each batch, and what ought to be held."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.acts.standing import layout
from hygiene.acts.trace import Trace
from hygiene.tracing.batches import Batch
from hygiene.tracing.lineage import CLOSEST, Share, beside

FATES: Final = ("growing", "fed", "sent", "discarded", "sampled")


class Neighbour(NamedTuple):
    """A batch beside those in question: what it shares, and what became of it."""

    code: str
    shares: tuple[Share, ...]
    fate: str
    growing: bool
    held: bool
    mould: bool
    batch: Batch


def neighbours(trace: Trace) -> list[Neighbour]:
    """Every batch beside, once: the growing first, then by the closest share."""
    shares: dict[str, dict[Share, None]] = {}
    for row in trace.sideways:
        known = shares.setdefault(row.beside.code, {})
        known.update(dict.fromkeys(row.beside.shares))
    made = [_neighbour(trace, code, list(found)) for code, found in shares.items()]
    return sorted(made, key=_order)


def _order(each: Neighbour) -> tuple[bool, int, datetime, str]:
    nearness = CLOSEST.index(each.shares[0].what)
    return not each.growing, nearness, each.batch.sown, each.code


def _neighbour(trace: Trace, code: str, shares: list[Share]) -> Neighbour:
    batch = trace.batches[code]
    shares.sort(key=lambda share: (CLOSEST.index(share.what), share.code))
    return Neighbour(
        code,
        tuple(shares),
        fate(batch),
        bool(batch.growing),
        bool(trace.stops.get(code)),
        bool(trace.moulds.get(code)),
        batch,
    )


def fate(*batches: Batch) -> str:
    """What became of the batches' trays together: 4 growing, 8 fed to EWES."""
    counts = {"growing": sum(len(batch.growing) for batch in batches)}
    counts |= {how: sum(len(b.ended(how)) for b in batches) for how in FATES[1:]}
    out = [entry for batch in batches for entry in batch.out]
    to = {
        "fed": sorted({str(e.get("animals")) for e in out if e.kind == "feed"}),
        "sent": sorted({str(e.get("buyer")) for e in out if e.kind == "dispatch"}),
    }
    return ", ".join(
        f"{counts[how]} {how}" + (f" to {' and '.join(to[how])}" if how in to else "")
        for how in FATES
        if counts[how]
    )


class ToHold(NamedTuple):
    """A batch that grows, is not held, and shares a cause with a find of mould."""

    code: str
    shares: str
    because: str


def to_hold(trace: Trace) -> list[ToHold]:
    """What should be held as a precaution, each with its closest reason and the find.

    One step from a find and no more: either the mouldy batch or the other one is of the
    trace itself.
    """
    found: dict[str, tuple[int, ToHold]] = {}
    for one, other, share in _one_step(trace):
        for mouldy, batch in ((one, other), (other, one)):
            if not trace.moulds.get(mouldy) or not _unheld(trace, batch):
                continue
            because = trace.moulds[mouldy][0].first
            made = (CLOSEST.index(share.what), ToHold(batch, str(share), because))
            found[batch] = min(made, found.get(batch, made))
    return [found[code][1] for code in sorted(found)]


def _one_step(trace: Trace) -> Iterator[tuple[str, str, Share]]:
    """Pairs of batches and the closest thing that they share."""
    for row in trace.sideways:
        yield row.of, row.beside.code, row.beside.shares[0]
    flow = [trace.batches[code] for code in trace.flow if code in trace.batches]
    for batch in flow:
        if trace.moulds.get(batch.code):
            place, zone = layout(trace.farm), trace.farm.zone
            for each in beside(batch, flow, trace.lineage, place, zone):
                yield batch.code, each.code, each.shares[0]


def _unheld(trace: Trace, code: str) -> bool:
    batch = trace.batches.get(code)
    return bool(batch and batch.growing and not trace.stops.get(code))
