"""``dose`` and ``rinse``: sanitisers in use, planned and written."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Annotated, Any

import typer

from hygiene.acts import dosing as acts
from hygiene.acts.against_dosing import Case
from hygiene.cli import dose_typed as opt
from hygiene.cli.attach import Attach, attached
from hygiene.cli.batches import tell
from hygiene.cli.cleared import clearance_json, clearance_lines
from hygiene.cli.desk import (
    AsJson,
    At,
    By,
    Desk,
    RecordPath,
    WrittenBy,
    at_work,
    show_json,
    written,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import columns
from hygiene.cli.typed import Check, how
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.sanitising import Rinse
from hygiene.kinds.words import gist
from hygiene.quantities import volume_l
from hygiene.sanitising.measuring import read_tool

dose_app = one_command()
rinse_app = one_command()


@dose_app.command()
def dose(
    ctx: typer.Context,
    what: opt.What = None,
    from_: opt.From = None,
    product: opt.Product = None,
    to: opt.To = None,
    volume: opt.Volume = None,
    surface: opt.Surface = None,
    tools: opt.Tools = None,
    way: opt.Way = None,
    tub: opt.Tub = None,
    start: opt.Start = None,
    end: opt.End = None,
    read: opt.Read = None,
    kit: opt.KitCode = None,
    ph: opt.Ph = None,
    temp: opt.Temp = None,
    ended: opt.Ended = None,
    stood: opt.Stood = None,
    washed: opt.Washed = None,
    deep: opt.Deep = False,
    rinsed: opt.Rinsed = None,
    tools_rinsed: opt.ToolsRinsed = None,
    dry: opt.Dry = None,
    gear: opt.Gear = None,
    locked_off_by: opt.LockedOffBy = None,
    measure: opt.Measure = None,
    note: opt.Note = None,
    attach: Attach = None,
    check: Check = False,
    as_json: AsJson = False,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Plan a dose with --check; without it, write what was done. --at: when it began.

    Examples: hygiene dose T001..T012 --from C-K7-3-X --to 200 --in "60 L" --check

      hygiene dose T001..T012 --from C-K7-3-X=96ml --to 200 --in "60 L" --start 190
      --end 160 --kit K1 --temp "14 C" --at 08:00 --ended 08:12 --washed --rinsed --dry
    """
    with at_work(ctx, record) as desk:
        moment = desk.moment(at)
        # thirty words of one dose, read where they are described
        words = _words(desk, ctx.params)
        drawn = [opt.drawn_of(desk, text) for text in words["from_"] or ()]
        thing = opt.dose_of(desk, moment, drawn, words)
        if check:
            case = Case(
                desk.record, desk.setup, desk.farm, thing, desk.person(by), moment
            )
            _show_plan(case, drawn, measure, as_json)
            return
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            thing = replace(thing, attached=attached(writing, attach))
            done = acts.dose(writing, desk.setup, desk.farm, thing, act)
    if as_json:
        show_json(_json(done.dose, done))
    else:
        _told(done)
    if done.said.against and not done.already:
        raise typer.Exit(3)


def _words(desk: Desk, params: Mapping[str, Any]) -> Mapping[str, Any]:
    """What was said of the dose, and where a person can be asked, what was not."""
    if not desk.world.asks or params["check"]:
        return params
    from hygiene.cli.dose_asked import filled

    return filled(desk, params)


def _show_plan(
    case: Case, drawn: Sequence[Mapping[str, Any]], measure: str | None, as_json: bool
) -> None:
    # how a worked answer is laid out is imported only where one is shown
    from hygiene.cli.calc.show import json_text, plain_text

    tool = None if measure is None else read_tool(measure)
    codes = [str(row["container"]) for row in drawn]
    plan, warned = acts.plan_dose(case, codes, tool=tool)
    warnings = tuple(f"{rule.says} ({rule.source})" for rule in warned)
    if plan is None:
        for said in warnings:
            _say(f"Note: {said}")
        if not as_json:
            missing = [] if case.thing.target_mg_per_l else ["the strength: --to PPM"]
            missing += [] if codes else ["the can: --from CODE (hygiene container)"]
            print(f"How much to measure is not worked out. Say {' and '.join(missing)}")
    else:
        answer = replace(plan.answer, warnings=(*plan.answer.warnings, *warnings))
        print(json_text(answer) if as_json else plain_text(answer))
    if not as_json:
        print("\nNothing stands against it. Nothing was written.")


def _told(done: acts.Dosing) -> None:
    if done.already:
        print(f"Already recorded as {done.dose.name}: {gist(done.dose)}")
        return
    written(done.dose, gist(done.dose))
    tell(done.said.every, None)
    _what_next(done.actions)
    for line in clearance_lines(done.trays, done.lines):
        print(line)


def _what_next(actions: Iterable[Any]) -> None:
    for action in actions:
        kind = "INCIDENT" if action.get("incident") else "To put right"
        print(f"{kind}: {action.name}, on hygiene today until it is closed")
        if action.get("incident"):
            _say(
                "Leave the room if it smells sharp, go upwind, let air in, call for "
                "help. Rinse with plenty of water; then: hygiene rinse ..."
            )
        if action.get("step"):
            _say(f"  {action.get('step')}")
        print(f"  then: hygiene recheck {action.name} --seen TEXT --passed")


def _say(text: str) -> None:
    print(textwrap.fill(text, columns(), subsequent_indent="    "))


@rinse_app.command()
def rinse(
    ctx: typer.Context,
    what: opt.What = None,
    dry: opt.Dry = None,
    not_rinsed: Annotated[
        bool, typer.Option("--not-rinsed", help="No water now: it is dry, or read.")
    ] = False,
    volume: opt.Volume = None,
    read: opt.Read = None,
    kit: opt.KitCode = None,
    temp: opt.Temp = None,
    timer_on: Annotated[
        bool | None, typer.Option("--timer-on", help="The line's timer runs again.")
    ] = None,
    note: opt.Note = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    as_json: AsJson = False,
    record: RecordPath = None,
) -> None:
    """Rinse trays, tools or a tank, or flush a line; or say that they are dry.

    Examples: hygiene rinse T001..T012 --by AB

      hygiene rinse T001..T012 --not-rinsed --dry --by AB

      hygiene rinse L1 --read nozzle=0.2 --read incoming=0.1 --kit K1 --timer-on --by AB
    """
    with at_work(ctx, record) as desk:
        moment = desk.moment(at)
        found = opt.sorted_codes(desk, what or ())
        thing = Rinse(
            trays=tuple(found["tray"]),
            tools=tuple(found["tool"]),
            line=next(iter(found["line"]), None),
            tank=next(iter(found["tank"]), None),
            rinsed=not not_rinsed,
            dry=dry,
            volume_l=opt.number(volume_l, volume),
            readings=opt.readings_of(desk, moment, read or (), ctx.params),
            timer_on=timer_on,
            note=note,
        )
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            done = acts.rinse(writing, desk.setup, desk.farm, thing, act)
    if as_json:
        show_json(_json(done.rinse, done))
    else:
        _rinsed(done)
    if done.against and not done.already:
        raise typer.Exit(3)


def _rinsed(done: acts.Rinsing) -> None:
    if done.already:
        print(f"Already recorded as {done.rinse.name}: {gist(done.rinse)}")
        return
    written(done.rinse, gist(done.rinse))
    tell(done.against, None)
    _what_next(done.actions)
    for line in clearance_lines(done.trays, done.lines):
        print(line)


def _json(entry: Entry, done: acts.Dosing | acts.Rinsing) -> dict[str, Any]:
    return {
        "entry": entry.name,
        "already": done.already,
        "marks": list(items(entry, "marks")),
        "actions": [action.name for action in done.actions],
        "trays": {tray: clearance_json(made) for tray, made in done.trays.items()},
        "lines": {line: clearance_json(made) for line, made in done.lines.items()},
    }
