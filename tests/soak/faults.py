"""Every fault of the disk and the device with every command. By hand:

python tests/soak/faults.py
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1]))

from dose_farm import build_doses
from faults_of_disk import FAULTS, READ, WRITE, scene, suffered

import hygiene.book.record


def main() -> int:
    """Print how many were tried, and each that was not taken well."""
    hygiene.book.record.WAIT_MS = 50
    wrong = 0
    with TemporaryDirectory() as name:
        (Path(name) / "built").mkdir()
        ready = scene(build_doses(Path(name) / "built"), Path(name) / "ready")
        for fault in FAULTS:
            found = [
                suffered(ready, Path(name) / "farm", fault, command)
                for command in READ | WRITE
            ]
            print(*filter(None, found), sep="\n", end="")
            wrong += sum(map(bool, found))
    commands = len(READ | WRITE)
    print(f"{len(FAULTS)} faults x {commands} commands: {wrong} not taken well")
    return min(wrong, 1)


if __name__ == "__main__":
    sys.exit(main())
