"""``hygiene correct``: the whole entry again, put right; the old one stays readable."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import mending as acts
from hygiene.cli.desk import At, By, RecordPath, at_work, note, written
from hygiene.cli.lazy import one_command
from hygiene.cli.put_right import put
from hygiene.kinds.words import gist

app = one_command()


@app.command()
def correct(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="The entry, such as shed-k7q2/1042.")],
    changes: Annotated[
        list[str],
        typer.Argument(
            metavar="KEY=VALUE...",
            help="What is right; in a sign-off STEP=VALUE or STEP.RACK=VALUE, in a "
            "water test NAME=RESULT.",
        ),
    ],
    reason: Annotated[str, typer.Option(help="Why it was wrong.")],
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Put an entry right. The first one stays readable, shown with its correction.

    ``--at`` puts right when it happened. A struck entry stands again once corrected.
    It never ends a hold and never closes an action.

    Example: hygiene correct shed-k7q2/1042 temp.GROW=21.4 --reason "misread" --by AB
    """
    with at_work(ctx, record) as desk:
        who = desk.person(by)
        last = acts.last_said(desk.record.history(name))
        body = put(last, changes, desk.record)
        moment = desk.moment(at) if at else None
        with desk.writing() as writing:
            made, opened = acts.correct(
                writing, name, body, reason=reason, by=who, happened_at=moment
            )
    written(made, f"{made.first} corrected: {gist(made)}")
    for entry in opened:
        written(entry, gist(entry))
    if opened and "mould" in (made.kind, *(entry.kind for entry in opened)):
        from hygiene.cli.finds import caution

        caution(())
        print("Who ate of it: hygiene trace BATCH")
    if last.kind in ("hold", "mould"):
        note("The hold goes on: only its release ends it.")
    if opened:
        raise typer.Exit(3)
