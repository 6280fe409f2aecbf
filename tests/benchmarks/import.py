"""How fast records come in, against sqlite-utils' own bulk insert into the same tables.

Run by hand: python tests/benchmarks/import.py [COUNT]. Each figure is a ratio of speeds
measured in the same run: 1.00 is as fast as ``insert_all``, 0.50 half as fast. It is
the processor's time, so that a busy machine says the same; what a disk makes ``insert_
all`` wait between its batches is left out, which favours it.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path[:0] = [str(Path(__file__).parents[1])]

# ruff: noqa: E402
from small_farm import SmallFarm, build
from typer.testing import CliRunner

from hygiene.book import chain
from hygiene.book.record import connect
from hygiene.book.replay import replay
from hygiene.book.writing import lay_out
from hygiene.cli import command
from hygiene.kinds.book import Opening
from hygiene.kinds.entry import Entry, write_line
from hygiene.kinds.moments import stamp
from hygiene.kinds.people import Visitor

COUNT = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
START = datetime(2021, 1, 1, 7, tzinfo=UTC)
BOOK = "shed-k7q2"


def visit(number: int) -> tuple[datetime, Visitor]:
    at = START + timedelta(days=number // 40, minutes=20 * (number % 40))
    thing = Visitor(
        name=f"Driver {number % 97}",
        why="delivery",
        places="yard",
        washed_hands=True,
        dipped_boots=True,
        well=True,
        note=f"load {number}",
    )
    return at, thing


def rows() -> list[dict[str, object]]:
    made, hashed = [], chain.start(BOOK)
    for seq in range(1, COUNT + 1):
        at, thing = visit(seq)
        kind, body = thing.kind, thing.body()
        if seq == 1:
            first = Opening(record="0" * 16, why="the first book of this record")
            kind, body = first.kind, first.body()
        line = write_line(Entry(BOOK, seq, kind, stamp(at), stamp(at), "AB", body))
        hashed = chain.follow(hashed, line.encode())
        made.append({"book": BOOK, "seq": seq, "line": line, "hash": hashed})
    return made


def insert_all(folder: Path, made: list[dict[str, object]]) -> None:
    import sqlite_utils

    path = folder / "floor.db"
    with closing(connect(path, create=True)) as db:
        lay_out(db)
    db = sqlite_utils.Database(path)
    db["entry"].insert_all(made)
    db.close()


def lines(folder: Path, made: list[dict[str, object]]) -> None:
    path = folder / "lines.jsonl"
    found = replay(path, folder / "lines.db", write=True)
    assert found.lines == COUNT


def as_csv(folder: Path) -> Path:
    path = folder / "visitor.csv"
    with path.open("w") as file:
        file.write("date,time,by,name,why,places,washed_hands,dipped_boots,well,note\n")
        for number in range(1, COUNT + 1):
            at, thing = visit(number)
            file.write(
                f"{at:%Y-%m-%d},{at:%H:%M},AB,{thing.name},delivery,yard,yes,yes,yes,"
                f"{thing.note}\n"
            )
    return path


def spreadsheet(folder: Path) -> None:
    farm = SmallFarm(folder, now=START + timedelta(days=4000))
    words = ["import", str(folder / "visitor.csv"), "visitor", "--by", "AB", "--write"]
    done = CliRunner().invoke(command, words, obj=farm.world())
    assert done.exit_code == 0, done.output


def seconds(work: Callable[[], object]) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def main() -> None:
    import typer.testing

    typer.testing._get_command = lambda made: made
    with TemporaryDirectory() as name:
        folder = Path(name)
        made = rows()
        (folder / "lines.jsonl").write_text("".join(f"{r['line']}\n" for r in made))
        floor = seconds(lambda: insert_all(folder, made))
        ours = seconds(lambda: lines(folder, made))
        build(folder)
        as_csv(folder)
        sheet = seconds(lambda: spreadsheet(folder))
        most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"{COUNT:,} entries; sqlite-utils insert_all: {floor:.2f} s")
    for name, took in (("lines.jsonl", ours), ("visitor.csv", sheet)):
        print(f"hygiene import {name}: {took:.2f} s, {floor / took:.2f} of its speed")
    print(f"at most {most} MB, with the rows of this program")


if __name__ == "__main__":
    main()
