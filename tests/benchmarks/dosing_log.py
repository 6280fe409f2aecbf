"""The dosing log of a month with four hundred doses, made as a user makes it.

By hand, where nothing else runs: python tests/benchmarks/dosing_log.py [DOSES]

One dose in five is rinsed later, one in twenty is too weak and has its action, recheck
and close. The bar: under 4 s on two cores, from the shell to the finished file. It
prints the wall clock and the processor's own seconds of each run, the pages, and
whether two runs gave the same bytes.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import pypdf  # noqa: E402
from dose_farm import DoseFarm, build_doses, tray  # noqa: E402

from hygiene.kinds.action import Action, Close, Recheck  # noqa: E402
from hygiene.kinds.moments import stamp  # noqa: E402
from hygiene.kinds.sanitising import Dose, Drawn, Reading, Rinse  # noqa: E402

BAR_S = 4.0
ROUNDS = 5
RUN = "from hygiene.cli import main; main()"


def fill(farm: DoseFarm, many: int) -> None:
    """The doses of the month, in one transaction."""
    can = farm.can(tenth_ml=10_000_000)
    step = timedelta(days=28) / many
    first = farm.now + timedelta(hours=1)
    with farm.open() as record, record.writing(farm.clock, farm.keys) as writing:
        for number in range(many):
            farm.now = (first + number * step).replace(microsecond=0)
            weak = number % 20 == 7
            start = 6 * (number % 6)
            trays = tuple(tray(start + n + 1) for n in range(6))
            later = number % 5 == 0
            dose = Dose(
                product="hypo",
                target="tray",
                trays=trays,
                drawn=(Drawn(container=can, tenth_ml=960 + number % 7),),
                volume_l=Decimal(60),
                target_mg_per_l=Decimal(200),
                planned_tenth_ml=965,
                readings=tuple(
                    Reading(
                        spot=spot,
                        value_mg_per_l=Decimal(60 if weak else value),
                        kit="QS",
                        temp_c=Decimal(14),
                    )
                    for spot, value in (("start", 195), ("end", 165))
                ),
                ended_at=stamp(farm.now + timedelta(minutes=12)),
                washed_before=True,
                rinsed=None if later else True,
                dry=True,
                gear=("gloves", "goggles"),
            )
            made = writing.add(dose, by="AB" if number % 3 else "CD")
            if later:
                writing.add(Rinse(doses=(made.name,), trays=trays, dry=True), by="AB")
            if weak:
                problem = "60 mg/L at the start is too weak: at least 100"
                action = writing.add(Action(about=made.name, problem=problem), by="AB")
                look = Recheck(action=action.name, seen="195 mg/L", passed=True)
                seen = writing.add(look, by="AB")
                end = Close(action=action.name, did="made up anew", recheck=seen.name)
                writing.add(end, by="CD")


def run(farm: DoseFarm, out: Path) -> tuple[float, float]:
    """One run of the command: wall seconds and processor seconds."""
    environ = {
        **os.environ,
        "HYGIENE_RECORD": str(farm.path),
        "HYGIENE_KEYS": str(farm.keys),
    }
    words = ["report", "dosing", "--month", "2026-03", "--printed-at"]
    words += ["2026-04-01 06:00"]
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    started = perf_counter()
    subprocess.run(
        [sys.executable, "-c", RUN, *words, "--out", str(out)],
        env=environ,
        check=True,
        stdout=subprocess.DEVNULL,
    )
    wall = perf_counter() - started
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main(many: int) -> None:
    """Build the month in a folder that is thrown away, and print the figures."""
    with TemporaryDirectory() as folder:
        farm = build_doses(Path(folder))
        fill(farm, many)
        files = [Path(folder) / f"log-{n}.pdf" for n in range(ROUNDS)]
        runs = [run(farm, file) for file in files]
        same = len({file.read_bytes() for file in files}) == 1
        pages = len(pypdf.PdfReader(files[0]).pages)
        size = files[0].stat().st_size
    walls, used = sorted(w for w, _ in runs), sorted(c for _, c in runs)
    print(
        f"{many} doses: {pages} pages, {size / 1000:,.0f} kB; best of {ROUNDS} "
        f"{walls[0]:.2f} s, middle {walls[ROUNDS // 2]:.2f} s "
        f"(processor {used[0]:.2f} s); the bar is {BAR_S:g} s; "
        f"{'the same bytes each time' if same else 'BYTES DIFFER'}"
    )
    sys.exit(not same or walls[0] >= BAR_S)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)
