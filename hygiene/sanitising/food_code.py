"""Food-contact sanitising by the FDA Food Code, and no-rinse ceilings by region.

The Food Code is a United States model code; elsewhere it is a benchmark and the
product's authorisation and label decide. Its temperatures are the **solution's**, not
the room's: mains water at 8-10 C fails even at 100 mg/L. Bleach is never heated to
meet a row: the label's highest temperature rules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final, Literal

from hygiene.answers import Answer, Value, figure
from hygiene.errors import WronglyPut
from hygiene.sanitising.substances import known

Sanitiser = Literal["chlorine", "iodine", "quat", "peracetic acid"]
Region = Literal["us", "uk", "eu"]

_SOURCE: Final = "FDA Food Code 4-501.114 and 4-703.11(C)"
_CLOSE: Final = 1e-9

CHLORINE_ROWS: Final = (
    # from mg/L, lowest solution temperature at pH up to 8, and at pH up to 10
    (100.0, 13.0, 13.0),
    (50.0, 24.0, 38.0),
    (25.0, 49.0, 49.0),
)


class OutOfFoodCode(WronglyPut):
    """A solution of which the Food Code does not speak."""

    sentence = "{what}"


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The strongest solution that may stay on a surface without rinsing."""

    mg_per_l: float
    source: str


CEILINGS_US: Final = {
    "chlorine": Ceiling(200.0, "21 CFR 178.1010, available chlorine"),
    "iodine": Ceiling(25.0, "21 CFR 178.1010, from memory"),
    "quat": Ceiling(200.0, "40 CFR 180.940, from memory; some blends 400"),
    "peracetic acid": Ceiling(100.0, "40 CFR 180.940, from memory; some blends 200"),
}
"""United States law only: there is no such general ceiling in the UK or the EU."""

PERACETIC_EQUIPMENT_BELOW_MG_PER_L: Final = 500.0
PERACETIC_GRAIN_AT_MOST_MG_PER_L: Final = 100.0
"""40 CFR 180.1196: on equipment, and on cereal grain."""


@dataclass(frozen=True, slots=True)
class Solution:
    """A sanitising solution as it is measured at the tray."""

    sanitiser: Sanitiser
    mg_per_l: float
    temperature_c: float
    ph: float | None = None
    hardness_mg_per_l: float | None = None

    def __post_init__(self) -> None:
        """Refuse what is no number, and a strength of nothing."""
        given = (self.mg_per_l, self.temperature_c, self.ph, self.hardness_mg_per_l)
        if not all(math.isfinite(value) for value in given if value is not None):
            raise OutOfFoodCode(what="a measured value must be a plain number")
        if self.mg_per_l <= 0:
            raise OutOfFoodCode(what="the strength must be more than zero")
        if self.ph is not None and not 0 <= self.ph <= 14:
            raise OutOfFoodCode(what=f"pH {self.ph:g} cannot be: it runs from 0 to 14")


@dataclass(slots=True)
class _Verdict:
    values: dict[str, Value] = field(default_factory=dict)
    steps: list[str] = field(default_factory=list)
    findings: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


def sanitiser_of(active: str) -> Sanitiser:
    """Return which of the Food Code's sanitisers ``active`` is.

    Raises :class:`OutOfFoodCode` where it is none of them.
    """
    traits = known(active).traits
    for trait, name in _BY_TRAIT:
        if trait in traits:
            return name
    raise OutOfFoodCode(
        what=f"the Food Code has no row for {active!r}",
        way_out="Follow the product's label. Rows: chlorine, iodine, quat.",
    )


_BY_TRAIT: Final[tuple[tuple[str, Sanitiser], ...]] = (
    ("peracid", "peracetic acid"),
    ("chlorine", "chlorine"),
    ("iodine", "iodine"),
    ("quat", "quat"),
)


def chlorine_minimum_c(mg_per_l: float, ph: float) -> float:
    """Return the lowest solution temperature for chlorine, in degrees Celsius.

    FDA Food Code 4-501.114(A): 25-49, 50-99 and 100 mg/L, pH up to 8 or up to 10.
    Raises :class:`OutOfFoodCode` below 25 mg/L and above pH 10.
    """
    if ph > 10 + _CLOSE:
        raise OutOfFoodCode(what=f"pH {ph:g} is above the Food Code's table (pH 10)")
    for least, to_ph_8, to_ph_10 in CHLORINE_ROWS:
        if mg_per_l >= least - _CLOSE:
            return to_ph_8 if ph <= 8 + _CLOSE else to_ph_10
    raise OutOfFoodCode(
        what=f"{figure(mg_per_l)} mg/L is below the Food Code's table (25 mg/L)"
    )


def contact_seconds(solution: Solution) -> float:
    """Return the shortest contact, in seconds: 10 for chlorine, 30 for the others.

    FDA Food Code 4-703.11(C); its 7 seconds for chlorine of 50 mg/L is left out, since
    no hand on a farm can tell 7 from 10.
    """
    return 10.0 if solution.sanitiser == "chlorine" else 30.0


def surface(
    solution: Solution,
    *,
    done_seconds: float | None = None,
    region: Region | None = None,
) -> Answer:
    """Hold a solution against the Food Code's row and the region's no-rinse ceiling."""
    made = _Verdict()
    _ROWS[solution.sanitiser](solution, made)
    _time(solution, done_seconds, made)
    _rinse(solution, region, made)
    says = "It meets the row." if not made.findings else "It does not meet the row."
    if solution.sanitiser == "peracetic acid":
        says = "The Food Code has no row for peracetic acid: the label decides."
    return Answer(
        values={"meets": not made.findings, **made.values},
        says=(says,),
        steps=tuple(made.steps),
        source=f"{_SOURCE}; {made.values['ceiling_source']}",
        valid="A United States model code, for clean hard surfaces. Temperatures are"
        " the solution's, not the room's. The label governs, and rules how warm bleach"
        " may be: never heat it.",
        warnings=tuple(made.warnings),
        findings=tuple(made.findings),
    )


def _chlorine(solution: Solution, made: _Verdict) -> None:
    if solution.ph is None:
        raise OutOfFoodCode(
            what="the row for chlorine needs the solution's pH", way_out="Add --ph 7.5"
        )
    least = chlorine_minimum_c(solution.mg_per_l, solution.ph)
    made.steps.append(
        f"Chlorine {figure(solution.mg_per_l)} mg/L at pH {solution.ph:g}: the solution"
        f" must be {least:g} C or warmer; it is {figure(solution.temperature_c)} C"
    )
    _warm_enough(solution, least, made)


def _iodine(solution: Solution, made: _Verdict) -> None:
    made.steps.append("Iodine: 12.5 to 25 mg/L, 20 C or warmer, pH 5 or less")
    if not 12.5 - _CLOSE <= solution.mg_per_l <= 25 + _CLOSE:
        made.findings.append(
            f"{figure(solution.mg_per_l)} mg/L is outside 12.5 to 25 mg/L"
        )
    if solution.ph is None:
        made.warnings.append("pH not given: it must be 5 or less, or as the label says")
    elif solution.ph > 5 + _CLOSE:
        made.findings.append(f"pH {solution.ph:g} is above 5, unless the label allows")
    _warm_enough(solution, 20.0, made)


def _quat(solution: Solution, made: _Verdict) -> None:
    made.steps.append(
        "Quat: the label's strength, 24 C or warmer, hardness up to 500 mg/L"
    )
    hardness = solution.hardness_mg_per_l
    if hardness is None:
        made.warnings.append("Hardness not given: up to 500 mg/L, or as the label says")
    elif hardness > 500 + _CLOSE:
        made.findings.append(f"hardness {figure(hardness)} mg/L is above 500")
    _warm_enough(solution, 24.0, made)


def _peracetic(solution: Solution, made: _Verdict) -> None:
    made.steps.append("Peracetic acid: on equipment below 500 mg/L (40 CFR 180.1196)")
    made.values["least_solution_c"] = None
    if solution.mg_per_l >= PERACETIC_EQUIPMENT_BELOW_MG_PER_L:
        made.findings.append(f"{figure(solution.mg_per_l)} mg/L is not below 500")


_ROWS: Final = {
    "chlorine": _chlorine,
    "iodine": _iodine,
    "quat": _quat,
    "peracetic acid": _peracetic,
}


def _warm_enough(solution: Solution, least_c: float, made: _Verdict) -> None:
    made.values["least_solution_c"] = least_c
    if solution.temperature_c < least_c - _CLOSE:
        made.findings.append(
            f"the solution is {figure(solution.temperature_c)} C; this strength needs"
            f" {least_c:g} C"
        )
        if solution.sanitiser == "chlorine":
            made.warnings.append(
                "Do not heat bleach or pour it into hot water: a stronger solution, a"
                " lower pH or the label's own cold-water direction is the way."
            )


def _time(solution: Solution, done_seconds: float | None, made: _Verdict) -> None:
    least = contact_seconds(solution)
    made.values["least_seconds"] = least
    made.steps.append(
        f"Contact: {least:g} s or more, and what the label says if longer"
    )
    if done_seconds is not None and done_seconds < least - _CLOSE:
        made.findings.append(f"{figure(done_seconds)} s is shorter than {least:g} s")


def _rinse(solution: Solution, region: Region | None, made: _Verdict) -> None:
    ceiling = CEILINGS_US[solution.sanitiser] if region == "us" else None
    made.values["no_rinse_up_to_mg_per_l"] = ceiling.mg_per_l if ceiling else None
    made.values["ceiling_source"] = ceiling.source if ceiling else "the product's label"
    if ceiling is None:
        where = "" if region is None else f" in the {region.upper()}"
        made.values["rinse"] = "as the label says; mostly yes"
        made.warnings.append(
            f"No general no-rinse ceiling{where}: the authorisation and the label"
            " decide, mostly: rinse. (Ceilings are United States law: --region us.)"
        )
    elif solution.mg_per_l > ceiling.mg_per_l + _CLOSE:
        made.values["rinse"] = "yes"
        made.warnings.append(
            f"Above {ceiling.mg_per_l:g} mg/L: rinse with clean water before feed"
            f" touches it ({ceiling.source})."
        )
    else:
        made.values["rinse"] = "not by law; drain well"
