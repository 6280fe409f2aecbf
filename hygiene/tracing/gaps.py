"""A chart of sowings from one find to the next, with its geometric limits.

Weekly counts against binomial limits cry wolf whenever mould clusters; a gap counts
each cluster's start once and needs no weeks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from hygiene.tracing.outcomes import Batch, Outcome
from hygiene.tracing.statistics import Limits, geometric_limits


@dataclass(frozen=True, slots=True)
class Gap:
    """A mouldy sowing, and how many sowings after the last mouldy one it came."""

    code: str
    sown: date
    sowings: int
    outside: str = ""
    """ "soon" or "late" beyond the limits, else empty."""


@dataclass(frozen=True, slots=True)
class GapChart:
    """The gaps in order, the limits, and the sowings without mould since the last."""

    gaps: tuple[Gap, ...]
    limits: Limits | None
    since_last: int
    sentence: str


def gap_chart(known: Sequence[Batch]) -> GapChart:
    """Chart known sowings in the order in which they were sown."""
    mouldy = [n for n, b in enumerate(known) if b.outcome is Outcome.MOULD]
    if len(mouldy) < 2:
        return GapChart((), None, len(known), "Fewer than two finds: no chart.")
    steps = [later - last for last, later in pairwise(mouldy)]
    limits = geometric_limits(len(steps) / sum(steps))
    gaps = tuple(
        Gap(known[at].code, known[at].sown, step, _outside(step, limits))
        for at, step in zip(mouldy[1:], steps, strict=True)
    )
    since = len(known) - 1 - mouldy[-1]
    return GapChart(gaps, limits, since, _sentence(gaps, limits))


def _outside(step: int, limits: Limits) -> str:
    if step < limits.low:
        return "soon"
    return "late" if step > limits.high else ""


def _sentence(gaps: Sequence[Gap], limits: Limits) -> str:
    outside = sum(1 for gap in gaps if gap.outside)
    low = (
        f"{limits.low}"
        if limits.low
        else "no lower limit: at this rate one short gap says nothing"
    )
    return (
        f"Sowings from one find to the next: half are within {limits.centre}; limits "
        f"{low} and {limits.high}; {outside} of {len(gaps)} lie outside."
    )
