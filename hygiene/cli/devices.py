"""``hygiene devices``: whose books the record holds, and how far each is known."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import carrying as acts
from hygiene.acts.elsewhere import devices as known_devices
from hygiene.cli.desk import (
    AsJson,
    By,
    RecordPath,
    at_work,
    reading,
    show_json,
    written,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import moment_of
from hygiene.kinds.words import gist

app = one_command()


@app.command()
def devices(
    ctx: typer.Context,
    gone: Annotated[
        str | None,
        typer.Option(
            metavar="BOOK", help="Its device is no more: await nothing of it."
        ),
    ] = None,
    why: Annotated[str | None, typer.Option(help="What became of it.")] = None,
    by: By = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """List the books of the record: who writes each, and its last line here.

    A device that was lost or replaced is written off with --gone; should lines of it
    come all the same, they are taken, and it is told of again.

    Example: hygiene devices --gone shed-k7q2 --why "dropped in the trough" --by AB
    """
    if gone is not None:
        if why is None:
            raise WronglyPut(what="say what became of the device: --why TEXT")
        with at_work(ctx, record) as desk:
            act = how(desk, by, None)
            with desk.writing() as writing:
                made = acts.gone(writing, act, gone, why)
        written(made, gist(made))
        return
    with reading(ctx, record) as desk:
        found = known_devices(desk.record, desk.world.keys())
    if as_json:
        show_json([each._asdict() for each in found])
        return
    for each in found:
        when = moment_of(each.last).astimezone(desk.now.tzinfo)
        print(f"{each.book:<16}{each.seq:>8}  {when:%d %B %Y, %H:%M}  {each.whose}")
