"""How often a drift is called where there is none, and how often one is found.

Run by hand: python tests/soak/drifts.py [YEARS]. Weekly readings; a "year" is 52 of
them, looked at after each. "Related" readings follow each other with correlation 0.3.
"""

from __future__ import annotations

import sys
from random import Random

from hygiene.water.kendall import mann_kendall
from hygiene.water.trend import CALLED_BELOW, WINDOW

RNG = Random(20260302)


def year(related: float) -> list[float]:
    made, last = [], 0.0
    for _ in range(52):
        last = related * last + RNG.gauss(0, 1)
        made.append(last)
    return made


def looks(values: list[float]) -> list[bool]:
    ends = range(WINDOW, len(values) + 1)
    return [mann_kendall(values[n - WINDOW : n]).p < CALLED_BELOW for n in ends]


def main(years: int) -> None:
    print(
        f"called below p = {CALLED_BELOW}, over {WINDOW} readings, {years} years each"
    )
    for name, related in (("independent", 0.0), ("related", 0.3)):
        found = [looks(year(related)) for _ in range(years)]
        every = sum(map(len, found))
        per_look = sum(map(sum, found)) / every
        some = sum(map(any, found)) / years
        print(f"steady, {name:<12} looks wrong {per_look:.4f}, years {some:.3f}")
    for spans in (2, 3, 4, 6, 8):
        rows = (
            [-spans / (WINDOW - 1) * n + RNG.gauss(0, 1) for n in range(WINDOW)]
            for _ in range(years)
        )
        power = sum(mann_kendall(row).p < CALLED_BELOW for row in rows) / years
        print(
            f"falling by {spans} standard deviations over the eight: found {power:.2f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4000)
