"""``hygiene miss``: a task that was not done, and why."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import signing as acts
from hygiene.cli.desk import At, By, RecordPath, WrittenBy, at_work, follows, written
from hygiene.cli.lazy import one_command
from hygiene.cli.sign import dues_meant
from hygiene.kinds.words import gist
from hygiene.rota.schedule import read_rota

app = one_command()


@app.command()
def miss(
    ctx: typer.Context,
    task: Annotated[
        str, typer.Argument(help="Its number on today's list, 1-4, or its name.")
    ],
    reason: Annotated[str, typer.Option(help="Why it was not done.")],
    needless: Annotated[
        bool, typer.Option("--not-needed", help="There was nothing to do it for.")
    ] = False,
    day: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="The day that it was due."),
    ] = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write that a task was not done, and why: a gap with a reason is no gap.

    Example: hygiene miss deepclean --reason "no water, pump down" --by AB
    """
    with at_work(ctx, record) as desk:
        rota = read_rota(desk.setup)
        dues = dues_meant(desk, rota, task, day)
        who, moment = desk.who_when(by, at)
        typist = desk.person(written_by) if written_by else None
        with desk.writing() as writing:
            last = writing.head
            made = [
                acts.miss(
                    writing,
                    due,
                    why=reason,
                    needed=not needless,
                    by=who,
                    happened_at=moment,
                    written_by=typist,
                )
                for due in dues
            ]
    for entry in made:
        written(entry, gist(entry), already=not follows(entry, last))
