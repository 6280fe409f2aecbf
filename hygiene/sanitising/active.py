"""Which share of free chlorine is the strong form, HOCl, and what pH costs.

HOCl <-> H+ + OCl-, pKa = 3000/T - 10.0686 + 0.0253 T (T in K): Morris, J. Phys. Chem.
1966, 70, 3798 (from memory; a textbook's 7.54 at 25 C agrees).
"""

from __future__ import annotations

import math
from typing import Final

from hygiene.answers import Answer, figure
from hygiene.errors import WronglyPut
from hygiene.sanitising.cautions import cautions_for

PH_RANGE: Final = (4.0, 14.0)
TEMPERATURE_RANGE_C: Final = (0.0, 40.0)
SALTY_MOL_PER_L: Final = 0.01
"""Ionic strength of fairly hard, salty water, for the second figure."""

_SOURCE: Final = (
    "Morris, J. Phys. Chem. 1966, 70, 3798 (from memory): "
    "pKa = 3000/T - 10.0686 + 0.0253 T; HOCl = 1 / (1 + 10^(pH - pKa))"
)
_VALID: Final = (
    "pH 4 to 14, 0 to 40 C, water with few salts. Not with cyanuric acid (NaDCC, "
    "trichlor, stabilised pool chlorine), not below pH 4 (chlorine gas). It says "
    "nothing of soil, time or mould spores."
)


class OutOfRange(WronglyPut):
    """Water in which the share of HOCl does not follow from pH and temperature."""

    sentence = "{why}"


def pka_hocl(temp_c: float) -> float:
    """Give the pKa of hypochlorous acid in pure water at this temperature."""
    kelvin = temp_c + 273.15
    return 3000 / kelvin - 10.0686 + 0.0253 * kelvin


def hocl_share(ph: float, temp_c: float, *, ionic_mol_per_l: float = 0.0) -> float:
    """Give the share of free chlorine that is HOCl, from 0 to 1.

    ``ionic_mol_per_l`` lowers the pKa by the activity of OCl- (Davies, up to 0.5).
    """
    root = math.sqrt(ionic_mol_per_l)
    activity = -0.509 * (root / (1 + root) - 0.3 * ionic_mol_per_l)
    return 1 / (1 + 10 ** (ph - pka_hocl(temp_c) - activity))


def active_chlorine(
    ph: float,
    temp_c: float,
    *,
    free_mg_per_l: float | None = None,
    cyanurate: bool = False,
) -> Answer:
    """Answer the share of HOCl, and what this pH costs against pH 7.

    Raises :class:`OutOfRange` below pH 4, outside 0 to 40 C, and with cyanuric acid.
    """
    _in_range(ph, temp_c, cyanurate)
    pka, share = pka_hocl(temp_c), hocl_share(ph, temp_c)
    salty = hocl_share(ph, temp_c, ionic_mol_per_l=SALTY_MOL_PER_L)
    against = hocl_share(7.0, temp_c) / share
    hocl = None if free_mg_per_l is None else free_mg_per_l * share
    kelvin = temp_c + 273.15
    steps = [
        f"T = {figure(temp_c)} + 273.15 = {kelvin:.2f} K",
        f"pKa = 3000 / {kelvin:.2f} - 10.0686 + 0.0253 x {kelvin:.2f} = {pka:.3f}",
        f"HOCl = 1 / (1 + 10^({figure(ph)} - {pka:.3f})) = {share:.2%}",
    ]
    says = [f"At pH {figure(ph)} and {figure(temp_c)} C {share:.1%} of the free "
            "chlorine is HOCl, the strong form."]  # fmt: skip
    if hocl is not None and free_mg_per_l is not None:
        steps.append(
            f"{figure(free_mg_per_l)} mg/L x {share:.4f} = {figure(hocl)} mg/L"
        )
        says.append(f"Of {figure(free_mg_per_l)} mg/L free, {figure(hocl)} mg/L works "
                    "as HOCl (counted as chlorine).")  # fmt: skip
    says.append(_cost(ph, against))
    return Answer(
        values={
            "hocl_percent": 100 * share,
            "hocl_mg_per_l": hocl,
            "pka": pka,
            "hocl_percent_in_salty_water": 100 * salty,
            "times_the_dose_of_ph_7": against,
        },
        says=tuple(says),
        steps=tuple(steps),
        source=_SOURCE,
        valid=_VALID,
        warnings=_warnings(ph, salty),
        cautions=cautions_for("chlorine", "active"),
    )


def _in_range(ph: float, temp_c: float, cyanurate: bool) -> None:
    if cyanurate:
        raise OutOfRange(
            why="with cyanuric acid (NaDCC, trichlor, stabilised chlorine) pH and "
            "temperature do not give the share of HOCl: it is far lower"
        )
    if ph < PH_RANGE[0]:
        raise OutOfRange(
            why=f"pH {figure(ph)} is below 4: chlorine gas comes off, do not acidify it"
        )
    if ph > PH_RANGE[1]:
        raise OutOfRange(why=f"pH {figure(ph)} is above 14: check the reading")
    low, high = TEMPERATURE_RANGE_C
    if not low <= temp_c <= high:
        raise OutOfRange(
            why=f"{figure(temp_c)} C is outside {figure(low)} to {figure(high)} C, "
            "where the pKa is known"
        )


def _cost(ph: float, against: float) -> str:
    if ph <= 7:
        return "Lower pH gains little more; below 6 it corrodes, below 4 it gasses."
    return f"The same HOCl as at pH 7 would take {figure(against, 3)} times the dose."


def _warnings(ph: float, salty: float) -> tuple[str, ...]:
    said = [f"In salty water (10 mmol/L) it is {salty:.1%}."]
    if ph < 5:
        said.append("Below pH 5 some of it is dissolved chlorine gas: ventilate.")
    return tuple(said)
