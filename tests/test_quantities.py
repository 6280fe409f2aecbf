"""Quantities: what is read, and what is refused in one line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene import quantities as q
from hygiene.errors import WronglyPut


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("60 L", 60.0), ("60L", 60.0), ("250 ml", 0.25), ("250 mL", 0.25),
        ("1 m³", 1000.0), ("1 m3", 1000.0), (".5 litres", 0.5), ("2 cl", 0.02),
        ("4.35 imp gal", 19.7754915), ("16 US gal", 60.566588544),
        ("16 us gallons", 60.566588544), ("16 gal (US)", 60.566588544),
        ("16 gallons US", 60.566588544), ("1 pint (imp)", 0.56826125),
        ("1 uk pint", 0.56826125),
        ("1 ft3", 28.316846592), ("2 US fl oz", 0.05914705912500001),
    ],
)  # fmt: skip
def test_volumes_end_in_litres(text: str, litres: float):
    """Metric, US and imperial volumes are read by name into litres."""
    assert litres == pytest.approx(q.volume_l(text), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "flow"),
    [
        ("8 L/min", 8.0), ("8 lpm", 8.0), ("480 L/h", 8.0), ("8 litres per minute", 8),
        ("8 litres a minute", 8.0), ("0.48 m3/h", 8.0), ("2 ml/s", 0.12),
        ("300 US gal/min", 1135.6235352), ("300 US gpm", 1135.6235352),
        ("10 imp gph", 0.7576816666666667),
    ],
)  # fmt: skip
def test_flows_end_in_litres_a_minute(text: str, flow: float):
    """A flow is a volume over a time, or a named short form."""
    assert flow == pytest.approx(q.flow_l_per_min(text), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("21 C", 21.0), ("21C", 21.0), ("21 °C", 21.0), ("70 F", 21.1111111),
     ("21 degrees C", 21.0), ("21 deg C", 21.0),
     ("-4 degF", -20.0), ("32 fahrenheit", 0.0)],
)  # fmt: skip
def test_temperatures_end_in_celsius(text: str, celsius: float):
    """Both scales are read by their letter."""
    assert celsius == pytest.approx(q.temperature_c(text))


@pytest.mark.parametrize(
    "text", ["5 gal", "5 gallons", "1 pint", "2 qt", "3 fl oz", "5 Gal"]
)
def test_a_bare_gallon_is_refused(text: str):
    """A gallon, and its parts, need a country."""
    with pytest.raises(q.BadQuantity, match="does not say whose"):
        q.volume_l(text)


def test_the_set_up_may_say_whose_gallon():
    """Where the farm says which gallon, a bare one is that one."""
    assert q.volume_l("1 gal", gallon="us") == pytest.approx(3.785411784)
    assert q.volume_l("1 gal", gallon="imp") == pytest.approx(4.54609)
    assert q.flow_l_per_min("1 gpm", gallon="imp") == pytest.approx(4.54609)


@pytest.mark.parametrize(
    "text",
    ["", " ", "60", "L", "nan L", "inf L", "-5 L", "0 L", "1,000 L", "1e3 L", "5 x L",
     "5 kg", "١ L", "5 L 3", "0x10 L", "1_000 L", "--5 L", "1.2.3 L",
     "9" * 400 + " L"],
)  # fmt: skip
def test_what_is_no_volume_is_refused(text: str):
    """Never a number from a text that is not plainly a volume above zero."""
    with pytest.raises(WronglyPut):
        q.volume_l(text)


def test_capital_ml_is_refused():
    """ML is the megalitre: a factor of a thousand million is not guessed."""
    with pytest.raises(q.BadQuantity, match="megalitres"):
        q.volume_l("10 ML")


@pytest.mark.parametrize("text", ["20", "20 K", "-300 C", "warm", "20 C F"])
def test_what_is_no_temperature_is_refused(text: str):
    """A bare number is refused: 70 could be either scale."""
    with pytest.raises(WronglyPut):
        q.temperature_c(text)


@pytest.mark.parametrize("text", ["5 L", "5", "5 L/fortnight", "5 kg/min", "5 gpm"])
def test_what_is_no_flow_is_refused(text: str):
    """A flow has a time; a bare gpm has no country."""
    with pytest.raises(WronglyPut):
        q.flow_l_per_min(text)


@pytest.mark.parametrize(
    ("text", "level"),
    [("200", 200.0), ("200 ppm", 200.0), ("200 mg/L", 200.0), ("0.5 g/L", 500.0),
     ("0.5 % w/v", 5000.0), ("50 ug/L", 0.05), ("50 ppb", 0.05)],
)  # fmt: skip
def test_working_strengths_end_in_mg_per_l(text: str, level: float):
    """A bare working strength is ppm, taken as mg/L."""
    assert level == pytest.approx(q.level_mg_per_l(text))


def test_a_bare_percent_of_a_working_strength_is_refused():
    """0.5 % is 5000 ppm, and has to be said so."""
    with pytest.raises(q.BadQuantity, match="5000 ppm"):
        q.level_mg_per_l("0.5 %")


def test_zero_is_a_level_only_where_it_may_be():
    """A background may be nothing; a wanted strength may not."""
    assert q.level_mg_per_l("0", zero=True) == 0
    with pytest.raises(q.BadQuantity):
        q.level_mg_per_l("0")


@pytest.mark.parametrize(
    ("text", "kg_per_l"),
    [("1.16", 1.16), ("1.16 kg/L", 1.16), ("1160 kg/m3", 1.16), ("1.16 g/ml", 1.16),
     ("9.68 lb/US gal", 1.15992)],
)  # fmt: skip
def test_densities_end_in_kg_per_l(text: str, kg_per_l: float):
    """A density without a unit is in kg/L."""
    assert kg_per_l == pytest.approx(q.density_kg_per_l(text), rel=1e-5)


@pytest.mark.parametrize("text", ["1160", "0.1", "116 g/L", "x"])
def test_a_density_that_cannot_be_true_is_refused(text: str):
    """1160 is not in kg/L."""
    with pytest.raises(WronglyPut):
        q.density_kg_per_l(text)


@pytest.mark.parametrize(
    ("read", "text", "value"),
    [
        (q.length_m, "25mm", 0.025), (q.length_m, "3 inches", 0.0762),
        (q.length_m, "100 ft", 30.48), (q.length_m, '1 "', 0.0254),
        (q.mass_g, "2 kg", 2000.0), (q.mass_g, "1 lb", 453.59237),
        (q.duration_min, "12 min", 12.0), (q.duration_min, "10 d", 14400.0),
        (q.duration_min, "2 weeks", 20160.0), (q.duration_min, "3 hours", 180.0),
    ],
)  # fmt: skip
def test_other_measures(read: object, text: str, value: float):
    """Lengths, weights and times are read into metres, grams and minutes."""
    assert value == pytest.approx(read(text))


@pytest.mark.parametrize("text", ["nan", "15", "-1", "7 C", "7,5", ""])
def test_a_bounded_number_keeps_its_bounds(text: str):
    """A pH is a bare number from 0 to 14."""
    with pytest.raises(WronglyPut):
        q.bounded(text, "a pH", 0, 14)


READERS = [
    q.volume_l, q.flow_l_per_min, q.temperature_c, q.length_m, q.mass_g,
    q.duration_min, q.density_kg_per_l, q.level_mg_per_l,
]  # fmt: skip


def _outcome(read: object, text: str) -> float | str:
    try:
        return read(text)
    except WronglyPut as refused:
        return str(refused)


@given(st.text(max_size=30), st.sampled_from(READERS))
def test_any_text_is_a_finite_number_or_a_plain_refusal(text: str, read: object):
    """No text crashes a reader, and none becomes infinite or no number."""
    outcome = _outcome(read, text)
    if isinstance(outcome, str):
        assert "\n" not in outcome
    else:
        assert abs(outcome) < 1e22
