"""``train``, ``visitor``, ``accident``: people taught, coming in, hurt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import time
from typing import Annotated

import typer

from hygiene.acts import people as acts
from hygiene.acts.codes import known
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import At, By, Desk, RecordPath, WrittenBy, at_work, written
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import rows_of
from hygiene.kinds.moments import at_the_farm, stamp, typed_day
from hygiene.kinds.people import ACCIDENTS, Accident, Train, Visitor
from hygiene.kinds.words import gist
from hygiene.sanitising.cautions import first_aid

train_app = one_command()
visitor_app = one_command()
accident_app = one_command()


@train_app.command()
def train(
    ctx: typer.Context,
    person: Annotated[str, typer.Argument(help="Who was taught, by code.")],
    topic: Annotated[str, typer.Argument(help="hygiene, chemicals, water ...")],
    day: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="When; else today.")
    ] = None,
    until: Annotated[
        str | None, typer.Option(metavar="DATE", help="The last day that it counts.")
    ] = None,
    given_by: Annotated[str | None, typer.Option(help="Who taught it.")] = None,
    document: Annotated[
        str | None, typer.Option(help="The paper that says so.")
    ] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    record: RecordPath = None,
) -> None:
    """Write a training that somebody has had; it counts from its day on.

    Example: hygiene train CD water --until 2028-03-01 --given-by "A. Birch" --by AB
    """
    with at_work(ctx, record) as desk:
        today = desk.now.date()
        had_on = typed_day(day, today) if day else today
        thing = Train(
            person=known(desk.farm, "person", person),
            topic=topic,
            had_on=had_on,
            until=typed_day(until, today) if until else None,
            given_by=given_by,
            document=document,
        )
        at = None
        if had_on != today:
            at = stamp(at_the_farm(had_on, time(12), desk.farm.zone))
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            thing = replace(thing, attached=attached(writing, attach))
            done = acts.train(writing, desk.farm, act, thing)
    _tell(done)


@visitor_app.command()
def visitor(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="Who came.")],
    why: Annotated[str, typer.Option(help="What for.")],
    business: Annotated[str | None, typer.Option("--from", help="From where.")] = None,
    places: Annotated[str | None, typer.Option(help="Where they went.")] = None,
    washed: Annotated[
        bool | None, typer.Option("--washed/--not-washed", help="Hands washed?")
    ] = None,
    dipped: Annotated[
        bool | None, typer.Option("--dipped/--not-dipped", help="Boots dipped?")
    ] = None,
    well: Annotated[
        bool | None, typer.Option("--well/--not-well", help="No stomach upset?")
    ] = None,
    with_whom: Annotated[
        str | None, typer.Option("--with", metavar="CODE", help="Who went along.")
    ] = None,
    left: Annotated[
        str | None, typer.Option(metavar="TIME", help="When they left.")
    ] = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write who came in, why, where they went, and what they did at the door.

    Example: hygiene visitor "J. Reed" --why "new pump" --places GROW --washed
    --dipped --well --by AB
    """
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        thing = Visitor(
            name=name,
            business=business,
            why=why,
            places=places,
            washed_hands=washed,
            dipped_boots=dipped,
            well=well,
            with_whom=desk.person(with_whom, act.happened_at) if with_whom else None,
            left_at=stamp(desk.moment(left)) if left else None,
            note=note,
        )
        with desk.writing() as writing:
            thing = replace(thing, attached=attached(writing, attach))
            done = acts.visit(writing, act, thing)
    _tell(done)
    if done.action is not None:
        print("Look at what they touched, and at those trays for a week.")
        raise typer.Exit(3)


@accident_app.command()
def accident(
    ctx: typer.Context,
    sort: Annotated[str, typer.Argument(help=f"One of: {', '.join(ACCIDENTS)}.")],
    who: Annotated[str, typer.Option(help="Who was hurt, or nearly.")],
    what: Annotated[str, typer.Option(help="What happened.")],
    place: Annotated[str | None, typer.Option(help="Where.")] = None,
    product: Annotated[
        str | None, typer.Option(metavar="CODE", help="The product, if one was in it.")
    ] = None,
    gear: Annotated[
        str | None, typer.Option(help="What was worn: goggles,gloves.")
    ] = None,
    aid: Annotated[str | None, typer.Option(help="First aid that was given.")] = None,
    told: Annotated[str | None, typer.Option(help="Who was told.")] = None,
    sent_to: Annotated[str | None, typer.Option(help="Doctor, hospital.")] = None,
    days_off: Annotated[int | None, typer.Option(help="Days not at work.")] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write an accident, or a near one. Help first: this prints whom to ring.

    Example: hygiene accident splash --who CD --what "bleach in the eye, lid off"
    --product hypo --aid "rinsed 20 min" --told "A. Birch" --by AB
    """
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        thing = Accident(
            sort=sort,
            who=who,
            what=what,
            place=place,
            product=known(desk.farm, "product", product) if product else None,
            gear_worn=tuple(g.strip() for g in gear.split(",")) if gear else (),
            first_aid=aid,
            told=told,
            sent_to=sent_to,
            days_off=days_off,
        )
        with desk.writing() as writing:
            thing = replace(thing, attached=attached(writing, attach))
            done = acts.accident(writing, desk.farm, act, thing)
    for line in _help(desk, thing):
        print(line)
    _tell(done)
    if not done.already:
        raise typer.Exit(3)


def _help(desk: Desk, thing: Accident) -> Iterator[str]:
    for text in first_aid(thing.sort, _active(desk.farm, thing.product)):
        yield f"! {text}"
    for row in rows_of(desk.farm.farm or {}, "contacts"):
        if row.get("role") in ("emergency", "poison") and row.get("telephone"):
            yield f"  {row.get('name')}: {row.get('telephone')}"


def _active(farm: InForce, product: str | None) -> str:
    body = farm.get("product", product) if product else None
    actives = rows_of(body or {}, "actives")
    return str(actives[0].get("name")) if actives else ""


def _tell(done: acts.Written) -> None:
    if done.already:
        print(f"Already recorded as {done.entry.name}: {gist(done.entry)}")
        return
    written(done.entry, gist(done.entry))
    if done.action is not None:
        written(done.action, f"action: {gist(done.action)}")
        name = done.action.name
        print(f"Put it right, then: hygiene recheck {name} --seen TEXT --passed")
