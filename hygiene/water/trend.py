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
from functools import cache
from itertools import combinations
from statistics import median
from typing import Any, Final, NamedTuple

from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of

WINDOW: Final = 8
"""Readings that a drift is looked for in."""
CALLED_BELOW: Final = 0.01
"""Two-sided chance below which a drift is called: at most one look in a hundred at a
steady point is wrong. At 0.05, looked at after each of 52 readings, two steady years in
three would have a false call; at 0.01 about one in five (tests/soak/drifts.py)."""
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


class Kendall(NamedTuple):
    """The Mann-Kendall statistic: S, its exact two-sided chance, and the ties."""

    n: int
    s: int
    p: float
    tied: int


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
        for row in _rows(entry)
        if row.get("parameter") == parameter
    ]
    return sorted(found, key=lambda reading: (reading.at, reading.entry))


def parameters_read(entries: Iterable[Entry]) -> list[str]:
    """The parameters that standing water entries speak of, the most read first."""
    counted = Counter(
        str(row.get("parameter"))
        for entry in entries
        if entry.kind == "water"
        for row in _rows(entry)
    )
    return [name for name, _ in counted.most_common()]


def _rows(entry: Entry) -> list[Mapping[str, Any]]:
    given = entry.get("results")
    rows = given if isinstance(given, list | tuple) else ()
    return [row for row in rows if isinstance(row, Mapping)]


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


def mann_kendall(values: Sequence[float]) -> Kendall:
    """The Mann-Kendall test of values in the order of time, exact with ties.

    S counts the pairs that rise less those that fall. Under no trend every order of
    the same values is as likely, and the number of inversions of a row with equal
    values has the Gaussian multinomial as its generating function (MacMahon 1913).
    """
    s = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    groups = tuple(sorted(Counter(values).values()))
    untied = math.comb(len(values), 2) - sum(math.comb(size, 2) for size in groups)
    counts = _inversions(groups)
    every = sum(counts)
    # S = untied pairs - 2 x inversions
    extreme = sum(
        count
        for swapped, count in enumerate(counts)
        if abs(untied - 2 * swapped) >= abs(s)
    )
    return Kendall(len(values), s, extreme / every, len(values) - len(groups))


@cache
def _inversions(groups: tuple[int, ...]) -> tuple[int, ...]:
    """How many orders of a row with equal values have 0, 1, 2 ... inversions."""
    made: tuple[int, ...] = (1,)
    placed = 0
    for size in groups:
        placed += size
        made = _times(made, _gaussian(placed, size))
    return made


@cache
def _gaussian(n: int, k: int) -> tuple[int, ...]:
    """The Gaussian binomial of n and k as a polynomial's coefficients."""
    if k in (0, n):
        return (1,)
    shifted = (0,) * k + _gaussian(n - 1, k)
    return _plus(shifted, _gaussian(n - 1, k - 1))


def _plus(one: Sequence[int], other: Sequence[int]) -> tuple[int, ...]:
    length = max(len(one), len(other))
    pad = (*one, *(0,) * (length - len(one))), (*other, *(0,) * (length - len(other)))
    return tuple(a + b for a, b in zip(*pad, strict=True))


def _times(one: Sequence[int], other: Sequence[int]) -> tuple[int, ...]:
    made = [0] * (len(one) + len(other) - 1)
    for i, a in enumerate(one):
        for j, b in enumerate(other):
            made[i + j] += a * b
    return tuple(made)


def _slope(given: Sequence[Reading]) -> float | None:
    if any(reading.value is None or reading.sign != "=" for reading in given):
        return None
    slopes = [
        (b.value - a.value) / (b.at - a.at).total_seconds()
        for a, b in combinations(given, 2)
        if a.value is not None and b.value is not None and b.at > a.at
    ]
    return median(slopes) * 30 * 86_400 if slopes else None
