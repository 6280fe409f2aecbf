"""A check of a kit, and what a failed one means for what was read with it."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.codes import known
from hygiene.acts.how import How
from hygiene.acts.kits import checks_of
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.farm.in_force import InForce
from hygiene.kinds.action import Action, Recheck
from hygiene.kinds.entry import Entry
from hygiene.kinds.kits import Calibrate
from hygiene.kinds.moments import moment_of

READ_WITH: Final = ("water", "dose", "strength", "rinse")
"""The kinds of entry that name the kit they were read with."""


class Calibrated(NamedTuple):
    """What a check of a kit wrote; ``doubtful`` was read with it since it was good."""

    check: Entry
    action: Entry | None = None
    doubtful: tuple[Entry, ...] = ()
    rechecks: tuple[Entry, ...] = ()
    already: bool = False


def calibrate(
    writing: Writing, farm: InForce, how: How, *, kit: str, **described: Any
) -> Calibrated:
    """Write a check of a kit; ``described`` are the fields of ``Calibrate``.

    One that failed opens its corrective action, which says how much was read with
    the kit since its last good check; one that passed is the recheck of what is open.
    """
    thing = Calibrate(kit=known(farm, "kit", kit), **described)
    before = how.retried(writing, thing)
    if before is not None:
        return Calibrated(before, already=True)
    if thing.passed:
        made = how.add(writing, thing)
        return Calibrated(made, rechecks=tuple(_rechecks(writing, how, made)))
    doubtful = _read_since_good(writing.record, farm, thing.kit, how.at(writing))
    made = how.add(writing, thing)
    problem = f"{thing.kit} failed its check against {thing.against}: out of use"
    if doubtful:
        problem += f"; {len(doubtful)} entries were read with it since it was good"
    action = Action(about=made.name, problem=problem, did=thing.did, concerns=thing.kit)
    return Calibrated(made, how.add(writing, action), tuple(doubtful))


def _rechecks(writing: Writing, how: How, made: Entry) -> list[Entry]:
    """A check that passed answers the open actions about failed ones of its kit."""
    return [
        how.add(
            writing,
            Recheck(
                action=action.name,
                seen=f"checked again against {made.get('against')}: good",
                passed=True,
                evidence=made.name,
            ),
        )
        for action in writing.record.unanswered("action", "close")
        if _about_kit(writing.record, action, made)
    ]


def _about_kit(record: Record, action: Entry, made: Entry) -> bool:
    about = action.get("about")
    if action.get("concerns") != made.get("kit") or not isinstance(about, str):
        return False
    failed = record.entry(about)
    earlier = moment_of(failed.happened_at) <= moment_of(made.happened_at)
    return failed.kind == "calibrate" and earlier


def _read_since_good(
    record: Record, farm: InForce, kit: str, at: datetime
) -> list[Entry]:
    good = [check.at for check in checks_of(record, farm, kit, at) if check.passed]
    since = good[-1] if good else None
    return [
        entry
        for entry in record.mentioning(kit)
        if entry.kind in READ_WITH
        and (since is None or moment_of(entry.happened_at) >= since)
    ]
