"""What most commands begin with: the record opened, the farm as it stands, the writer.

A reading command gathers inside ``with reading(...)`` and lays out after it, so that
it never keeps a writer waiting. A writing command asks first and then writes.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any

import typer

from hygiene.book.record import PATIENCE_MS, Head, Record
from hygiene.cli.screen import spelled
from hygiene.cli.world import World
from hygiene.errors import NoRecord, Unknown, WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of, typed_moment

RecordPath = Annotated[
    Path | None,
    typer.Option(
        "--record", metavar="FILE", help="The record (else HYGIENE_RECORD, ./farm.db)."
    ),
]
By = Annotated[
    str | None,
    typer.Option("--by", metavar="CODE", help="Who did or saw it (else HYGIENE_BY)."),
]
WrittenBy = Annotated[
    str | None,
    typer.Option(metavar="CODE", help="Who types it, if that is somebody else."),
]
At = Annotated[
    str | None,
    typer.Option(
        "--at", metavar="TIME", help="When it was: 07:00, or '2026-03-31 07:00'."
    ),
]
FirstDay = Annotated[
    str | None, typer.Option("--from", metavar="DATE", help="First day.")
]
LastDay = Annotated[
    str | None, typer.Option("--to", metavar="DATE", help="Last day, included.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Write JSON, for a program.")]
Yes = Annotated[bool, typer.Option("--yes", help="Do not ask, do it.")]


class OnlyByName(NoRecord):
    """A demonstration that stands where the farm's own record would."""

    sentence = "{path} here is a demonstration, which is never opened by default"

    def __init__(self, *, path: Path) -> None:
        super().__init__(path=path, way_out=f"if you mean it: --record {path}")


class NoSetUp(NoRecord):
    """A record in which no farm was set up yet."""

    sentence = "no farm is set up in {path}"


class ClockBehind(NoRecord):
    """A clock that has not come to the day on which the farm was set up."""

    sentence = (
        "this device's clock says {now}, and the farm in {path} was set up on {since}"
    )


class NotYet(WronglyPut):
    """A moment that has not come."""

    sentence = "{given} has not come yet: it is {now} at the farm"


class UnknownPerson(Unknown):
    """A code that no person of this farm has."""

    sentence = "nobody at this farm signs as {given!r}"


class NobodyGiven(WronglyPut):
    """No writer was given, and there is nobody to ask."""

    sentence = "who did it? nobody was given"


def _no_farm(record: Record, setup: Iterable[Entry], now: datetime) -> NoRecord:
    """Why there is no farm at this moment: none was set up, or the clock is behind."""
    since = [moment_of(entry.happened_at) for entry in setup if entry.kind == "farm"]
    if not since:
        return NoSetUp(path=record.path, way_out="hygiene set-up FARM.toml")
    return ClockBehind(
        path=record.path,
        now=f"{now:%d %B %Y, %H:%M}",
        way_out="set this device's clock and type it again",
        since=f"{min(since):%d %B %Y}",
    )


def one_of(people: Collection[str], given: str) -> str:
    """The code of a person in the case in which it was set up; ``UnknownPerson``."""
    for code in people:
        if code.casefold() == given.casefold():
            return code
    near = get_close_matches(given.upper(), people, 1)
    raise UnknownPerson(
        given=given,
        way_out=f"did you mean {near[0]}?"
        if near
        else f"the people here are: {', '.join(people)}",
    )


class Desk:
    """An open record with the farm as it stands at this moment."""

    def __init__(self, world: World, record: Record) -> None:
        self.world = world
        self.record = record
        now = world.now()
        self.setup = record.setup()
        self.farm = in_force(self.setup, now)
        if self.farm.farm is None:
            raise _no_farm(record, self.setup, now)
        self.now = now.astimezone(self.farm.zone)
        self.demonstration = record.demonstration()

    def clock(self) -> datetime:
        """The moment as the farm's clock shows it."""
        return self.world.now().astimezone(self.farm.zone)

    def farm_at(self, moment: datetime) -> InForce:
        """The farm as it stood at an earlier moment."""
        return in_force(self.setup, moment)

    def moment(self, given: str | None) -> datetime:
        """When it was: now, or what was typed; never a moment to come."""
        if given is None:
            return self.now
        typed = typed_moment(given, self.now, self.farm.zone)
        if typed > self.now:
            raise NotYet(given=f"{typed:%Y-%m-%d %H:%M}", now=f"{self.now:%H:%M}")
        return typed

    def who_when(self, by: str | None, at: str | None) -> tuple[str, datetime]:
        """Who did it, and when it was."""
        moment = self.moment(at)
        return self.person(by, moment if at else None), moment

    def person(self, given: str | None, at: datetime | None = None) -> str:
        """The code of the person who did it, in the case in which it was set up.

        Who has left since is known for a moment ``at`` which they were still here.
        """
        people = list(self.farm.people)
        if at is not None:
            people = list(dict.fromkeys([*people, *self.farm_at(at).people]))
        code = self.world.by(given)
        if code is None and self.world.asks:
            code = input(f"Who did it ({', '.join(people)}): ").strip()
        if not code:
            known = ", ".join(people)
            raise NobodyGiven(way_out=f"add --by CODE; the people here are: {known}")
        return one_of(people, code)

    @contextmanager
    def writing(self) -> Iterator[Any]:
        """One transaction; says so where a new book had to be opened.

        Also where another command keeps us waiting: it may be for half a minute.
        """
        from threading import Timer

        waiting = Timer(PATIENCE_MS / 1000, _waits)
        waiting.daemon = True
        waiting.start()
        try:
            with self.record.writing(
                self.clock, self.world.keys(), self.world.place()
            ) as writing:
                waiting.cancel()
                before = writing.head
                yield writing
        finally:
            waiting.cancel()
        book, seqs = before.book, range(before.seq + 1, writing.head.seq + 1)
        self.world.wrote(self.record.entry(f"{book}/{seq}") for seq in seqs)
        say_of(writing, self.now)


@contextmanager
def reading(
    ctx: typer.Context,
    given: Path | None,
    first: Callable[[Record], None] | None = None,
) -> Iterator[Desk]:
    """The record, open to read; ``first`` is done with it before the farm is read."""
    world: World = ctx.obj
    with Record.open(world.record(given), waits=_waits) as record:
        if first is not None:
            first(record)
        yield _named(Desk(world, record), given)


@contextmanager
def at_work(ctx: typer.Context, given: Path | None) -> Iterator[Desk]:
    """The record, open to write; nothing is locked until ``desk.writing()``."""
    world: World = ctx.obj
    with Record.open(world.record(given), to_write=True, waits=_waits) as record:
        yield _named(Desk(world, record), given)


def _waits() -> None:
    note("Another command is writing to this record; waiting for it ...")


def _named(desk: Desk, given: Path | None) -> Desk:
    """The desk, unless it is a demonstration that nobody asked for by its name."""
    asked = given is not None or desk.world.environ.get("HYGIENE_RECORD")
    if desk.demonstration and not asked:
        raise OnlyByName(path=desk.record.path)
    return desk


def say_of(writing: Any, now: datetime) -> None:
    """What there is to know of a transaction: a new book, a clock that was set back."""
    if writing.opened:
        note(f"A new book was opened, {writing.opened}: {writing.why}.")
    if writing.ahead:
        note(clock_behind(writing.ahead, now))
        note("  Set the clock right; a wrong time is put right with: hygiene correct")


def clock_behind(recorded_at: str, now: datetime) -> str:
    """What is said where a line was recorded later than it is now."""
    then = moment_of(recorded_at).astimezone(now.tzinfo)
    return (
        f"LOOK AT THE CLOCK: it says {now:%d %B %Y, %H:%M}\n"
        f"  but the last entry was recorded {then:%d %B %Y, %H:%M}"
    )


def note(text: str) -> None:
    """Something to know beside the answer: on stderr, so that a pipe stays clean."""
    print(text, file=sys.stderr)


def written(entry: Entry, text: str, *, already: bool = False) -> None:
    """Say which entry was written, or was there already, and what it says."""
    how = "Already recorded" if already else "Written"
    print(f"{how} as {entry.name}: {text}")


def follows(entry: Entry, last: Head) -> bool:
    """Whether the entry was written after the head that the book had."""
    return entry.book == last.book and entry.seq > last.seq


def show_json(value: Any) -> None:
    """Write a value as JSON, decimals as numbers with the digits as typed."""
    print(_json(value))


def show_json_list(values: Iterable[Any]) -> None:
    """Write a list as ``show_json`` does, each of it once it is there."""
    began = False
    for value in values:
        text = _json(value).replace("\n", "\n ")
        print("," if began else "[", f"\n {text}", sep="", end="")
        began = True
    print("\n]" if began else "[]")


def _json(value: Any) -> str:
    import json
    from decimal import Decimal

    def plain(odd: Any) -> Any:
        if isinstance(odd, Decimal):
            return int(odd) if odd == odd.to_integral_value() else float(odd)
        if isinstance(odd, datetime):
            return odd.isoformat(timespec="seconds")
        return str(odd)

    return spelled(json.dumps(value, ensure_ascii=False, indent=1, default=plain))


def entry_json(entry: Entry) -> dict[str, Any]:
    """An entry under the keys of its line, and its name."""
    made = {"entry": entry.name, **entry._asdict()}
    return {key: value for key, value in made.items() if value is not None}
