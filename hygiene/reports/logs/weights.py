"""Weights and days of fodder and seed, in words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, tzinfo
from decimal import Decimal
from typing import Any

from hygiene.kinds.checks import ranges
from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.moments import moment_of


def kg(grams: Any) -> str:
    """A weight in kilograms, with as many digits as were weighed."""
    if not isinstance(grams, int):
        return "?"
    return f"{(Decimal(grams) / 1000).normalize():,f}"


def month_of(entry: Entry, zone: tzinfo) -> date:
    """The first day of the month that an entry happened in, at the farm."""
    return moment_of(entry.happened_at).astimezone(zone).date().replace(day=1)


def day_of(entry: Entry, sown: Mapping[str, Entry], zone: tzinfo) -> int | None:
    """The growing day of a batch's fodder; the day of sowing is day 0."""
    sow = sown.get(str(entry.get("batch")))
    if sow is None:
        return None
    first, last = (
        moment_of(each.happened_at).astimezone(zone).date() for each in (sow, entry)
    )
    return (last - first).days


def trays_of(entry: Entry) -> str:
    """The trays of an entry as ranges, and how many there are."""
    trays = texts_of(entry, "trays")
    many = f" ({len(trays)})" if len(trays) > 2 else ""
    return f"{ranges(sorted(trays))}{many}"
