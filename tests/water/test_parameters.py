"""Parameters of water: names, units, and a result read with its unit."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.errors import WronglyPut
from hygiene.water.parameters import (
    BY_CODE,
    PARAMETERS,
    CannotBeInWater,
    UnknownParameter,
    WrongUnit,
    parameter_of,
    read_as,
)
from hygiene.water.results import BadResult

D = Decimal


def value(code: str, text: str) -> Decimal | None:
    return read_as(parameter_of(code), text).result.value


@pytest.mark.parametrize(
    ("name", "code"),
    [("free", "free"), ("FC", "free"), ("pH", "ph"), ("E.coli", "ecoli"),
     ("free chlorine", "free"), ("sulphate", "sulfate"), ("Temperature", "temp")],
)  # fmt: skip
def test_a_parameter_is_found_by_its_names(name: str, code: str) -> None:
    """In any case, and as people call it."""
    assert parameter_of(name).code == code


@pytest.mark.parametrize("parameter", PARAMETERS, ids=lambda each: each.code)
def test_a_parameter_is_found_by_the_name_it_is_printed_with(parameter) -> None:
    """As on a certificate that this program printed the name of."""
    assert parameter_of(parameter.name) is parameter


def test_plain_chlorine_is_refused() -> None:
    """Free or total: they are not the same, so somebody must say."""
    with pytest.raises(UnknownParameter):
        parameter_of("chlorine")


def test_a_wrong_name_names_the_nearest() -> None:
    """The way out is one word."""
    with pytest.raises(UnknownParameter) as wrong:
        parameter_of("colifroms")
    assert wrong.value.way_out == "did you mean coliforms?"


def test_no_two_parameters_share_a_name() -> None:
    """A name means one thing."""
    names = [name for one in PARAMETERS for name in (one.code, *one.also)]
    assert len({name.lower() for name in names}) == len(names)


@pytest.mark.parametrize(
    ("code", "text", "wanted"),
    [
        ("free", "0.60", "0.60"),
        ("free", "0.6 ppm", "0.6"),
        ("iron", "0.2 mg/L", "200"),
        ("iron", "200 µg/l", "200"),
        ("lead", "<0.5 ug/L", "0.5"),
        ("temp", "68 F", "20.0"),
        ("temp", "12.5 °C", "12.5"),
        ("conductivity", "1.2 mS/cm", "1200"),
        ("conductivity", "0.7 dS/m", "700"),
        ("ecoli", "3 cfu per 100 ml", "3"),
        ("coliforms", "> 2419.6 MPN/100 ml", "2419.6"),
        ("colonies22", "14 per ml", "14"),
        ("legionella", "<100 cfu/l", "100"),
        ("hardness", "14 dH", "249.872"),
        ("ph", "7.4", "7.4"),
    ],
)
def test_a_result_is_kept_in_one_unit(code: str, text: str, wanted: str) -> None:
    """Whatever it was written in, its number is in the parameter's own."""
    assert value(code, text) == D(wanted)


def test_nitrate_as_nitrogen_is_told_from_nitrate() -> None:
    """10 mg/L as N is 44.3 mg/L as NO3: mixed up, a bad well looks good."""
    assert value("nitrate", "10 mg/L as N") == D("44.268")
    assert value("nitrite", "1 mg/L NO2-N") == D("3.2845")
    assert value("nitrate", "10 mg/L") == 10


def test_the_text_is_kept_as_it_was_written() -> None:
    """The number beside it never takes its place."""
    read = read_as(parameter_of("nitrate"), "10 mg/L as N")
    assert read.result.as_written == "10 mg/L as N"
    assert read.shown == "10 mg/L as N (44.268 mg/L)"


@pytest.mark.parametrize(
    ("code", "text", "said"),
    [
        ("ecoli", "<1", "E. coli <1 per 100 ml"),
        ("ecoli", "not detected", "E. coli not detected"),
        ("ph", "7.4", "pH 7.4"),
        ("temp", "68 F", "temperature 68 F"),
    ],
)
def test_a_result_is_said_with_its_unit(code: str, text: str, said: str) -> None:
    """Once, and never twice."""
    assert read_as(parameter_of(code), text).said == said


@pytest.mark.parametrize(
    ("code", "text"),
    [("ecoli", "3 per 250 ml"), ("free", "3 furlongs"), ("temp", "285 K"),
     ("nitrate", "10 mg/L as P"), ("ph", "7.4 mg/L")],
)  # fmt: skip
def test_a_unit_that_it_is_not_measured_in_is_refused(code: str, text: str) -> None:
    """It is never taken for the right one."""
    with pytest.raises(WrongUnit, match="write it in"):
        value(code, text)


@pytest.mark.parametrize(("code", "text"), [("ph", "15"), ("temp", "300 F")])
def test_what_water_cannot_show_is_refused(code: str, text: str) -> None:
    """A slip of the finger is no reading."""
    with pytest.raises(CannotBeInWater):
        value(code, text)


@pytest.mark.parametrize("text", ["", "-1", "1e3", "1,5", "nan", "abc", "1.2.3"])
def test_nonsense_is_no_result(text: str) -> None:
    """As in every other reading."""
    with pytest.raises(BadResult):
        value("free", text)


@given(st.sampled_from(sorted(BY_CODE)), st.text(max_size=24))
def test_any_text_is_read_or_refused_in_words(code: str, text: str) -> None:
    """Nothing else is ever raised."""
    try:
        read = read_as(BY_CODE[code], text)
    except WronglyPut:
        return
    assert read.result.as_written == " ".join(text.split())
