"""Pipe runs and the shock dose."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.errors import WronglyPut
from hygiene.sanitising.lines import WALLS_MM, Pipe, read_pipe, shock
from hygiene.sanitising.strength import read_strength

BLEACH = read_strength("125 g/L")


@pytest.mark.parametrize(
    ("text", "inside_mm", "length_m"),
    [
        ("25mm x 40m", 25.0, 40.0), ("25 mm x 40 m", 25.0, 40.0),
        ("25mm × 40m", 25.0, 40.0), ("25mm X 40M", 25.0, 40.0),
        ("25mm inside x 40m", 25.0, 40.0), ("25mm ID x 40m", 25.0, 40.0),
        ("25mm SDR11 x 40m", 20.4, 40.0), ("25mm SDR 11 x 40m", 20.4, 40.0),
        ("25x2.3mm x 40m", 20.4, 40.0), ("25mm x 2.3mm x 40m", 20.4, 40.0),
        ("2.5cm x 40m", 25.0, 40.0), ("1 in x 100 ft", 25.4, 30.48),
        ("63mm SDR17.6 x 10m", 63 - 2 * 63 / 17.6, 10.0),
    ],
)  # fmt: skip
def test_runs_are_read(text: str, inside_mm: float, length_m: float):
    """A bare size is the inside; with SDR or wall it is the outside."""
    pipe = read_pipe(text)
    assert inside_mm == pytest.approx(pipe.inside_mm)
    assert length_m == pytest.approx(pipe.length_m)


def test_a_standard_outside_size_is_warned_about():
    """25 mm taken as the inside overdoses by half: 19.6 L, not 13.1."""
    pipe = read_pipe("25mm x 40m")
    assert "50%" in pipe.warning
    assert "13.1 L" in pipe.warning
    assert "25mm SDR11" in pipe.warning


@pytest.mark.parametrize(
    "text", ["20.4mm x 40m", "25mm inside x 40m", "25mm SDR11 x 40m", "19mm x 40m"]
)
def test_a_size_that_is_plainly_the_inside_is_not(text: str):
    """No warning where there is nothing to mistake."""
    assert not read_pipe(text).warning


def test_an_sdr_that_is_not_in_the_list_is_said():
    """Its wall is worked out, not looked up."""
    assert "not in the standard list" in read_pipe("63mm SDR26 x 10m").warning


@pytest.mark.parametrize(
    "text",
    ["", "25mm", "25 x 40m", "25mm x 40", "25mm x nan m", "0mm x 40m", "25mm x -4m",
     "25x13mm x 40m", "25mm SDR x 40m", "25mm SDR0 x 4m", "25mm SDR1 x 4m",
     "25mm SDR1.1.1 x 4m", "axbxc", "25mm x 2mm x 3m x 4m", "5m x 40m",
     "25mm x 200km", "25 L x 40m", "x", " x 40m"],
)  # fmt: skip
def test_what_is_no_run_is_refused(text: str):
    """A size and a length with their units, and a hole in the middle."""
    with pytest.raises(WronglyPut):
        read_pipe(text)


@given(st.floats(1, 500), st.floats(0.1, 1000))
def test_twice_as_wide_holds_four_times(inside_mm: float, length_m: float):
    """Volume goes with the square of the inside and with the length."""
    once = Pipe("", inside_mm, length_m).volume_l
    assert Pipe("", 2 * inside_mm, length_m).volume_l == pytest.approx(4 * once)
    assert Pipe("", inside_mm, 2 * length_m).volume_l == pytest.approx(2 * once)


def test_walls_are_about_outside_over_sdr():
    """Each listed wall is the size over its SDR, within the rounding of the lists."""
    for sdr, walls in WALLS_MM.items():
        for size, wall in walls.items():
            assert -0.05 <= wall - size / sdr <= 0.35, (sdr, size)


def test_the_shock_dose_counts_pipes_and_tanks():
    """Product for all of it; the wait is that of the pipes; flush is more."""
    pipes = [read_pipe("25x2.3mm x 40m"), read_pipe("32mm inside x 10m")]
    values = shock(pipes, [100.0], 50, BLEACH, flow_l_per_min=5).values
    held = math.pi / 4 * (2.04**2 * 400 + 3.2**2 * 100) / 100
    assert values["pipes_l"] == pytest.approx(held * 1)
    assert values["volume_l"] == pytest.approx(100 + values["pipes_l"])
    assert values["product_ml"] == pytest.approx(values["volume_l"] * 50 / 125)
    assert values["fill_minutes"] == pytest.approx(values["pipes_l"] / 5)
    assert values["flush_l"] == pytest.approx(100 + 3 * values["pipes_l"])


def test_without_a_flow_there_is_no_wait():
    """The key stays, without a number."""
    assert shock([], [100.0], 50, BLEACH).values["fill_minutes"] is None


@pytest.mark.parametrize(
    ("target", "hours", "keep"),
    [(200, 3.0, 50.0), (100, 3.0, 50.0), (50, 24.0, 10.0), (25, 24.0, 10.0),
     (5, None, None)],
)  # fmt: skip
def test_the_hold_follows_the_dose(target, hours, keep):
    """100 mg/L for 3 h, 25 mg/L for 24 h; less is no shock dose."""
    values = shock([], [100.0], target, BLEACH).values
    assert (values["hold_hours"], values["keep_above_mg_per_l"]) == (hours, keep)


def test_another_active_holds_as_its_label_says():
    """The hold times are those of chlorine."""
    acid = read_strength("50 g/L", active="peracetic acid")
    assert shock([], [100.0], 100, acid).values["hold_hours"] is None


def test_nothing_to_fill_is_refused():
    """A pipe or a tank has to be named."""
    with pytest.raises(WronglyPut):
        shock([], [], 50, BLEACH)
