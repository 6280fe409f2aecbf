"""``hold`` and ``release``: what may not be used, and the only thing that ends that."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import holds as acts
from hygiene.cli.desk import At, By, RecordPath, at_work, written
from hygiene.cli.lazy import one_command
from hygiene.cli.words import gist
from hygiene.kinds.find import Hold

hold_app = one_command()
release_app = one_command()


@hold_app.command()
def hold(
    ctx: typer.Context,
    held: Annotated[str, typer.Argument(metavar="CODE", help="What is held.")],
    sort: Annotated[str, typer.Option(help="batch, lot, rack, room, line, tray, tank")],
    why: Annotated[str, typer.Option(help="Why it may not be used.")],
    because: Annotated[
        str | None, typer.Option(metavar="ENTRY", help="The entry that it follows.")
    ] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Hold something: it may not be used, fed or sent until it is released.

    Example: hygiene hold R2 --sort rack --why "smells musty" --by AB
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.person(by), desk.moment(at)
        if because is not None:
            desk.record.entry(because)
        thing = Hold(held=held, sort=sort, why=why, because=because)
        with desk.writing() as writing:
            found = writing.same(thing, by=who, happened_at=moment if at else None)
            made = found or writing.add(thing, by=who, happened_at=moment)
    written(made, gist(made))
    print(f"Only this ends it: hygiene release {made.name} --why TEXT")


@release_app.command()
def release(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="The hold, such as shed-k7q2/1044.")],
    why: Annotated[str, typer.Option(help="Why it may go on, as was assessed.")],
    word_of: Annotated[
        str | None, typer.Option(help="On whose word: the vet or authority, by name.")
    ] = None,
    document: Annotated[
        str | None, typer.Option(help="The paper that says so: its date or number.")
    ] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """End a hold. After mould it needs the vet's or the authority's word, on paper.

    Example: hygiene release shed-k7q2/1044 --why "lab report clean, assessed" --by AB
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.person(by), desk.moment(at)
        with desk.writing() as writing:
            made = acts.release(
                writing,
                name,
                why=why,
                word_of=word_of,
                document=document,
                by=who,
                happened_at=moment,
            )
    written(made, gist(made))
