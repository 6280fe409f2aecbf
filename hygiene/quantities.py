"""Quantities as a person writes them, with their unit, read into one unit each.

Every reader takes text such as ``60 L``, ``4.35 imp gal``, ``300 US gal/min`` or
``21 C`` and gives a float in the unit of its name. Nothing is guessed: a number
without its unit, a bare ``gal`` whose country is not known, a comma, ``nan`` and a
value that cannot be true are refused in one line that says what to write.

Unit factors are exact by definition: international yard and pound agreement of 1959,
US liquid gallon of 231 cubic inches, imperial gallon of 4.54609 L (UK Units of
Measurement Regulations 1995).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final, Literal

from hygiene.errors import WronglyPut

Gallon = Literal["us", "imp"]
"""Whose gallon a bare ``gal`` is, where the farm's set-up says so."""


class BadQuantity(WronglyPut):
    """A text that is not a quantity of the sort that is asked for."""

    sentence = "{given!r} {fault}"


_NUMBER = re.compile(r"([+-]?(?:\d{1,15}(?:\.\d{0,15})?|\.\d{1,15}))(.*)", re.ASCII)

_US_GALLON_L: Final = 3.785411784
_IMP_GALLON_L: Final = 4.54609

_METRIC_VOLUMES_L: Final = {
    "ml": 0.001, "cc": 0.001, "cm3": 0.001, "millilitre": 0.001, "milliliter": 0.001,
    "cl": 0.01, "dl": 0.1, "l": 1.0, "lt": 1.0, "ltr": 1.0, "litre": 1.0,
    "liter": 1.0, "hl": 100.0, "m3": 1000.0, "cubicmetre": 1000.0,
    "cubicmeter": 1000.0, "ft3": 28.316846592, "cuft": 28.316846592,
    "cubicfoot": 28.316846592, "cubicfeet": 28.316846592, "in3": 0.016387064,
}  # fmt: skip
_PARTS_OF_GALLON: Final = {
    "us": {"gal": 1.0, "qt": 1 / 4, "pt": 1 / 8, "floz": 1 / 128},
    "imp": {"gal": 1.0, "qt": 1 / 4, "pt": 1 / 8, "floz": 1 / 160},
}
_LONG_NAMES: Final = {
    "gallon": "gal", "quart": "qt", "pint": "pt", "fluidounce": "floz",
    "fl.oz": "floz", "fl.oz.": "floz", "gal.": "gal",
}  # fmt: skip
_COUNTRIES: Final = {
    "us": ("us", "u.s.", "usliquid"),
    "imp": ("imp", "imp.", "imperial", "uk"),
}


def _gallon_volumes() -> dict[str, float]:
    named: dict[str, float] = {}
    for country, litres in (("us", _US_GALLON_L), ("imp", _IMP_GALLON_L)):
        parts = _PARTS_OF_GALLON[country]
        names = {**parts, **{long: parts[of] for long, of in _LONG_NAMES.items()}}
        for word in _COUNTRIES[country]:
            named |= {word + name: litres * part for name, part in names.items()}
    return named


_VOLUMES_L: Final = {**_METRIC_VOLUMES_L, **_gallon_volumes()}
_BARE_GALLONS: Final = frozenset(_PARTS_OF_GALLON["us"]) | frozenset(_LONG_NAMES)

_MINUTES: Final = {
    "s": 1 / 60, "sec": 1 / 60, "second": 1 / 60, "min": 1.0, "minute": 1.0,
    "h": 60.0, "hr": 60.0, "hour": 60.0, "d": 1440.0, "day": 1440.0,
    "wk": 10080.0, "week": 10080.0,
}  # fmt: skip
_LENGTHS_M: Final = {
    "mm": 0.001, "millimetre": 0.001, "millimeter": 0.001, "cm": 0.01, "m": 1.0,
    "metre": 1.0, "meter": 1.0, "km": 1000.0, "in": 0.0254, "inch": 0.0254,
    "inche": 0.0254, '"': 0.0254, "ft": 0.3048, "foot": 0.3048, "feet": 0.3048,
    "yd": 0.9144, "yard": 0.9144,
}  # fmt: skip
_MASSES_G: Final = {
    "mg": 0.001, "g": 1.0, "gram": 1.0, "gramme": 1.0, "kg": 1000.0, "kilo": 1000.0,
    "kilogram": 1000.0, "t": 1e6, "tonne": 1e6, "oz": 28.349523125,
    "ounce": 28.349523125, "lb": 453.59237, "pound": 453.59237,
}  # fmt: skip
_LEVELS_MG_PER_L: Final = {
    "": 1.0, "ppm": 1.0, "mg/l": 1.0, "g/m3": 1.0, "ug/ml": 1.0, "g/l": 1000.0,
    "%w/v": 10000.0, "ug/l": 0.001, "ppb": 0.001,
}  # fmt: skip
_DENSITIES_KG_PER_L: Final = {
    "": 1.0, "kg/l": 1.0, "g/ml": 1.0, "g/cm3": 1.0, "g/cc": 1.0, "kg/m3": 0.001,
    "g/l": 0.001, "lb/usgal": 0.45359237 / _US_GALLON_L,
    "lb/impgal": 0.45359237 / _IMP_GALLON_L,
}  # fmt: skip

_SPELLING: Final = str.maketrans(
    {"³": "3", "µ": "u", "μ": "u", "°": "", "º": "", "\u00a0": " "}
)


def number(text: str, what: str = "a number") -> tuple[float, str]:
    """Split ``text`` into its leading number and the rest, without spaces.

    Raises :class:`BadQuantity` where there is no plain decimal number.
    """
    cleaned = text.translate(_SPELLING).strip()
    match = _NUMBER.fullmatch(cleaned)
    if match is None:
        raise BadQuantity(given=_short(text), fault=f"is not {what}")
    rest = match[2].strip()
    if re.match(r"[\d.,eE_]+\d", rest, re.ASCII):
        fault = "is not a plain number: write it as 1000 or 0.5"
        raise BadQuantity(given=_short(text), fault=fault)
    return float(match[1]), rest


def volume_l(text: str, *, gallon: Gallon | None = None) -> float:
    """Read a volume above zero, in litres: ``60 L``, ``4.35 imp gal``, ``250 ml``."""
    value, unit = number(text, "a volume: write it as 60 L, 250 ml or 16 US gal")
    factor = _volume_unit(text, unit, gallon)
    return _positive(text, value * factor)


def flow_l_per_min(text: str, *, gallon: Gallon | None = None) -> float:
    """Read a flow above zero, in litres a minute: ``8 L/min``, ``300 US gal/min``."""
    what = "a flow: write it as 8 L/min, 2 m3/h or 300 US gal/min"
    value, unit = number(text, what)
    volume, _, time = _spelt_flow(unit).partition("/")
    minutes = _MINUTES.get(_singular(time.strip().lower()))
    if minutes is None:
        raise BadQuantity(given=_short(text), fault=f"is not {what}")
    return _positive(text, value * _volume_unit(text, volume, gallon) / minutes)


def temperature_c(text: str) -> float:
    """Read a temperature, in degrees Celsius: ``21 C``, ``70 F``."""
    what = "a temperature: write it as 21 C or 70 F"
    value, unit = number(text, what)
    name = re.sub(r"^(degrees?|deg\.?)", "", unit.lower().replace(" ", ""))
    if name in ("c", "celsius"):
        celsius = value
    elif name in ("f", "fahrenheit"):
        celsius = (value - 32) / 1.8
    else:
        raise BadQuantity(given=_short(text), fault=f"is not {what}")
    if celsius < -273.15:
        raise BadQuantity(given=_short(text), fault="is below absolute zero")
    return celsius


def length_m(text: str) -> float:
    """Read a length above zero, in metres: ``40 m``, ``25 mm``, ``100 ft``."""
    return _measure(text, _LENGTHS_M, "a length: write it as 40 m, 25 mm or 100 ft")


def mass_g(text: str) -> float:
    """Read a mass above zero, in grams: ``250 g``, ``2 kg``, ``1 lb``."""
    return _measure(text, _MASSES_G, "a weight: write it as 250 g, 2 kg or 1 lb")


def duration_min(text: str) -> float:
    """Read a time span above zero, in minutes: ``12 min``, ``3 h``, ``10 d``."""
    return _measure(text, _MINUTES, "a time: write it as 12 min, 3 h or 10 d")


def density_kg_per_l(text: str) -> float:
    """Read a liquid's density, in kilograms a litre; a bare number is kg/L."""
    what = "a density: write it as 1.16 kg/L"
    value = _measure(text, _DENSITIES_KG_PER_L, what)
    if not 0.6 <= value <= 2.5:
        fault = "cannot be a sanitiser's density: write it in kg/L, as 1.16"
        raise BadQuantity(given=_short(text), fault=fault)
    return value


def level_mg_per_l(text: str, *, zero: bool = False) -> float:
    """Read a working strength, in mg/L; a bare number is ppm, read as mg/L.

    ``zero`` allows 0, for a residual or background that may not be there.
    """
    value, unit = number(text, "a strength: write it as 200 ppm or 200 mg/L")
    name = unit.lower().replace(" ", "")
    if name == "%":
        fault = f"is not plain: write {value * 10000:g} ppm, or {value:g} % w/v"
        raise BadQuantity(given=_short(text), fault=fault)
    factor = _LEVELS_MG_PER_L.get(name)
    if factor is None:
        fault = "is not a strength: write it as 200 ppm or 200 mg/L"
        raise BadQuantity(given=_short(text), fault=fault)
    if zero and value == 0:
        return 0.0
    return _positive(text, value * factor)


def bounded(text: str, what: str, low: float, high: float) -> float:
    """Read a bare number from ``low`` to ``high``, such as a pH."""
    value, unit = number(text, what)
    if unit:
        raise BadQuantity(given=_short(text), fault=f"is not {what}: write the number")
    if not low <= value <= high:
        fault = f"cannot be {what}: it is from {low:g} to {high:g}"
        raise BadQuantity(given=_short(text), fault=fault)
    return value


def _measure(text: str, units: Mapping[str, float], what: str) -> float:
    value, unit = number(text, what)
    name = unit.lower().replace(" ", "")
    factor = units.get(name, units.get(_singular(name)))
    if factor is None:
        raise BadQuantity(given=_short(text), fault=f"is not {what}")
    return _positive(text, value * factor)


def _volume_unit(text: str, unit: str, gallon: Gallon | None) -> float:
    if unit.strip() == "ML":
        fault = "could be millilitres or megalitres: write ml"
        raise BadQuantity(given=_short(text), fault=fault)
    name = _singular(_country_first(unit.lower().replace(" ", "")))
    if name in _BARE_GALLONS:
        if gallon is None:
            fault = f"does not say whose {name}: write US {name} or imp {name}"
            raise BadQuantity(given=_short(text), fault=fault)
        name = gallon + name
    factor = _VOLUMES_L.get(name)
    if factor is None:
        sort = "has no unit" if not name else "has a unit that is not a volume"
        fault = f"{sort}: write it as 60 L, 250 ml, 16 US gal or 13 imp gal"
        raise BadQuantity(given=_short(text), fault=fault)
    return factor


def _country_first(name: str) -> str:
    # 5 gal (US) is 5 US gal
    behind = re.fullmatch(r"([a-z.]+?)s?\(?(us|imp|uk|imperial)\)?", name)
    if behind is None or behind[1] not in _BARE_GALLONS:
        return name
    return behind[2] + behind[1]


def _spelt_flow(unit: str) -> str:
    spelt = re.sub(r"\s+(?:per|a|an)\s+", "/", unit.strip(), flags=re.IGNORECASE)
    short = re.fullmatch(r"(.*?)\s*([gl])p([mhd])", spelt, re.IGNORECASE)
    if short is None:
        return spelt
    country, sort, time = short[1], short[2].lower(), short[3].lower()
    volume = {"g": "gal", "l": "l"}[sort]
    return f"{country}{volume}/{ {'m': 'min', 'h': 'h', 'd': 'd'}[time] }"


def _singular(name: str) -> str:
    return name[:-1] if len(name) > 3 and name.endswith("s") else name


def _positive(text: str, value: float) -> float:
    if not value > 0:
        raise BadQuantity(given=_short(text), fault="must be more than zero")
    return value


def _short(text: str) -> str:
    shown = " ".join(text.split())
    return shown if len(shown) <= 40 else shown[:37] + "..."
