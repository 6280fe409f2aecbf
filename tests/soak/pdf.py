"""A report damaged in thousands of ways, and verify asked. By hand:

python tests/soak/pdf.py [HOW MANY]
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "reports"))

from broken import broken
from log_farm import MARCH, spring

from hygiene.book.record import Record
from hygiene.errors import HygieneError
from hygiene.reports import checking, proof
from hygiene.reports.catalogue import REPORTS


def main(many: int) -> None:
    """Print what was said how often, and the slowest; any crash ends it."""
    dice, said, slowest = Random(1), Counter[str](), 0.0
    with TemporaryDirectory() as folder:
        farm = spring(Path(folder))
        with Record.open(farm.path) as record:
            taken = proof.take(record, REPORTS["dosing"], MARCH, farm.now)
        good, path = proof.make(taken).content, Path(folder) / "a.pdf"
        for _ in range(many):
            path.write_bytes(broken(good, dice))
            began = perf_counter()
            try:
                of = checking.handed(path)
                found = checking.by_itself(of).faults
                said["faults named" if found else "agrees with itself"] += 1
            except HygieneError as failure:
                said[type(failure).__name__] += 1
            slowest = max(slowest, perf_counter() - began)
    print(f"{many} damaged files: {dict(said)}; the slowest took {slowest:.2f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5_000)
