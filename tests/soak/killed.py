"""kill -9 of each writing command at points spread over its writes. By hand:

python tests/soak/killed.py [POINTS] [COMMAND ...]
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1]))

from killing import CARRYING, WRITING, base, killed


def main(points: int, names: list[str]) -> None:
    kills = acknowledged = 0
    with TemporaryDirectory() as folder:
        (Path(folder) / "base").mkdir()
        farm = base(Path(folder) / "base")
        for scene in (*CARRYING, *WRITING):
            if names and scene.name not in names:
                continue
            done = killed(farm, scene, Path(folder), points)
            print(
                f"{scene.name}: {done.kills} kills spread over {done.writes} writes, "
                f"{done.acknowledged} times something was said to be done",
                flush=True,
            )
            kills += done.kills
            acknowledged += done.acknowledged
    print(
        f"{kills} kills, {acknowledged} acknowledged, 0 of them lost; "
        "0 records or copies that do not verify"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50, sys.argv[2:])
