"""``hygiene log``: what was written, newest last."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from difflib import get_close_matches
from typing import Annotated

import typer

from hygiene.book.record import Version
from hygiene.book.stream import versions
from hygiene.cli.desk import (
    AsJson,
    Desk,
    FirstDay,
    LastDay,
    RecordPath,
    entry_json,
    reading,
    show_json_list,
)
from hygiene.cli.lazy import one_command
from hygiene.errors import WronglyPut
from hygiene.kinds import HOMES, SETUP, UnknownKind
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import day_span, typed_day
from hygiene.kinds.words import in_a_line

app = one_command()


class Backwards(WronglyPut):
    """A period that ends before it begins."""

    sentence = "--to {last} lies before --from {first}"


@app.command()
def log(
    ctx: typer.Context,
    kind: Annotated[
        str | None, typer.Argument(help="A kind of entry, such as sign_off.")
    ] = None,
    first: FirstDay = None,
    last: LastDay = None,
    everything: Annotated[
        bool,
        typer.Option("--all", help="Also what was corrected or struck, marked so."),
    ] = False,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """List entries of a period (the last seven days, if none is given).

    Example: hygiene log sign_off --from 2026-03-01 --to 2026-03-31 --json
    """
    kinds = [_kind(kind)] if kind else [name for name in HOMES if name not in SETUP]
    with reading(ctx, record) as desk:
        found = _read(desk, kinds, first, last, everything)
        if as_json:
            show_json_list(_json(*version) for version in found)
            return
        nothing = True
        for entry, stands in found:
            nothing = False
            print(in_a_line(entry, standing=stands))
    if nothing:
        print("Nothing was written then.")


def _kind(given: str) -> str:
    """The kind as it is written down; raises ``UnknownKind`` with the nearest."""
    name = "_".join(given.lower().replace("-", " ").split())
    if name not in HOMES:
        near = get_close_matches(name, HOMES, 1)
        raise UnknownKind(
            given=given,
            known=", ".join(HOMES),
            way_out=f"did you mean {near[0]}?" if near else None,
        )
    return name


def _read(
    desk: Desk, kinds: list[str], first: str | None, last: str | None, everything: bool
) -> Iterator[Version]:
    """A stretch at a time: nobody who writes waits while it is shown."""
    today = desk.now.date()
    until = typed_day(last, today) if last else today
    since = typed_day(first, today) if first else until - timedelta(days=6)
    if until < since:
        raise Backwards(last=until, first=since)
    start, end = day_span(since, until, desk.farm.zone)
    wanted = [*kinds, "strike"] if everything and "strike" not in kinds else kinds
    for entry, stands in versions(desk.record, wanted, start, end):
        if stands or everything:
            yield Version(entry, stands or entry.kind == "strike")


def _json(entry: Entry, stands: bool) -> dict[str, object]:
    return {**entry_json(entry), "stands": stands}
