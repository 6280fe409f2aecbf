"""50,000 hostile inputs over all doors, each door in a process of its own. By hand:

python tests/soak/fuzz_doors.py [COUNT] [SEED] [DOOR ...]
"""

from __future__ import annotations

import os
import random
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from tempfile import TemporaryDirectory

HERE = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(HERE / name) for name in ("", "exchange", "reports")]

from doors import DOORS, fuzz  # noqa: E402

SHARE = {
    "arguments": 13,
    "farm files and checklists": 13,
    "spreadsheets and mappings": 8,
    "bodies of JSON lines": 8,
    "PDFs": 4,
    "SQLite files": 4,
}
"""Of fifty inputs."""


def one_door(name: str, many: int, seed: int) -> tuple[Counter[str], list[str], str]:
    """What came of a door, what was wrong, and a line to print."""
    began = time.monotonic()
    with TemporaryDirectory() as folder:
        os.chdir(folder)
        (Path(folder) / "farm").mkdir()
        door = DOORS[name](Path(folder) / "farm", random.Random(seed))
        found, wrong = fuzz(name, door, many)
        os.chdir("/")
    told = ", ".join(f"{what} {n:,}" for what, n in sorted(found.items()))
    seconds = time.monotonic() - began
    return found, wrong, f"{name}: {many:,} inputs; {told}; {seconds:.0f} s"


def main(count: int, seed: int, names: list[str]) -> int:
    """Print for each door what came of it, each fault once, and the sum."""
    every: Counter[str] = Counter()
    tried = faults = 0
    names = names or list(DOORS)
    with ProcessPoolExecutor(len(names)) as pool:
        jobs = []
        for name in names:
            many = count * SHARE[name] // sum(SHARE[each] for each in names)
            jobs.append(pool.submit(one_door, name, many, seed))
            tried += many
        for job in as_completed(jobs):
            found, wrong, told = job.result()
            every.update(found)
            faults += len(wrong)
            for each in wrong:
                print(f"WRONG {each}\n")
            print(told, flush=True)
    past = every["past the parser"]
    print(
        f"seed {seed}: {tried:,} inputs, {past:,} past the parser "
        f"({past / tried:.0%}), {faults} faults (tracebacks, codes of no sort, changes "
        "to a record that were not asked for and said); every record verified"
    )
    return min(faults, 1)


if __name__ == "__main__":
    given = sys.argv[1:]
    sys.exit(
        main(
            int(given[0]) if given else 50_000,
            int(given[1]) if len(given) > 1 else 1,
            given[2:],
        )
    )
