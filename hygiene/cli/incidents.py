"""``ill``, ``assess`` and ``notify``: sick animals, written words, who was told."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import finds as acts
from hygiene.acts import holds
from hygiene.acts.codes import known
from hygiene.acts.vet_sheet import vet_sheet
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import (
    AsJson,
    At,
    By,
    NotYet,
    RecordPath,
    WrittenBy,
    at_work,
    reading,
    show_json,
)
from hygiene.cli.finds import HoldProposed, after_proposals
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how, say
from hygiene.cli.vet_sheet import sheet_json, sheet_lines
from hygiene.kinds.codes import read_minted
from hygiene.kinds.incident import Assess, Ill, Notify
from hygiene.kinds.moments import typed_day

ill_app = one_command()
vet_app = one_command()
assess_app = one_command()
notify_app = one_command()


Eating = Annotated[
    bool | None, typer.Option("--eating/--not-eating", help="Do they still eat?")
]


@ill_app.command()
def ill(
    ctx: typer.Context,
    group: Annotated[str, typer.Argument(help="The group of animals.")],
    since: Annotated[str, typer.Option(metavar="DATE", help="Since which day.")],
    heads: Annotated[int, typer.Option(help="How many are ill.")],
    signs: Annotated[str, typer.Option(help="What is seen: trembling, down ...")],
    at_risk: Annotated[
        int | None, typer.Option(help="Out of how many (else the group's heads).")
    ] = None,
    dead: Annotated[int, typer.Option(help="How many died.")] = 0,
    eating: Eating = None,
    stopped: Annotated[str | None, typer.Option(help="When fodder stopped.")] = None,
    other_feed: Annotated[str | None, typer.Option(help="What else they eat.")] = None,
    milk: Annotated[str | None, typer.Option(help="Where their milk went.")] = None,
    sales: Annotated[str | None, typer.Option(help="Animals or meat sold.")] = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    attach: Attach = None,
    hold_proposed: HoldProposed = False,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write that animals are sick; prints the sheet that the vet needs.

    Stop the fodder first, and ring the vet. All that grows is proposed to be held.

    Example: hygiene ill MILKERS --since yesterday --heads 3 --signs "trembling" --by AB
    """
    with at_work(ctx, record) as desk:
        code = known(desk.farm, "animals", group)
        counted = int((desk.farm.get("animals", code) or {}).get("head") or 0)
        act, day = how(desk, by, at, written_by), typed_day(since, desk.now.date())
        if day > desk.now.date():
            raise NotYet(given=f"{day}", now=f"{desk.now:%H:%M}")
        with desk.writing() as writing:
            thing = Ill(
                animals=code,
                since=day,
                head_ill=heads,
                head_at_risk=at_risk or counted or max(heads, 1),
                head_dead=dead,
                signs=signs,
                appetite_kept=eating,
                feeding_stopped=stopped,
                other_feed=other_feed,
                milk=milk,
                sales=sales,
                note=note,
                attached=attached(writing, attach),
            )
            made = acts.fall_ill(writing, desk.farm, thing, act)
        say(made.ill, made.already)
        if made.action is not None:
            say(made.action)
        print("STOP THE FODDER, keep what is left of it, and RING THE VET NOW.")
        after_proposals(desk, made.ill, made.proposed, act, hold_proposed)
        sheet = vet_sheet(desk.record, desk.setup, code, desk.now)
    print()
    print("\n".join(sheet_lines(sheet)))
    raise typer.Exit(3)


@vet_app.command()
def vet(
    ctx: typer.Context,
    group: Annotated[str, typer.Argument(help="The group of animals.")],
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Print the vet's sheet of a group again: three weeks of fodder and its story.

    Example: hygiene vet MILKERS
    """
    with reading(ctx, record) as desk:
        code = known(desk.farm, "animals", group)
        sheet = vet_sheet(desk.record, desk.setup, code, desk.now)
    if as_json:
        show_json(sheet_json(sheet))
        return
    print("\n".join(sheet_lines(sheet)))


@assess_app.command()
def assess(
    ctx: typer.Context,
    names: Annotated[
        list[str], typer.Argument(metavar="HOLD...", help="The holds assessed.")
    ],
    found: Annotated[str, typer.Option(help="What was looked at, and found.")],
    document: Annotated[
        str | None, typer.Option(help="The paper: its date or number.")
    ] = None,
    attach: Attach = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write an assessment of holds, signed by the person who made it.

    It ends no hold; a batch that was held as a precaution is released on it.

    Example: hygiene assess shed-k7q2/1044 --found "no mould on day 7, other room"
    """
    with at_work(ctx, record) as desk:
        firsts = tuple(holds.the_hold(desk.record, name).name for name in names)
        act = how(desk, by, at)
        with desk.writing() as writing:
            thing = Assess(
                holds=firsts,
                found=found,
                document=document,
                attached=attached(writing, attach),
            )
            before = act.retried(writing, thing)
            made = before or act.add(writing, thing)
    say(made, before is not None)
    for name in firsts:
        print(f"It is still held. To let it go: hygiene release {name} --why TEXT")


@notify_app.command()
def notify(
    ctx: typer.Context,
    role: Annotated[
        str, typer.Argument(help="vet, authority, buyer, supplier, laboratory, other")
    ],
    told: Annotated[str, typer.Option(help="Who was told, by name.")],
    what: Annotated[str, typer.Option(help="What they were told, and what they said.")],
    about: Annotated[
        list[str] | None,
        typer.Option(metavar="ENTRY|CODE", help="About what; may be repeated."),
    ] = None,
    through: Annotated[
        str | None, typer.Option("--how", help="Telephone, letter, in person.")
    ] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write that somebody was told: the vet, the authority, a buyer, a supplier.

    Example: hygiene notify vet --told "Dr Ash" --what "stop feeding" --about B-K7-42-X
    """
    with at_work(ctx, record) as desk:
        abouts = []
        for given in about or ():
            named = desk.record.entry(given).first if "/" in given else given
            abouts.append(read_minted(named) or named)
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            thing = Notify(
                role=role,
                who_told=told,
                what=what,
                abouts=tuple(abouts),
                how=through,
                attached=attached(writing, attach),
            )
            before = act.retried(writing, thing)
            made = before or act.add(writing, thing)
    say(made, before is not None)
