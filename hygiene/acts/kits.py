"""Whether a kit, meter, thermometer or scale can be relied on: read from its checks."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.farm.kits import Check, checks, fault

MOST_CHECKS: Final = 60
"""Versions of checks that are read back: years of them, and the last new reagent."""

KitFault = Callable[[str, datetime], str | None]


def checks_of(record: Record, farm: InForce, kit: str, at: datetime) -> list[Check]:
    """The checks of a kit up to a moment, each by all its versions."""
    before = at + timedelta(seconds=1)
    found = record.latest("calibrate", kit, before=before, most=MOST_CHECKS)
    histories = record.histories(entry.first for entry in found)
    versions = [version for history in histories.values() for version in history]
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
