"""What stands in the chemical store, and what is clean: read for acts and for the day.

Nothing here imports a kind's dataclass: the page of the day reads this.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.clearance import TraysNow, lines_not_cleared, trays_now
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry
from hygiene.sanitising import containers as reading
from hygiene.sanitising.clearance import Clearance


def container_of(record: Record, code: str) -> reading.Container | None:
    """A container as it stands; None where its own entry was struck."""
    return reading.read_containers(record.mentioning(code)).get(code)


def containers_since(
    record: Record, since: datetime | None
) -> dict[str, reading.Container]:
    """The containers that came in since a moment, as they stand now."""
    came = record.entries(["container"], since=since)
    codes = sorted({str(entry.get("container")) for entry in came})
    found = record.mentioning(*codes) if codes else []
    return reading.read_containers(found)


LONGEST_KEPT: Final = timedelta(days=3 * 366)
"""The page of the day looks for containers that came in so long ago at most."""


def ending_soon(
    record: Record, farm: InForce, now: datetime
) -> list[tuple[reading.Container, date, str]]:
    """Containers to be used or written off within two weeks: each with its last day."""
    on = now.astimezone(farm.zone).date()
    made = []
    for held in containers_since(record, now - LONGEST_KEPT).values():
        product = farm.get("product", held.product)
        last = reading.last_day(held, product)
        if last is not None and reading.ends_soon(held, product, on):
            made.append((held, *last))
    return sorted(made, key=lambda row: (row[1], row[0].code))


class StoreNow(NamedTuple):
    """For the page of the day: clean trays, lines that may not water, last days."""

    trays: TraysNow
    lines: Mapping[str, Clearance]
    ending: list[tuple[reading.Container, date, str]]


def store_now(
    record: Record, setup: Sequence[Entry], farm: InForce, now: datetime
) -> StoreNow:
    """What the page of the day says of trays, lines and containers."""
    return StoreNow(
        trays_now(record, setup, now),
        lines_not_cleared(record, setup, now),
        ending_soon(record, farm, now),
    )
