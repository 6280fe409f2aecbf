"""``hygiene strike``: rule an entry through, so that it stays readable."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import mending as acts
from hygiene.cli.desk import At, By, RecordPath, at_work, note, written
from hygiene.cli.lazy import one_command
from hygiene.kinds.words import gist

app = one_command()


@app.command()
def strike(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="The entry, such as shed-k7q2/1042.")],
    reason: Annotated[str, typer.Option(help="Why it should not have been written.")],
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Rule an entry through, like a line in ink: it stays readable, with the reason.

    It never ends a hold and never clears a tray: only a release does.

    Example: hygiene strike shed-k7q2/1042 --reason "wrong day" --by AB
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.who_when(by, at)
        last = desk.record.standing(name)
        with desk.writing() as writing:
            made = acts.strike(writing, name, reason=reason, by=who, happened_at=moment)
            last_seq = writing.head.seq
        after = [
            desk.record.entry(f"{made.book}/{seq}")
            for seq in range(made.seq + 1, last_seq + 1)
        ]
    written(made, f"{last.first} ruled through ({gist(last)})")
    if last.kind in ("hold", "mould", "sign_off"):
        note("A hold, or an action that it opened, goes on: only its release ends it.")
    for entry in after:
        written(entry, gist(entry))
    if after:
        raise typer.Exit(3)
