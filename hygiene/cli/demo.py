"""``hygiene demo``: an invented farm and a year of its record, to try things on.

The year ends on this very day, so that the record goes on under the real clock. Every
step after the building is a command that a user could type, run as it is printed.
"""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from importlib import import_module
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType
from typing import Annotated

import typer

from hygiene.book.keys import Kept, Key
from hygiene.book.record import Record
from hygiene.cli import command
from hygiene.cli.lazy import one_command
from hygiene.cli.world import World
from hygiene.errors import FOUND_SOMETHING, NoRecord
from hygiene.reports.period import long_day
from hygiene.shipped import shipped

app = one_command()

A_YEAR = 365
A_DAY, A_WEEK = timedelta(days=1), timedelta(days=7)
A_QUARTER = 4
"""The pack is of a quarter of the time that the record spans, its last one."""
SHORTEST = 45
"""Days; the bad batch, and what a month's page should show, lie within them."""


class HoldsARecord(NoRecord):
    """The folder for the demonstration holds a record already."""

    sentence = "{folder} holds a record already (farm.db), and nothing is overwritten"


class CannotMake(NoRecord):
    """The folder cannot be made or written."""

    sentence = "{folder} cannot be used: {what}"


@app.command()
def demo(
    ctx: typer.Context,
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="A folder for the record and PDFs.")
    ],
    days: Annotated[
        int,
        typer.Option(min=SHORTEST, max=A_YEAR, help="How many days, up to today."),
    ] = A_YEAR,
) -> None:
    """See it work: an invented farm and a year of its record, made in DIR.

    It shows today's page, signs a task, follows a batch that went mouldy, makes the
    PDFs of the day, the month, the trace and the inspector's pack, and verifies the
    record. Nothing in it is real, and every page of it says so.

    Example: hygiene demo out
    """
    world: World = ctx.obj
    year, farm_file = generator(), shipped("demo_farm") / "FARM.toml"
    until: datetime = year.morning_of(farm_file, world.now())
    path = folder / "farm.db"

    def build(place: Path, keys: Path) -> None:
        bar = progress(sys.stderr.isatty())
        year.build(place, keys, farm_file, until, days=days, progress=bar)

    if path.exists():
        raise _holds(path)
    print("An invented farm and its record: nothing in it is real.", flush=True)
    make(path, world.keys(), build)
    day = long_day(until.date())
    print(f"The record is {path}. It ends on {day}, {until:%H:%M}.")
    print("The commands below run by that clock; those that you type, by yours.")
    steps = world._replace(now=lambda: until, asks=False)
    codes = {_show(steps, words) for words in _steps(year, path, until, days)}
    failed = max(codes - {FOUND_SOMETHING})
    for line in _told(year, path, until, days):
        print(line)
    if failed:
        raise typer.Exit(failed)


def generator() -> ModuleType:
    """The year's maker, from where it was shipped: it is data, not of the package."""
    home = shipped("demo_farm")
    spec = spec_from_file_location(
        "demo_farm", home / "__init__.py", submodule_search_locations=[str(home)]
    )
    if "demo_farm" not in sys.modules and spec and spec.loader:
        sys.modules["demo_farm"] = module_from_spec(spec)
        spec.loader.exec_module(sys.modules["demo_farm"])
    return import_module("demo_farm.year")


def make(path: Path, keys: Path, build: Callable[[Path, Path], None]) -> None:
    """Build the record beside and give it its name when it is whole.

    So what is stopped leaves no half record, and a name that was taken stays as it is.
    """
    with _folder(path.parent), TemporaryDirectory(dir=path.parent, prefix=".") as aside:
        made = Path(aside) / path.name
        build(made, Path(aside) / "keys")
        with Record.open(made) as record:
            (head,) = record.heads()
        Kept(keys, Key(*head)).put()
        try:
            os.link(made, path)
        except FileExistsError:
            raise _holds(path) from None
        except OSError:  # a file system without links
            made.rename(path)


@contextmanager
def _folder(folder: Path) -> Iterator[None]:
    """The folder, made if there is none; it goes again if nothing came to stand in it.

    Raises ``CannotMake``.
    """
    fresh = not folder.exists()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        yield
    except OSError as failure:
        raise CannotMake(
            folder=folder,
            what=failure.strerror or failure,
            way_out="give a folder that can be written: hygiene demo DIR",
        ) from failure
    finally:
        if fresh and folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()


def _holds(path: Path) -> HoldsARecord:
    return HoldsARecord(
        folder=path.parent,
        way_out="give another folder; or go on with it: hygiene today --record "
        f"{shlex.quote(str(path))}",
    )


def progress(terminal: bool) -> Callable[[int, int], None]:
    """What shows how far it is: a line written over, or a few lines in a pipe."""

    def show(done: int, of: int) -> None:
        text = f"Making its record: {done} of {of} days"
        if terminal:
            print(f"\r{text}", end="\n" if done == of else "", file=sys.stderr)
        elif done * 4 // of > (done - 1) * 4 // of:
            print(text, file=sys.stderr)
        sys.stderr.flush()

    return show


def _steps(
    year: ModuleType, path: Path, until: datetime, days: int
) -> Iterator[list[str]]:
    """The commands that are shown, one after the other."""
    on, last = ["--record", str(path)], until.date()
    yield ["today", *on]
    with Record.open(path) as record:
        signing: list[str] = year.to_sign(record, until)
    yield ["sign", *signing, *on]
    yield ["report", "day", "--on", str(last), "--out", str(_day(path, last)), *on]
    month, page = f"{last - A_WEEK:%Y-%m}", str(_month(path, last))
    yield ["report", "month", "--month", month, "--out", page, *on]
    bad = _bad_batch(path)
    yield ["trace", bad, *on]
    yield ["report", "trace", bad, "--out", str(_trace(path, bad)), *on]
    first = last - (days // A_QUARTER) * A_DAY
    of = ["--from", str(first), "--to", str(last)]
    yield ["report", "pack", *of, "--out", str(_pack(path)), *on]
    yield ["verify", *on]


def _bad_batch(path: Path) -> str:
    """The batch in which mould was found."""
    with Record.open(path) as record:
        (found, *_) = record.entries(["mould"])
    return str(found.get("batch"))


def _trace(path: Path, batch: str) -> Path:
    return path.with_name(f"trace-{batch}.pdf")


def _pack(path: Path) -> Path:
    return path.with_name("pack.pdf")


def _day(path: Path, last: date) -> Path:
    return path.with_name(f"day-{last}.pdf")


def _month(path: Path, last: date) -> Path:
    """In the first week of a month, the page of the month before is the fuller one."""
    return path.with_name(f"month-{last - A_WEEK:%Y-%m}.pdf")


def _show(world: World, words: list[str]) -> int:
    """Run a command as a user would, and show what was typed; its exit code."""
    print(f"\n$ hygiene {shlex.join(words)}", flush=True)
    made = command.main(
        args=words, prog_name="hygiene", obj=world, standalone_mode=False
    )
    sys.stdout.flush()
    return made if isinstance(made, int) else 0


def _told(year: ModuleType, path: Path, until: datetime, days: int) -> Iterator[str]:
    """What is to be found in the record, and what to try."""
    last = until.date()
    yield "\nWhat went wrong in that time, to be found again:"
    for planted in year.PLANTED:
        if planted.before < days:
            yield f"  {planted.on(last)}  {planted.task:<9} {planted.says}"
    yield "\nLook at:"
    bad = _bad_batch(path)
    pages = (_day(path, last), _month(path, last), _trace(path, bad), _pack(path))
    yield from (f"  {page}" for page in pages if page.exists())
    yield "\nTry next; from here on it is your own clock that counts:"
    yield from (
        f"  hygiene {shlex.join([*words, '--record', str(path)])}"
        for words in _to_try(year, path, last)
    )
    yield "\nFor a farm of your own, begin with a copy of:"
    yield f"  {shipped('demo_farm') / 'FARM.toml'}"


def _to_try(year: ModuleType, path: Path, last: date) -> Iterator[list[str]]:
    manager, worker = ["--by", year.MANAGER], ["--by", year.WORKER]
    gap = next(planted for planted in year.PLANTED if planted.sort == "gap")
    with Record.open(path) as record:
        (still_open, *_) = record.unanswered("action", "close")
    yield ["today"]
    yield ["sign", "wash", *manager]
    yield ["recheck", still_open.name, "--seen", "sprays evenly", "--passed", *manager]
    why = ["--reason", "called away, forgot it"]
    yield ["miss", gap.task, "--on", str(gap.on(last)), *why, *worker]
    a_year = ["--from", str(last - A_YEAR * A_DAY)]
    floor = ["--product", "quat", "--to", "1000", "--in", "15 L"]
    yield ["dose", "T119", *floor, *manager, "--check"]
    yield ["ready"]
    yield ["balance", *a_year]
    yield ["log", "mould", *a_year]
