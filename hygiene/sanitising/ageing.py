"""What a can of sodium hypochlorite still holds, and the chlorate that came with it.

OCl- is lost by a reaction of second order whose rate rises with temperature and with
the salt in the can: Adam and Gordon, Inorg. Chem. 1999, 38, 1299 (pH 11-13, 15-55 C,
ionic strength 1-6 mol/L, no metals, no light). The model is kind: cans in sheds lose
more, so a factor for safety is shown apart from the physics. A measured strength
replaces the model, which ages on from it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final

from hygiene.answers import Answer, figure
from hygiene.errors import WronglyPut
from hygiene.quantities import duration_min, temperature_c
from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.dilution import product_needed, strength_given
from hygiene.sanitising.doses import KEPT_UP_TO_MG_PER_L
from hygiene.sanitising.measuring import Label
from hygiene.sanitising.strength import CHLORINE, CL2_G_PER_MOL, Strength

GAS_CONSTANT_J_PER_MOL_K: Final = 8.314
SECONDS_PER_DAY: Final = 86400.0
CHLORATE_PER_CHLORINE: Final = 83.45 / 3 / CL2_G_PER_MOL
"""Grams of chlorate for each gram of available chlorine lost: 3 OCl- give 1 ClO3-."""
CHLORATE_LIMITS_MG_PER_L: Final = (0.25, 0.70)
"""(EU) 2020/2184: the limit, and the one where the disinfection makes chlorate."""
SAFETY_FACTOR: Final = 1.6
"""Printed tables are up to 35 % shorter than the model (memory): 1 / (1 - 0.35)."""
DRINKING_DOSE_MG_PER_L: Final = KEPT_UP_TO_MG_PER_L
"""Up to here (WHO) a dose stays in the water and is drunk; above, it is flushed out."""
BUY_NEW_BELOW: Final = 0.5
"""Half of the label's strength: common practice, no source."""

_SOURCE: Final = (
    "Adam and Gordon, Inorg. Chem. 1999, 38, 1299: d[OCl-]/dt = -k2 [OCl-]^2, k2 = "
    "10^(0.149 I) x 2.083e10 T exp(-101800/RT) exp(-56.5/R); chlorate by "
    "3 OCl- -> ClO3- + 2 Cl-; limits: (EU) 2020/2184"
)
_VALID: Final = (
    "Sodium hypochlorite, pH 11 to 13, 15 to 55 C, ionic strength 1 to 6 mol/L, dark, "
    "no metals. Sun, copper, nickel, iron and dirt make it lose far more. A strip or "
    "titration beats the model."
)


class CannotAge(WronglyPut):
    """A history that cannot be true, or a product that the model does not know."""

    sentence = "{why}"


@dataclass(frozen=True, slots=True)
class Kept:
    """How long at which temperature."""

    days: float
    temp_c: float


@dataclass(frozen=True, slots=True)
class Aged:
    """What the model gives: strength in g/L, and the mean rate in 1/(mol/L s)."""

    start_g_per_l: float
    strength_g_per_l: float
    rate_per_molar_second: float
    days: float

    @property
    def half_life_days(self) -> float:
        """Days in which the starting strength halves, at the mean rate."""
        return half_life_days(self.start_g_per_l, self.rate_per_molar_second)


def rate_per_molar_second(temp_c: float, ionic_mol_per_l: float) -> float:
    """Give the rate constant of the loss of OCl-, in 1/(mol/L s)."""
    kelvin = temp_c + 273.15
    enthalpy = math.exp(-101800 / (GAS_CONSTANT_J_PER_MOL_K * kelvin))
    entropy = math.exp(-56.5 / GAS_CONSTANT_J_PER_MOL_K)
    return 10 ** (0.149 * ionic_mol_per_l) * 2.083e10 * kelvin * enthalpy * entropy


def ionic_strength(fresh_g_per_l: float) -> float:
    """Estimate the ionic strength, in mol/L, from the strength when it was fresh.

    As much salt as hypochlorite, and about 0.1 mol/L of caustic. It does not fall as
    the can ages, since each OCl- leaves one Cl- or a third of a ClO3- behind.
    """
    return 2 * fresh_g_per_l / CL2_G_PER_MOL + 0.1


def half_life_days(g_per_l: float, rate: float) -> float:
    """Give the days in which ``g_per_l`` halves at ``rate`` (1/(mol/L s))."""
    return CL2_G_PER_MOL / (rate * g_per_l) / SECONDS_PER_DAY


def age(
    start_g_per_l: float,
    history: Sequence[Kept],
    *,
    fresh_g_per_l: float | None = None,
    factor: float = 1.0,
) -> Aged:
    """Age a stock through its history; ``fresh_g_per_l`` sets the salt in the can.

    ``factor`` multiplies the rate, for safety. The order of the history is of no
    account: the losses add up as rate times time.
    """
    ionic = ionic_strength(fresh_g_per_l or start_g_per_l)
    days = sum(kept.days for kept in history)
    rates = [factor * rate_per_molar_second(kept.temp_c, ionic) for kept in history]
    each = zip(rates, history, strict=True)
    exposure = sum(rate * kept.days * SECONDS_PER_DAY for rate, kept in each)
    mean = exposure / (days * SECONDS_PER_DAY) if days else rates[0]
    start_mol = start_g_per_l / CL2_G_PER_MOL
    left = start_g_per_l / (1 + start_mol * exposure)
    return Aged(start_g_per_l, left, mean, days)


def chlorate_g_per_l(fresh_g_per_l: float, strength_g_per_l: float) -> float:
    """Give the most chlorate that the loss can have made, in g/L."""
    return CHLORATE_PER_CHLORINE * max(0.0, fresh_g_per_l - strength_g_per_l)


def fraction_at_chlorate(dose_mg_per_l: float, limit_mg_per_l: float) -> float:
    """Give the fraction of strength left at which a dose brings ``limit``."""
    made = CHLORATE_PER_CHLORINE * dose_mg_per_l
    return made / (limit_mg_per_l + made)


def days_to_fraction(start_g_per_l: float, rate: float, fraction: float) -> float:
    """Give the days until ``fraction`` of the start is left, at ``rate``."""
    return half_life_days(start_g_per_l, rate) * (1 / fraction - 1)


_SPELL: Final = re.compile(r"(?P<days>.+?)\s+at\s+(?P<temp>.+)", re.IGNORECASE)


def read_history(text: str, days: float) -> tuple[Kept, ...]:
    """Read ``21 C``, or ``10 d at 21 C, 30 d at 15 C`` that adds up to ``days``."""
    parts = [part.strip() for part in re.split(r"[,;]", text) if part.strip()]
    if len(parts) == 1 and " at " not in f" {parts[0].lower()} ":
        return (_kept(days, parts[0]),)
    kept = []
    for part in parts:
        spell = _SPELL.fullmatch(part)
        if spell is None:
            why = f"{part[:40]!r} is not a spell: write it as '10 d at 21 C'"
            raise CannotAge(why=why)
        spell_days = duration_min(spell["days"]) / 1440
        kept.append(_kept(spell_days, spell["temp"]))
    covered = sum(spell.days for spell in kept)
    if not kept or abs(covered - days) > 1:
        why = f"the history covers {figure(covered)} days, but {figure(days)} passed"
        raise CannotAge(why=why, way_out="Write as many days as passed.")
    return tuple(kept)


def _kept(days: float, temp: str) -> Kept:
    celsius = temperature_c(temp)
    if not -20 <= celsius <= 60:
        why = f"{figure(celsius)} C is outside what a can is kept at: -20 to 60 C"
        raise CannotAge(why=why)
    return Kept(days, celsius)


@dataclass(frozen=True, slots=True)
class Can:
    """A can as it is known: its label, when it was made, a strength measured since."""

    labelled: Strength
    made_on: date
    measured: Strength | None = None
    measured_on: date | None = None

    def __post_init__(self) -> None:
        if self.labelled.active != CHLORINE or self.labelled.solid:
            why = "ageing is known for sodium hypochlorite only (a liquid, chlorine)"
            raise CannotAge(why=why)
        if (self.measured is None) != (self.measured_on is None):
            raise CannotAge(why="a measured strength needs its date, and the other way")
        if self.measured_on is not None and self.measured_on < self.made_on:
            raise CannotAge(why="it was measured before it was made")
        if self.measured is not None and self.measured.unit != "ml":
            raise CannotAge(why="the measured strength must be that of a liquid")

    @property
    def starts_on(self) -> date:
        """The day from which the model runs."""
        return self.measured_on or self.made_on

    @property
    def starts_g_per_l(self) -> float:
        """The strength from which it runs: measured, but never above the label."""
        labelled = self.labelled.mg_per_unit
        return min(labelled, self.measured.mg_per_unit) if self.measured else labelled

    def days_until(self, used_on: date) -> int:
        """Count the days to the day of use; refuses a use before the start."""
        days = (used_on - self.starts_on).days
        if days < 0:
            begun = "measured" if self.measured else "made"
            why = f"used on {used_on}, before it was {begun} on {self.starts_on}"
            raise CannotAge(why=why)
        return days


@dataclass(frozen=True, slots=True)
class Dose:
    """A dose that is planned with this can."""

    target_mg_per_l: float
    made_l: float | None = None
    label: Label | None = None


def strength_on(
    can: Can,
    used_on: date,
    history: Sequence[Kept],
    *,
    factor: float = SAFETY_FACTOR,
    dose: Dose | None = None,
) -> Answer:
    """Answer what the can holds on a day, its chlorate, and a dose at both ends."""
    if not 1 <= factor <= 10:
        raise CannotAge(why="the safety factor is from 1 to 10")
    days = can.days_until(used_on)
    fresh = can.labelled.mg_per_unit
    start = can.starts_g_per_l
    plain = age(start, history, fresh_g_per_l=fresh)
    careful = age(start, history, fresh_g_per_l=fresh, factor=factor)
    answer = _plain_answer(can, days, history, plain, careful, factor)
    answer = _with_renewal(answer, can, careful, dose)
    return answer if dose is None else _with_dose(answer, can, careful, dose)


def _plain_answer(
    can: Can,
    days: float,
    history: Sequence[Kept],
    plain: Aged,
    careful: Aged,
    factor: float,
) -> Answer:
    fresh = can.labelled.mg_per_unit
    made = chlorate_g_per_l(fresh, plain.strength_g_per_l)
    values: dict[str, Any] = {
        "strength_g_per_l": plain.strength_g_per_l,
        "fraction_left": plain.strength_g_per_l / fresh,
        "half_life_days": plain.half_life_days,
        "rate_per_molar_second": plain.rate_per_molar_second,
        "days": days,
        "ionic_strength_mol_per_l": ionic_strength(fresh),
        "safety_factor": factor,
        "careful_strength_g_per_l": careful.strength_g_per_l,
        "labelled_g_per_l": fresh,
        "chlorate_g_per_l": made,
        "chlorate_mg_per_mg_chlorine": made / plain.strength_g_per_l,
    }
    says = (
        f"By the model it holds {figure(plain.strength_g_per_l)} g/L of "
        f"{figure(fresh)} g/L ({plain.strength_g_per_l / fresh:.0%}), half-life "
        f"{figure(plain.half_life_days, 3)} days.",
        f"Count on {figure(careful.strength_g_per_l)} g/L (losing {figure(factor)} "
        "times as fast, for safety).",
    )
    return Answer(
        values=values,
        says=says,
        steps=_steps(can, history, plain, careful, factor),
        source=_SOURCE,
        valid=_VALID,
        warnings=_warnings(can, history),
        cautions=cautions_for(CHLORINE, "strength"),
    )


def _steps(
    can: Can, history: Sequence[Kept], plain: Aged, careful: Aged, factor: float
) -> tuple[str, ...]:
    ionic = ionic_strength(can.labelled.mg_per_unit)
    start_mol = plain.start_g_per_l / CL2_G_PER_MOL
    steps = [*can.labelled.steps, *(can.measured.steps if can.measured else ())]
    steps.append(
        f"C0 = {figure(plain.start_g_per_l)} / {CL2_G_PER_MOL} = "
        f"{figure(start_mol)} mol/L; I = 2 x "
        f"{figure(can.labelled.mg_per_unit / CL2_G_PER_MOL)} + 0.1 = {figure(ionic)}"
    )
    for kept in history:
        rate = rate_per_molar_second(kept.temp_c, ionic)
        steps.append(
            f"{figure(kept.days)} days at {figure(kept.temp_c)} C: k2 = {rate:.4g} "
            f"/(M s) x {figure(kept.days)} x 86400 s = "
            f"{rate * kept.days * SECONDS_PER_DAY:.4g} /M"
        )
    exposure = plain.rate_per_molar_second * plain.days * SECONDS_PER_DAY
    for aged, times in ((plain, 1.0), (careful, factor)):
        shown = "" if times == 1 else f"{figure(times)} x "
        steps.append(
            f"C = {figure(plain.start_g_per_l)} / (1 + {figure(start_mol)} x {shown}"
            f"{exposure:.4g}) = {figure(aged.strength_g_per_l)} g/L"
        )
    steps.append(
        f"chlorate, at most {CHLORATE_PER_CHLORINE:.4f} x "
        f"({figure(can.labelled.mg_per_unit)} - {figure(plain.strength_g_per_l)}) = "
        f"{figure(chlorate_g_per_l(can.labelled.mg_per_unit, plain.strength_g_per_l))}"
        " g/L"
    )
    return tuple(steps)


def _warnings(can: Can, history: Sequence[Kept]) -> tuple[str, ...]:
    said = [*can.labelled.warnings]
    ionic = ionic_strength(can.labelled.mg_per_unit)
    if not 1 <= ionic <= 6:
        said.append(f"Ionic strength {figure(ionic)} mol/L is outside the model's 1-6.")
    if any(not 15 <= kept.temp_c <= 55 for kept in history):
        said.append("Outside 15 to 55 C the rate is extended from the measured range.")
    measured = can.measured.mg_per_unit if can.measured else 0.0
    if measured > can.labelled.mg_per_unit:
        said.append(
            f"Measured {figure(measured)} g/L, above the label: counted as the label's "
            f"{figure(can.labelled.mg_per_unit)} g/L. Repeat the test."
        )
    return tuple(said)


def _with_renewal(answer: Answer, can: Can, careful: Aged, dose: Dose | None) -> Answer:
    fresh, start = can.labelled.mg_per_unit, can.starts_g_per_l
    reasons = {"half of its strength is gone": BUY_NEW_BELOW}
    if dose is not None and dose.target_mg_per_l <= DRINKING_DOSE_MG_PER_L:
        limit = CHLORATE_LIMITS_MG_PER_L[1]
        of_dose = fraction_at_chlorate(dose.target_mg_per_l, limit)
        why = f"{figure(dose.target_mg_per_l)} mg/L brings {limit} mg/L of chlorate"
        reasons[why] = of_dose
    why, fraction = max(reasons.items(), key=lambda item: item[1])
    until = days_to_fraction(
        start, careful.rate_per_molar_second, min(1.0, fraction * fresh / start)
    )
    # a can at 0 C outlives the calendar
    last = can.starts_on + timedelta(days=int(min(until, 3650)))
    return replace(
        answer,
        values={**answer.values, "buy_new_by": last.isoformat()},
        says=(*answer.says, f"Buy new by {last}: by then {why}, counted with safety."),
    )


def _with_dose(answer: Answer, can: Can, careful: Aged, dose: Dose) -> Answer:
    (dose.label or Label()).check(dose.target_mg_per_l)
    fresh = can.labelled.mg_per_unit
    strength = float(str(answer.values["strength_g_per_l"]))
    brought = chlorate_g_per_l(fresh, strength) / strength * dose.target_mg_per_l
    values: dict[str, Any] = {**answer.values, "chlorate_mg_per_l": brought}
    limit, own_limit = CHLORATE_LIMITS_MG_PER_L
    said = (
        f"A dose of {figure(dose.target_mg_per_l)} mg/L brings up to "
        f"{figure(brought, 3)} mg/L of chlorate (limit in drinking water {limit}, or "
        f"{own_limit:.2f} where the disinfection makes it)"
    )
    drunk = dose.target_mg_per_l <= DRINKING_DOSE_MG_PER_L
    said += "." if drunk else ": flush it out before anyone drinks."
    says = (*answer.says, said)
    findings = (
        (f"chlorate {figure(brought, 3)} mg/L is above {own_limit:.2f} mg/L",)
        if drunk and brought > own_limit
        else ()
    )
    steps = (
        *answer.steps,
        f"chlorate in the dose = {figure(chlorate_g_per_l(fresh, strength))} / "
        f"{figure(strength)} x {figure(dose.target_mg_per_l)} = "
        f"{figure(brought, 3)} mg/L",
    )
    answer = replace(answer, values=values, says=says, steps=steps, findings=findings)
    if dose.made_l is None:
        return answer
    return _with_both_ends(answer, can, careful, dose, dose.made_l)


def _with_both_ends(
    answer: Answer, can: Can, careful: Aged, dose: Dose, made_l: float
) -> Answer:
    full = can.labelled
    weak = replace(full, mg_per_unit=careful.strength_g_per_l)
    target = dose.target_mg_per_l
    for_weak = product_needed(weak, target, made_l)
    for_full = product_needed(full, target, made_l)
    high = strength_given(full, for_weak, made_l)
    low = strength_given(weak, for_full, made_l)
    values: dict[str, Any] = {
        "product_if_aged_ml": for_weak,
        "product_if_as_labelled_ml": for_full,
        "high_mg_per_l": high,
        "low_mg_per_l": low,
    }
    says = (
        f"For {figure(target)} mg/L in {figure(made_l)} L: {figure(for_weak)} ml if it "
        f"has aged so, {figure(for_full)} ml if it is still as labelled.",
        f"{figure(for_weak)} ml of a can still full gives {figure(high)} mg/L; "
        f"{figure(for_full)} ml of an aged one {figure(low)} mg/L. Strip-test first.",
    )
    steps = (
        f"aged: {figure(made_l)} x {figure(target)} / {figure(weak.mg_per_unit)} = "
        f"{figure(for_weak)} ml; as labelled: / {figure(full.mg_per_unit)} = "
        f"{figure(for_full)} ml",
        f"ends: {figure(target)} x {figure(full.mg_per_unit)} / "
        f"{figure(weak.mg_per_unit)} = {figure(high)} mg/L; the other way round "
        f"{figure(low)} mg/L",
    )
    return replace(
        answer,
        values={**answer.values, **values},
        says=(*answer.says, *says),
        steps=(*answer.steps, *steps),
        findings=(*answer.findings, *(dose.label or Label()).faults(low, high)),
    )
