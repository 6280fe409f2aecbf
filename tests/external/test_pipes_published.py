"""Pipe volumes and walls against printed ones."""

from __future__ import annotations

import pytest

from hygiene.quantities import volume_l
from hygiene.sanitising.lines import WALLS_MM, read_pipe

# least walls in mm for SDR 17, 13.6, 11, 9, 7.4, as a maker of PE100 pipe prints them
# (EN 12201 / ISO 4427 series); None where the series has no such pipe
PRINTED_WALLS = {
    20: (None, None, 2.0, 2.3, 3.0),
    25: (None, 2.0, 2.3, 3.0, 3.5),
    32: (2.0, 2.4, 3.0, 3.6, 4.4),
    40: (2.4, 3.0, 3.7, 4.5, 5.5),
    50: (3.0, 3.7, 4.6, 5.6, 6.9),
    63: (3.8, 4.7, 5.8, 7.1, 8.6),
    75: (4.5, 5.6, 6.8, 8.4, 10.3),
    90: (5.4, 6.7, 8.2, 10.1, 12.3),
    110: (6.6, 8.1, 10.0, 12.3, 15.1),
}


@pytest.mark.parametrize("size", PRINTED_WALLS)
def test_walls_of_polyethylene_pipe(size: int):
    """Source: a maker's printed table of PE100 pipe, SDR 7.4 to 17."""
    for sdr, wall in zip(
        (17.0, 13.6, 11.0, 9.0, 7.4), PRINTED_WALLS[size], strict=True
    ):
        if wall is None:
            assert size not in WALLS_MM[sdr]
        else:
            pipe = read_pipe(f"{size}mm SDR{sdr:g} x 1m")
            assert pipe.inside_mm == pytest.approx(size - 2 * wall)


@pytest.mark.parametrize(
    ("inches", "us_gal"),
    [(6, 146.9), (8, 261.1), (10, 408.0), (12, 587.5), (16, 1044.0), (20, 1632.0),
     (24, 2350.0), (30, 3672.0), (36, 5287.0), (48, 9400.0)],
)  # fmt: skip
def test_what_a_hundred_feet_hold(inches: int, us_gal: float):
    """Source: 327 IAC 8-3.4-24, table 24-1, gallons in 100 ft of well casing."""
    held = read_pipe(f"{inches} in inside x 100 ft").volume_l
    assert held == pytest.approx(volume_l(f"{us_gal} US gal"), rel=5e-4)


def test_a_standard_pipe_taken_by_its_name():
    """13.1 L in 40 m of 25 x 2.3 mm, not 19.6 L: worked by hand, pi/4 x 20.4^2."""
    assert round(read_pipe("25x2.3mm x 40m").volume_l, 1) == 13.1
    assert round(read_pipe("25mm x 40m").volume_l, 1) == 19.6
