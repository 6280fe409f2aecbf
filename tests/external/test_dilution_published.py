"""Dilutions against printed ones."""

from __future__ import annotations

import pytest

from hygiene.quantities import volume_l
from hygiene.sanitising.dilution import dilute
from hygiene.sanitising.strength import read_strength

CDC_E = "CDC, Best Practices for Environmental Cleaning, Appendix E"
CDC_20L = "CDC, How to Make 0.1 % Chlorine Solution (20 L bucket), 2021"
INDIANA = "327 Indiana Administrative Code 8-3.4-24, table 24-1 (50 mg/L)"


@pytest.mark.parametrize(
    ("stock", "target_mg_per_l", "parts"),
    [("3.5 % w/v", 5000, 6), ("5 % w/v", 1000, 49)],
)
def test_parts_of_water(stock: str, target_mg_per_l: float, parts: float):
    """Source: CDC, Best Practices for Environmental Cleaning, App. E, 1 and 3."""
    answer = dilute(read_strength(stock), target_mg_per_l, made_l=7)
    assert answer.values["parts_water"] == pytest.approx(parts), CDC_E


def test_grams_of_powder_in_a_litre():
    """Source: CDC, App. E, example 2: 0.5 % from 35 % powder is 14.3 g in a litre."""
    powder = read_strength("35 % w/w", solid=True)
    grams = dilute(powder, 5000, made_l=1).values["product_g"]
    assert round(grams, 1) == 14.3, CDC_E


@pytest.mark.parametrize(
    ("stock", "solid", "printed"),
    [("5 % w/v", False, 400), ("70 % w/w", True, 30), ("35 % w/w", True, 60)],
)
def test_a_bucket_of_20_litres(stock: str, solid: bool, printed: float):
    """Source: CDC, 0.1 % in 20 L: 400 mL, 30 g, 60 g (powders in whole spoons)."""
    read = read_strength(stock, solid=solid)
    values = dilute(read, 1000, made_l=20).values
    product = values[f"product_{read.unit}"]
    assert product == pytest.approx(printed, rel=0 if not solid else 0.05), CDC_20L


def test_a_degree_chlorum_is_about_0_3_percent():
    """Source: CDC, App. E, footnote 2 (rounded; the degree itself is 3.17 g/L)."""
    percent = read_strength("1 chl").mg_per_unit / 10
    assert round(percent, 1) == 0.3, CDC_E


# volume for 100 ft of water in US gal, 65 % in oz, 12 trade % in US fl oz
WELLS = [
    (106.09, 1.1, 5.65),
    (146.9, 1.5, 7.8),
    (261.1, 2.7, 13.9),
    (408.0, 4.2, 1.4 * 16),
    (587.5, 6.0, 2.0 * 16),
    (1044.0, 10.7, 3.5 * 16),
    (1632.0, 17.0, 0.7 * 128),
    (2350.0, 24.0, 1.0 * 128),
    (3672.0, 38.0, 1.5 * 128),
    (5287.0, 54.0, 2.2 * 128),
    (9400.0, 97.0, 3.9 * 128),
]


@pytest.mark.parametrize(("us_gal", "printed_oz", "printed_fl_oz"), WELLS)
def test_disinfecting_a_well(us_gal: float, printed_oz: float, printed_fl_oz: float):
    """Source: 327 IAC 8-3.4-24: 50 mg/L by 65 % powder and by 12 trade % liquid.

    Printed to one or two figures, hence 5 %.
    """
    made_l = volume_l(f"{us_gal} US gal")
    powder = dilute(read_strength("65 % w/w", solid=True), 50, made_l=made_l)
    liquid = dilute(read_strength("12 % trade"), 50, made_l=made_l)
    ounces = powder.values["product_g"] / 28.349523125
    fl_oz = liquid.values["product_ml"] / 29.5735295625
    assert ounces == pytest.approx(printed_oz, rel=0.05), INDIANA
    assert fl_oz == pytest.approx(printed_fl_oz, rel=0.05), INDIANA
