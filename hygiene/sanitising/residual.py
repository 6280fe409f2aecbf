"""A residual over time: what a falling one earns, and how long water stays in a tank.

Read some minutes after the start, a residual falls between two readings by a constant
share a minute (first order); the product of residual and time is the area under it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from hygiene.errors import WronglyPut

CREDIT_AT_MOST_MG_PER_L: Final = 3.0
"""The table's last row; a falling residual is credited at no more than this."""

_CLOSE: Final = 1e-9


class NotAContact(WronglyPut):
    """Readings or times that cannot describe a contact."""

    sentence = "{what}"


@dataclass(frozen=True, slots=True)
class Reading:
    """A free residual read some minutes after the start."""

    minute: float
    mg_per_l: float


def credited_ct(
    readings: Sequence[Reading],
    until_minute: float | None = None,
    *,
    at_most_mg_per_l: float = CREDIT_AT_MOST_MG_PER_L,
) -> float:
    """Integrate a falling residual over time, in mg.min/L.

    Between two readings it falls (or rises) by a constant share a minute, which lies
    below the straight line. No more than ``at_most_mg_per_l`` counts at any moment; a
    span that ends at zero counts nothing. After the last reading it goes on falling
    as in the last span.
    """
    end = readings[-1].minute if until_minute is None else until_minute
    total = 0.0
    for first, last in pairwise(readings):
        minutes = min(last.minute, end) - first.minute
        if minutes > 0:
            total += _span_ct(
                first.mg_per_l, _rate(first, last), minutes, cap=at_most_mg_per_l
            )
    beyond = end - readings[-1].minute
    if beyond > 0:
        rate = max(_rate(*readings[-2:]), 0.0)
        total += _span_ct(readings[-1].mg_per_l, rate, beyond, cap=at_most_mg_per_l)
    return total


def minutes_to_reach(ct_mg_min_per_l: float, readings: Sequence[Reading]) -> float:
    """Return the minute at which ``readings`` earn that CT; infinity where never."""
    high = 1.0
    while credited_ct(readings, high) < ct_mg_min_per_l:
        high *= 2
        if high > 1e6:
            return math.inf
    low = 0.0
    for _ in range(80):
        middle = (low + high) / 2
        if credited_ct(readings, middle) < ct_mg_min_per_l:
            low = middle
        else:
            high = middle
    return high


def check_readings(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return ``readings`` when they can describe a contact.

    Raises :class:`NotAContact`: fewer than two, the first not at minute 0, times that
    do not go up, a residual below zero, nothing at the start.
    """
    if len(readings) < 2:
        raise NotAContact(what="give two readings or more: at the start and at the end")
    if not all(math.isfinite(r.minute) and math.isfinite(r.mg_per_l) for r in readings):
        raise NotAContact(what="a reading must be a plain number")
    if readings[0].minute != 0:
        raise NotAContact(what="the first reading must be at 0 min")
    times = [reading.minute for reading in readings]
    if any(later <= sooner for sooner, later in pairwise(times)):
        raise NotAContact(what="the times of the readings must go up")
    if min(reading.mg_per_l for reading in readings) < 0:
        raise NotAContact(what="a residual cannot be below zero")
    if readings[0].mg_per_l == 0:
        raise NotAContact(what="there was no residual at the start")
    return tuple(readings)


def _rate(first: Reading, last: Reading) -> float:
    """Share that is lost a minute; below zero where it rises, infinite to zero."""
    if last.mg_per_l <= 0:
        return math.inf
    if first.mg_per_l <= 0:
        return -math.inf
    return math.log(first.mg_per_l / last.mg_per_l) / (last.minute - first.minute)


def _span_ct(start: float, rate: float, minutes: float, *, cap: float) -> float:
    if math.isinf(rate) or start <= 0:
        return 0.0
    if rate < 0:  # a rise is a fall seen from its end
        start, rate = start * math.exp(-rate * minutes), -rate
    if rate * minutes < _CLOSE:
        return min(start, cap) * minutes
    capped = min(max(math.log(start / cap) / rate, 0.0), minutes)
    top = min(start, cap)
    return cap * capped + top * -math.expm1(-rate * (minutes - capped)) / rate


def t10_minutes(volume_l: float, flow_l_per_min: float, factor: float) -> float:
    """Return the minutes that nine tenths of the water stays in a tank: V/Q x factor.

    ``factor`` from memory (US EPA guidance): see :data:`BAFFLING`.
    """
    if not (volume_l > 0 and flow_l_per_min > 0):
        raise NotAContact(what="the tank and the flow must be more than zero")
    if not 0 < factor <= 1:
        raise NotAContact(what="a baffling factor lies above 0, up to 1")
    return volume_l / flow_l_per_min * factor


BAFFLING: Final = {
    "unbaffled": 0.1, "poor": 0.3, "average": 0.5, "superior": 0.7, "pipe": 1.0,
}  # fmt: skip
"""Share of the filling time that counts; from memory (US EPA guidance manual)."""
