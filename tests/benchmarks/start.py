"""How long commands take to start, as a ratio to what they cannot do without.

By hand: python tests/benchmarks/start.py [RECORD]

``--help`` is compared with ``import typer`` (the bar: 1.3), ``today`` with a typer
command that does nothing but import sqlite3 (the bar: 1.8). Each is a process of its
own, in turns, so that a busy machine is as unfair to all. Without RECORD, the year of
the demonstration is made first (half a minute at most). Where numpy is installed, the
last line says whether any of these imported it.
"""

from __future__ import annotations

import os
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

from big_record import interleaved, now

from hygiene.book.record import Record
from hygiene.cli.demo import generator
from hygiene.shipped import shipped

ROUNDS = 41
FARM = shipped("demo_farm") / "FARM.toml"
TODAY = ("today", "--record")
HYGIENE = "from hygiene.cli import main; main()"
NO_OP = """import sqlite3, typer
app = typer.Typer(rich_markup_mode=None, add_completion=False)
@app.command()
def nothing() -> None:
    pass
app()"""


ENVIRONMENT = {**os.environ, "COLUMNS": "80"}
# an installed program is compiled once; what is measured here shall be as well
ENVIRONMENT.pop("PYTHONDONTWRITEBYTECODE", None)


class Command:
    """A command in a process of its own; ``okay`` are the codes it may end with."""

    def __init__(self, text: str, *words: str, okay: tuple[int, ...] = (0,)) -> None:
        self.words = [sys.executable, "-c", text, *words]
        self.okay = okay

    def __call__(self) -> None:
        done = subprocess.run(self.words, capture_output=True, env=ENVIRONMENT)
        if done.returncode not in self.okay:
            raise SystemExit(done.stderr.decode())


def a_year(folder: Path) -> Path:
    """The year of the demonstration, up to this morning."""
    year, path = generator(), folder / "farm.db"
    year.build(path, folder / "keys", FARM, year.morning_of(FARM, now()))
    with Record.open(path) as record:
        print(f"the year of the demonstration: {record.count():,} entries")
    return path


def numpy_is_imported(*words: str) -> bool:
    """Whether a command loads numpy, as it tells at its end."""
    told = "import atexit, sys; atexit.register(lambda: print('numpy' in sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", f"{told}; {HYGIENE}", *words],
        capture_output=True,
        text=True,
    )
    return done.stdout.splitlines()[-1] == "True"


def main() -> None:
    """Print least and median of each in milliseconds, and the two ratios."""
    with TemporaryDirectory() as folder:
        path = Path(sys.argv[1]) if len(sys.argv) > 1 else a_year(Path(folder))
        commands = {
            "python": Command("pass"),
            "import typer": Command("import typer"),
            "hygiene --help": Command(HYGIENE, "--help"),
            "a no-op command": Command(NO_OP),
            "hygiene today": Command(HYGIENE, *TODAY, str(path), okay=(0, 3)),
        }
        for each in commands.values():
            each()
        timed = dict(
            zip(commands, interleaved(ROUNDS, *commands.values()), strict=True)
        )
        loaded = [numpy_is_imported("--help"), numpy_is_imported(*TODAY, str(path))]
    for name, (least, median) in timed.items():
        print(f"  {name:<18} {least:7.1f} {median:7.1f}")
    for name, base, bar in (
        ("hygiene --help", "import typer", 1.3),
        ("hygiene today", "a no-op command", 1.8),
    ):
        least, median = (timed[name][i] / timed[base][i] for i in (0, 1))
        print(f"{name} / {base}: {median:.2f} (least {least:.2f}); the bar is {bar}")
    there = "" if find_spec("numpy") else "not "
    print(f"numpy is {there}installed; imported by --help, by today: {loaded}")


if __name__ == "__main__":
    main()
