"""The history of a sample point: its readings in order, and whether they drift.

A drift is called by the Mann-Kendall test (Mann 1945, Kendall 1975) over the last
eight readings, two-sided, with its exact null distribution. It fits few readings,
needs no bell curve, and takes results such as ``<1`` honestly: everything below the
highest level that a test could not see beneath counts as equal (Helsel 2012, "all
below the highest reporting limit tied", which can only make the call rarer).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from itertools import combinations
from statistics import median
from typing import Any, Final, NamedTuple

from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.moments import moment_of
from hygiene.water.kendall import Kendall, mann_kendall

WINDOW: Final = 8
"""Readings that a drift is looked for in."""
CALLED_BELOW: Final = 0.01
"""Two-sided chance below which a drift is called: at most one look in a hundred at a
steady point is wrong. At 0.05, looked at after each of 52 readings, two steady years in
three would have a false call; at 0.01 about one in five, two in five where readings
follow each other (tests/soak/drifts.py)."""
RULE: Final = (
    "Mann-Kendall test (Mann 1945, Kendall 1975), exact, two-sided, over the last "
    "eight readings"
)
SANITISER: Final = "dose"


class Reading(NamedTuple):
    """One result of one parameter at a point, as the record holds it.

    ``value`` is None where nothing but a word was written. ``trusted`` is false where
    the entry bears a mark (kit out of date, untrained).
    """

    at: datetime
    value: float | None
    sign: str
    as_written: str
    unit: str
    verdict: str | None
    trusted: bool
    entry: str

    @property
    def below(self) -> bool:
        """Whether it only says that there is less than a level."""
        return self.sign in ("<", "<=", "not detected")

    @property
    def above(self) -> bool:
        """Whether it only says that there is more than a level."""
        return self.sign in (">", ">=", "too many")


class Changed(NamedTuple):
    """The sanitiser on the point's line was another one from here on."""

    at: datetime
    was: str
    now: str
    entry: str


class Drift(NamedTuple):
    """A drift that was called: which way, since when, and by what evidence.

    ``per_30_days`` is the median slope (Theil 1950, Sen 1968), None where a reading
    within it has no number of its own.
    """

    falls: bool
    since: datetime
    until: datetime
    test: Kendall
    per_30_days: float | None


def readings(entries: Iterable[Entry], parameter: str) -> list[Reading]:
    """What standing water entries say of a parameter, in the order of the samples."""
    found = [
        _reading(entry, row)
        for entry in entries
        if entry.kind == "water"
        for row in rows_of(entry, "results")
        if row.get("parameter") == parameter
    ]
    return sorted(found, key=lambda reading: (reading.at, reading.entry))


def parameters_read(entries: Iterable[Entry]) -> list[str]:
    """The parameters that standing water entries speak of, the most read first."""
    counted = Counter(
        str(row.get("parameter"))
        for entry in entries
        if entry.kind == "water"
        for row in rows_of(entry, "results")
    )
    return [name for name, _ in counted.most_common()]


def _reading(entry: Entry, row: Mapping[str, Any]) -> Reading:
    value = row.get("value")
    return Reading(
        moment_of(entry.happened_at),
        None if value is None else float(value),
        str(row.get("sign", "=")),
        str(row.get("as_written", "")),
        str(row.get("unit") or ""),
        row.get("verdict"),
        not entry.get("marks"),
        entry.name,
    )


def sanitiser_changes(entries: Iterable[Entry]) -> list[Changed]:
    """Where the product dosed on a line was another one than at the dose before."""
    found: list[Changed] = []
    before = None
    doses = [entry for entry in entries if entry.kind == SANITISER]
    for entry in sorted(doses, key=lambda e: (moment_of(e.happened_at), e.name)):
        product = entry.get("product")
        if not isinstance(product, str):
            continue
        if before is not None and product != before:
            at = moment_of(entry.happened_at)
            found.append(Changed(at, before, product, entry.name))
        before = product
    return found


# ---- the test --------------------------------------------------------------------


def drift(history: Sequence[Reading]) -> Drift | None:
    """The drift of the last eight readings that can be relied on, or None.

    None as well where there are fewer than eight.
    """
    good = [r for r in history if r.trusted and _has_rank(r)][-WINDOW:]
    if len(good) < WINDOW:
        return None
    test = mann_kendall(ranks(good))
    if test.p >= CALLED_BELOW:
        return None
    return Drift(test.s < 0, good[0].at, good[-1].at, test, _slope(good))


def _has_rank(reading: Reading) -> bool:
    return reading.value is not None or reading.sign in ("not detected", "too many")


def ranks(given: Sequence[Reading]) -> list[float]:
    """Numbers in the order that the readings can be said to have.

    All below the highest "less than" level are equal, all above the lowest "more
    than" level as well.
    """
    lows = [r.value for r in given if r.below and r.value is not None]
    highs = [r.value for r in given if r.above and r.value is not None]
    floor = max(lows, default=-math.inf)
    roof = min(highs, default=math.inf)
    return [_rank(reading, floor, roof) for reading in given]


def _rank(reading: Reading, floor: float, roof: float) -> float:
    value = reading.value
    if reading.above and (value is None or value >= floor):
        return math.inf
    if value is None or reading.below or value < floor:
        return -math.inf
    return math.inf if value > roof else value


def _slope(given: Sequence[Reading]) -> float | None:
    if any(reading.value is None or reading.sign != "=" for reading in given):
        return None
    slopes = [
        (b.value - a.value) / (b.at - a.at).total_seconds()
        for a, b in combinations(given, 2)
        if a.value is not None and b.value is not None and b.at > a.at
    ]
    return median(slopes) * 30 * 86_400 if slopes else None


# ---- a point's trend as one value ------------------------------------------------


class Bound(NamedTuple):
    """A limit as a line: at most, or at least, so much; and who says so."""

    value: float
    most: bool
    source: str


class Trend(NamedTuple):
    """One parameter at one point: what a picture and its words are made of."""

    point: str
    place: str
    code: str
    name: str
    unit: str
    counted: bool
    history: tuple[Reading, ...]
    bounds: tuple[Bound, ...]
    changes: tuple[Changed, ...]
    drift: Drift | None

    @property
    def out(self) -> list[Reading]:
        """The readings that were out of limit."""
        return [r for r in self.history if r.verdict in ("over", "under")]


def in_words(trend: Trend) -> str:
    """The trend as a text that can stand in place of its picture."""
    history = trend.history
    if not history:
        return f"{trend.name} at {trend.point}: nothing was read."
    first, last = history[0], history[-1]
    parts = [
        f"{trend.name} at {trend.point}, {trend.place}",
        f"{_many(len(history), 'reading')} from {_day(first.at)} to {_day(last.at)}",
        f"the last one {_said(last)}",
        *_span(trend),
        *_out(trend),
        *_censored(history),
        *(f"limit {_bound(bound, trend.unit)}" for bound in trend.bounds),
        *(
            f"sanitiser changed from {c.was} to {c.now} on {_day(c.at)}"
            for c in trend.changes
        ),
    ]
    if trend.drift is not None:
        way = "falls" if trend.drift.falls else "rises"
        parts.append(f"it {way} over the last eight readings (Mann-Kendall test)")
    return "; ".join(parts) + "."


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _day(at: datetime) -> str:
    return f"{at.day} {at:%b %Y}"


def _said(reading: Reading) -> str:
    unit = "" if reading.value is None else f" {reading.unit}"
    return f"{reading.as_written}{unit if reading.as_written[-1:].isdigit() else ''}"


def _bound(bound: Bound, unit: str) -> str:
    how = "at most" if bound.most else "at least"
    return f"{bound.value:g} {unit} {how}".replace("  ", " ")


def _span(trend: Trend) -> list[str]:
    plain = [r.value for r in trend.history if r.sign == "=" and r.value is not None]
    if not plain:
        return []
    return [f"from {min(plain):g} to {max(plain):g} {trend.unit}".rstrip()]


def _out(trend: Trend) -> list[str]:
    if not trend.out:
        return ["none out of limit"] if trend.bounds else []
    days = ", ".join(f"{_said(r)} on {_day(r.at)}" for r in trend.out[-3:])
    return [f"{len(trend.out)} out of limit, the last: {days}"]


def _censored(history: Sequence[Reading]) -> list[str]:
    low, high = sum(r.below for r in history), sum(r.above for r in history)
    doubtful = sum(not r.trusted for r in history)
    return [
        *([f"{low} below what the test sees"] if low else []),
        *([f"{high} above what the test counts"] if high else []),
        *([f"{doubtful} not to be relied on (kit or training)"] if doubtful else []),
    ]
