"""How long commands take to start, as a ratio to what they cannot do without.

By hand: python tests/benchmarks/start.py [RECORD]

``--help`` is compared with ``import typer`` (the bar: 1.3), ``today`` with a typer
command that does nothing but import sqlite3 (the bar: 1.8). Each is a process of its
own, in turns, so that a busy machine is as unfair to all. Without RECORD, the farm of
demo_farm/FARM.toml is set up and a year of sign-offs is written into it.
"""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from big_record import interleaved, now

from hygiene.book.record import Record
from hygiene.kinds.day import Answer, SignOff
from hygiene.kinds.moments import stamp
from hygiene.rota.schedule import read_rota

ROUNDS = 41
FARM = Path(__file__).parents[2] / "demo_farm" / "FARM.toml"
HYGIENE = "from hygiene.cli import main; main()"
NO_OP = """import sqlite3, typer
app = typer.Typer(rich_markup_mode=None, add_completion=False)
@app.command()
def nothing() -> None:
    pass
app()"""


class Command:
    """A command in a process of its own; ``okay`` are the codes it may end with."""

    def __init__(self, text: str, *words: str, okay: tuple[int, ...] = (0,)) -> None:
        self.words = [sys.executable, "-c", text, *words]
        self.okay = okay

    def __call__(self) -> None:
        done = subprocess.run(
            self.words, capture_output=True, env={**os.environ, "COLUMNS": "80"}
        )
        if done.returncode not in self.okay:
            raise SystemExit(done.stderr.decode())


def a_year(folder: Path) -> Path:
    """The demonstration's farm, with every due of a year up to yesterday signed."""
    path, keys = folder / "farm.db", folder / "keys"
    os.environ["HYGIENE_KEYS"] = str(keys)
    start = now() - timedelta(days=366)
    made = ("set-up", str(FARM), "--yes", "--by", "MP", "--record", str(path))
    Command(HYGIENE, *made, "--from", f"{start:%Y-%m-%d}")()
    with Record.open(path, to_write=True) as record, record.writing(now, keys) as book:
        rota = read_rota(record.setup())
        today = rota.day_of(now())
        for due in rota.dues(today - timedelta(days=365), today - timedelta(days=1)):
            answers = tuple(
                Answer(step=step["code"], passed=True, done=True)
                for step in due.task.steps
            )
            thing = SignOff(
                task=due.code,
                due=stamp(due.at),
                version=due.task.version,
                answers=answers,
            )
            book.add(thing, by="MP", happened_at=due.at)
        print(f"a year of {record.count():,} entries")
    return path


def main() -> None:
    """Print least and median of each in milliseconds, and the two ratios."""
    with TemporaryDirectory() as folder:
        path = Path(sys.argv[1]) if len(sys.argv) > 1 else a_year(Path(folder))
        commands = {
            "python": Command("pass"),
            "import typer": Command("import typer"),
            "hygiene --help": Command(HYGIENE, "--help"),
            "a no-op command": Command(NO_OP),
            "hygiene today": Command(
                HYGIENE, "today", "--record", str(path), okay=(0, 3)
            ),
        }
        timed = dict(
            zip(commands, interleaved(ROUNDS, *commands.values()), strict=True)
        )
    for name, (least, median) in timed.items():
        print(f"  {name:<18} {least:7.1f} {median:7.1f}")
    for name, base, bar in (
        ("hygiene --help", "import typer", 1.3),
        ("hygiene today", "a no-op command", 1.8),
    ):
        least, median = (timed[name][i] / timed[base][i] for i in (0, 1))
        print(f"{name} / {base}: {median:.2f} (least {least:.2f}); the bar is {bar}")


if __name__ == "__main__":
    main()
