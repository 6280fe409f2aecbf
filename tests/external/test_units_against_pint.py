"""Every unit that is read, against pint's own definitions."""

from __future__ import annotations

import pint
import pytest

from hygiene import quantities as q

UREG = pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("ml", "milliliter"), ("cl", "centiliter"), ("L", "liter"), ("m3", "meter**3"),
        ("hl", "hectoliter"), ("ft3", "foot**3"), ("in3", "inch**3"),
        ("US gal", "gallon"), ("US qt", "quart"), ("US pt", "pint"),
        ("US fl oz", "fluid_ounce"), ("imp gal", "imperial_gallon"),
        ("imp qt", "imperial_quart"), ("imp pt", "imperial_pint"),
        ("imp fl oz", "imperial_fluid_ounce"),
    ],
)  # fmt: skip
def test_volumes(text: str, unit: str):
    """Source: pint's registry (NIST and UK legal definitions)."""
    litres = UREG.Quantity(7.5, unit).to("liter").magnitude
    assert q.volume_l(f"7.5 {text}") == pytest.approx(litres, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("L/min", "liter/minute"), ("m3/h", "meter**3/hour"), ("ml/s", "ml/second"),
        ("US gal/min", "gallon/minute"), ("US gph", "gallon/hour"),
        ("imp gal/day", "imperial_gallon/day"), ("imp gpm", "imperial_gallon/minute"),
    ],
)  # fmt: skip
def test_flows(text: str, unit: str):
    """Source: pint's registry."""
    litres = UREG.Quantity(3.3, unit).to("liter/minute").magnitude
    assert q.flow_l_per_min(f"3.3 {text}") == pytest.approx(litres, rel=1e-9)


@pytest.mark.parametrize(
    ("read", "text", "unit", "to"),
    [
        (q.length_m, "mm", "millimeter", "meter"), (q.length_m, "in", "inch", "meter"),
        (q.length_m, "ft", "foot", "meter"), (q.length_m, "yd", "yard", "meter"),
        (q.mass_g, "kg", "kilogram", "gram"), (q.mass_g, "oz", "ounce", "gram"),
        (q.mass_g, "lb", "pound", "gram"), (q.mass_g, "t", "metric_ton", "gram"),
        (q.duration_min, "s", "second", "minute"),
        (q.duration_min, "d", "day", "minute"),
        (q.duration_min, "weeks", "week", "minute"),
    ],
)  # fmt: skip
def test_other_measures(read: object, text: str, unit: str, to: str):
    """Source: pint's registry."""
    value = UREG.Quantity(2.5, unit).to(to).magnitude
    assert read(f"2.5 {text}") == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize("fahrenheit", [-4, 0, 32, 70, 100, 212])
def test_temperatures(fahrenheit: float):
    """Source: pint's registry."""
    celsius = UREG.Quantity(fahrenheit, "degF").to("degC").magnitude
    assert q.temperature_c(f"{fahrenheit} F") == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "unit"),
    [("lb/US gal", "pound/gallon"), ("lb/imp gal", "pound/imperial_gallon")],
)
def test_densities(text: str, unit: str):
    """Source: pint's registry."""
    value = UREG.Quantity(9.7, unit).to("kilogram/liter").magnitude
    assert q.density_kg_per_l(f"9.7 {text}") == pytest.approx(value, rel=1e-9)
