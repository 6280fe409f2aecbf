"""What the Tab key offers: commands, and the farm's own codes read from its record.

A parameter is known by its name, so that none of the commands says it again. Where
there is no record, or it cannot be read, nothing is offered and nothing is said.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import typer

from hygiene.cli.desk import Desk, reading
from hygiene.cli.world import World
from hygiene.errors import HygieneError
from hygiene.kinds.checks import ranges

CODE = re.compile(r"[\w./@-]+", re.ASCII)
NOT_PLAIN = re.compile(r"[^\w .,/-]+", re.ASCII)
"""The scripts of some shells run what they are given through ``eval``: whatever stands
in a record, only plain characters are handed to them."""


class Offer(NamedTuple):
    """One offer as the shell's script wants it."""

    value: str
    help: str = ""
    type: str = "plain"


Look = Callable[[Desk], Iterable[Offer]]


def _things(sort: str) -> Look:
    def look(desk: Desk) -> Iterator[Offer]:
        for code, body in desk.farm.things(sort).items():
            yield Offer(code, str(body.get("name") or body.get("title") or ""))

    return look


def _people(desk: Desk) -> Iterator[Offer]:
    return (Offer(c, str(body.get("name"))) for c, body in desk.farm.people.items())


def _tasks(desk: Desk) -> Iterator[Offer]:
    from hygiene.rota.schedule import read_rota

    for code, task in read_rota(desk.setup).in_force(desk.now).items():
        yield Offer(code, task.title)


def _growing(desk: Desk) -> Iterator[Offer]:
    from hygiene.acts.standing import growing_batches

    for batch in growing_batches(desk.record, desk.now):
        day = batch.day(desk.now.date(), desk.farm.zone)
        yield Offer(batch.code, f"day {day}, {ranges(batch.growing)}")


def _batches(desk: Desk) -> Iterator[Offer]:
    from hygiene.acts.standing import recent_batches

    for code, batch in recent_batches(desk.record, desk.now).items():
        sown = batch.sown.astimezone(desk.farm.zone)
        yield Offer(code, f"sown {sown:%d %b}")


def _lots(desk: Desk) -> Iterator[Offer]:
    for seed in desk.record.entries(["seed"]):
        kilos = f"{(seed.get('grams') or 0) / 1000:g} kg"
        yield Offer(str(seed.get("lot")), f"{kilos} of {seed.get('supplier')}")


def containers(desk: Desk) -> Iterator[Offer]:
    """The containers of the store, with their product."""
    for can in desk.record.entries(["container"]):
        yield Offer(str(can.get("container")), str(can.get("product")))


def _holds(desk: Desk) -> Iterator[Offer]:
    for hold in desk.record.unanswered("hold", "release"):
        yield Offer(hold.name, f"{hold.get('held')}: {hold.get('why')}")


def _actions(desk: Desk) -> Iterator[Offer]:
    for action in desk.record.unanswered("action", "close"):
        yield Offer(action.name, str(action.get("problem")))


def _any_code(desk: Desk) -> Iterator[Offer]:
    for look in (_batches, _lots, *map(_things, ("animals", "tray", "supplier"))):
        yield from look(desk)


def _kinds(_: Desk) -> Iterator[Offer]:
    from hygiene.kinds import HOMES

    return (Offer(kind) for kind in HOMES)


def _reports(_: Desk) -> Iterator[Offer]:
    from hygiene.reports.catalogue import REPORTS

    return (Offer(report.name, report.help) for report in REPORTS.values())


OF_ALL: dict[str, Look] = {
    "batch": _growing,
    "buyer": _things("buyer"),
    "by": _people,
    "code": _any_code,
    "group": _things("animals"),
    "kind": _kinds,
    "kit": _things("kit"),
    "line": _things("line"),
    "lot": _lots,
    "lots": _lots,
    "person": _people,
    "point": _things("point"),
    "product": _things("product"),
    "sampler": _people,
    "some": _things("tray"),
    "supplier": _things("supplier"),
    "task": _tasks,
    "witness": _people,
    "written_by": _people,
}
"""What is offered for a parameter of this name, whatever the command."""

OF_ONE: dict[tuple[str, str], Look] = {
    ("close", "name"): _actions,
    ("container", "what"): containers,
    ("discard", "what"): _growing,
    ("dispatch", "what"): _growing,
    ("dose", "what"): _things("tray"),
    ("feed", "what"): _growing,
    ("mould", "what"): _growing,
    ("recheck", "name"): _actions,
    ("release", "name"): _holds,
    ("report", "name"): _reports,
    ("report", "subject"): _any_code,
    ("sample", "what"): _batches,
    ("sow", "where"): _things("tray"),
    ("trays", "what"): _things("tray"),
}
"""What is offered for a parameter of one command."""


def teach(command: Any, name: str) -> None:
    """Let a command's parameters offer what the record knows."""
    for parameter in command.params:
        look = look_of(name, parameter.name)
        if look is not None:
            parameter.shell_complete = _offering(look)


def _offering(look: Look) -> Callable[[typer.Context, str], list[Offer]]:
    def offer(ctx: typer.Context, incomplete: str) -> list[Offer]:
        typed = incomplete.upper()
        return [
            each._replace(help=NOT_PLAIN.sub(" ", each.help))
            for each in looked_up(ctx, look)
            if CODE.fullmatch(each.value) and each.value.upper().startswith(typed)
        ]

    return offer


def look_of(command: str, parameter: str) -> Look | None:
    """What is offered for a parameter of a command; None where nothing is."""
    return OF_ONE.get((command, parameter)) or OF_ALL.get(parameter)


def looked_up(ctx: Any, look: Look) -> list[Offer]:
    """What the record that was meant offers; nothing where it cannot be read."""
    ctx.obj = ctx.obj or World.from_process()
    given = ctx.params.get("record")
    try:
        with reading(ctx, Path(given) if given else None) as desk:
            return list(look(desk))
    except HygieneError:
        return []
