"""What stands in the chemical store, and what is clean: read for acts and for the day.

Nothing here imports a kind's dataclass: the page of the day reads this.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.clearance import TraysNow, law_at, trays_now
from hygiene.acts.lines import lines_not_cleared
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
"""The page of the day looks for containers that came in so long ago at most ..."""
FORGOTTEN: Final = timedelta(days=60)
"""... and whose last day lies no longer back than this; older ones are listed by
``hygiene container``."""


def ending_soon(
    record: Record, farm: InForce, now: datetime
) -> list[tuple[reading.Container, date, str]]:
    """Containers to be used or written off within two weeks: each with its last day.

    What was drawn is read only of those whose last day, by when they came and were
    opened, lies near.
    """
    on = now.astimezone(farm.zone).date()
    since = now - LONGEST_KEPT
    known = reading.read_containers(
        record.entries(["container", "opened"], since=since)
    )
    near = [held.code for held in known.values() if _near(held, farm, on)]
    exact = reading.read_containers(record.mentioning(*near)) if near else {}
    made = []
    for held in exact.values():
        product = farm.get("product", held.product)
        last = reading.last_day(held, product)
        if last is not None and reading.ends_soon(held, product, on):
            made.append((held, *last))
    return sorted(made, key=lambda row: (row[1], row[0].code))


def _near(held: reading.Container, farm: InForce, on: date) -> bool:
    last = reading.last_day(held, farm.get("product", held.product))
    return last is not None and on - FORGOTTEN <= last[0] <= on + reading.SOON


class StoreNow(NamedTuple):
    """For the page of the day: clean trays, lines that may not water, last days."""

    trays: TraysNow
    lines: Mapping[str, Clearance]
    ending: list[tuple[reading.Container, date, str]]


def store_now(
    record: Record, setup: Sequence[Entry], farm: InForce, now: datetime
) -> StoreNow:
    """What the page of the day says of trays, lines and containers."""
    law = law_at(record, setup, now, farm)
    return StoreNow(
        trays_now(record, law, now),
        lines_not_cleared(record, law, now),
        ending_soon(record, farm, now),
    )
