"""``hygiene calibrate``: a kit, meter, thermometer or scale was checked."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts import calibrating as acts
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import At, By, RecordPath, WrittenBy, at_work, written
from hygiene.cli.fields import decimal
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import typed_day
from hygiene.kinds.words import gist, in_a_line

app = one_command()


class NoUnit(WronglyPut):
    """A reading without its unit."""

    sentence = "{given!r}: write what it showed with its unit, such as '0.2 C'"


@app.command()
def calibrate(
    ctx: typer.Context,
    kit: Annotated[str, typer.Argument(help="The kit's code.")],
    against: Annotated[
        str, typer.Option(help="Melting ice, buffer 7, test weight, new tub ...")
    ],
    passed: Annotated[bool, typer.Option("--passed/--failed", help="Is it right?")],
    shown: Annotated[
        str | None, typer.Option(metavar="VALUE", help="What it showed: '0.2 C'.")
    ] = None,
    next_on: Annotated[
        str | None,
        typer.Option("--next", metavar="DATE", help="The last day this check counts."),
    ] = None,
    expires: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="Of new strips or new reagent."),
    ] = None,
    did: Annotated[str | None, typer.Option(help="What was done about it.")] = None,
    certificate: Annotated[str | None, typer.Option(metavar="NUMBER")] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write a check of a kit, meter, thermometer or scale; or that strips are new.

    One that failed is out of use, and what was read with it is listed.

    Example: hygiene calibrate PH --against "buffer 7" --shown "7.04 pH" --passed
    """
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        value, unit = _shown(shown)
        today = desk.now.date()
        described = {
            "passed": passed,
            "against": against,
            "shown": value,
            "unit": unit,
            "next_on": typed_day(next_on, today) if next_on else None,
            "expires_on": typed_day(expires, today) if expires else None,
            "did": did,
            "certificate": certificate,
        }
        with desk.writing() as writing:
            files = attached(writing, attach)
            done = acts.calibrate(
                writing, desk.farm, act, kit=kit, attached=files, **described
            )
    _tell(done)
    if done.action is not None:
        raise typer.Exit(3)


def _shown(text: str | None) -> tuple[object, str | None]:
    if text is None:
        return None, None
    number, _, unit = text.strip().partition(" ")
    if not unit:
        raise NoUnit(given=text)
    return decimal("shown", number), unit.strip()


def _tell(done: acts.Calibrated) -> None:
    if done.already:
        print(f"Already recorded as {done.check.name}: {gist(done.check)}")
        return
    written(done.check, gist(done.check))
    for recheck in done.rechecks:
        written(recheck, f"recheck: {gist(recheck)}")
        print(f"Now it can end: hygiene close {recheck.get('action')} --did TEXT")
    if done.action is None:
        return
    written(done.action, f"action: {gist(done.action)}")
    print("Put it away and mark it, so that nobody uses it.")
    for entry in done.doubtful:
        print(f"  look at: {in_a_line(entry)}")
