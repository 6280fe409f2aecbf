"""``hygiene merge``: take over what another device wrote."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from hygiene.acts.merging import Arrived, Seen, arrived
from hygiene.book.record import NoSuchRecord, NotOurs, Record
from hygiene.cli.desk import AsJson, Desk, RecordPath, at_work, note, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import folded
from hygiene.cli.world import World
from hygiene.errors import FOUND_SOMETHING, Damaged, HygieneError, NoRecord, Refused

if TYPE_CHECKING:
    from hygiene.book.merge import Came

app = one_command()

MOST = 20
"""So many of one sort are shown; the first merge of years would fill the screen."""


class NothingThere(NoRecord):
    """A folder without a record of this farm."""

    sentence = "there is no other record of this farm in {folder}"


class Merged(NamedTuple):
    """What came from one file."""

    path: Path
    arrived: list[Arrived]
    seen: list[Seen]


@app.command()
def merge(
    ctx: typer.Context,
    other: Annotated[
        Path,
        typer.Argument(
            metavar="OTHER.db", help="Another device's record, or a folder of them."
        ),
    ],
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Take over the lines of another device's record that are not here yet.

    Both are verified first; it may be done again and again. For the other way, run it
    on the other device. A folder that is synced works as well: carry copies into it
    (hygiene backup FOLDER), never the record itself.

    Example: hygiene merge /media/stick/farm-2026-03-02-070000.db
    """
    world: World = ctx.obj
    path = world.record(record)
    if not path.is_file():
        raise NoSuchRecord(
            path=path, way_out=f"begin with a copy: hygiene restore {other}"
        )
    failures: list[HygieneError] = []
    with at_work(ctx, record) as desk:
        _need_whole(desk.record)
        if other.is_dir():
            merged = list(_from_folder(desk, other, failures))
        else:
            merged = [_from_file(desk, other)]
        count = desk.record.count()
    if as_json:
        show_json(_json(merged, failures))
    else:
        for line in _page(merged):
            print(folded(line, world.width))
        print(f"The record holds {count} entries now, and both sides verify.")
    for failure in failures:
        note(f"hygiene: left out: {failure}")
    if failures:
        raise typer.Exit(_worst(failures))
    if any(each.seen for each in merged):
        raise typer.Exit(FOUND_SOMETHING)


def _need_whole(record: Record) -> None:
    from hygiene.book.backup import not_verified
    from hygiene.book.verify import faults

    found = faults(record)
    if found:
        raise not_verified(record.path, found[0])


def _from_file(desk: Desk, path: Path) -> Merged:
    from hygiene.book.merge import looked_at, merge

    with looked_at(path, desk.record) as other:
        came = merge(desk.record, other, path)
    return _looked_at(desk, path, came)


def _looked_at(desk: Desk, path: Path, came: list[Came]) -> Merged:
    return Merged(path, *arrived(desk.record, desk.farm, came, desk.now))


def _from_folder(
    desk: Desk, folder: Path, failures: list[HygieneError]
) -> Iterator[Merged]:
    """The fullest record first: what only repeats it is then soon found to be so."""
    from hygiene.book.merge import nothing_new

    found = 0
    for path in sorted(folder.glob("*.db"), key=_fullness, reverse=True):
        if path.samefile(desk.record.path):
            continue
        try:
            with Record.open(path) as other:
                known = nothing_new(desk.record, other)
            yield Merged(path, [], []) if known else _from_file(desk, path)
            found += 1
        except NotOurs:
            continue
        except Refused as other_farm:
            note(f"left out: {other_farm}")
        except (Damaged, NoRecord) as failure:
            failures.append(failure)
    if not found and not failures:
        raise NothingThere(
            folder=folder, way_out="on the other device: hygiene backup FOLDER"
        )


def _fullness(path: Path) -> tuple[int, str]:
    try:
        with Record.open(path) as record:
            return record.count(), path.name
    except HygieneError:
        return 0, path.name


def _worst(failures: list[HygieneError]) -> int:
    codes = {failure.exit_code for failure in failures}
    return next(code for code in (6, 7, *sorted(codes)) if code in codes)


def _page(merged: list[Merged]) -> Iterator[str]:
    """What came from each file, and together what brought nothing."""
    for each in merged:
        if each.arrived:
            yield f"Taken over from {each.path}:"
            yield from map(_lines, each.arrived)
            yield from _to_look_at(each.seen)
    old = [each.path for each in merged if not each.arrived]
    if len(old) == 1:
        yield f"Nothing new in {old[0]}."
    elif old:
        yield f"Nothing new in {len(old)} records."


def _lines(arrived: Arrived) -> str:
    came = arrived.came
    kinds = ", ".join(f"{n} {k.replace('_', ' ')}" for k, n in arrived.kinds.items())
    last = f" to {came.last}" if came.last > came.first else ""
    return f"  {came.book}/{came.first}{last}: {kinds}"


def _to_look_at(seen: list[Seen]) -> Iterator[str]:
    sorts: dict[str, list[Seen]] = {}
    for each in seen:
        sorts.setdefault(each.sort, []).append(each)
    for sort, these in sorts.items():
        yield ""
        yield sort.upper()
        for each in these[:MOST]:
            names = f" ({', '.join(each.entries)})" if each.entries else ""
            yield f"  {each.says}{names}"
        if len(these) > MOST:
            yield f"  and {len(these) - MOST} more; see --json"
    if seen:
        yield ""


def _json(merged: list[Merged], failures: list[HygieneError]) -> dict[str, Any]:
    return {
        "merged": [
            {
                "from": str(each.path),
                "books": [
                    {**a.came._asdict(), "kinds": dict(a.kinds)} for a in each.arrived
                ],
                "look_at": [s._asdict() for s in each.seen],
            }
            for each in merged
        ],
        "left_out": [str(failure) for failure in failures],
    }
