"""A find of mould, and what follows at once; a pest; sick animals.

One find holds the whole batch and stops its lot. What shares a cause with it is
proposed, each with its reason, and held when somebody says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.acts.codes import UnknownCode, known
from hygiene.acts.how import How
from hygiene.acts.standing import (
    LOOK_BACK,
    batch_file,
    growing_batches,
    layout,
    recent_batches,
)
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.farm.in_force import InForce
from hygiene.kinds.action import Action
from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.find import Hold, Mould
from hygiene.kinds.incident import Ill
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import Batch, Stay
from hygiene.tracing.holds import SOWING, ever
from hygiene.tracing.siblings import Sibling, last_washes, siblings

CAUTIONS: Final = (
    "Do not feed it, do not trim it, do not dilute it, do not sniff it.",
    "Wear a mask (EN 149) and gloves. Keep animals and people away.",
    "If any was eaten, ring the vet now.",
)


class Found(NamedTuple):
    """What a find of mould wrote, who ate of it, and what is proposed beside."""

    mould: Entry
    batches: tuple[str, ...] = ()
    holds: tuple[Entry, ...] = ()
    action: Entry | None = None
    proposed: tuple[Sibling, ...] = ()
    out: tuple[Entry, ...] = ()
    already: bool = False


class Sick(NamedTuple):
    """What sick animals wrote, and the fodder that is proposed to be held."""

    ill: Entry
    action: Entry | None = None
    proposed: tuple[Sibling, ...] = ()
    already: bool = False


def concerned(record: Record, thing: Mould, at: datetime, now: datetime) -> list[Batch]:
    """The batches in which the mould is: the one named, and those that stood there.

    A tray whose rack was never written may stand on any rack. A tray that grows
    another batch than the one named holds both: nobody knows which was misread. By
    ``now``, this device's clock, it is seen whether that is behind the record.
    """
    if thing.batch is None:
        return _standing_there(record, thing, at, now)
    found = batch_file(record, thing.batch)
    if not any(v.kind == "sow" for v in found.versions):
        raise UnknownCode(sort="batch", given=thing.batch, way_out="hygiene log sow")
    named = [found.batch] if found.batch else []
    there = _standing_there(record, thing, at, now) if thing.trays else []
    return [*named, *(batch for batch in there if batch.code != thing.batch)]


def also_in(
    record: Record, thing: Mould, at: datetime, now: datetime
) -> tuple[str, ...]:
    """The batches in which the mould is, beside the one that is named."""
    codes = (batch.code for batch in concerned(record, thing, at, now))
    return tuple(code for code in codes if code != thing.batch)


def _standing_there(
    record: Record, thing: Mould, at: datetime, now: datetime
) -> list[Batch]:
    return [
        batch
        for batch in recent_batches(record, at).values()
        if any(_there(stay, thing) for stay in _stays(batch, at, now))
    ]


def _stays(batch: Batch, at: datetime, now: datetime) -> tuple[Stay, ...]:
    """Where a batch stood then; anywhere it ever did, where a clock is behind.

    A sowing that is known here was written before this find, whatever its hour.
    """
    ahead = moment_of(batch.sow.recorded_at) > now
    return batch.stays if ahead else batch.standing(at)


def _there(stay: Stay, thing: Mould) -> bool:
    if thing.trays:
        return stay.tray in thing.trays
    return stay.rack in (thing.rack, None)


def find_mould(
    writing: Writing,
    farm: InForce,
    thing: Mould,
    how: How,
    *,
    step: str | None = None,
    did: str | None = None,
) -> Found:
    """Write a find of mould with its holds and its incident, in one act.

    ``step`` and ``did`` come from a checklist that was answered with the find.
    """
    record, at = writing.record, how.at(writing)
    for tray in thing.trays:
        known(farm, "tray", tray)
    if thing.rack is not None:
        known(farm, "rack", thing.rack)
    batches = concerned(record, thing, at, writing.clock())
    others = [batch.code for batch in batches if batch.code != thing.batch]
    codes = [thing.batch, *others] if thing.batch else others
    thing = replace(thing, batches=tuple(others))
    if thing.growing_day is None and len(batches) == 1:
        day = batches[0].day(at.astimezone(farm.zone).date(), farm.zone)
        thing = replace(thing, growing_day=day if 0 <= day <= 60 else None)
    before = how.retried(writing, thing, "batches")
    out = tuple(e for b in batches for e in b.out if e.kind in ("feed", "dispatch"))
    if before is not None:
        return Found(before, tuple(codes), out=out, already=True)
    made = how.add(writing, thing)
    holds = [how.add(writing, hold) for hold in holds_of(record, made)]
    action = Action(
        about=made.name,
        problem=f"mould in {', '.join(codes) or thing.rack or ', '.join(thing.trays)}",
        step=step,
        did=did,
        concerns=codes[0] if codes else thing.rack,
        incident=True,
    )
    return Found(
        made,
        tuple(codes),
        tuple(holds),
        how.add(writing, action),
        tuple(beside(record, farm, batches, at)),
        out,
    )


def holds_of(record: Record, mould: Entry) -> list[Hold]:
    """The holds that a find calls for: each whole batch, and sowing from its lots.

    Where no batch is known, the place itself.
    """
    held = [_hold(mould, code, "batch", "mould in it") for code in batches_of(mould)]
    for lot in dict.fromkeys(lot for hold in held for lot in _lots(record, hold.held)):
        hold = _hold(mould, lot, "lot", "mould in a batch of it")
        held.append(replace(hold, stops=SOWING))
    if held:
        return held
    if mould.get("rack"):
        return [_hold(mould, str(mould.get("rack")), "rack", "mould on it")]
    return [
        _hold(mould, tray, "tray", "mould in it") for tray in texts_of(mould, "trays")
    ]


def batches_of(mould: Entry) -> list[str]:
    """The batches that one version of a mould record names."""
    named = [mould.get("batch"), *texts_of(mould, "batches")]
    return list(dict.fromkeys(str(code) for code in named if code))


def _lots(record: Record, batch: str) -> list[str]:
    return sorted(ever(batch_file(record, batch).versions).lots)


def _hold(made: Entry, held: str, sort: str, why: str) -> Hold:
    return Hold(held=held, sort=sort, why=why, because=made.name)


def beside(
    record: Record, farm: InForce, mouldy: Sequence[Batch], at: datetime
) -> list[Sibling]:
    """The batches that grow and share a cause with a mouldy one, with all reasons."""
    codes = {batch.code for batch in mouldy}
    others = [b for b in growing_batches(record, at) if b.code not in codes]
    if not others or not mouldy:
        return []
    doses = record.entries(["dose"], since=at - 2 * LOOK_BACK)
    washes = last_washes([*mouldy, *others], doses)
    shares: dict[str, dict[str, None]] = {}
    for batch in mouldy:
        for found in siblings(batch, others, layout(farm), washes):
            shares.setdefault(found.code, {}).update(dict.fromkeys(found.shares))
    return [
        Sibling(other.code, tuple(shares[other.code]))
        for other in others
        if other.code in shares
    ]


def hold_proposed(
    writing: Writing, cause: Entry, proposed: Iterable[Sibling], how: How
) -> list[Entry]:
    """Hold what was proposed, each with its reason and only once."""
    record, written = writing.record, []
    for sibling in proposed:
        shares = "; ".join(sibling.shares)
        thing = Hold(
            held=sibling.code,
            sort="batch",
            why=f"precaution: shares {shares}"
            if cause.kind == "mould"
            else "precaution: animals fell ill",
            because=cause.name,
            shares=shares if cause.kind == "mould" else None,
        )
        if not any(_same_hold(e, thing) for e in record.mentioning(sibling.code)):
            written.append(how.add(writing, thing))
    return written


def _same_hold(entry: Entry, thing: Hold) -> bool:
    said = (entry.get("held"), entry.get("because"))
    return entry.kind == "hold" and said == (thing.held, thing.because)


def proposed_again(
    record: Record, farm: InForce, cause: Entry, at: datetime
) -> list[Sibling]:
    """What stands proposed for a find that was written already."""
    if cause.kind != "mould":
        return [Sibling(b.code, ("fodder",)) for b in growing_batches(record, at)]
    files = (batch_file(record, code) for code in batches_of(cause))
    return beside(record, farm, [f.batch for f in files if f.batch], at)


def fall_ill(writing: Writing, farm: InForce, thing: Ill, how: How) -> Sick:
    """Write that animals fell ill; all fodder that grows is proposed to be held."""
    known(farm, "animals", thing.animals)
    before = how.retried(writing, thing)
    record, at = writing.record, how.at(writing)
    proposed = tuple(Sibling(b.code, ("fodder",)) for b in growing_batches(record, at))
    if before is not None:
        return Sick(before, proposed=proposed, already=True)
    made = how.add(writing, thing)
    action = Action(
        about=made.name,
        problem=f"{thing.head_ill} of {thing.head_at_risk} {thing.animals} ill: "
        f"{thing.signs}",
        concerns=thing.animals,
        incident=True,
    )
    return Sick(made, how.add(writing, action), proposed)
