"""``mould`` and ``pest``: what was found, and what follows from it at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated

import typer

from hygiene.acts import finds as acts
from hygiene.acts.codes import is_batch, known, meant, no_such
from hygiene.acts.how import How
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import At, By, Desk, RecordPath, WrittenBy, at_work
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how, say, trays
from hygiene.errors import Unknown
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Mould, Pest
from hygiene.kinds.words import gist
from hygiene.tracing.siblings import Sibling

mould_app = one_command()
pest_app = one_command()

HoldProposed = Annotated[
    bool,
    typer.Option("--hold-proposed", help="Hold also what shares a cause with it."),
]


@mould_app.command()
def mould(
    ctx: typer.Context,
    what: Annotated[
        str,
        typer.Argument(
            metavar="BATCH|TRAYS|RACK",
            help="What: batch B-K7-42-X, trays T001..T003, or rack R1.",
        ),
    ],
    some: Annotated[
        str | None, typer.Option("--trays", help="Which of the batch bear mould.")
    ] = None,
    day: Annotated[int | None, typer.Option(help="The growing day.")] = None,
    share: Annotated[int | None, typer.Option(help="Percent of the tray.")] = None,
    colour: Annotated[str | None, typer.Option()] = None,
    place: Annotated[str | None, typer.Option(help="Where on the tray.")] = None,
    smell: Annotated[str | None, typer.Option(help="Never sniff it.")] = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    did: Annotated[str | None, typer.Option(help="What was done at once.")] = None,
    attach: Attach = None,
    hold_proposed: HoldProposed = False,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write that mould was found. The whole batch is held, and its lot stopped.

    What shares a cause with it is proposed to be held as well, each with its reason.

    Example: hygiene mould B-K7-42-X --trays T004 --colour grey --share 10 --by AB
    """
    with at_work(ctx, record) as desk:
        thing = replace(
            _where(desk, what, some),
            growing_day=day,
            share_percent=share,
            colour=colour,
            place=place,
            smell=smell,
            note=note,
        )
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            thing = replace(thing, attached=attached(writing, attach))
            made = acts.find_mould(writing, desk.farm, thing, act, did=did)
        if made.already:
            again = acts.proposed_again(
                desk.record, desk.farm, made.mould, desk.moment(at)
            )
            made = made._replace(proposed=tuple(again))
        tell_mould(made)
        after_proposals(desk, made.mould, made.proposed, act, hold_proposed)
    raise typer.Exit(3)


def _where(desk: Desk, what: str, some: str | None) -> Mould:
    """The find's place: a batch, a rack, or trays."""
    chosen = trays(desk, [some]) if some else ()
    if is_batch(desk.record, what):
        return Mould(batch=meant(desk.record, "batch", what), trays=chosen)
    try:
        return Mould(rack=known(desk.farm, "rack", what), trays=chosen)
    except Unknown:
        pass
    try:
        return Mould(trays=trays(desk, [what]))
    except Unknown as nothing:
        if ".." in what or "," in what:  # it was meant as trays
            raise
        racks = ", ".join(desk.farm.things("rack"))
        otherwise = (
            f"give a batch (hygiene log sow), trays as T1..T9, or a rack: {racks}"
        )
        raise no_such(desk.farm, ("tray", "rack"), what, otherwise) from nothing


def tell_mould(made: acts.Found) -> None:
    """Say what was written, what must not be done, and who ate of it."""
    say(made.mould, made.already)
    for entry in (*made.holds, made.action):
        if entry is not None:
            say(entry)
    caution(made.batches)
    eaten_by(made.out)


def caution(codes: Sequence[str]) -> None:
    """What must not be done with mouldy fodder, every time."""
    where = f" in {', '.join(codes)}" if codes else ""
    print(f"MOULD{where}.")
    for text in acts.CAUTIONS:
        print(f"  ! {text}")


def eaten_by(out: Sequence[Entry]) -> None:
    """Who has eaten of it, or got it, already."""
    if not out:
        print("Nothing of it was fed or sent, as far as is written down.")
        return
    print("ALREADY FED OR SENT: ring the vet, and the buyer, now")
    for entry in out:
        print(f"  {entry.happened_at[:16].replace('T', ' ')} {gist(entry)}")
    groups = dict.fromkeys(str(e.get("animals")) for e in out if e.kind == "feed")
    for group in groups:
        print(
            f"  If any of {group} is sick: hygiene ill {group} --since DATE --heads N "
            "--signs TEXT"
        )


def after_proposals(
    desk: Desk,
    cause: Entry,
    proposed: Sequence[Sibling],
    act: How,
    hold_them: bool,
) -> None:
    """Show what is proposed to be held, and hold it when somebody says so."""
    if not proposed:
        return
    print("PROPOSED TO BE HELD AS WELL, as a precaution:")
    for sibling in proposed:
        shares = f": shares {'; '.join(sibling.shares)}"
        print(f"  {sibling.code}{shares if cause.kind == 'mould' else ', which grows'}")
    if not hold_them and desk.world.asks:
        hold_them = typer.confirm("Hold them now?", default=True)
    if hold_them:
        with desk.writing() as writing:
            made = acts.hold_proposed(writing, cause, proposed, act)
        for entry in made:
            say(entry)
        if not made:
            print("They were held already.")
        return
    print("They are not held yet. Hold each:")
    for sibling in proposed:
        shares = f' --shares "{"; ".join(sibling.shares)}"'
        print(
            f"  hygiene hold {sibling.code} --sort batch --why precaution --because "
            f"{cause.name}{shares if cause.kind == 'mould' else ''}"
        )


@pest_app.command()
def pest(
    ctx: typer.Context,
    what: Annotated[str, typer.Argument(help="Rat, mouse, fly, droppings ...")],
    place: Annotated[str, typer.Option(help="Where.")],
    count: Annotated[int | None, typer.Option(help="How many.")] = None,
    did: Annotated[
        str | None, typer.Option(help="What was done: bait laid, hole shut ...")
    ] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write a pest, or its traces: what, where, how many, what was done.

    Example: hygiene pest droppings --place "seed store" --did "bait box 3" --by AB
    """
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            thing = Pest(
                what=what,
                place=place,
                count=count,
                did=did,
                attached=attached(writing, attach),
            )
            found = act.retried(writing, thing)
            made = found or act.add(writing, thing)
    say(made, found is not None)
