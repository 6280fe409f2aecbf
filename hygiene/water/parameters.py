"""What is measured in water: names, units, and a result read with its unit.

A result keeps the text as it was written. Beside it stands its number in the one unit
of its parameter, so that limits and trends compare like with like: nitrate is counted
as NO3, and "10 mg/L as N" is 44.3 of it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from difflib import get_close_matches
from typing import Final, NamedTuple

from hygiene.errors import Unknown, WronglyPut
from hygiene.water.results import Result, read_result

_D = Decimal

MG: Final = {
    "mg/l": _D(1), "ppm": _D(1), "g/m3": _D(1), "g/l": _D(1000),
    "ug/l": _D("0.001"), "ppb": _D("0.001"),
}  # fmt: skip
UG: Final = {unit: factor * 1000 for unit, factor in MG.items()}
_AS_N: Final = {
    "nitrate": _D("4.4268"),
    "nitrite": _D("3.2845"),
    "ammonium": _D("1.2878"),
}
"""The ion's molar mass over that of nitrogen (62.005, 46.006 and 18.039 / 14.007)."""
_N: Final = ("mg/lasn", "mg/ln", "mg/lno3-n", "mg/lno2-n", "mg/lnh4-n", "mg/l-n")
CONDUCTIVITY: Final = {
    "us/cm": _D(1), "ms/cm": _D(1000), "ms/m": _D(10), "ds/m": _D(1000),
}  # fmt: skip


class UnknownParameter(Unknown):
    """A name that is no parameter of water."""

    sentence = "there is no water parameter {given!r}"


class WrongUnit(WronglyPut):
    """A unit that the parameter is not measured in."""

    sentence = "{parameter}: {unit!r} is no unit of it; write it in {wanted}"


class CannotBeInWater(WronglyPut):
    """A number that water cannot show."""

    sentence = "{parameter}: {given} cannot be; it lies from {low} to {high} {unit}"


class Parameter(NamedTuple):
    """One parameter: its code, its name in words, and its unit.

    ``units`` are the other units that it may be written in, with their factors.
    ``counted`` is for whole organisms; ``per_ml`` is the volume that a count is of.
    """

    code: str
    name: str
    unit: str
    units: Mapping[str, Decimal]
    low: Decimal = _D(0)
    high: Decimal = _D(1_000_000)
    counted: bool = False
    per_ml: Decimal = _D(100)
    also: tuple[str, ...] = ()


class Read(NamedTuple):
    """A result of one parameter, in the parameter's own unit."""

    parameter: Parameter
    result: Result

    @property
    def shown(self) -> str:
        """The result as written, and beside it in our unit where that is another."""
        value, written = self.result.value, self.result.as_written
        bare = _bare_unit(_tail(written))
        if value is None or bare in ("", _bare_unit(self.parameter.unit)):
            return written
        if self.parameter.units.get(bare) == 1:
            return written
        return f"{written} ({value:f} {self.parameter.unit})"

    @property
    def said(self) -> str:
        """What was found, in words: ``E. coli <1 per 100 ml``."""
        name, unit = self.parameter.name, self.parameter.unit
        written = self.result.as_written
        if self.result.value is None or _tail(written) or unit == name:
            return f"{name} {written}"
        return f"{name} {written} {unit}"


def _counts(code: str, name: str, *also: str) -> Parameter:
    units = {"/100ml": _D(1), "/0.1l": _D(1)}
    return Parameter(
        code, name, "per 100 ml", units, high=_D(10**12), counted=True, also=also
    )


def _colonies(code: str, name: str, *also: str) -> Parameter:
    units = {"/ml": _D(1)}
    return Parameter(
        code, name, "per ml", units, high=_D(10**12), counted=True,
        per_ml=_D(1), also=also,
    )  # fmt: skip


def _mg(
    code: str, name: str, *also: str, units: Mapping[str, Decimal] = MG
) -> Parameter:
    as_n = dict.fromkeys(_N, _AS_N[code]) if code in _AS_N else {}
    return Parameter(code, name, "mg/L", {**units, **as_n}, also=also)


def _ug(code: str, name: str, *also: str) -> Parameter:
    return Parameter(code, name, "ug/L", UG, also=also)


PARAMETERS: Final = (
    _mg("free", "free chlorine", "fc", "free-chlorine"),
    _mg("total", "total chlorine", "tc", "total-chlorine"),
    Parameter("ph", "pH", "pH", {"": _D(1), "units": _D(1)}, high=_D(14)),
    Parameter("temp", "temperature", "C", {"degc": _D(1)}, high=_D(100),
              also=("temperature", "t")),
    Parameter("turbidity", "turbidity", "NTU", {"fnu": _D(1), "ftu": _D(1)},
              also=("ntu",)),
    Parameter("orp", "redox potential", "mV", {}, high=_D(2000), also=("redox",)),
    Parameter("conductivity", "conductivity", "uS/cm", CONDUCTIVITY, also=("ec",)),
    _mg("paa", "peracetic acid", "peracetic"),
    _counts("ecoli", "E. coli", "e.coli", "e-coli"),
    _counts("coliforms", "coliform bacteria", "coliform", "total-coliforms"),
    _counts("enterococci", "enterococci", "enterococcus"),
    _counts("bacteria", "total bacteria", "total-bacteria"),
    _colonies("colonies22", "colony count at 22 C", "tvc22"),
    _colonies("colonies37", "colony count at 37 C", "tvc37", "colonies36"),
    Parameter("legionella", "Legionella", "per L", {"/l": _D(1), "/1000ml": _D(1)},
              high=_D(10**12), counted=True, per_ml=_D(1000)),
    _mg("nitrate", "nitrate (as NO3)", "no3"),
    _mg("nitrite", "nitrite (as NO2)", "no2"),
    _mg("ammonium", "ammonium (as NH4)", "nh4"),
    _mg("chlorate", "chlorate"),
    _mg("chlorite", "chlorite"),
    _ug("bromate", "bromate"),
    _ug("thm", "trihalomethanes, total", "trihalomethanes"),
    _mg("chloride", "chloride"),
    _mg("sulfate", "sulfate", "sulphate"),
    _mg("sodium", "sodium"),
    _mg("boron", "boron"),
    _mg("fluoride", "fluoride"),
    _mg("copper", "copper"),
    _ug("iron", "iron"),
    _ug("manganese", "manganese"),
    _ug("lead", "lead"),
    _ug("arsenic", "arsenic"),
    _mg("tds", "dissolved solids, total"),
    _mg("hardness", "hardness (as CaCO3)",
        units={**MG, "mg/lcaco3": _D(1), "dh": _D("17.848"), "fh": _D(10)}),
)  # fmt: skip
BY_CODE: Final = {parameter.code: parameter for parameter in PARAMETERS}


def _plain(name: str) -> str:
    return name.strip().lower().replace(" ", "-")


_BY_NAME: Final = {
    name: parameter
    for parameter in PARAMETERS
    for name in (_plain(parameter.name), parameter.code, *parameter.also)
}


def parameter_of(name: str) -> Parameter:
    """The parameter of that code or name, in any case; ``UnknownParameter``."""
    given = _plain(name)
    found = _BY_NAME.get(given)
    if found is not None:
        return found
    near = get_close_matches(given, list(_BY_NAME), 1)
    raise UnknownParameter(
        given=name,
        way_out=f"did you mean {_BY_NAME[near[0]].code}?"
        if near
        else f"there are: {', '.join(BY_CODE)}",
    )


def read_as(parameter: Parameter, text: str) -> Read:
    """Read a result of a parameter as it was written, with or without its unit.

    Raises ``BadResult``, ``WrongUnit`` for a unit that it is not measured in, and
    ``CannotBeInWater`` for a number outside of what water can show.
    """
    result = read_result(text)
    if result.value is None:
        return Read(parameter, result)
    value = convert(parameter, result.value, _tail(result.as_written))
    if not parameter.low <= value <= parameter.high:
        raise CannotBeInWater(
            parameter=parameter.code,
            given=text.strip(),
            low=parameter.low,
            high=parameter.high,
            unit=parameter.unit,
        )
    return Read(parameter, Result(value, result.sign, result.as_written, result.of_ml))


def convert(parameter: Parameter, value: Decimal, unit: str) -> Decimal:
    """The number in the parameter's own unit; no unit means that one."""
    bare = _bare_unit(unit)
    if bare in ("", _bare_unit(parameter.unit)):
        return value
    if parameter.code == "temp" and bare in ("f", "degf"):
        return ((value - 32) * 5 / 9).quantize(_D("0.1"))
    factor = parameter.units.get(bare)
    if factor is None:
        raise WrongUnit(parameter=parameter.code, unit=unit, wanted=parameter.unit)
    if factor == 1:
        return value
    made = (value * factor).normalize()
    return made.quantize(_D(1)) if made == made.to_integral_value() else made


def _tail(written: str) -> str:
    """What stands after the number of a result."""
    number = re.search(r"\d+(?:\.\d+)?", written, re.ASCII)
    return written[number.end() :].strip() if number else ""


_LEFT_OUT: Final = re.compile(r"(cfu|mpn|number|no\.?|n|colonies)(?=/|per|in)")


def _bare_unit(unit: str) -> str:
    bare = unit.lower().replace("µ", "u").replace("μ", "u").replace("°", "deg")
    bare = re.sub(r"\s+", "", bare)
    counted = _LEFT_OUT.match(bare)
    bare = bare[counted.end() :] if counted else bare
    return re.sub(r"^(per|in)(?=[\d.]*m?l$)", "/", bare)
