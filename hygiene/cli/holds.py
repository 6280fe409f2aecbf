"""``hold`` and ``release``: what may not be used, and the only thing that ends that."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import holds as acts
from hygiene.acts.codes import known, meant
from hygiene.acts.standing import batch_file
from hygiene.cli.desk import At, By, Desk, RecordPath, at_work, written
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import trays
from hygiene.errors import WronglyPut
from hygiene.kinds.find import Hold
from hygiene.kinds.words import gist

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
    shares: Annotated[
        str | None,
        typer.Option(help="A precaution: what it shares with the mouldy batch."),
    ] = None,
    only: Annotated[
        str | None, typer.Option("--trays", help="Only these trays of the batch.")
    ] = None,
    sowing_only: Annotated[
        bool, typer.Option("--sowing-only", help="It stops nothing but sowing.")
    ] = False,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Hold something: it may not be used, fed or sent until it is released.

    Example: hygiene hold R2 --sort rack --why "smells musty" --by AB
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.who_when(by, at)
        if because is not None:
            desk.record.entry(because)
        code = _held(desk, held, sort)
        thing = Hold(
            held=code,
            sort=sort,
            why=why,
            because=because,
            shares=shares,
            trays=_trays_of(desk, code, sort, only) if only else (),
            stops="sowing" if sowing_only else None,
        )
        with desk.writing() as writing:
            found = writing.same(thing, by=who, happened_at=moment if at else None)
            made = found or writing.add(thing, by=who, happened_at=moment)
            wants = acts.need(writing.record, acts.the_hold(writing.record, made.name))
    written(made, gist(made))
    if wants[0] == acts.ASSESSMENT:
        print(f"Assess it first: hygiene assess {made.name} --found TEXT --by CODE")
    print(f"Only this ends it: hygiene release {made.name} --why TEXT")


def _trays_of(desk: Desk, code: str, sort: str, given: str) -> tuple[str, ...]:
    """Trays of the batch that is held; a hold on others would hold nothing."""
    found = trays(desk, [given])
    batch = batch_file(desk.record, code).batch if sort == "batch" else None
    strange = [tray for tray in found if batch is None or tray not in batch.trays]
    if strange:
        raise WronglyPut(
            what=f"{strange[0]} is no tray of {code}",
            way_out="hold the batch whole: leave --trays out",
        )
    return found


def _held(desk: Desk, given: str, sort: str) -> str:
    """The code as the record has it; a batch or lot that is not there is unknown."""
    if sort in ("batch", "lot"):
        return meant(desk.record, sort, given)
    if sort in ("rack", "room", "line", "tray", "tank"):
        return known(desk.farm, sort, given)
    return given


@release_app.command()
def release(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="The hold, such as shed-k7q2/1044.")],
    why: Annotated[str, typer.Option(help="Why it may go on, as was assessed.")],
    word_of: Annotated[
        str | None, typer.Option(help="On whose word: the vet or authority, by name.")
    ] = None,
    word_role: Annotated[
        str | None, typer.Option("--as", help="What they are: vet or authority.")
    ] = None,
    document: Annotated[
        str | None, typer.Option(help="The paper that says so: its date or number.")
    ] = None,
    keep: Annotated[
        str | None,
        typer.Option(metavar="TRAYS", help="Trays of the batch that stay held."),
    ] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """End a hold. After mould it needs the vet's or the authority's word, on paper.

    A precaution needs a written assessment first (hygiene assess); a seed lot, the
    paper that it lacked. With --keep, the rest of the batch is let go.

    Example: hygiene release shed-k7q2/1044 --why "lab report clean, assessed" --by AB
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.who_when(by, at)
        role = word_role or (acts.whose_word(desk.farm, word_of) if word_of else None)
        kept = trays(desk, [keep]) if keep else ()
        with desk.writing() as writing:
            made = acts.release(
                writing,
                name,
                why=why,
                word_of=word_of,
                word_role=role,
                document=document,
                keep=kept,
                by=who,
                happened_at=moment,
            )
    for entry in made:
        written(entry, gist(entry))
