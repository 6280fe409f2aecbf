"""Backup, restore and merge of long records: seconds, and the memory at its peak.

Each against a floor measured in the same run: the file read and hashed once. By hand:

python tests/benchmarks/carry.py [ENTRIES ...]
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from contextlib import closing
from hashlib import file_digest
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from big_record import Big

from hygiene.book import keys
from hygiene.book.record import Record
from hygiene.cli import command
from hygiene.cli.world import World

SIZES = (10_000, 100_000)


def used(words: list[str], folder: Path) -> tuple[float, float]:
    """Run a command in a child: its seconds, and its peak memory in MB."""
    environ = {
        "HYGIENE_RECORD": str(folder / "farm.db"),
        "HYGIENE_KEYS": str(folder / "keys"),
        "HYGIENE_BY": "AB",
    }
    started = perf_counter()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            sys.stdout = Path(os.devnull).open("w")  # noqa: SIM115
            world = World.from_process()._replace(environ=environ)
            made = command.main(args=words, obj=world, standalone_mode=False)
            code = made if isinstance(made, int) else 0
        finally:
            os._exit(code)
    _, status, told = os.wait4(child, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 3):
        raise AssertionError((words, status))
    return perf_counter() - started, told.ru_maxrss / 1000


def show(what: str, seconds: float, megabytes: float, floor: float) -> None:
    print(
        f"  {what:<22}{seconds:7.2f} s  {seconds / floor:5.1f} x  {megabytes:5.0f} MB",
        flush=True,
    )


def grown(shed: Path, office: Path, size: int) -> Big:
    """A record of ``size``; the office has it as it stood at half of that."""
    half = Big(shed, size // 2)
    half.build()
    shutil.copy(half.path, office / "farm.db")
    big = Big(shed, size)
    with Record.open(half.path) as record:
        (head,) = record.heads()
    with closing(sqlite3.connect(half.path, isolation_level=None)) as db:
        db.execute("pragma synchronous = off")
        big._fill(db, *head)
    with Record.open(big.path) as record:
        (head,) = record.heads()
    keys.Kept(big.keys, keys.Key(*head)).put()
    return big


def read_and_hashed(path: Path) -> float:
    started = perf_counter()
    with path.open("rb") as file:
        file_digest(file, "sha256")
    return perf_counter() - started


def main() -> None:
    for size in [int(word) for word in sys.argv[1:]] or SIZES:
        with TemporaryDirectory() as place:
            folders = [Path(place) / name for name in ("a", "b", "c", "stick")]
            for folder in folders:
                folder.mkdir()
            shed, office, new, stick = folders
            big = grown(shed, office, size)
            floor = read_and_hashed(big.path)
            megabytes = big.path.stat().st_size / 1e6
            print(
                f"{size:,} entries, {megabytes:.0f} MB, read and hashed {floor:.2f} s"
            )
            show("backup", *used(["backup", str(stick)], shed), floor)
            (copy,) = stick.glob("*.db")
            show("restore", *used(["restore", str(copy)], new), floor)
            show("merge half of it", *used(["merge", str(copy)], office), floor)
            show("merge, nothing new", *used(["merge", str(copy)], office), floor)


if __name__ == "__main__":
    main()
