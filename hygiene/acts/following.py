"""What follows when an entry is put right: a correction never lets out what was held.

The strictest version counts already when the record is read; here its hold is written,
so that somebody sees it and can release it.
"""

from __future__ import annotations

from hygiene.acts.dosing import after_dose_correction
from hygiene.acts.finds import holds_of
from hygiene.acts.leaving import in_danger
from hygiene.acts.rules import in_short
from hygiene.acts.standing import batch_file, lot_file, open_holds
from hygiene.acts.water import after_correction
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.farm.in_force import in_force
from hygiene.kinds.action import Action
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import rows, texts
from hygiene.tracing.lots import faults, lasting_faults


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
            wanted = _after_sow(writing.record, made)
        case "feed" | "dispatch" | "discard" | "sample":
            wanted = [
                *_after_end(writing.record, first),
                *_after_leaving(writing.record, made, first),
            ]
        case "water":
            wanted = after_correction(writing.record, made)
        case "dose":
            wanted = after_dose_correction(writing.record, made)
        case _:
            wanted = []
    return [writing.add(thing, by=made.by) for thing in wanted]


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
    """Another lot than was said before may be one that is not to be sown."""
    if made.kind != "sow":
        return []
    versions = [v for v in record.history(made.first) if v.name != made.name]
    before = {row.get("lot") for v in versions for row in rows(v, "seeds")}
    still = [hold.name for hold in open_holds(record)]
    found = []
    for lot in (str(row.get("lot")) for row in rows(made, "seeds")):
        versions_of_lot = lot_file(record, lot).versions
        holds = [v for v in versions_of_lot if v.kind == "hold"]
        lacks = [f.says for f in lasting_faults(versions_of_lot, holds, still)]
        lacks += [str(hold.get("why")) for hold in holds if hold.name in still]
        if lot not in before and lacks:
            found.append(f"sown from {lot}: {'; '.join(lacks)}")
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


def _after_end(record: Record, first: Entry) -> list[Kind]:
    """Trays that grow again after all: what held their batch holds it again."""
    code = first.get("batch")
    if not isinstance(code, str):
        return []
    found = batch_file(record, code)
    holds = [v for v in found.versions if v.kind == "hold" and v.get("held") == code]
    still = {hold.name for hold in open_holds(record)}
    if not (found.batch and found.batch.growing and holds):
        return []
    if any(hold.first in still for hold in holds):
        return []
    last = holds[-1]
    return [
        Hold(
            held=code,
            sort="batch",
            why=f"{last.get('why')}; its trays grow again ({first.name} was put right)",
            because=last.get("because"),
            shares=last.get("shares"),
        )
    ]


def _after_leaving(record: Record, made: Entry, first: Entry) -> list[Kind]:
    """It was another batch, tray or hour after all, and that was held."""
    if made.kind not in ("feed", "dispatch"):
        return []
    farm = in_force(record.setup(), moment_of(made.recorded_at))
    batch, trays = str(made.get("batch")), texts(made, "trays")
    at = moment_of(made.happened_at)
    against = in_danger(record, farm, batch, trays, at)
    before = {mark for v in record.history(first.name) for mark in texts(v, "marks")}
    broken = {"on-hold", "mould-record"} - before
    new = [rule for rule in against if rule.mark in broken]
    if not new:
        return []
    problem = f"{batch} left after all: {in_short(new)}"
    return [Action(about=made.first, problem=problem, concerns=batch, incident=True)]
