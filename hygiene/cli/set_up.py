"""``hygiene set-up``: shows what a farm file would change, and then writes it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, time, tzinfo
from pathlib import Path
from typing import Annotated, Any

import typer

from hygiene.acts.set_up import FarmFiles, check, read_files, set_up
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.cli.desk import (
    By,
    NobodyGiven,
    NotYet,
    RecordPath,
    Yes,
    note,
    one_of,
    say_of,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.world import World
from hygiene.errors import WrongFile, WronglyPut
from hygiene.farm.differences import CHANGED, NEW, RETIRED, Change, Field
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.moments import at_the_farm, typed_day, typed_moment, zone_of
from hygiene.kinds.words import inline
from hygiene.shipped import shipped

app = one_command()

TITLES = {
    NEW: "New",
    CHANGED: "Changed",
    RETIRED: "Retired (what was written about it stays readable)",
}


class NoFarmFile(WrongFile):
    """There is no farm file there."""

    sentence = "there is no file {path}"


class NotSaidYes(WronglyPut):
    """Nobody can be asked, and nothing was said beforehand."""

    sentence = "nothing was written: nobody is there to be asked"


@app.command("set-up")
def set_up_command(
    ctx: typer.Context,
    file: Annotated[Path, typer.Argument(metavar="FARM.toml", help="The farm file.")],
    by: By = None,
    since: Annotated[
        str | None,
        typer.Option(
            "--from", metavar="DATE", help="In force from that day on, else from now."
        ),
    ] = None,
    lists_now: Annotated[
        bool,
        typer.Option(
            "--lists-now",
            help="With --from: the checklists from now on; of before, none is asked.",
        ),
    ] = False,
    yes: Yes = False,
    record: RecordPath = None,
) -> None:
    """Set up the farm, or change its set-up: shows what would change, then writes it.

    Adopts the checklists in the folder checklists/ beside the farm file, else the
    standing ones; whoever is given by --by approves them. Nothing is deleted: what
    the file no longer names is retired. The record is made if there is none.

    Example: hygiene set-up FARM.toml --by AB
    """
    world: World = ctx.obj
    if not file.exists():
        template = shipped("demo_farm") / "FARM.toml"
        raise NoFarmFile(path=file, way_out=f"begin with a copy of {template}")
    files = read_files(file)
    path = world.record(record)
    zone = zone_of(files.wanted.farm.time_zone)
    now = world.now().astimezone(zone)
    at = _moment(since, now, zone)
    before = _written_so_far(path)
    standing = in_force(before, now)
    changes = files.changes(standing)
    if not changes:
        print(f"Nothing to change: {path} already stands as {file.name} says.")
        return
    for line in plan(files, changes, at or now, world.width):
        print(line)
    who = _writer(world, by, files, standing)
    check(files, changes, standing, by=who, at=at or now)
    _need_yes(world, yes, path)
    with _to_write(world, path, zone) as writing:
        entries = set_up(
            writing, files, by=who, at=at, lists_now=lists_now, shown=changes
        )
    world.wrote(entries)
    if before and before[-1].book != entries[0].book:
        note(f"The set-up was in {before[-1].book} so far: keep it to one device.")
    print(f"{_names(entries)}, by {who}.")
    now = world.now().astimezone(zone)  # a second later it may be in force only now
    for line in (*_odd_products(path, now), *_not_taught(path, now)):
        note(line)
    print(f"The record is {path}. Next, see what is due: hygiene today")


def _odd_products(path: Path, now: datetime) -> Iterator[str]:
    """What does not hang together in the register; copied wrong, as a rule."""
    from hygiene.acts.clearance import rules_of
    from hygiene.sanitising.doses import read_label
    from hygiene.sanitising.labels import register_faults

    with Record.open(path) as record:
        setup = record.setup()
        farm = in_force(setup, now)
        rules = rules_of(record, setup, farm, now)
    for code, body in farm.things("product").items():
        if not (body.get("sds_date") or body.get("sds_checked_on")):
            yield (
                f"LOOK AT product {code}: no safety data sheet, so a dose of it is "
                "refused or marked\n  read the sheet, set sds_date and sds_checked_on"
            )
        for fault in register_faults(read_label(body), rules):
            yield f"LOOK AT product {code}: {fault.says}\n  {fault.way_out}"


def _not_taught(path: Path, now: datetime) -> Iterator[str]:
    """Who will sign what they were not taught: it would be marked on the first day."""
    from hygiene.rota.schedule import read_rota

    with Record.open(path) as record:
        setup = record.setup()
    farm = in_force(setup, now)
    asked = sorted({t.training for t in read_rota(setup).tasks if t.training})
    for code, body in farm.people.items():
        wanting = [t for t in asked if not farm.trained(code, t, now.date())]
        if wanting and {"worker", "manager"} & set(items(body, "roles")):
            yield (
                f"LOOK AT person {code}: no training in {', '.join(wanting)}, which "
                f"checklists ask for\n  what {code} signs of them is marked; if it was "
                f"had: hygiene train {code} {wanting[0]} --on DATE"
            )


def _written_so_far(path: Path) -> list[Entry]:
    if not path.exists():
        return []
    with Record.open(path) as record:
        return record.setup()


@contextmanager
def _to_write(world: World, path: Path, zone: tzinfo) -> Iterator[Writing]:
    """One transaction on the record, which is made if there is none."""

    def clock() -> datetime:
        return world.now().astimezone(zone)

    if not path.exists():
        Record.create(path, clock, world.keys()).close()
    with (
        Record.open(path, to_write=True) as record,
        record.writing(clock, world.keys(), world.place()) as writing,
    ):
        yield writing
    say_of(writing, clock())


def _moment(given: str | None, now: datetime, zone: tzinfo) -> datetime | None:
    """The first moment of a day, or the moment that was typed; never one to come."""
    if given is None:
        return None
    if ":" in given:
        typed = typed_moment(given, now, zone)
    else:
        typed = at_the_farm(typed_day(given, now.date()), time(0), zone)
    if typed > now:
        raise NotYet(given=f"{typed:%Y-%m-%d %H:%M}", now=f"{now:%Y-%m-%d %H:%M}")
    return typed


def _writer(
    world: World, given: str | None, files: FarmFiles, standing: InForce
) -> str:
    """The code of who sets up: a person in force, or one in the file."""
    people = files.people(standing)
    code = world.by(given)
    if code is None:
        listed = f"the people of this farm are: {', '.join(people)}"
        raise NobodyGiven(way_out=f"add --by CODE; {listed}")
    return one_of(people, code)


def _need_yes(world: World, yes: bool, path: Path) -> None:
    if yes:
        return
    if not world.asks:
        raise NotSaidYes(way_out="add --yes to write it")
    what = f"Write this to {path}?" if path.exists() else f"Make {path} with this?"
    # typer's own question would turn Ctrl-C into "declined"
    if input(f"{what} [y/N]: ").strip().lower() not in ("y", "yes"):
        raise typer.Abort


def _names(entries: list[Entry]) -> str:
    if len(entries) == 1:
        return f"Written as {entries[0].name}"
    return f"Written as {entries[0].name} to {entries[-1].name}"


def plan(
    files: FarmFiles, changes: list[Change], at: datetime, width: int
) -> Iterator[str]:
    """What would change, in plain words, no line wider than ``width``."""
    yield f"{files.wanted.farm.name}: what would change from {at:%Y-%m-%d %H:%M} on"
    for how, title in TITLES.items():
        found = [change for change in changes if change.how == how]
        if found:
            yield from ("", title)
        for change in found:
            for line in _in_words(change):
                yield from textwrap.wrap(
                    line, width, initial_indent="  ", subsequent_indent="      "
                )
    yield ""


def _in_words(change: Change) -> list[str]:
    what = f"{change.sort} {change.code}".rstrip()
    if change.how == CHANGED:
        said = [line for field in change.fields for line in _field(field)]
        return [f"{what}: {line}" for line in said]
    gist = _gist(change)
    return [f"{what}: {gist}" if gist else what]


def _gist(change: Change) -> str:
    """What a new thing is, in a few words."""
    body = change.writes.body()
    if change.how == RETIRED:
        return _count(change)
    if change.sort == "checklist":
        return f"{body['title']} (version {body['version']})"
    if change.sort == "tray":
        parts = [_count(change), body.get("material"), _unit(body, "area_m2", "m2")]
        return ", ".join(part for part in parts if part)
    if change.sort == "rack":
        return f"in {body['room']}, {body['levels']} levels"
    return str(body.get("name", ""))


def _count(change: Change) -> str:
    return f"{len(change.codes)} trays" if len(change.codes) > 1 else ""


def _unit(body: Mapping[str, Any], key: str, unit: str) -> str:
    return f"{inline(body[key])} {unit} each" if key in body else ""


def _field(field: Field) -> list[str]:
    key, was, now = field.key.replace("_", " "), field.was, field.now
    if _tables(was) or _tables(now):
        return _rows(key, _tables(was), _tables(now))
    if was is None:
        return [f"{key} is {inline(now)} (was not said)"]
    if now is None:
        return [f"{key} is no longer said (was {inline(was)})"]
    return [f"{key} from {inline(was)} to {inline(now)}"]


def _rows(key: str, was: dict[str, Any], now: dict[str, Any]) -> list[str]:
    said = []
    for label in dict.fromkeys((*was, *now)):
        before, after = was.get(label), now.get(label)
        if before is None:
            said.append(f"{key} {label} is added: {_inside(now[label])}")
        elif after is None:
            said.append(f"{key} {label} is left out (was: {_inside(was[label])})")
        else:
            for part in dict.fromkeys((*before, *after)):
                if before.get(part) != after.get(part):
                    field = Field(part, before.get(part), after.get(part))
                    said += [f"{key} {label}: {line}" for line in _field(field)]
    return said or [f"{key} stand in another order"]


def _inside(row: Mapping[str, Any]) -> str:
    said = [f"{key.replace('_', ' ')} {inline(row[key])}" for key in list(row)[1:]]
    return ", ".join(said) or "nothing more"


def _tables(value: Any) -> dict[str, Any]:
    """A list of tables by what each begins with: a topic, a role, a step's code."""
    rows: dict[str, Any] = {}
    for row in value if isinstance(value, list) else []:
        if isinstance(row, Mapping) and row:
            label = inline(next(iter(row.values())))
            count = sum(known.split(" #")[0] == label for known in rows)
            rows[f"{label} #{count + 1}" if count else label] = row
    return rows
