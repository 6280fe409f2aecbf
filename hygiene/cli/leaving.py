"""``feed``, ``dispatch``, ``discard`` and ``sample``: what ends a tray."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

import typer

from hygiene.acts import leaving as acts
from hygiene.acts.codes import is_batch, known, meant
from hygiene.acts.vet_sheet import vet_sheet
from hygiene.cli.attach import Attach, attached
from hygiene.cli.batches import tell
from hygiene.cli.desk import At, By, Desk, RecordPath, WrittenBy, at_work
from hygiene.cli.elsewhere import say_elsewhere
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import Check, Reason, Trays, grams, how, may, say, trays
from hygiene.cli.vet_sheet import sheet_lines
from hygiene.errors import WronglyPut
from hygiene.kinds.batch import Discard, Dispatch, Feed, Sample
from hygiene.kinds.codes import WrongCode, read_minted

feed_app = one_command()
dispatch_app = one_command()
discard_app = one_command()
sample_app = one_command()

What = Annotated[
    str,
    typer.Argument(
        metavar="BATCH|TRAYS", help="The batch B-K7-42-X, or trays T001..T006."
    ),
]
Weight = Annotated[str, typer.Argument(metavar="KG", help="Fresh weight.")]
LooksOk = Annotated[
    bool | None, typer.Option("--looks-ok/--looks-bad", help="Looked at: no mould?")
]
SmellsOk = Annotated[
    bool | None, typer.Option("--smells-ok/--smells-bad", help="Smells fresh?")
]


@feed_app.command()
def feed(
    ctx: typer.Context,
    what: What,
    group: Annotated[str, typer.Argument(help="The group of animals.")],
    weight: Weight,
    some: Trays = None,
    look_ok: LooksOk = None,
    smell_ok: SmellsOk = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    check: Check = False,
    reason: Reason = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write what was fed: which batch or trays, to whom, how much.

    --check asks beforehand, and refuses what is held or was mouldy.

    Example: hygiene feed B-K7-42-X MILKERS 84 --looks-ok --smells-ok --by AB
    """
    with at_work(ctx, record) as desk:
        say_elsewhere(desk)
        batch, leaving = _meant(desk, what, some, at)
        look, smell = _looked(desk, look_ok, smell_ok, check)
        thing = Feed(
            batch=batch,
            trays=leaving,
            animals=known(desk.farm, "animals", group),
            grams=grams(weight),
            look_ok=look,
            smell_ok=smell,
            note=note,
        )
        if check:
            moment = desk.moment(at)
            may(acts.against_feeding(desk.record, desk.farm, thing, moment))
            return
        act = how(desk, by, at, written_by, reason)
        with desk.writing() as writing:
            made = acts.feed(writing, desk.farm, thing, act)
        sheet = None
        if made.in_danger:
            sheet = vet_sheet(desk.record, desk.setup, thing.animals, desk.now)
    _tell(made)
    if sheet is not None:
        print("\nRING THE VET NOW, and read this sheet out:\n")
        print("\n".join(sheet_lines(sheet)))
    _end(made)


@dispatch_app.command()
def dispatch(
    ctx: typer.Context,
    what: What,
    buyer: Annotated[str, typer.Argument(help="The buyer's code.")],
    weight: Weight,
    document: Annotated[
        str | None, typer.Option(help="Delivery note or invoice.")
    ] = None,
    some: Trays = None,
    look_ok: LooksOk = None,
    smell_ok: SmellsOk = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    check: Check = False,
    reason: Reason = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write what was sent to a buyer: which batch or trays, how much, on what paper.

    Example: hygiene dispatch B-K7-42-X HOLLOW 40 --document DN-117 --by AB
    """
    with at_work(ctx, record) as desk:
        say_elsewhere(desk)
        batch, leaving = _meant(desk, what, some, at)
        look, smell = _looked(desk, look_ok, smell_ok, check)
        thing = Dispatch(
            batch=batch,
            trays=leaving,
            buyer=known(desk.farm, "buyer", buyer),
            grams=grams(weight),
            document=document,
            look_ok=look,
            smell_ok=smell,
            note=note,
        )
        if check:
            moment = desk.moment(at)
            may(acts.against_sending(desk.record, desk.farm, thing, moment))
            return
        act = how(desk, by, at, written_by, reason)
        with desk.writing() as writing:
            made = acts.dispatch(writing, desk.farm, thing, act)
        told = desk.farm.get("buyer", thing.buyer) or {}
    _tell(made)
    if made.in_danger:
        number = told.get("telephone") or "no telephone"
        print(
            f"CALL IT BACK NOW: {told.get('name')}, {number}. Tell the authority as "
            "well (178/2002 Article 20).\nThen: hygiene notify buyer --told NAME "
            f"--what TEXT --about {made.entry.name}"
        )
    _end(made)


@discard_app.command()
def discard(
    ctx: typer.Context,
    what: What,
    weight: Weight,
    why: Annotated[str, typer.Option(help="Why it is thrown away.")],
    route: Annotated[str, typer.Option(help="Where it goes, away from animals.")],
    witness: Annotated[str | None, typer.Option(help="Who saw it go.")] = None,
    because: Annotated[
        str | None, typer.Option(metavar="ENTRY", help="The entry that it follows.")
    ] = None,
    some: Trays = None,
    attach: Attach = None,
    check: Check = False,
    reason: Reason = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write that trays were thrown away: how much, why, where to, who saw it.

    Sample it first (hygiene sample): after that nothing can be shown any more.

    Example: hygiene discard B-K7-42-X 84 --why mould --route burnt --witness CD
    """
    with at_work(ctx, record) as desk:
        batch, leaving = _meant(desk, what, some, at)
        if because is not None:
            because = desk.record.entry(because).first
        thing = Discard(
            batch=batch,
            trays=leaving,
            grams=grams(weight),
            why=why,
            route=route,
            witness=witness,
            because=because,
        )
        if check:
            may(acts.against_discarding(desk.record, thing))
            return
        act = how(desk, by, at, written_by, reason)
        with desk.writing() as writing:
            thing = replace(thing, attached=attached(writing, attach))
            made = acts.discard(writing, thing, act)
    _tell(made)
    _end(made)


@sample_app.command()
def sample(
    ctx: typer.Context,
    what: Annotated[
        str, typer.Argument(metavar="BATCH|LOT|TRAYS", help="Of what it is taken.")
    ],
    why: Annotated[str, typer.Option(help="Why: mould, reference, ill animals ...")],
    frozen_at: Annotated[
        str | None, typer.Option(help="Where the frozen half is kept.")
    ] = None,
    chilled_at: Annotated[
        str | None, typer.Option(help="Where the chilled half is kept.")
    ] = None,
    weight: Annotated[str | None, typer.Option("--kg", help="How much.")] = None,
    whole: Annotated[
        str | None, typer.Option("--whole-trays", help="Trays that were taken whole.")
    ] = None,
    laboratory: Annotated[str | None, typer.Option(help="Where it is sent.")] = None,
    attach: Attach = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write that a sample was kept: two labelled halves, one frozen, one chilled.

    Ask the laboratory which half it wants; some want it unfrozen.

    Example: hygiene sample B-K7-42-X --why mould --frozen-at "freezer, dairy" \
--chilled-at "fridge, dairy" --by AB
    """
    with at_work(ctx, record) as desk:
        lot = _lot(desk, what)
        batch = None if lot else _meant_batch(desk, what, at)
        act = how(desk, by, at)
        taken = trays(desk, [whole]) if whole else ()
        with desk.writing() as writing:
            thing = Sample(
                batch=batch,
                lot=lot,
                trays=taken,
                grams=grams(weight) if weight else None,
                frozen_at=frozen_at,
                chilled_at=chilled_at,
                why=why,
                laboratory=laboratory,
                attached=attached(writing, attach),
            )
            made = acts.sample(writing, thing, act)
    _tell(made)
    for half, place in (("frozen", frozen_at), ("chilled", chilled_at)):
        if place is not None:
            print(f"Label: {batch or lot}, {half} half, {made.entry.name}, {act.by}")
    if not (frozen_at and chilled_at):
        print(
            "Only one half is kept. Ask the laboratory if it wants the other as well."
        )
    _end(made)


def _lot(desk: Desk, what: str) -> str | None:
    try:
        code = read_minted(what) or ""
    except WrongCode:
        code = what.strip().upper()
    return meant(desk.record, "lot", what) if code[:1] == "L" else None


def _meant_batch(desk: Desk, what: str, at: str | None) -> str:
    if is_batch(desk.record, what):
        return meant(desk.record, "batch", what)
    return _meant(desk, what, None, at)[0]


def _meant(
    desk: Desk, what: str, some: str | None, at: str | None
) -> tuple[str, tuple[str, ...]]:
    """The batch and its trays, from a batch's code, or from trays alone."""
    chosen = trays(desk, [some]) if some else ()
    if is_batch(desk.record, what):
        batch = meant(desk.record, "batch", what)
        return acts.trays_meant(desk.record, batch, chosen, desk.moment(at))
    if some:
        raise WronglyPut(what=f"{what!r} names trays already: leave out --trays")
    return acts.trays_meant(desk.record, None, trays(desk, [what]), desk.moment(at))


def _looked(
    desk: Desk, look_ok: bool | None, smell_ok: bool | None, check: bool
) -> tuple[bool | None, bool | None]:
    """Ask at a terminal what was not said; a question beforehand asks nothing.

    Enter answers neither: what is written of it stands for ever.
    """
    if check:
        return look_ok is not False, smell_ok is not False
    if desk.world.asks:
        look_ok = _asked("Looked at it: no mould, no slime?", look_ok)
        smell_ok = _asked("Does it smell fresh (do not sniff mould)?", smell_ok)
    return look_ok, smell_ok


def _asked(text: str, said: bool | None) -> bool:
    if said is not None:
        return said
    from hygiene.cli.guided import yes_or_no

    return yes_or_no(text)


def _tell(made: acts.Left) -> None:
    say(made.entry, made.already)
    tell(made.against, made.action)


def _end(made: acts.Left) -> None:
    if made.against and not made.already:
        raise typer.Exit(3)
