"""``hygiene countersign``: a second person looks at a task, or at a whole day."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import signing as acts
from hygiene.acts.day import answers
from hygiene.cli.desk import At, By, Desk, RecordPath, at_work, follows, written
from hygiene.cli.lazy import one_command
from hygiene.errors import Unknown
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import typed_day
from hygiene.kinds.words import gist
from hygiene.rota.names import resolve
from hygiene.rota.schedule import read_rota

app = one_command()


class NothingToSee(Unknown):
    """A day or a task of which nothing is signed."""

    sentence = "nothing is signed for {what}, so there is nothing to look at"


@app.command()
def countersign(
    ctx: typer.Context,
    what: Annotated[
        str | None,
        typer.Argument(help="An entry or a task of the day; the whole day if absent."),
    ] = None,
    day: Annotated[
        str, typer.Option("--on", metavar="DATE", help="The day.")
    ] = "today",
    alone: Annotated[
        bool,
        typer.Option(
            "--self-review",
            help="A one-person farm looks at its own work, later; or the doer at what "
            "another typed.",
        ),
    ] = False,
    note: Annotated[str | None, typer.Option(help="What was seen.")] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Look at a task or a day as a second person; never the one who did it.

    Example: hygiene countersign --on 2026-03-25 --by CD
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.who_when(by, at)
        entries, name = _meant(desk, what, day)
        if alone:
            acts.need_alone(desk.farm, entries, who, desk.now)
        with desk.writing() as writing:
            last = writing.head
            made = acts.countersign(
                writing,
                entries,
                by=who,
                day=name,
                alone=alone,
                note=note,
                happened_at=moment if at else None,
            )
    count = "1 entry" if len(entries) == 1 else f"{len(entries)} entries"
    written(made, f"{gist(made)} ({count})", already=not follows(made, last))


def _meant(desk: Desk, what: str | None, day: str) -> tuple[list[Entry], str | None]:
    """The entries that are looked at, and the day where it is the whole of one."""
    if what and "/" in what:
        return [desk.record.entry(what)], None
    on = typed_day(day, desk.now.date())
    rota = read_rota(desk.setup)
    dues = rota.dues(on, on)
    if what:
        titles = {due.code: due.task.title for due in dues}
        code = resolve(what, titles)
        dues = [due for due in dues if due.code == code]
    found = answers(desk.record, dues)
    entries = [entry for due in dues for entry in found.get(due.key, ())]
    if not entries:
        raise NothingToSee(what=f"{what} on {on}" if what else on)
    return entries, None if what else on.isoformat()
