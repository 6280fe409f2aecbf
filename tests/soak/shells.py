"""Shells that append at once, 200 entries between them. By hand:

python tests/soak/shells.py [SHELLS] [ROUNDS]
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "book"))

from kills import start
from shed import Shed

COUNT = 200


def one_round(shells: int) -> str:
    """Returns what was found; raises ``AssertionError`` where anything is wrong."""
    with TemporaryDirectory() as folder:
        shed = Shed.create(Path(folder))
        each = COUNT // shells
        drivers = [start(shed.path, shed.keys, n * each, each) for n in range(shells)]
        said = [driver.communicate()[0].split() for driver in drivers]
        errors = sum(driver.returncode != 0 for driver in drivers)
        with shed.to_read() as record:
            held = [entry.get("place") for entry in record.all_versions(["pest"])]
        wanted = {f"bay {n}" for words in said for n in words}
        lost = wanted - set(held)
        faults = shed.faults()
        twice = len(held) - len(set(held))
        report = (
            f"{shells} shells: {len(wanted)} acknowledged, {len(lost)} lost, "
            f"{twice} twice, {errors} errors, {len(faults)} faults, "
            f"{len(shed.heads())} book"
        )
        if lost or errors or faults or len(held) != each * shells:
            raise AssertionError(report)
        return report


if __name__ == "__main__":
    shells = int(sys.argv[1]) if len(sys.argv) > 1 else 2
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    for _ in range(rounds):
        print(one_round(shells), flush=True)
