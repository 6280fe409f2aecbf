"""``backup`` and ``restore``: a verified copy elsewhere, and bringing one back."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from hygiene.acts.carrying import backed_up
from hygiene.acts.how import How
from hygiene.book.record import Head, Record
from hygiene.cli.desk import (
    AsJson,
    By,
    RecordPath,
    note,
    reading,
    say_of,
    show_json,
    written,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.world import World
from hygiene.errors import FOUND_SOMETHING, HygieneError
from hygiene.kinds.words import gist

backup_app = one_command()
restore_app = one_command()

PROGRAM = "hygiene"
"""Signs a copy that ran by itself, from a timetable of the machine."""


@backup_app.command()
def backup(
    ctx: typer.Context,
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A stick, or any other disk.")
    ],
    keep: Annotated[
        int, typer.Option(min=1, max=10_000, help="So many copies are kept there.")
    ] = 14,
    by: By = None,
    record: RecordPath = None,
) -> None:
    """Copy the record to a stick or folder, and verify the copy there.

    The copy is dated, and its heads stand in a text file beside it. Older copies go
    only once the new one is verified, and only where it holds all of their lines.

    Example: hygiene backup /media/stick
    """
    from hygiene.book.backup import back_up, text_beside

    world: World = ctx.obj
    with reading(ctx, record) as desk:
        who = desk.person(by) if desk.world.by(by) else PROGRAM
        path, clock = desk.record.path, desk.clock
        made = back_up(desk.record, folder, desk.now, keep)
    count = sum(head.seq for head in made.heads)
    print(f"Copied and verified: {count} entries, {_size(made.bytes)}.")
    print(f"  {made.path}")
    print(f"  {text_beside(made.path).name} beside it says what it holds:")
    _show_heads(made.heads)
    if made.removed:
        print(f"  {len(made.removed)} older went; the newest {keep} are kept.")
    if _same_disk(path, folder):
        note("It lies on the same disk as the record: keep one on another as well.")
    try:
        with (
            Record.open(path, to_write=True) as opened,
            opened.writing(clock, world.keys(), world.place()) as writing,
        ):
            entry = backed_up(writing, How(who), made.path, made.heads, made.bytes)
    except HygieneError as failure:
        note(f"The copy is good, but that it was made could not be written: {failure}")
        raise typer.Exit(FOUND_SOMETHING) from failure
    world.wrote([entry])
    written(entry, gist(entry))
    say_of(writing, clock())


def _same_disk(path: Path, folder: Path) -> bool:
    try:
        return path.stat().st_dev == folder.stat().st_dev
    except OSError:
        return False


def _size(count: int) -> str:
    return f"{count / 1e6:.1f} MB" if count >= 100_000 else f"{count / 1e3:.0f} kB"


def _show_heads(heads: list[Head]) -> None:
    for head in heads:
        print(f"  head {head}")


@restore_app.command()
def restore(
    ctx: typer.Context,
    copy: Annotated[
        Path, typer.Argument(metavar="FILE", help="The copy that is brought back.")
    ],
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Bring a copy back, if it verifies and the record has nothing that it lacks.

    The file that stood there is moved aside, dated, never removed. The next entry is
    written into a new book, since the old one may go on elsewhere.

    Example: hygiene restore /media/stick/farm-2026-03-02-070000.db
    """
    from hygiene.book.restore import restore as bring_back

    world: World = ctx.obj
    path = world.record(record)
    done = bring_back(copy, path, world.now())
    if as_json:
        show_json(
            {
                "record": str(path),
                "restored": not done.same,
                "heads": [str(head) for head in done.heads],
                "moved_aside": str(done.aside) if done.aside else None,
                "lost_with_the_damaged": [str(head) for head in done.damaged],
            }
        )
    elif done.same:
        print(f"{path} has all that {copy.name} has: nothing was changed.")
    else:
        count = sum(head.seq for head in done.heads)
        print(f"Restored and verified: {count} entries stand in {path}.")
        _show_heads(done.heads)
        if done.aside:
            print(f"What stood there was moved to {done.aside}.")
    for head in done.damaged:
        note(
            f"The damaged file reached {head.book}/{head.seq}, the copy does not: look "
            "at what was lost and write it again "
            f"(hygiene log --record {shlex.quote(str(done.aside))})."
        )
    if done.damaged:
        raise typer.Exit(FOUND_SOMETHING)
