"""What follows when an entry is put right: a correction never lets out what was held.

The strictest version counts already when the record is read; here its hold is written,
so that somebody sees it and can release it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from hygiene.acts.actions import answers_to
from hygiene.acts.batches import against_what_grew
from hygiene.acts.dosing import after_dose_correction
from hygiene.acts.finds import also_in, holds_of
from hygiene.acts.holds import need, the_hold
from hygiene.acts.leaving import in_danger
from hygiene.acts.rules import Against, in_short
from hygiene.acts.standing import (
    batch_file,
    growing_batches,
    lot_file,
    open_holds,
)
from hygiene.acts.water import after_correction
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.farm.in_force import in_force
from hygiene.kinds.action import Action
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.find import Hold, Mould
from hygiene.kinds.moments import moment_of
from hygiene.tracing.holds import Hold as OpenHold
from hygiene.tracing.holds import mould_records
from hygiene.tracing.lots import faults, lasting_faults

A_FEW: Final = 20
"""So many finds of a place are looked through, the latest first."""


def follow(writing: Writing, made: Entry) -> list[Entry]:
    """Write the holds and incidents that a correction or strike calls for."""
    first = writing.record.entry(made.first)
    wanted: list[Kind]
    match first.kind:
        case "mould":
            wanted = _after_mould(writing.record, made)
        case "seed":
            wanted = _after_seed(writing.record, made)
        case "sow":
            wanted = [
                *_after_sow(writing.record, made),
                *_after_end(writing.record, made, first),
            ]
        case "feed" | "dispatch" | "discard" | "sample":
            wanted = [
                *_after_end(writing.record, made, first),
                *_after_leaving(writing.record, made, first),
            ]
        case "hold":
            wanted = _after_hold(writing.record, made)
        case "water":
            wanted = after_correction(writing.record, made)
        case "dose":
            wanted = after_dose_correction(writing.record, made)
        case _:
            wanted = []
    written = []
    for thing in wanted:
        entry = writing.add(thing, by=made.by)
        holds = holds_of(writing.record, entry) if entry.kind == "mould" else []
        written += [entry, *(writing.add(hold, by=made.by) for hold in holds)]
    return written


def _after_mould(record: Record, made: Entry) -> list[Kind]:
    if made.kind != "mould":
        return []
    naming = record.mentioning(*(v.name for v in record.history(made.first)))
    held = {e.get("held") for e in naming if e.kind == "hold"}
    return [hold for hold in holds_of(record, made) if hold.held not in held]


def _after_seed(record: Record, made: Entry) -> list[Kind]:
    if made.kind != "seed":
        return []
    before = {
        fault.mark
        for version in record.history(made.first)
        if version.name != made.name and version.kind == "seed"
        for fault in faults(version.body)
    }
    lacks = [fault for fault in faults(made.body) if fault.mark not in before]
    if not lacks:
        return []
    why = "; ".join(fault.says for fault in lacks)
    return [Hold(held=str(made.get("lot")), sort="lot", why=why, because=made.first)]


def _after_sow(record: Record, made: Entry) -> list[Kind]:
    """Another lot, or another tray, than was said before may be one that is held."""
    if made.kind != "sow":
        return []
    versions = [v for v in record.history(made.first) if v.name != made.name]
    before = {row.get("lot") for v in versions for row in rows_of(v, "seeds")}
    still = [hold.name for hold in open_holds(record)]
    found = []
    for lot in (str(row.get("lot")) for row in rows_of(made, "seeds")):
        versions_of_lot = lot_file(record, lot).versions
        holds = [v for v in versions_of_lot if v.kind == "hold"]
        lacks = [f.says for f in lasting_faults(versions_of_lot, holds, still)]
        lacks += [str(hold.get("why")) for hold in holds if hold.name in still]
        if lot not in before and lacks:
            found.append(f"sown from {lot}: {'; '.join(lacks)}")
    found += [rule.says for rule in _trays_held(record, made, versions)]
    if not found:
        return []
    return [
        Hold(
            held=str(made.get("batch")),
            sort="batch",
            why="; ".join(found),
            because=made.first,
        )
    ]


def _found_in_it(record: Record, code: str, made: Entry) -> list[Kind]:
    """The mould in trays that grew this batch then, as is known only now.

    A find of its own: a batch in which mould was ever found is never fed, whoever
    releases its hold.
    """
    found = batch_file(record, code)
    if found.batch is None:
        return []
    known = mould_records(code, record.mentioning(code, every_version=True))
    held = {tray for mould in known for tray in texts_of(mould, "trays")}
    firsts = {mould.first for mould in known}
    places = {*found.batch.trays, *(s.rack for s in found.batch.stays if s.rack)}
    now = moment_of(made.recorded_at)
    new: dict[str, set[str]] = {}
    for place in sorted(places):
        for mould in record.latest("mould", place, before=now, most=A_FEW):
            stays = found.batch.standing(moment_of(mould.happened_at))
            named = {place, *texts_of(mould, "trays")}
            trays = {s.tray for s in stays if named & {s.tray, s.rack}} - held
            if trays and mould.first not in firsts:
                new.setdefault(mould.first, set()).update(trays)
    if not new:
        return []
    thing = Mould(
        batch=code,
        trays=tuple(sorted(set().union(*new.values()))),
        note=f"found as {', '.join(new)}: it grew there, as {made.name} says",
    )
    return [replace(thing, batches=also_in(record, thing, now, now))]


def _sown_over(record: Record, code: str, made: Entry) -> list[Kind]:
    """What was sown since in trays that a held batch has not left after all."""
    batch = batch_file(record, code).batch
    if batch is None or not batch.growing:
        return []
    at = moment_of(made.recorded_at)
    farm, holds = in_force(record.setup(), at), open_holds(record)
    found: list[Kind] = []
    for other in growing_batches(record, at):
        trays = [tray for tray in other.growing if tray in batch.growing]
        if other.code == code or not trays:
            continue
        rules = against_what_grew(record, farm, holds, trays, at, besides=other.code)
        whys = list(dict.fromkeys(rule.says for rule in rules))
        if whys and not _held_because(holds, other.code, made.first):
            found.append(
                Hold(
                    held=other.code,
                    sort="batch",
                    why="; ".join(whys),
                    because=made.first,
                )
            )
    return found


def _held_because(holds: Sequence[OpenHold], code: str, cause: str) -> bool:
    return any(("batch", code) in h.held and cause in h.causes for h in holds)


def _trays_held(
    record: Record, made: Entry, older: Sequence[Entry]
) -> Iterator[Against]:
    """What held batches stood in the trays that no older version named."""
    before = {row.get("tray") for v in older for row in rows_of(v, "places")}
    trays = [str(row.get("tray")) for row in rows_of(made, "places")]
    return against_what_grew(
        record,
        in_force(record.setup(), moment_of(made.recorded_at)),
        open_holds(record),
        [tray for tray in trays if tray not in before],
        moment_of(made.happened_at),
        besides=str(made.get("batch")),
    )


def _after_hold(record: Record, made: Entry) -> list[Kind]:
    """A hold that was released cannot hold another thing by a correction of it."""
    hold = the_hold(record, made.first)
    older = hold._replace(versions=hold.versions[:-1])
    new = (str(made.get("sort")), str(made.get("held")))
    ended = answers_to(record, hold.first, "release")
    if made.kind != "hold" or not ended or new in older.held:
        return []
    return [_again(made, str(made.get("why")))]


def _after_end(record: Record, made: Entry, first: Entry) -> list[Kind]:
    """Trays that grow again after all: what held their batch holds it again.

    And what was found in them since, when another batch was said to grow there.
    """
    codes = {v.get("batch") for v in record.history(first.name)}
    return [
        hold
        for code in sorted(code for code in codes if isinstance(code, str))
        for hold in (
            *_held_again(record, code, first),
            *_found_in_it(record, code, made),
            *_sown_over(record, code, made),
        )
    ]


def _held_again(record: Record, code: str, first: Entry) -> list[Kind]:
    """Each hold of a batch that was released without a word, since nothing was left.

    One for each cause that no open hold names.
    """
    found = batch_file(record, code)
    if not (found.batch and found.batch.growing):
        return []
    holds = [v for v in found.versions if v.kind == "hold" and v.get("held") == code]
    still = {hold.name for hold in open_holds(record)}
    open_causes = {hold.get("because") for hold in holds if hold.first in still}
    again = {
        hold.get("because"): hold
        for hold in holds
        if hold.get("because") not in open_causes and not _let_go(record, hold)
    }
    return [
        _again(
            hold, f"{hold.get('why')}; its trays grow again ({first.name} put right)"
        )
        for hold in again.values()
    ]


def _let_go(record: Record, hold: Entry) -> bool:
    """Whether somebody answers for its release: by word, paper or assessment."""
    found = the_hold(record, hold.first)
    releases = answers_to(record, found.first, "release")
    match need(record, found)[0]:
        case "word":
            return any(release.get("word_of") for release in releases)
        case "assessment":
            return bool(answers_to(record, found.first, "assess"))
    return any(r.get("word_of") or r.get("document") for r in releases)


def _again(hold: Entry, why: str) -> Hold:
    return Hold(
        held=str(hold.get("held")),
        sort=str(hold.get("sort")),
        why=why,
        because=hold.get("because"),
        shares=hold.get("shares"),
        trays=texts_of(hold, "trays"),
        stops=hold.get("stops"),
    )


def _after_leaving(record: Record, made: Entry, first: Entry) -> list[Kind]:
    """It was another batch, tray or hour after all, and that was held."""
    if made.kind not in ("feed", "dispatch"):
        return []
    farm = in_force(record.setup(), moment_of(made.recorded_at))
    batch, trays = str(made.get("batch")), texts_of(made, "trays")
    at = moment_of(made.happened_at)
    against = in_danger(record, farm, batch, trays, at)
    before = {mark for v in record.history(first.name) for mark in texts_of(v, "marks")}
    broken = {"on-hold", "mould-record"} - before
    new = [rule for rule in against if rule.mark in broken]
    if not new:
        return []
    problem = f"{batch} left after all: {in_short(new)}"
    return [Action(about=made.first, problem=problem, concerns=batch, incident=True)]
