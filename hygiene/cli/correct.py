"""``hygiene correct``: the whole entry again, put right; the old one stays readable."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import typer

from hygiene.cli.desk import At, By, Desk, RecordPath, at_work, note, written
from hygiene.cli.fields import put
from hygiene.cli.words import gist
from hygiene.errors import WronglyPut
from hygiene.kinds import SETUP, kind_class
from hygiene.kinds.base import Unfit, read_plain
from hygiene.kinds.entry import Entry

app = typer.Typer(rich_markup_mode=None)


class NothingChanged(WronglyPut):
    """A correction that says just what stands."""

    sentence = "{name} says that already; nothing was written"


class CannotCorrect(WronglyPut):
    """A kind that is put right in another way."""

    sentence = "a {kind} is not corrected like this"


class DoesNotFit(WronglyPut):
    """The corrected body cannot be true."""

    sentence = "{name}: {what}"


@app.command()
def correct(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="The entry, such as shed-k7q2/1042.")],
    changes: Annotated[
        list[str],
        typer.Argument(
            metavar="KEY=VALUE...",
            help="What is right. In a sign-off a step is STEP=VALUE or STEP.RACK=VALUE.",
        ),
    ],
    reason: Annotated[str, typer.Option(help="Why it was wrong.")],
    by: By = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Put an entry right. The first one stays readable, shown with its correction.

    ``--at`` puts right when it happened. A struck entry stands again once corrected.
    It never ends a hold and never closes an action.

    Example: hygiene correct shed-k7q2/1042 temp.GROW=21.4 --reason "misread" --by AB
    """
    with at_work(ctx, record) as desk:
        who = desk.person(by)
        history = desk.record.history(name)
        last = next(entry for entry in reversed(history) if entry.kind != "strike")
        if last.kind in SETUP or last.kind in ("opening", "strike"):
            raise CannotCorrect(
                kind=last.kind,
                way_out="change the farm file and run: hygiene set-up FARM.toml",
            )
        body = put(last, changes, desk.record)
        moment = desk.moment(at) if at else desk.moment(last.happened_at)
        same_moment = moment.timestamp() == _instant(desk, last)
        if body == last.body and same_moment and history[-1].kind != "strike":
            raise NothingChanged(name=last.name)
        try:
            thing = read_plain(kind_class(last.kind), body)
        except Unfit as unfit:
            key, what = unfit.problems[0]
            raise DoesNotFit(name=".".join(map(str, key)), what=what) from unfit
        with desk.writing() as writing:
            made = writing.add(
                thing, by=who, happened_at=moment, corrects=name, reason=reason
            )
            opened = _open_what_fails(writing, made, last, who)
    written(made, f"{made.first} corrected: {gist(made)}")
    for entry in opened:
        written(entry, gist(entry))
    if last.kind in ("hold", "mould"):
        note("The hold goes on: only its release ends it.")
    if opened:
        raise typer.Exit(3)


def _instant(desk: Desk, entry: Entry) -> float:
    return desk.moment(entry.happened_at).timestamp()


def _open_what_fails(writing: Any, made: Entry, before: Entry, who: str) -> list[Entry]:
    """A corrected answer that fails now, and did not before, opens its action."""
    if made.kind != "sign_off":
        return []
    from hygiene.rota.signing import failures, to_action

    old = {_place(answer) for answer in failures(before)}
    return [
        writing.add(to_action(made, answer), by=who)
        for answer in failures(made)
        if _place(answer) not in old
    ]


def _place(answer: Mapping[str, Any]) -> tuple[Any, Any]:
    return answer.get("step"), answer.get("of")
