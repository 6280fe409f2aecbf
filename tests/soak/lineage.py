"""Thousands of random farms against a brute-force closure, many years balanced.

By hand: python tests/soak/lineage.py [FARMS] [YEARS]

The same properties as in tests/tracing, with larger counts; it prints what it did.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

from hypothesis import HealthCheck, Phase, given, settings

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tracing"))

import test_balance as years
import test_lineage as farms

PROPERTIES = (
    farms.test_the_material_reaches_what_a_brute_force_closure_reaches,
    farms.test_forward_and_back_are_one_relation,
    farms.test_sideways_is_one_step_and_the_same_from_either_side,
)


def _run(property_of: Callable[[object], None], count: int) -> int:
    """Try a property on so many farms; how many it saw."""
    seen = 0

    @settings(
        max_examples=count,
        deadline=None,
        database=None,
        phases=(Phase.generate, Phase.shrink),
        suppress_health_check=list(HealthCheck),
    )
    @given(farms.farms())
    def tried(farm: object) -> None:
        nonlocal seen
        seen += 1
        property_of(farm)

    tried()
    return seen


def main(count: int = 2_000, how_many_years: int = 200) -> None:
    """Run them all; the first that fails is raised."""
    began = time.monotonic()
    for told in PROPERTIES:
        seen = _run(told.hypothesis.inner_test, count)
        seconds = time.monotonic() - began
        print(f"{told.__name__}: {seen} farms, {seconds:.0f} s", flush=True)
    for number in range(how_many_years):
        made = years.add_up(years.a_year(Random(number)), day=years.DAYS + 1)
        if made.gaps or not all(each.closes for each in made.trays):
            raise AssertionError((number, made.gaps))
    print(f"{how_many_years} years balanced, {time.monotonic() - began:.0f} s in all")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:3]))
