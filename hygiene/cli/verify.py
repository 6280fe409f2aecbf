"""``hygiene verify``: is the record still what was written?"""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.desk import AsJson, RecordPath, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.world import World

app = one_command()

HINT = """A chain alone cannot see a tail that was cut off, or a well-made line added at
the end. To be sure of those, compare with a head that you printed or sent earlier:
  hygiene verify --head {head}"""


@app.command()
def verify(
    ctx: typer.Context,
    record: RecordPath = None,
    head: Annotated[
        list[str] | None,
        typer.Option(
            metavar="BOOK/SEQ:HASH", help="A head printed earlier; may be repeated."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check every line, the layout and the files; exit 6 and the first bad line.

    Example: hygiene verify --head shed-k7q2/1042:9f3c51d2
    """
    from hygiene.book.record import Record
    from hygiene.book.verify import faults, head_of

    world: World = ctx.obj
    printed = tuple(head_of(given) for given in head or ())
    with Record.open(world.record(record)) as opened:
        found = faults(opened, printed)
        heads = [] if found else opened.heads()
    if as_json:
        show_json(
            {
                "verified": not found,
                "entries": sum(h.seq for h in heads),
                "heads": [str(h) for h in heads],
                "faults": [fault._asdict() for fault in found],
            }
        )
    elif found:
        print(f"NOT as it was written. First: {found[0].where}: {found[0].what}")
        for fault in found[1:]:
            print(f"  also {fault.where}: {fault.what}")
        print("Keep this file, and go back to the last backup that verifies.")
    else:
        count = sum(h.seq for h in heads)
        print(f"Verified: {count} entries, all as they were written.")
        for each in heads:
            print(f"  head {each}")
        compared = "It holds what each head you gave says." if printed else ""
        print(compared or HINT.format(head=heads[0] if heads else "BOOK/SEQ:HASH"))
    if found:
        raise typer.Exit(6)
