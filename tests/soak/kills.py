"""kill -9 in the middle of 200 appends, many times over. By hand:

python tests/soak/kills.py [ROUNDS] [SEED]
"""

from __future__ import annotations

import sys
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "book"))

from kills import append_under_fire
from shed import Shed

COUNT = 200


def one_round(seed: int) -> str:
    """Returns what was found; raises ``AssertionError`` where anything is wrong."""
    with TemporaryDirectory() as folder:
        shed = Shed.create(Path(folder))
        done = append_under_fire(shed.path, shed.keys, COUNT, Random(seed))
        with shed.to_read() as record:
            held = [entry.get("place") for entry in record.all_versions(["pest"])]
        wanted = [f"bay {n}" for n in range(COUNT)]
        missing = set(wanted) - set(held)
        twice = len(held) - len(set(held))
        faults = shed.faults()
        said = (
            f"seed {seed}: {len(done.acknowledged)} acknowledged, {done.kills} kills, "
            f"{len(missing)} missing, {twice} twice, {len(faults)} faults, "
            f"{len(shed.heads())} book"
        )
        if missing or twice or faults or done.acknowledged != list(range(COUNT)):
            raise AssertionError(said)
        return said


if __name__ == "__main__":
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    for seed in range(first, first + rounds):
        print(one_round(seed), flush=True)
