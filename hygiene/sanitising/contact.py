"""How long a residual must stand in clear water, and whether it stood long enough.

CT is residual (mg/L) times minutes. The tables are for Giardia cysts and viruses in
clear water and say nothing of mould spores, biofilm or surfaces: there the product's
label time rules, see :func:`label_time`.

Look-up is the careful one of the publisher: temperature down to the next column, pH
up, residual up. Where the table has no value the request is refused.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from hygiene.answers import Answer, figure
from hygiene.errors import WronglyPut
from hygiene.sanitising import ct_tables as tables
from hygiene.sanitising.residual import (
    CREDIT_AT_MOST_MG_PER_L,
    NotAContact,
    Reading,
    check_readings,
    credited_ct,
    minutes_to_reach,
)

Organism = Literal["giardia", "virus"]
Agent = Literal["chlorine", "chlorine-dioxide"]

HIGHEST_RESIDUAL_MG_PER_L: Final = 4.0
"""The regression's range (from memory), and the US limit for chlorine in mains."""

CLEAR_WATER: Final = (
    "For Giardia and viruses in clear water. Not for mould spores, biofilm or"
    " surfaces: there the label's time rules."
)
_SOURCE: Final = "40 CFR 141.74(b); EPA 815-R-20-003 (2020) appendix B"
_REGRESSION: Final = "Smith, Clark, Pierce, Regli 1995"
_CLOSE: Final = 1e-9


class OutOfTable(WronglyPut):
    """A value for which the published tables have no answer."""

    sentence = "{what}"


@dataclass(frozen=True, slots=True)
class Required:
    """The CT that is asked for, and the cells of the table that say so."""

    ct_mg_min_per_l: float
    steps: tuple[str, ...]
    warnings: tuple[str, ...]
    source: str = _SOURCE


@dataclass(frozen=True, slots=True)
class Water:
    """The water that is treated: pH and temperature, as measured."""

    ph: float
    temperature_c: float


# ---- what is required ------------------------------------------------------------


def giardia_cell(residual_mg_per_l: float, ph: float, temperature_c: float) -> int:
    """Look up the 3-log Giardia CT for free chlorine, residual up to 3 mg/L."""
    row = _up(tables.RESIDUALS_MG_PER_L, residual_mg_per_l)
    column = _up(tables.PH, ph)
    at = _down(tables.TEMPERATURES_C, temperature_c)
    return tables.GIARDIA_CHLORINE[at][row][column]


def giardia_regression(
    residual_mg_per_l: float, ph: float, temperature_c: float, log: float = 3.0
) -> float:
    """Return the Giardia CT for free chlorine by regression, in mg.min/L.

    Smith, Clark, Pierce, Regli 1995; pH 6-9, up to 4 mg/L, 0.5-25 C (range from
    memory). It steps down at 12.5 C, so it is never used below 3 mg/L here.
    """
    if temperature_c < 12.5:
        power = 2.46 - 0.073 * temperature_c + 0.125 * residual_mg_per_l + 0.389 * ph
        return 0.353 * log * (12.006 + math.exp(power))
    power = 2.69 - 0.065 * temperature_c + 0.111 * residual_mg_per_l + 0.361 * ph
    return 0.361 * log * (-2.261 + math.exp(power))


def required(
    against: Organism,
    agent: Agent,
    log: float,
    residual_mg_per_l: float,
    water: Water,
) -> Required:
    """Return the CT that is needed, by the published tables.

    Raises :class:`OutOfTable`: pH outside 6-9, colder than the table, residual above
    4 mg/L, more log than is tabulated. Above 25 C counts as 25 C, and says so.
    """
    _check(against, agent, log, residual_mg_per_l, water)
    warm, warnings = _counted_temperature(water.temperature_c)
    if against == "giardia" and agent == "chlorine":
        found = _giardia_chlorine(log, residual_mg_per_l, water.ph, warm)
    elif against == "giardia":
        found = _giardia_dioxide(log, warm)
    else:
        found = _virus(agent, log, warm)
    return Required(
        found.ct_mg_min_per_l,
        found.steps,
        (*warnings, *found.warnings),
        found.source,
    )


def _giardia_chlorine(log: float, residual: float, ph: float, warm: float) -> Required:
    capped = min(residual, CREDIT_AT_MOST_MG_PER_L)
    cell = giardia_cell(capped, ph, warm)
    column = tables.TEMPERATURES_C[_down(tables.TEMPERATURES_C, warm)]
    steps = [
        f"Table, 3-log Giardia by chlorine: {column:g} C,"
        f" pH {tables.PH[_up(tables.PH, ph)]:g},"
        f" {tables.RESIDUALS_MG_PER_L[_up(tables.RESIDUALS_MG_PER_L, capped)]:g} mg/L"
        f" row: CT = {cell}"
    ]
    ct3, source = float(cell), f"{_SOURCE}, tables 1.1-1.6"
    if residual > CREDIT_AT_MOST_MG_PER_L + _CLOSE:
        by_formula = giardia_regression(residual, ph, warm)
        ct3 = max(ct3, by_formula)
        steps.append(
            f"Above 3 mg/L: the higher of that and the regression, {figure(by_formula)}"
        )
        source += f"; {_REGRESSION}"
    return _partial(ct3, log, steps, source)


def _giardia_dioxide(log: float, warm: float) -> Required:
    at = _down(tables.DIOXIDE_TEMPERATURES_C, warm)
    ct3 = tables.GIARDIA_DIOXIDE[at]
    step = (
        "Table, 3-log Giardia by chlorine dioxide:"
        f" {tables.DIOXIDE_TEMPERATURES_C[at]:g} C: CT = {ct3:g}"
    )
    return _partial(ct3, log, [step], f"{_SOURCE}, table 2.1")


def _partial(ct3: float, log: float, steps: list[str], source: str) -> Required:
    if log == 3:
        return Required(ct3, tuple(steps), (), source)
    steps.append(
        f"For {log:g}-log: {figure(ct3)} x {log:g} / 3 = {figure(ct3 * log / 3)}"
    )
    return Required(ct3 * log / 3, tuple(steps), (), source)


def _virus(agent: Agent, log: float, warm: float) -> Required:
    dioxide = agent == "chlorine-dioxide"
    rows = tables.VIRUS_DIOXIDE if dioxide else tables.VIRUS_CHLORINE
    grid = tables.DIOXIDE_TEMPERATURES_C if dioxide else tables.TEMPERATURES_C
    row = next(whole for whole in rows if whole >= log - _CLOSE)
    at = _down(grid, warm)
    step = (
        f"Table, {row}-log viruses by {agent.replace('-', ' ')}, pH 6 to 9:"
        f" {grid[at]:g} C: CT = {rows[row][at]:g}"
    )
    warnings: tuple[str, ...] = ()
    if abs(row - log) > _CLOSE:
        warnings = (f"{log:g}-log is not tabulated: the {row}-log value stands.",)
    if dioxide and row < 4:
        warnings += ("The 2-log and 3-log chlorine dioxide rows are from memory.",)
    number = "EPA guidance table" if dioxide else "virus table"
    return Required(rows[row][at], (step,), warnings, f"{_SOURCE}, {number}")


def _check(
    against: Organism, agent: Agent, log: float, residual: float, water: Water
) -> None:
    coldest = tables.DIOXIDE_TEMPERATURES_C if agent != "chlorine" else (0.5,)
    most = 3 if against == "giardia" else 4
    for value, name in (
        (log, "log"),
        (residual, "free residual"),
        (water.ph, "pH"),
        (water.temperature_c, "temperature"),
    ):
        if not math.isfinite(value):
            raise OutOfTable(what=f"the {name} must be a plain number")
    if not 0 < log <= most:
        raise OutOfTable(what=f"{log:g}-log is not in the table: above 0, up to {most}")
    if residual <= 0:
        raise OutOfTable(what="the free residual must be more than zero")
    if residual > HIGHEST_RESIDUAL_MG_PER_L + _CLOSE:
        raise OutOfTable(
            what=f"{figure(residual)} mg/L is above 4: a shock dose earns no CT credit",
            way_out="Measure below 4 mg/L, or give --readings: at most 3 mg/L counts.",
        )
    if not 6 - _CLOSE <= water.ph <= 9 + _CLOSE:
        raise OutOfTable(what=f"pH {water.ph:g} is out of the table (pH 6 to 9)")
    if water.temperature_c < coldest[0] - _CLOSE:
        raise OutOfTable(
            what=f"{figure(water.temperature_c)} C is below the table,"
            f" which starts at {coldest[0]:g} C"
        )


def _counted_temperature(temperature_c: float) -> tuple[float, tuple[str, ...]]:
    if temperature_c <= 25:
        return temperature_c, ()
    return 25.0, (f"{figure(temperature_c)} C counts as 25 C: the table ends there.",)


def _up(grid: Sequence[float], value: float) -> int:
    return bisect_left(grid, value - _CLOSE)


def _down(grid: Sequence[float], value: float) -> int:
    return bisect_right(grid, value + _CLOSE) - 1


# ---- worked answers --------------------------------------------------------------


def contact(
    against: Organism,
    agent: Agent,
    log: float,
    residual_mg_per_l: float,
    water: Water,
    *,
    done_min: float | None = None,
) -> Answer:
    """Work out the CT and the minutes for a steady residual, and compare with done."""
    need = required(against, agent, log, residual_mg_per_l, water)
    minutes = need.ct_mg_min_per_l / residual_mg_per_l
    values: dict[str, float | str | bool] = {
        "ct_mg_min_per_l": need.ct_mg_min_per_l,
        "minutes": minutes,
        "against": against,
        "with": agent,
        "log": log,
    }
    steps = [
        *need.steps,
        f"Minutes: {figure(need.ct_mg_min_per_l)} / {figure(residual_mg_per_l)}"
        f" = {figure(minutes)} min",
    ]
    says = [f"Hold {figure(residual_mg_per_l)} mg/L for {_rounded_up(minutes)} min."]
    findings: tuple[str, ...] = ()
    if done_min is not None:
        done = residual_mg_per_l * done_min
        steps.append(
            f"Done: {figure(residual_mg_per_l)} x {figure(done_min)} = {figure(done)}"
        )
        more, findings = _compared(done, need.ct_mg_min_per_l, log, against)
        values |= more
        says.append(_verdict(findings))
    return Answer(
        values=values,
        says=tuple(says),
        steps=tuple(steps),
        source=need.source,
        valid=CLEAR_WATER,
        warnings=need.warnings,
        findings=findings,
    )


def falling_contact(
    against: Organism,
    agent: Agent,
    log: float,
    readings: Sequence[Reading],
    water: Water,
) -> Answer:
    """Work out the CT that a falling residual earned, and compare it with the table.

    The table's row is that of the highest residual that is credited.
    """
    readings = check_readings(readings)
    start = max(reading.mg_per_l for reading in readings)
    credited = min(start, CREDIT_AT_MOST_MG_PER_L)
    need = required(against, agent, log, credited, water)
    done = credited_ct(readings)
    reached = minutes_to_reach(need.ct_mg_min_per_l, readings)
    more, findings = _compared(done, need.ct_mg_min_per_l, log, against)
    warnings = list(need.warnings)
    if start > credited:
        warnings.append("Above 3 mg/L counts as 3 mg/L: a shock dose earns no more.")
    if math.isinf(reached):
        warnings.append("It falls too fast: it never gets there at this rate.")
    return Answer(
        values={
            "ct_mg_min_per_l": need.ct_mg_min_per_l,
            "minutes": None if math.isinf(reached) else reached,
            "against": against,
            "with": agent,
            "log": log,
            **more,
        },
        says=(
            f"Earned {figure(done, 3)} of {figure(need.ct_mg_min_per_l, 3)} mg.min/L.",
            _verdict(findings),
        ),
        steps=(*need.steps, *_falling_steps(readings, done)),
        source=need.source,
        valid=CLEAR_WATER,
        warnings=tuple(warnings),
        findings=findings,
    )


def _falling_steps(readings: Sequence[Reading], done: float) -> list[str]:
    rule = "Each span: (start - end) x minutes / ln(start / end), at most 3 mg/L"
    spans = [
        f"{figure(first.minute)} to {figure(last.minute)} min, {figure(first.mg_per_l)}"
        f" to {figure(last.mg_per_l)} mg/L:"
        f" {figure(credited_ct((first, last)))}"
        for first, last in pairwise(readings)
    ]
    return [rule, *spans, f"In all: {figure(done)} mg.min/L"]


def _compared(
    done: float, need: float, log: float, against: Organism
) -> tuple[dict[str, float | str | bool], tuple[str, ...]]:
    enough = done >= need - _CLOSE
    values: dict[str, float | str | bool] = {
        "done_ct_mg_min_per_l": done,
        "enough": enough,
    }
    if against == "giardia":
        values["log_done"] = min(log * done / need, 3.0)
    if enough:
        return values, ()
    short = f"CT {figure(done)} of {figure(need)} mg.min/L: too short or too weak"
    return values, (short,)


def _rounded_up(minutes: float) -> str:
    """A time to wait is never rounded down."""
    if minutes >= 100:
        return f"{math.ceil(minutes - _CLOSE)}"
    return f"{math.ceil(minutes * 10 - _CLOSE) / 10:g}"


def _verdict(findings: tuple[str, ...]) -> str:
    return "Not enough: hold it longer." if findings else "That is enough."


def label_time(needed_min: float, done_min: float) -> Answer:
    """Compare the contact time that was kept with the label's."""
    if not (needed_min > 0 and done_min > 0):
        raise NotAContact(what="both times must be more than zero")
    short = needed_min - done_min
    findings: tuple[str, ...] = ()
    says = f"Kept wet {figure(done_min)} min; the label asks {figure(needed_min)} min."
    if short > _CLOSE:
        findings = (f"{figure(short)} min short of the label's contact time",)
    return Answer(
        values={
            "label_minutes": needed_min,
            "done_minutes": done_min,
            "short_minutes": max(short, 0.0),
            "enough": not findings,
        },
        says=(says, "Do it again, whole." if findings else "That is enough."),
        steps=(
            f"{figure(needed_min)} - {figure(done_min)} = {figure(short)} min short"
            if findings
            else f"{figure(done_min)} is not less than {figure(needed_min)}",
        ),
        source="the product's label",
        valid="The label's time counts for a clean surface that stays wet throughout.",
        findings=findings,
    )
