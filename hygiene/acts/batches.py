"""Sowing a batch and moving its trays: the rules, then what was done."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.acts.clearance import trays_cleared
from hygiene.acts.codes import UnknownCode, known, mint, need_free
from hygiene.acts.how import How
from hygiene.acts.lines import line_cleared
from hygiene.acts.rules import (
    Against,
    ForcedNeedsReason,
    in_short,
    in_words,
    marks,
    told,
)
from hygiene.acts.seed import DRESSED_LAW, kilos
from hygiene.acts.standing import (
    LOOK_BACK,
    BatchFile,
    batch_file,
    growing_batches,
    layout,
    lot_file,
    mould_of_lot,
    open_holds,
    stops_by_batch,
)
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import InForce
from hygiene.kinds.action import Action
from hygiene.kinds.batch import Move, Place, SeedShare, Sow
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold
from hygiene.tracing.holds import Hold as OpenHold
from hygiene.tracing.holds import mould_records
from hygiene.tracing.lots import lasting_faults, past_best

CLEARANCE: Final = (
    "a tray is cleared once it was emptied, washed, sanitised in range and dried "
    "(183/2005 Annex I part A, clean equipment)"
)
STOPS_THE_BATCH: Final = (
    "lot-not-declared",
    "lot-dressed",
    "lot-refused",
    "lot-struck",
    "lot-held",
    "tray-held",
    "rack-held",
    "room-held",
    "line-held",
    "tank-held",
    "tray-of-held-batch",
)
"""The marks of a sowing that put its batch on hold from the first minute."""


class Sown(NamedTuple):
    """What a sowing wrote: the batch, and all that follows from a forced one."""

    sow: Entry
    against: tuple[Against, ...] = ()
    hold: Entry | None = None
    action: Entry | None = None
    already: bool = False


class Moved(NamedTuple):
    """What moving trays wrote."""

    move: Entry
    against: tuple[Against, ...] = ()
    action: Entry | None = None
    already: bool = False


def uncleared(record: Record, trays: Sequence[str], at: datetime) -> dict[str, str]:
    """The trays that are not known to be cleared at a moment, and why not."""
    found = trays_cleared(record, record.setup(), at, trays)
    return {
        tray: "; ".join(clearance.whys)
        for tray, clearance in found.items()
        if not clearance.cleared
    }


def line_uncleared(record: Record, line: str, at: datetime) -> str | None:
    """Why a line is not cleared at a moment, or None."""
    found = line_cleared(record, record.setup(), line, at)
    return None if found.cleared else "; ".join(found.whys)


def against_sowing(
    record: Record,
    farm: InForce,
    seeds: Sequence[SeedShare],
    places: Sequence[Place],
    line: str | None,
    at: datetime,
) -> list[Against]:
    """Every rule that a sowing would stand against. Unknown codes raise."""
    _need_known(farm, places, line)
    holds = open_holds(record)
    return [
        *(
            rule
            for share in seeds
            for rule in _against_lot(record, farm, share, holds, at)
        ),
        *_against_trays(record, places, at),
        *against_what_grew(record, farm, holds, [p.tray for p in places], at),
        *_against_places(farm, holds, places, line),
        *_against_line(record, line, at),
    ]


def _need_known(farm: InForce, places: Sequence[Place], line: str | None) -> None:
    for place in places:
        known(farm, "tray", place.tray)
        if place.rack is not None:
            rack = farm.get("rack", known(farm, "rack", place.rack)) or {}
            levels = rack.get("levels", 1)
            if place.level is not None and place.level > levels:
                raise WronglyPut(what=f"rack {place.rack} has {levels} levels")
    if line is not None:
        known(farm, "line", line)


def _against_lot(
    record: Record,
    farm: InForce,
    share: SeedShare,
    holds: Sequence[OpenHold],
    at: datetime,
) -> Iterator[Against]:
    found = lot_file(record, share.lot)
    seeds = [v for v in found.versions if v.kind == "seed"]
    if not seeds:
        raise UnknownCode(sort="lot", given=share.lot, way_out="hygiene log seed")
    on_it = [v for v in found.versions if v.kind == "hold"]
    way = f"see the paper, then: hygiene correct {seeds[0].name} ..., and release"
    lacks = lasting_faults(found.versions, on_it, [hold.name for hold in holds])
    yield from (Against(f.mark, f.says, DRESSED_LAW, way) for f in lacks)
    for rule in _held("lot", [share.lot], holds):
        # its hold says the same again
        yield rule._replace(says=f"lot {share.lot} is held") if lacks else rule
    yield from _mould_in(record, share.lot, found.versions)
    if found.lot is None:
        yield Against(
            "lot-struck",
            f"the entry of {share.lot} is ruled through",
            "a lot is known by its entry",
            f"put it right: hygiene correct {seeds[0].name}",
        )
        return
    if past_best(found.lot.seed, at.astimezone(farm.zone).date()):
        yield Against(
            "lot-past-best-before",
            f"{share.lot} was best before {found.lot.seed.get('best_before')}",
            "the supplier's own date",
            "sow from a lot that is in date",
        )
    if share.grams > found.lot.in_store_grams:
        yield Against(
            "lot-not-enough",
            f"{share.lot} has {kilos(found.lot.in_store_grams)} in store, "
            f"not {kilos(share.grams)}",
            "seed received = sown + in store + scrapped, in grams",
            "weigh again, or say which other lot it was",
        )


def _mould_in(record: Record, lot: str, versions: Iterable[Entry]) -> Iterator[Against]:
    """Mould in a batch of the lot whose find did not know it, so that none is held."""
    for code, find in mould_of_lot(record, lot, versions)[:1]:
        yield Against(
            "lot-held",
            f"mould was found in {code}, sown from {lot}, and no hold was written for "
            "it",
            f"the find {find.first}",
            f"write it: hygiene hold {lot} --sort lot --sowing-only --why 'mould in "
            f"{code}' --because {find.first}; only its release ends it",
        )


def _against_trays(
    record: Record, places: Sequence[Place], at: datetime
) -> Iterator[Against]:
    trays = [place.tray for place in places]
    busy = {t: b.code for b in growing_batches(record, at) for t in b.growing}
    in_use = [tray for tray in trays if tray in busy]
    if in_use:
        codes = ", ".join(dict.fromkeys(busy[tray] for tray in in_use))
        yield Against(
            "tray-in-use",
            f"{few(in_use)} still grow{'s' * (len(in_use) == 1)} {codes}",
            "a tray grows one batch at a time",
            "write first that it was fed, sent or discarded",
        )
    not_cleared = uncleared(record, trays, at)
    if not_cleared:
        why = "; ".join(dict.fromkeys(not_cleared.values()))
        yield Against(
            "tray-not-cleared",
            f"{few(list(not_cleared))} not known to be cleared: {why}",
            CLEARANCE,
            "wash, sanitise and dry them, and write it down; or take others",
        )


def against_what_grew(
    record: Record,
    farm: InForce,
    holds: Sequence[OpenHold],
    trays: Sequence[str],
    at: datetime,
    besides: str | None = None,
) -> Iterator[Against]:
    """Trays of a held or mouldy batch that no entry emptied, by any of its versions.

    Else a sowing that is ruled through, or put right to other trays, and written again
    under a new code would leave its hold behind.
    """
    files: dict[str, BatchFile] = {}
    left = {
        batch.code: [tray for tray in batch.growing if tray in trays]
        for batch in growing_batches(record, at)
        if batch.code != besides
    }
    for tray in trays:
        for sown in record.latest("sow", tray, before=at + LOOK_BACK, most=4):
            code = str(sown.get("batch"))
            found = files.setdefault(code, batch_file(record, code))
            if found.batch is not None and tray in found.batch.ends:
                break  # what stood in it before has left it as well
            if code != besides and tray not in left.setdefault(code, []):
                left[code].append(tray)
    for code, stood in left.items():
        for why, entry in _why_held(record, farm, holds, stood, code):
            yield Against(
                "tray-of-held-batch",
                f"{few(stood)} stood in {code}, which is held: {why}",
                f"178/2002 Article 15(3) (from memory); {entry}",
                f"write first that {code} was discarded: hygiene discard {code}",
            )


def _why_held(
    record: Record,
    farm: InForce,
    holds: Sequence[OpenHold],
    trays: Sequence[str],
    code: str,
) -> list[tuple[str, str]]:
    """Why trays of a batch are no feed, and the entry that says so: mould for ever."""
    if not trays:
        return []
    stopped = stops_by_batch(record, farm, [code], holds).get(code, [])
    whys = [(stop.why, stop.entry) for stop in stopped if stop.trays & set(trays)]
    mouldy = mould_records(code, batch_file(record, code).versions)[:1]
    return whys or [("mould was found in it", mould.first) for mould in mouldy]


def _against_places(
    farm: InForce, holds: Sequence[OpenHold], places: Sequence[Place], line: str | None
) -> Iterator[Against]:
    place_of = layout(farm)
    racks = {place.rack for place in places if place.rack}
    rooms = {place_of.room_of.get(rack) for rack in racks}
    yield from _held("tray", [place.tray for place in places], holds)
    yield from _held("rack", racks, holds)
    yield from _held("room", [room for room in rooms if room], holds)
    if line is not None:
        yield from _held("line", [line], holds)
        tank = place_of.tank_of.get(line)
        yield from _held("tank", [tank] if tank else [], holds)


def _held(
    sort: str, codes: Iterable[str], holds: Sequence[OpenHold]
) -> Iterator[Against]:
    wanted = {(sort, code) for code in codes}
    for hold in holds:
        for _, code in sorted(hold.held & wanted):
            yield Against(
                f"{sort}-held",
                f"{sort} {code} is held: {hold.first.get('why')}",
                f"the hold {hold.name}",
                f"only this ends it: hygiene release {hold.name} --why TEXT",
            )


def _against_line(record: Record, line: str | None, at: datetime) -> list[Against]:
    why = None if line is None else line_uncleared(record, line, at)
    if why is None:
        return []
    return [
        Against(
            "line-not-cleared",
            f"line {line} is not cleared: {why}",
            "after a shock dose a line is flushed and read before it waters again",
            "flush it, read the last nozzle, and write it down",
        )
    ]


def sow(
    writing: Writing,
    farm: InForce,
    how: How,
    *,
    seeds: tuple[SeedShare, ...],
    places: tuple[Place, ...],
    line: str | None = None,
    note: str | None = None,
    batch: str | None = None,
) -> Sown:
    """Write a sowing as it was done; against the rules only with a reason.

    ``batch`` is its number on an old paper, where it has one; else a code is given.

    A batch sown from a lot that may not be sown is held from its first minute.
    """
    code = batch or mint(writing, "batch")
    thing = Sow(batch=code, seeds=seeds, places=places, line=line, note=note)
    before = how.retried(writing, thing, "marks" if batch else "batch", "marks")
    if before is not None:
        return Sown(before, already=True)
    if batch is not None:
        need_free(writing.record, farm, batch)
    at = how.at(writing)
    against = against_sowing(writing.record, farm, seeds, places, line, at)
    if against and not how.reason:
        raise ForcedNeedsReason(what=told(against))
    made = how.add(writing, replace(thing, marks=marks(against)))
    if not against:
        return Sown(made)
    stopping = [rule for rule in against if rule.mark in STOPS_THE_BATCH]
    hold = how.add(writing, _first_hold(made, stopping)) if stopping else None
    problem = f"{thing.batch} was sown all the same: {in_short(against)}"
    action = how.add(
        writing, Action(about=made.name, problem=problem, concerns=thing.batch)
    )
    return Sown(made, tuple(against), hold, action)


def _first_hold(sown: Entry, stopping: Sequence[Against]) -> Hold:
    return Hold(
        held=str(sown.get("batch")),
        sort="batch",
        why=f"sown all the same: {in_words(stopping)}",
        because=sown.name,
    )


def against_moving(
    record: Record, farm: InForce, batch: str, places: Sequence[Place]
) -> list[Against]:
    """Every rule that moving trays would stand against. Unknown codes raise."""
    _need_known(farm, places, None)
    return [
        *against_trays_of(record, batch, [place.tray for place in places]),
        *_against_places(farm, open_holds(record), places, None),
    ]


def against_trays_of(record: Record, batch: str, trays: Sequence[str]) -> list[Against]:
    """Trays that are none of a batch, or that ended already; ``UnknownCode``."""
    found = batch_file(record, batch)
    if not any(v.kind == "sow" for v in found.versions):
        raise UnknownCode(sort="batch", given=batch, way_out="hygiene log sow")
    growing = found.batch.growing if found.batch else ()
    gone = [tray for tray in trays if tray not in growing]
    if not gone:
        return []
    ends = found.batch.ends if found.batch else {}
    why = "; ".join(
        f"{tray} was {ends[tray].how} ({ends[tray].entry.name})"
        if tray in ends
        else f"{tray} was not sown with it"
        for tray in gone[:4]
    )
    return [
        Against(
            "tray-not-growing",
            f"{batch} does not grow in {few(gone)}: {why}",
            "trays sown = fed + sent + discarded + sampled + growing",
            f"look at it: hygiene log sow, or hygiene show {found.versions[0].name}",
        )
    ]


def move(
    writing: Writing,
    farm: InForce,
    how: How,
    *,
    batch: str,
    places: tuple[Place, ...],
    note: str | None = None,
) -> Moved:
    """Write that trays of a batch stand somewhere else from now on."""
    thing = Move(batch=batch, places=places, note=note)
    before = how.retried(writing, thing, "marks")
    if before is not None:
        return Moved(before, already=True)
    against = against_moving(writing.record, farm, batch, places)
    made = how.add(writing, replace(thing, marks=marks(against)))
    if not against:
        return Moved(made)
    action = Action(
        about=made.name, problem=f"moved: {in_short(against)}", concerns=batch
    )
    return Moved(made, tuple(against), how.add(writing, action))


def few(codes: Sequence[str]) -> str:
    """Codes for a person: all of a few, the first ones of many."""
    if len(codes) <= 4:
        return ", ".join(codes)
    return f"{', '.join(codes[:3])} and {len(codes) - 3} more"
