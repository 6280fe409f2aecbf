"""Merging in every order, of many devices' works, and forks of every length. By hand:

python tests/soak/merges.py [EXAMPLES] [FORKS]
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "book"))

from hypothesis import HealthCheck, given, settings
from merging import WORK, Forks, forked, worked
from shed import Shed


def main(examples: int, forks: int) -> None:
    done = {"works": 0, "merges": 0, "forks": 0}

    @settings(max_examples=examples, deadline=None, suppress_health_check=HealthCheck)
    @given(WORK)
    def in_every_order(work: list[tuple[int, int, int]]) -> None:
        done["merges"] += worked(base, work)
        done["works"] += 1

    @settings(max_examples=forks, deadline=None, suppress_health_check=HealthCheck)
    @given(Forks)
    def at_a_fork(fork: tuple[int, int, int]) -> None:
        forked(base, *fork)
        done["forks"] += 1

    with TemporaryDirectory() as folder:
        base = Shed.create(Path(folder)).path
        in_every_order()
        at_a_fork()
    print(
        f"{done['works']} works of three devices, {done['merges']} merges: the same is "
        f"read in every order, every record verifies; {done['forks']} forks, all found"
    )


if __name__ == "__main__":
    given_counts = [int(word) for word in sys.argv[1:]]
    main(*(given_counts or (400, 100)))
