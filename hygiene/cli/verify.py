"""``hygiene verify``: is the record, or a report that was made, still what it was?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from hygiene.cli.desk import AsJson, RecordPath, note, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.world import World
from hygiene.errors import FOUND_SOMETHING, Damaged, WronglyPut

if TYPE_CHECKING:
    from hygiene.book.record import Head, Record

app = one_command()

HINT = """A chain alone cannot see a tail that was cut off, or a well-made line added at
the end. To be sure of those, compare with a head that you printed or sent earlier:
  hygiene verify --head {head}"""

OLDER = """Its layout is of an earlier version of this program: it was not compared.
  Whatever is written next brings it up to date; then verify again."""


@app.command()
def verify(
    ctx: typer.Context,
    pdf: Annotated[
        Path | None,
        typer.Argument(
            metavar="[PDF]", help="A report that was made; else the record."
        ),
    ] = None,
    record: RecordPath = None,
    head: Annotated[
        list[str] | None,
        typer.Option(
            metavar="BOOK/SEQ:HASH", help="A head printed earlier; may be repeated."
        ),
    ] = None,
    rebuild: Annotated[
        bool,
        typer.Option(
            "--rebuild", help="Make the PDF's pages again from what it carries."
        ),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Check every line, the layout and the files; exit 6 and the first bad line.

    With a PDF: whether the entries inside it lead to the heads that it prints. That
    needs no record; with --record they are compared with it as well.

    Example: hygiene verify --head shed-k7q2/1042:9f3c51d2
    Example: hygiene verify day-2026-03-25.pdf --rebuild
    """
    from hygiene.book.record import VERSION, Record
    from hygiene.book.verify import damage, head_of

    world: World = ctx.obj
    printed = tuple(head_of(given) for given in head or ())
    if pdf is not None:
        raise typer.Exit(_pdf(world, pdf, record, printed, rebuild, as_json))
    if rebuild:
        raise WronglyPut(
            what="--rebuild needs a PDF: hygiene verify FILE.pdf --rebuild"
        )
    with Record.open(world.record(record)) as opened:
        found = damage(opened, printed)
        heads = _heads(opened, sure=not found)
        older = opened.version() < VERSION
    if as_json:
        show_json(
            {
                "verified": not found,
                "entries": None if heads is None else sum(h.seq for h in heads),
                "heads": [] if found else [str(h) for h in heads or ()],
                "faults": [fault._asdict() for fault in found],
                "earlier_layout": older,
            }
        )
    elif found:
        print(f"NOT as it was written. First: {found[0].where}: {found[0].what}")
        for fault in found[1:]:
            print(f"  also {fault.where}: {fault.what}")
        print("Keep this file, and go back to the last backup that verifies.")
    else:
        heads = heads or []
        count = sum(h.seq for h in heads)
        print(f"Verified: {count} entries, all as they were written.")
        for each in heads:
            print(f"  head {each}")
        compared = "It holds what each head you gave says." if printed else ""
        print(compared or HINT.format(head=heads[0] if heads else "BOOK/SEQ:HASH"))
    if older:
        note(OLDER)
    if found:
        raise typer.Exit(Damaged.exit_code)
    if older:
        raise typer.Exit(FOUND_SOMETHING)


def _heads(record: Record, *, sure: bool) -> list[Head] | None:
    """The ends of the books; None where a damaged record does not even say that."""
    try:
        return record.heads()
    except Damaged:
        if sure:
            raise
        return None


def _pdf(
    world: World,
    pdf: Path,
    record: Path | None,
    heads: tuple[Head, ...],
    rebuild: bool,
    as_json: bool,
) -> int:
    from hygiene.cli import verify_pdf
    from hygiene.cli.progress import shown

    with shown(pdf.name):
        of, verdict = verify_pdf.check(pdf, record, heads, rebuild=rebuild)
    return verify_pdf.show(of, verdict, width=world.width, as_json=as_json)
