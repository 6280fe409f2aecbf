"""Injection rates against a printed table, both strengths, every cell."""

from __future__ import annotations

import pytest

from hygiene.quantities import flow_l_per_min
from hygiene.sanitising.injector import inject, read_ratio
from hygiene.sanitising.strength import read_strength

FLOWS_GPM = (100, 150, 200, 250, 300, 350, 400, 450, 500)
# Management, Performance and Applications of Micro-Irrigation Systems, table 3
# (extension table: gallons an hour of 5.25 % and 10 % solution), by ppm
GPH_5_25 = {
    1: (0.114, 0.171, 0.229, 0.286, 0.343, 0.400, 0.457, 0.514, 0.571),
    2: (0.229, 0.343, 0.457, 0.571, 0.686, 0.800, 0.914, 1.029, 1.143),
    5: (0.571, 0.857, 1.143, 1.429, 1.714, 2.000, 2.286, 2.571, 2.857),
    10: (1.143, 1.714, 2.286, 2.857, 3.429, 4.000, 4.571, 5.143, 5.714),
    15: (1.714, 2.571, 3.429, 4.286, 5.143, 6.000, 6.857, 7.714, 8.571),
    20: (2.286, 3.429, 4.571, 5.714, 6.857, 8.000, 9.143, 10.29, 11.43),
    25: (2.857, 4.286, 5.714, 7.143, 8.571, 10.00, 11.43, 12.89, 14.29),
    30: (3.429, 5.143, 6.857, 8.571, 10.29, 12.00, 13.71, 15.43, 17.14),
    50: (5.714, 8.571, 11.43, 14.29, 17.14, 20.00, 22.86, 25.71, 28.57),
}
GPH_10 = {
    1: (0.060, 0.090, 0.120, 0.150, 0.180, 0.210, 0.240, 0.270, 0.300),
    2: (0.120, 0.180, 0.240, 0.300, 0.360, 0.420, 0.480, 0.540, 0.600),
    5: (0.300, 0.450, 0.600, 0.750, 0.900, 1.050, 1.200, 1.350, 1.500),
    10: (0.600, 0.900, 1.200, 1.500, 1.800, 2.100, 2.400, 2.700, 3.000),
    15: (0.900, 1.350, 1.800, 2.250, 2.700, 3.150, 3.600, 4.050, 4.500),
    20: (1.200, 1.800, 2.400, 3.000, 3.600, 4.200, 4.800, 5.400, 6.000),
    25: (1.500, 2.250, 3.000, 3.750, 4.500, 5.250, 6.000, 6.750, 7.500),
    30: (1.800, 2.700, 3.600, 4.500, 5.400, 6.300, 7.200, 8.100, 9.000),
    50: (3.000, 4.500, 6.000, 7.500, 9.000, 10.50, 12.00, 13.50, 15.00),
}


@pytest.mark.parametrize(
    ("stock", "table"), [("5.25 % w/v", GPH_5_25), ("10 % w/v", GPH_10)]
)
def test_gallons_an_hour(stock: str, table: dict[int, tuple[float, ...]]):
    """Source: the printed table of injection rates; 162 cells to their last figure.

    12.89 at 25 ppm and 450 gpm is a misprint for 12.86 (450 is 4.5 x 100).
    """
    strength = read_strength(stock)
    for ppm, row in table.items():
        for gpm, printed in zip(FLOWS_GPM, row, strict=True):
            flow = flow_l_per_min(f"{gpm} US gal/min")
            values = inject(flow, ppm, strength).values
            gph = values["feed_l_per_h"] / 3.785411784
            assert gph == pytest.approx(printed, rel=3e-3, abs=6e-4), (ppm, gpm)


def test_an_injector_of_1_to_100_by_either_custom():
    """Sources: two extension texts that mean different things by 1:100.

    University of Massachusetts, ratios chart: "1 gallon of concentrate delivers 100
    gallons of final solution" is 1 in 100; a growers' text: "1 gallon is added to each
    100 gallons of irrigation water" is 1 to 100.
    """
    stock = read_strength("10 % w/v")
    delivers = inject(378.5, 100, stock, ratio=read_ratio("1 in 100")).values
    added = inject(378.5, 100, stock, ratio=read_ratio("1 to 100")).values
    assert delivers["concentrate_mg_per_l"] == pytest.approx(100 * 100)
    assert added["concentrate_mg_per_l"] == pytest.approx(100 * 101)
