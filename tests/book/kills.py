"""Kill a writer in the middle, again and again, and see what the record then holds."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path
from random import Random
from typing import NamedTuple

DRIVER = Path(__file__).with_name("append.py")
LONGEST_S = 10.0


class Killed(NamedTuple):
    """What was acknowledged on the way, and how often the writer was killed."""

    acknowledged: list[int]
    kills: int


def append_under_fire(record: Path, keys: Path, count: int, dice: Random) -> Killed:
    """Have ``count`` entries appended by a driver that is killed at random moments.

    Each time, the first entry that was not acknowledged is tried again, as the person
    would. The driver is killed within a few appends of its first one.
    """
    acknowledged: list[int] = []
    kills = 0
    while len(acknowledged) < count:
        driver = start(record, keys, len(acknowledged), count - len(acknowledged))
        assert driver.stdout is not None
        first = driver.stdout.readline()
        try:
            driver.wait(timeout=dice.uniform(0, 0.03))
        except subprocess.TimeoutExpired:
            driver.send_signal(signal.SIGKILL)
        rest = driver.stdout.read()
        driver.stdout.close()
        kills += driver.wait(LONGEST_S) == -signal.SIGKILL
        acknowledged += [int(line) for line in (first + rest).splitlines()]
    return Killed(acknowledged, kills)


def start(
    record: Path, keys: Path, first: int, count: int, who: str = "AB"
) -> subprocess.Popen[str]:
    """A driver that appends entries ``first`` and following."""
    words = [sys.executable, DRIVER, record, keys, str(first), str(count), who]
    return subprocess.Popen(words, stdout=subprocess.PIPE, text=True)
