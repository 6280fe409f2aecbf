"""Troubles planted at random on many clean farms: all of them found, nothing else.

By hand: python tests/soak/readiness.py [FARMS]   (else 300)
"""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1]))

from inspected_farm import Clean, begin, found
from troubles import PLANTS, plant_many

DAYS = 100


def main() -> None:
    farms = int(sys.argv[1]) if sys.argv[1:] else 300
    planted = clean = 0
    with TemporaryDirectory() as home:
        begun = begin(Path(home))
        for seed in range(farms):
            with TemporaryDirectory() as folder:
                alone = found(Clean(DAYS, seed).look(Path(folder), begun))
                assert alone == set(), (seed, alone)
                clean += 1
            farm = Clean(DAYS, seed)
            expected = plant_many(farm, Random(f"planted {seed}"))
            with TemporaryDirectory() as folder:
                made = found(farm.look(Path(folder), begun))
            assert expected == made, (seed, expected ^ made)
            planted += len(expected)
    print(f"{farms} farms of {DAYS} days, {len(PLANTS)} sorts of trouble")
    print(f"  {planted:,} planted troubles, all of them found, and nothing else")
    print(f"  {clean} farms without any: nothing found")


if __name__ == "__main__":
    main()
