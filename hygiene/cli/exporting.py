"""``hygiene export``: the record as CSV, JSON lines or Parquet, for other tools."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hygiene.cli.desk import (
    AsJson,
    Desk,
    FirstDay,
    LastDay,
    RecordPath,
    note,
    reading,
    show_json,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.progress import counted
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import day_span, typed_day

if TYPE_CHECKING:
    from hygiene.exchange.export import Wanted

app = one_command()


class NothingAsked(WronglyPut):
    """Neither a folder nor a file was named."""

    sentence = "where to? name a folder, or a file for the lines"


@app.command("export")
def export_command(
    ctx: typer.Context,
    folder: Annotated[
        Path | None, typer.Argument(metavar="[DIR]", help="A folder, made new.")
    ] = None,
    lines: Annotated[
        Path | None,
        typer.Option("--jsonl", metavar="FILE", help="The lines themselves as well."),
    ] = None,
    parquet: Annotated[
        bool, typer.Option("--parquet", help="Parquet in place of CSV.")
    ] = False,
    files: Annotated[
        bool, typer.Option("--files", help="Photos and papers too, named by SHA-256.")
    ] = False,
    kinds: Annotated[
        str | None, typer.Option(metavar="LIST", help="Only these: feed,water ...")
    ] = None,
    first: FirstDay = None,
    last: LastDay = None,
    every: Annotated[
        bool, typer.Option("--all", help="Also what was corrected or struck, marked.")
    ] = False,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Write what stands as CSV, a file for each kind, with what its columns are.

    --jsonl writes the lines themselves, of which hygiene import makes the same record.
    Texts that a spreadsheet would run as a formula bear a ' in front.

    Example: hygiene export march --from 2026-03-01 --to 2026-03-31
    """
    from hygiene.exchange import export

    if folder is None and lines is None:
        raise NothingAsked(way_out="hygiene export DIR, or hygiene export --jsonl FILE")

    with reading(ctx, record) as desk:
        wanted = _wanted(desk, kinds, first, last)._replace(every_version=every)
        heads = [str(head) for head in desk.record.heads()]
        rows, count = {}, 0
        if folder is not None:
            rows = export.to_tables(
                desk.record, folder, wanted,
                says=_name(desk), parquet=parquet, files=files, told=counted,
            )  # fmt: skip
        if lines is not None:
            count = export.to_lines(desk.record, lines, wanted)
    if as_json:
        where = {"folder": folder and str(folder), "file": lines and str(lines)}
        show_json({**where, "rows": rows, "lines": count, "heads": heads})
        return
    if folder is not None:
        _tell(folder, rows, ".parquet" if parquet else ".csv")
    if lines is not None:
        _tell_lines(lines, count, wanted)
    print("\n".join(f"  head {head}" for head in heads))


def _name(desk: Desk) -> str:
    return str((desk.farm.farm or {}).get("name", ""))


def _tell_lines(path: Path, count: int, wanted: Wanted) -> None:
    print(f"Written: {path} ({count:,} lines)")
    if not wanted.all:
        note("These are not all lines: they can be read, but make no record.")


def _wanted(
    desk: Desk, kinds: str | None, first: str | None, last: str | None
) -> Wanted:
    from hygiene.cli.log import Backwards
    from hygiene.exchange.export import Wanted, kinds_named

    wanted = Wanted() if kinds is None else Wanted(kinds_named(kinds.split(",")))
    if first is None and last is None:
        return wanted
    today = desk.now.date()
    since = typed_day(first, today) if first else None
    until = typed_day(last, today) if last else None
    if since and until and until < since:
        raise Backwards(last=until, first=since)
    zone = desk.farm.zone
    return wanted._replace(
        since=day_span(since, since, zone)[0] if since else None,
        before=day_span(until, until, zone)[1] if until else None,
    )


def _tell(folder: Path, counts: dict[str, int], ending: str) -> None:
    width = max((len(name) for name in counts), default=0) + len(ending)
    print(f"Written: {folder}")
    for name, rows in counts.items():
        if rows:
            print(f"  {name + ending:<{width}} {rows:>9,} rows")
    empty = [name + ending for name, rows in counts.items() if not rows]
    if empty:
        print(f"  and {len(empty)} without a row")
