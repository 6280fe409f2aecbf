"""What commands take as a record grows: start, time, memory, each to a floor.

By hand, where nothing else runs: python tests/benchmarks/growth.py --keep DIR [SIZE]

Records of ten thousand, a hundred thousand and a million entries (else of SIZE) are
built once in DIR (a million takes five minutes) and again on another day, since they
end on the morning of the day. Each figure is a fresh process with its bytecode kept:
the least of several runs, processor time, wall clock, and the peak of its memory.
What lives elsewhere: append.py, lock.py, import.py, pack.py, carry.py, causes.py.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from functools import partial
from hashlib import sha256
from itertools import count
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import NamedTuple

from big_record import A_DAY, CAN_DAYS, TASKS, Big, now

from hygiene.book.record import Record
from hygiene.book.schema import statements
from hygiene.kinds.codes import minted

SIZES = (10_000, 100_000, 1_000_000)
STARTS, ROUNDS, LONG = 15, 5, 2
MOST_MB, MOST_GROWTH, MOST_VERIFY = 150, 3.0, 4.5
HYGIENE = "from hygiene.cli import main; main()"
NO_OP = """import sqlite3, typer
app = typer.Typer(rich_markup_mode=None, add_completion=False)
@app.command()
def nothing() -> None:
    pass
app()"""
READ_AND_HASH = """import sqlite3, sys
from hashlib import sha256
hashed = ""
for line, in sqlite3.connect(sys.argv[1]).execute(
    "select line from entry order by book, seq"
):
    inner = sha256(line.encode()).hexdigest()
    hashed = sha256(f"{hashed}\\n{inner}".encode()).hexdigest()"""


class Used(NamedTuple):
    """What a process took, from its start to its end."""

    processor_s: float
    wall_s: float
    peak_mb: float


@dataclass(frozen=True)
class Measured:
    """A record that is measured, and what is asked of it."""

    big: Big
    book: str

    @property
    def last_day(self) -> int:
        return self.big.size // A_DAY

    @property
    def batch(self) -> str:
        """A batch that stands, sown yesterday."""
        return minted("batch", self.book, self.last_day - 1)

    @property
    def can(self) -> str:
        return minted("container", self.book, self.last_day // CAN_DAYS + 1)

    def traced(self, days_ago: int) -> list[str]:
        """A trace of a tray: another one each time, all of them with the same past."""
        day = self.last_day - 25 - days_ago
        tray = f"T{12 * ((day - 3) % 10) + 5:03}"
        return ["trace", tray, "--on", str(self.big.day(day).date())]


def run(words: Sequence[str], of: Big, okay: tuple[int, ...] = (0, 3)) -> Used:
    """One process of a command, or of a text given with ``-c``."""
    environ = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environ |= {
        "HYGIENE_RECORD": str(of.path),
        "HYGIENE_KEYS": str(of.keys),
        "HYGIENE_BY": "AB",
        "COLUMNS": "80",
    }
    text = [] if words[0] == "-c" else ["-c", HYGIENE]
    started = perf_counter()
    child = subprocess.Popen(
        [sys.executable, *text, *words],
        env=environ,
        cwd=of.folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    said = child.stderr.read() if child.stderr else b""
    _, status, taken = os.wait4(child.pid, 0)
    wall = perf_counter() - started
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in okay:
        raise SystemExit(f"{words}: {child.returncode}\n{said.decode()}")
    return Used(taken.ru_utime + taken.ru_stime, wall, taken.ru_maxrss / 1024)


def least(rounds: int, *jobs: Callable[[], Used]) -> list[Used]:
    """The least of each figure, the most of memory; the jobs take turns."""
    runs: list[list[Used]] = [[] for _ in jobs]
    for _ in range(rounds):
        for place, job in enumerate(jobs):
            runs[place].append(job())
    return [
        Used(min(r[0] for r in of), min(r[1] for r in of), max(r[2] for r in of))
        for of in runs
    ]


def show(what: str, used: Used, note: str = "") -> None:
    """One line of a table."""
    print(
        f"  {what:<34}{used.processor_s * 1000:9.0f}{used.wall_s * 1000:9.0f}"
        f"{used.peak_mb:7.0f}  {note}".rstrip(),
        flush=True,
    )


@contextmanager
def copied(of: Big) -> Iterator[Big]:
    """A copy that may be written to."""
    with TemporaryDirectory(dir=of.folder.parent) as place:
        made = Big(Path(place), of.size)
        shutil.copy(of.path, made.path)
        shutil.copytree(of.keys, made.keys)
        yield made


def starts(of: Measured) -> None:
    """The start of the commands that are typed most, to that of a no-op command."""
    print(f"start of each command, on {of.big.size:,} entries ({STARTS} runs)")
    yesterday = str(now().date() - timedelta(days=1))
    unsigned = count(TASKS)

    def sign() -> list[str]:
        said = ["temp=20", "humidity=60", "--on", yesterday, "--reason", "no signal"]
        return ["sign", f"task-{next(unsigned)}", *said]

    dose = ["T001..T012", "--from", of.can, "--to", "200", "--in", "60 L", "--check"]
    typed: dict[str, Callable[[], list[str]]] = {
        "--help": lambda: ["--help"],
        "today": lambda: ["today"],
        "sign": sign,
        "log": lambda: ["log"],
        "trace": lambda: of.traced(0),
        "feed --check": lambda: ["feed", of.batch, "EWES", "20", "--check"],
        "dose --check": lambda: ["dose", *dose],
        "ready, 30 days": lambda: ["ready", "--from", str(days_ago(30))],
        "calc dilute": lambda: ["calc", "dilute", *DILUTE],
    }
    with copied(of.big) as here:

        def job(made: Callable[[], list[str]]) -> Callable[[], Used]:
            return lambda: run(made(), here, (0, 3, 5))

        jobs = [job(lambda: ["-c", NO_OP]), *map(job, typed.values())]
        least(1, *jobs)
        floor, *found = least(STARTS, *jobs)
    show("a no-op typer command", floor)
    for name, used in zip(typed, found, strict=True):
        ratio = used.processor_s / floor.processor_s
        show(name, used, f"{ratio:.2f} of the no-op ({used.wall_s / floor.wall_s:.2f})")


DILUTE = ("--product", "hypo", "--to", "200", "--make", "60 L")


def days_ago(number: int) -> str:
    """A day so long ago, as it is typed."""
    return str(now().date() - timedelta(days=number))


def growth(measured: list[Measured]) -> bool:
    """What is asked in the shed, in every record by turns; whether it keeps its bar."""
    asked: dict[str, tuple[float, Callable[[Measured, int], list[str]]]] = {
        "today": (MOST_GROWTH, lambda m, n: ["today"]),
        "trace": (MOST_GROWTH, lambda m, n: m.traced(n)),
        "ready, 30 days": (0, lambda m, n: ["ready", "--from", days_ago(30)]),
        "causes, 90 days": (0, lambda m, n: ["causes", "--from", days_ago(90)]),
        "log, a week": (0, lambda m, n: ["log"]),
    }
    print(f"as the record grows ({ROUNDS} runs)")
    kept = True
    for name, (bar, words) in asked.items():
        jobs = [partial(asked_of, m, words, count()) for m in measured]
        least(1, *jobs)
        found = least(ROUNDS, *jobs)
        each = [finds(m) for m in measured] if name == "trace" else [1] * len(found)
        for m, used, entries in zip(measured, found, each, strict=True):
            grown = used.processor_s / found[0].processor_s * each[0] / entries
            told = f"{grown:.2f} of {measured[0].big.size:,}"
            told += f"; {entries} entries found" if name == "trace" else ""
            show(f"{name}, of {m.big.size:,}", used, told)
            kept &= not bar or grown <= bar
    return kept


def asked_of(
    of: Measured, words: Callable[[Measured, int], list[str]], turns: Iterator[int]
) -> Used:
    """Ask a record once more."""
    return run(words(of, next(turns)), of.big)


def finds(of: Measured) -> int:
    """How many entries and cross-links a trace shows."""
    done = subprocess.run(
        [sys.executable, "-c", HYGIENE, *of.traced(0), "--json"],
        env={**os.environ, "HYGIENE_RECORD": str(of.big.path)},
        capture_output=True,
    )
    told = json.loads(done.stdout)
    return sum(len(told[key]) for key in ("back", "forward", "sideways", "entries"))


def long_ones(of: Measured) -> bool:
    """What reads a year or all of it: memory, and verify to its floor."""
    print(f"a year, and all, of {of.big.size:,} entries ({LONG} runs)")
    begun = str(of.big.day(0).date())
    bare = ["-c", READ_AND_HASH, str(of.big.path)]
    floor, verified = least(
        LONG, lambda: run(bare, of.big), lambda: run(["verify"], of.big)
    )
    show("read and hash, bare", floor)
    ratio = verified.wall_s / floor.wall_s
    spent = verified.processor_s / floor.processor_s
    show("verify", verified, f"{ratio:.2f} of bare by the clock, {spent:.2f} processor")
    kept = ratio <= MOST_VERIFY and verified.peak_mb < MOST_MB
    year, whole = ["--from", days_ago(364)], ["--from", begun]
    for name, words in {
        "ready, a year": ["ready", *year],
        "causes, a year": ["causes", *year],
        "balance, a year": ["balance", *year],
        "log, a year": ["log", *year],
        "log, all": ["log", *whole],
        "log --json, all": ["log", "--json", *whole],
        "balance, all": ["balance", *whole],
    }.items():
        kept &= told(name, run(words, of.big))
    return kept & carried(of)


def told(name: str, used: Used) -> bool:
    """Show what was used; whether its memory keeps the bar."""
    keeps = used.peak_mb < MOST_MB
    show(name, used, "" if keeps else f"over {MOST_MB} MB")
    return keeps


def carried(of: Measured) -> bool:
    """Out of the record and into another: export, import, backup, merge."""
    kept = True
    with copied(of.big) as here, TemporaryDirectory(dir=here.folder) as place:
        away = Big(Path(place), of.big.size)
        stick = away.folder / "stick"
        stick.mkdir()
        kept &= told("export, all", run(["export", str(away.folder / "csv")], here))
        shutil.rmtree(away.folder / "csv")
        lines, half = away.folder / "all.jsonl", away.folder / "half.jsonl"
        kept &= told(
            "export --jsonl, all", run(["export", "--jsonl", str(lines)], here)
        )
        with lines.open() as source, half.open("w") as to:
            to.writelines(line for n, line in enumerate(source) if n < of.big.size // 2)
        lines.unlink()
        kept &= told("import, half", run(["import", str(half), "--write"], away))
        half.unlink()
        kept &= told("backup", run(["backup", str(stick)], here))
        (copy,) = stick.glob("*.db")
        kept &= told("merge, the other half", run(["merge", str(copy)], away))
    return kept


def machine() -> str:
    """The processor, its cores, and the versions of Python and SQLite."""
    names = [
        line.partition(": ")[2]
        for line in Path("/proc/cpuinfo").read_text().splitlines()
        if line.startswith("model name")
    ]
    return (
        f"{names[0] if names else platform.processor()}, {os.cpu_count()} cores, "
        f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}"
    )


def main() -> None:
    """Build what is not there yet, measure, and end with 1 where a bar is missed."""
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("--keep", type=Path, required=True, metavar="DIR")
    asked.add_argument("sizes", type=int, nargs="*", metavar="SIZE", default=SIZES)
    given = asked.parse_args()
    measured = [built(given.keep, size) for size in given.sizes]
    print(f"{machine()}\n{'':36}processor  wall ms    MB")
    starts(measured[0])
    kept = growth(measured)
    for each in measured:
        kept &= long_ones(each)
    sys.exit(not kept)


def built(keep: Path, size: int) -> Measured:
    """The record of a size that ends today."""
    folder = keep.absolute() / f"{size}-{now():%Y-%m-%d}"
    big = Big(folder, size)
    layout, mark = sha256("".join(statements()).encode()).hexdigest(), folder / "built"
    if not mark.exists() or mark.read_text() != layout:
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        # elsewhere: a process begins with the peak of memory of the one that made it
        builder = get_context("spawn").Process(target=big.build)
        builder.start()
        builder.join()
        if builder.exitcode:
            raise SystemExit(f"{size:,} entries could not be built")
        mark.write_text(layout)
    with Record.open(big.path) as record:
        return Measured(big, record.heads()[0].book)


if __name__ == "__main__":
    main()
