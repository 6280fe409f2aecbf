"""``hygiene labels``: QR codes and large letters for trays, racks, lots, batches ..."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Annotated

import typer

from hygiene.cli.desk import AsJson, Desk, RecordPath, reading
from hygiene.cli.lazy import one_command
from hygiene.cli.pages import Html, Out, PrintedAt, printed, written
from hygiene.errors import Unknown, WronglyPut

if TYPE_CHECKING:
    from datetime import datetime

    from hygiene.acts.labelled import Labelled
    from hygiene.reports.labels import Grid
    from hygiene.reports.reading import Reading

GRID = re.compile(r"([0-9]{1,2}) ?[x×] ?([0-9]{1,2})")
LENGTH = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,2})?) ?(?:mm)?")
MOST = 5000

app = one_command()


class NotAGrid(WronglyPut):
    """A text that says no columns and rows, or none that the paper has room for."""

    sentence = "{given!r}: {what}"


class NothingToLabel(Unknown):
    """No thing of that sort is there."""

    sentence = "there is nothing to label: {given}"


@app.command()
def labels(
    ctx: typer.Context,
    what: Annotated[
        list[str],
        typer.Argument(
            help="trays, racks, lots, batches, containers, lines; or codes, and ranges "
            "of them: T001..T012."
        ),
    ],
    paper: Annotated[
        str, typer.Option(metavar="SIZE", help="ISO paper size: A4, A5, A6, B5 ...")
    ] = "A4",
    grid: Annotated[
        str, typer.Option(metavar="3x8", help="Columns and rows of a sheet.")
    ] = "3x8",
    margin: Annotated[
        str,
        typer.Option(
            metavar="8mm", help="Round the sheet; two: above and below, at the sides."
        ),
    ] = "8mm",
    gap: Annotated[
        str,
        typer.Option(metavar="2mm", help="Between labels; two: between rows, columns."),
    ] = "2mm",
    skip: Annotated[
        int, typer.Option(metavar="N", help="Labels of the first sheet used already.")
    ] = 0,
    copies: Annotated[int, typer.Option(metavar="N", help="So many of each.")] = 1,
    out: Out = None,
    as_html: Html = False,
    printed_at: PrintedAt = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Make sheets of labels: the code in large letters, and as a QR code.

    Each QR code holds the code alone, with its check character. Scan it wherever a
    code is asked for. Without --paper and --grid: A4, three across and eight down.

    Example: hygiene labels T001..T024 --paper A4 --grid 3x8 --margin 8mm --gap 2mm
    """
    from hygiene.reports.labels import page

    sheet = _grid(paper, grid, margin, gap, skip)
    with reading(ctx, record) as desk:
        moment = printed(desk, printed_at)
        gathered, every = _gathered(desk, what, copies, moment)
    made = page(gathered, every, sheet)
    told = {
        "labels": len(every),
        "sheets": len(made.sheets),
        "codes": list(dict.fromkeys(thing.code for thing in every)),
    }
    says = f"{len(every)} labels on {len(made.sheets)} of {paper}, {grid} each"
    name = f"labels-{moment:%Y-%m-%d}"
    written("labels", made, moment, out, as_html, name, told, says, as_json)


def _gathered(
    desk: Desk, what: list[str], copies: int, moment: datetime
) -> tuple[Reading, list[Labelled]]:
    """What the page is made from, and every label in its order."""
    from hygiene.acts.labelled import labelled
    from hygiene.reports.period import Period
    from hygiene.reports.reading import read_only

    given = ", ".join(what)
    if not 1 <= copies <= 100:
        raise NotAGrid(given=copies, what="copies run from 1 to 100")
    things = labelled(desk.record, desk.farm, what, moment)
    if not things:
        raise NothingToLabel(given=given, way_out="hygiene labels trays")
    if len(things) * copies > MOST:
        raise NotAGrid(given=given, what=f"over {MOST:,} labels at once")
    day = moment.astimezone(desk.farm.zone).date()
    gathered = read_only(desk.record, Period(day, day), moment)
    return gathered, [thing for thing in things for _ in range(copies)]


def _grid(paper: str, grid: str, margin: str, gap: str, skip: int) -> Grid:
    from hygiene.reports.labels import PAPERS, Grid

    size = paper.strip().upper()
    if size not in PAPERS:
        raise NotAGrid(given=paper, what=f"the papers are {', '.join(PAPERS)}")
    found = GRID.fullmatch(grid.strip())
    if found is None or "0" in (
        found[1].lstrip("0") or "0",
        found[2].lstrip("0") or "0",
    ):
        raise NotAGrid(given=grid, what="write columns and rows as 3x8")
    made = Grid(
        size,
        int(found[1]),
        int(found[2]),
        _lengths(margin, "--margin 8mm, or 13mm,7mm"),
        _lengths(gap, "--gap 2mm, or 0mm,2.5mm"),
        skip,
    )
    if min(made.size) <= 0:
        raise NotAGrid(given=grid, what=f"margins and gaps leave no room on {size}")
    if not 0 <= skip < made.columns * made.rows:
        raise NotAGrid(
            given=skip, what=f"--skip runs from 0 to {made.columns * made.rows - 1}"
        )
    return made


def _lengths(given: str, example: str) -> tuple[float, float]:
    parts = [LENGTH.fullmatch(part.strip()) for part in given.split(",")]
    lengths = [float(part[1]) for part in parts if part is not None]
    if len(lengths) != len(parts) or not 1 <= len(lengths) <= 2:
        raise NotAGrid(given=given, what=f"write it as {example}")
    return lengths[0], lengths[-1]
