"""Kits and their checks: whether one can be relied on, and what a failed one means."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.codes import known
from hygiene.acts.how import How
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.farm.in_force import InForce
from hygiene.farm.kits import Check, checks, fault
from hygiene.kinds.entry import Entry

MOST_CHECKS: Final = 60
"""Versions of checks that are read back: years of them, and the last new reagent."""
READ_WITH: Final = ("water", "dose", "strength", "rinse")
"""The kinds of entry that name the kit they were read with."""

KitFault = Callable[[str, datetime], str | None]


def checks_of(record: Record, farm: InForce, kit: str, at: datetime) -> list[Check]:
    """The checks of a kit up to a moment, each by all its versions."""
    before = at + timedelta(seconds=1)
    found = record.latest("calibrate", kit, before=before, most=MOST_CHECKS)
    names = dict.fromkeys(entry.first for entry in found)
    versions = [version for name in names for version in record.history(name)]
    return checks(versions, kit, farm.zone)


def kit_fault(record: Record, farm: InForce) -> KitFault:
    """A question for each reading: why its kit cannot be relied on, or None.

    ``farm`` is the set-up as it stood at the readings. The answer is in words that go
    after the kit's name: ``was in date up to 2026-03-20 only``.
    """

    def asked(kit: str, at: datetime) -> str | None:
        body = farm.get("kit", kit)
        if body is None:
            return "is no kit of the farm file"
        local = at.astimezone(farm.zone)
        return fault(body, checks_of(record, farm, kit, at), local)

    return asked


class Calibrated(NamedTuple):
    """What a check of a kit wrote; ``doubtful`` was read with it since it was good."""

    check: Entry
    action: Entry | None = None
    doubtful: tuple[Entry, ...] = ()
    already: bool = False


def calibrate(
    writing: Writing, farm: InForce, how: How, *, kit: str, **described: object
) -> Calibrated:
    """Write a check of a kit; ``described`` are the fields of ``Calibrate``.

    One that failed opens its corrective action, which says how much was read with
    the kit since its last good check.
    """
    from hygiene.kinds.action import Action
    from hygiene.kinds.kits import Calibrate

    thing = Calibrate(kit=known(farm, "kit", kit), **described)  # type: ignore[arg-type]
    before = how.retried(writing, thing)
    if before is not None:
        return Calibrated(before, already=True)
    if thing.passed:
        return Calibrated(how.add(writing, thing))
    doubtful = _read_since_good(writing.record, farm, thing.kit, how.at(writing))
    made = how.add(writing, thing)
    problem = f"{thing.kit} failed its check against {thing.against}: out of use"
    if doubtful:
        problem += f"; {len(doubtful)} entries were read with it since it was good"
    action = Action(about=made.name, problem=problem, did=thing.did, concerns=thing.kit)
    return Calibrated(made, how.add(writing, action), tuple(doubtful))


def _read_since_good(
    record: Record, farm: InForce, kit: str, at: datetime
) -> list[Entry]:
    good = [check.at for check in checks_of(record, farm, kit, at) if check.passed]
    since = good[-1] if good else None
    return [
        entry
        for entry in record.mentioning(kit)
        if entry.kind in READ_WITH
        and (since is None or datetime.fromisoformat(entry.happened_at) >= since)
    ]
