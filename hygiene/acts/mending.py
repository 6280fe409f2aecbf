"""Putting an entry right, or ruling it through; the old one stays readable."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from hygiene.acts.following import follow
from hygiene.book.writing import Writing
from hygiene.errors import Refused, WronglyPut
from hygiene.kinds import SETUP, kind_class
from hygiene.kinds.base import Unfit, read_plain
from hygiene.kinds.book import Strike
from hygiene.kinds.entry import Entry
from hygiene.rota.signing import failures, to_action


class StruckAlready(Refused):
    """An entry that is ruled through already."""

    sentence = "{name} is ruled through already, by {by}: {reason}"


class NothingChanged(WronglyPut):
    """A correction that says just what stands."""

    sentence = "{name} says that already; nothing was written"


class CannotCorrect(WronglyPut):
    """A kind that is put right in another way."""

    sentence = "a {kind} is not corrected like this"


class DoesNotFit(WronglyPut):
    """The corrected body cannot be true."""

    sentence = "{name}: {what}"


def strike(
    writing: Writing,
    name: str,
    *,
    reason: str,
    by: str,
    happened_at: datetime | None = None,
) -> Entry:
    """Rule an entry through. It never ends a hold and never clears anything.

    The holds that it calls for are written next in the same book.
    """
    last = writing.record.standing(name)
    if last.kind == "strike":
        raise StruckAlready(name=last.first, by=last.by, reason=last.reason)
    made = writing.add(
        Strike(struck=last.kind),
        by=by,
        happened_at=happened_at,
        corrects=name,
        reason=reason,
    )
    follow(writing, made)
    return made


def last_said(history: list[Entry]) -> Entry:
    """The latest version that is not a strike: what a correction starts from."""
    return next(entry for entry in reversed(history) if entry.kind != "strike")


def correct(
    writing: Writing,
    name: str,
    body: Mapping[str, Any],
    *,
    reason: str,
    by: str,
    happened_at: datetime | None = None,
) -> tuple[Entry, list[Entry]]:
    """Write the whole body again, put right; and the actions and holds that follow.

    A struck entry stands again. ``happened_at`` stays as it was, if not given.
    """
    history = writing.record.history(name)
    last = last_said(history)
    if last.kind in SETUP or last.kind == "opening":
        raise CannotCorrect(
            kind=last.kind,
            way_out="change the farm file and run: hygiene set-up FARM.toml",
        )
    moment = happened_at or datetime.fromisoformat(last.happened_at)
    same_moment = moment == datetime.fromisoformat(last.happened_at)
    if body == last.body and same_moment and history[-1].kind != "strike":
        raise NothingChanged(name=last.name)
    try:
        thing = read_plain(kind_class(last.kind), body)
    except Unfit as unfit:
        key, what = unfit.problems[0]
        raise DoesNotFit(name=".".join(map(str, key)), what=what) from unfit
    made = writing.add(thing, by=by, happened_at=moment, corrects=name, reason=reason)
    opened = _open_what_fails(writing, made, last, by)
    return made, [*opened, *follow(writing, made)]


def _open_what_fails(
    writing: Writing, made: Entry, before: Entry, by: str
) -> list[Entry]:
    """A corrected answer that fails now, and did not before, opens its action."""
    old = {_place(answer) for answer in failures(before)}
    return [
        writing.add(to_action(made, answer), by=by)
        for answer in failures(made)
        if _place(answer) not in old
    ]


def _place(answer: Mapping[str, Any]) -> tuple[Any, Any]:
    return answer.get("step"), answer.get("of")
