"""``action``, ``recheck`` and ``close``: what went wrong, and was it put right?"""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import actions as acts
from hygiene.cli.desk import At, By, RecordPath, at_work, follows, written
from hygiene.cli.fields import decimal
from hygiene.cli.lazy import one_command
from hygiene.errors import WronglyPut
from hygiene.kinds.action import Action, Recheck
from hygiene.kinds.entry import has_passed
from hygiene.kinds.words import gist

action_app = one_command()
recheck_app = one_command()
close_app = one_command()

ActionName = Annotated[str, typer.Argument(help="The action, such as shed-k7q2/1043.")]


class HowDidItGo(WronglyPut):
    """A recheck that does not say whether it is right now."""

    sentence = "is it right now? nothing was written"


@action_app.command()
def action(
    ctx: typer.Context,
    about: Annotated[str, typer.Argument(help="The entry that it is about.")],
    problem: Annotated[str, typer.Option(help="What is wrong.")],
    did: Annotated[str | None, typer.Option(help="What was done at once.")] = None,
    concerns: Annotated[
        str | None, typer.Option(metavar="CODE", help="The rack, line or tray.")
    ] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Open a corrective action about an entry.

    Example: hygiene action shed-k7q2/1042 --problem "door left open" --by AB
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.who_when(by, at)
        desk.record.entry(about)
        thing = Action(about=about, problem=problem, did=did, concerns=concerns)
        with desk.writing() as writing:
            found = writing.same(thing, by=who, happened_at=moment if at else None)
            made = found or writing.add(thing, by=who, happened_at=moment)
    written(made, gist(made), already=found is not None)
    print(f"Look again later, then: hygiene recheck {made.name} --seen TEXT --passed")


@recheck_app.command()
def recheck(
    ctx: typer.Context,
    name: ActionName,
    seen: Annotated[str, typer.Option(help="What was seen or read this time.")],
    passed: Annotated[
        bool | None, typer.Option("--passed/--failed", help="Is it right now?")
    ] = None,
    value: Annotated[str | None, typer.Option(help="The reading, if any.")] = None,
    unit: Annotated[str | None, typer.Option(help="The reading's unit.")] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Look again at what went wrong, and say whether it is right now.

    Water that failed is sampled again (hygiene water): that test is its recheck.

    Example: hygiene recheck shed-k7q2/1043 --seen "21.5 C" --passed --by AB
    """
    if passed is None:
        raise HowDidItGo(way_out="add --passed or --failed")
    with at_work(ctx, record) as desk:
        who, moment = desk.who_when(by, at)
        number = None if value is None else decimal("value", value)
        thing = Recheck(action=name, seen=seen, passed=passed, value=number, unit=unit)
        with desk.writing() as writing:
            last = writing.head
            made = acts.look_again(
                writing, thing, by=who, happened_at=moment if at else None
            )
            way_out = acts.again(writing.record, acts.the_action(writing.record, name))
    written(made, gist(made), already=not follows(made, last))
    if not passed:
        print("It stays open. Put it right, and look again.")
        raise typer.Exit(3)
    if not has_passed(made):
        print(f"No new sample shows it, so it stays open: {way_out}")
        raise typer.Exit(3)
    print(f"Now it can end: hygiene close {name} --did TEXT")


@close_app.command()
def close(
    ctx: typer.Context,
    name: ActionName,
    did: Annotated[str, typer.Option(help="What was done about it.")],
    cause: Annotated[str | None, typer.Option(help="Why it came about.")] = None,
    cleaned: Annotated[
        str | None,
        typer.Option(help="An incident: the entry of the deep clean, or why none."),
    ] = None,
    effect: Annotated[
        str | None, typer.Option(help="An incident: what shows that it helped.")
    ] = None,
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Close a corrective action: needs what was done, and a recheck that passed.

    An incident needs its cause, the deep clean and the effect as well.

    Example: hygiene close shed-k7q2/1043 --did "new door seal" --by AB
    """
    with at_work(ctx, record) as desk:
        who, moment = desk.who_when(by, at)
        with desk.writing() as writing:
            if cleaned and "/" in cleaned:
                cleaned = desk.record.entry(cleaned).first
            made = acts.close(
                writing,
                name,
                did=did,
                cause=cause,
                cleaned=cleaned,
                effect=effect,
                by=who,
                happened_at=moment,
            )
    written(made, gist(made))
