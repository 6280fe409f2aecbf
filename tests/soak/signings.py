"""Kill -9 in the middle of signings, and two shells that sign at once. Run by hand:

    python tests/soak/signings.py [COUNT]

It signs COUNT tasks (200) through the real command, killing it at random moments and
doing the same again, as a person would; then two shells sign COUNT tasks together.
The record must verify, and hold every signing just once. The counts are printed.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from pathlib import Path

from hygiene.book.record import Record
from hygiene.book.verify import faults
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.setup import Farm, Person

HYGIENE = "import sys; from hygiene.cli import main; sys.argv[0]='hygiene'; main()"


def clock() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def build(folder: Path, count: int) -> Path:
    """A record with ``count`` tasks, all due at midnight of today."""
    path = folder / "farm.db"
    with (
        Record.create(path, clock, folder / "keys") as record,
        record.writing(clock, folder / "keys") as writing,
    ):
        writing.add(Farm(name="F", address="x", time_zone="UTC"), by="AB")
        writing.add(Person(code="AB", name="A"), by="AB")
        for n in range(count):
            step = Step(code="done", text="Done")
            task = Checklist(
                code=f"t{n:03}",
                title=f"Task {n}",
                version=1,
                dated=date(2026, 1, 1),
                rule="FREQ=DAILY",
                starts=date(2026, 1, 1),
                at=("00:00",),
                grace="3 d",
                steps=(step,),
            )
            writing.add(task, by="AB")
    return path


def start(path: Path, task: int) -> subprocess.Popen[str]:
    environ = {
        **os.environ,
        "HYGIENE_RECORD": str(path),
        "HYGIENE_KEYS": str(path.parent / "keys"),
    }
    words = [sys.executable, "-c", HYGIENE, "sign", f"t{task:03}", "--by", "AB"]
    return subprocess.Popen(
        words,
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def sign_with_kills(
    path: Path, count: int, chance: random.Random, shortest: float, longest: float
) -> tuple[int, int]:
    """Sign each task until it is acknowledged; the kills, and those after writing."""
    kills = written = 0
    for task in range(count):
        while True:
            running = start(path, task)
            if chance.random() < 0.6:
                time.sleep(chance.uniform(shortest, longest))
                running.kill()
            said, wrong = running.communicate()
            if running.returncode == 0:
                written += "Already recorded" in said
                break
            if running.returncode != -9:
                raise SystemExit(f"exit {running.returncode}: {wrong}")
            kills += 1
    return kills, written


def sign_together(path: Path, count: int) -> list[str]:
    """Two shells sign every other task at the same time; what went wrong."""

    def shell(first: int) -> list[str]:
        wrong = []
        for task in range(first, count, 2):
            running = start(path, task)
            _, said = running.communicate()
            if running.returncode or said:
                wrong.append(f"t{task:03}: exit {running.returncode}: {said}")
        return wrong

    with ThreadPoolExecutor(2) as shells:
        return [line for found in shells.map(shell, (0, 1)) for line in found]


def check(path: Path, count: int) -> list[str]:
    """What is wrong with the record: faults, signings lost or there twice."""
    with Record.open(path) as record:
        wrong = [f"{fault.where}: {fault.what}" for fault in faults(record)]
        times = Counter(entry.get("task") for entry in record.entries(["sign_off"]))
    for task in (f"t{n:03}" for n in range(count)):
        if times[task] != 1:
            wrong.append(f"{task} is there {times[task]} times")
    return wrong


def timing(path: Path) -> float:
    """How long a command takes here, so that kills fall all over its run."""
    began = time.perf_counter()
    start(path, 0).communicate()
    return time.perf_counter() - began


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    chance = random.Random(20260325)
    with tempfile.TemporaryDirectory() as folder:
        path = build(Path(folder), count)
        long = timing(path)
        kills, written = sign_with_kills(path, count, chance, 0, 1.1 * long)
        wrong = check(path, count)
        print(f"{count} signings, {kills} kills, {written} of them after the write")
        print(f"wrong: {wrong or 'nothing; the record verifies'}")
    with tempfile.TemporaryDirectory() as folder:
        path = build(Path(folder), count)
        shown = sign_together(path, count)
        wrong += check(path, count)
        print(f"two shells, {count} signings, {len(shown)} errors shown, {wrong}")
    raise SystemExit(bool(wrong or shown))


if __name__ == "__main__":
    main()
