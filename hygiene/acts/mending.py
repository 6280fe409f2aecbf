"""Putting an entry right, or ruling it through; the old one stays readable."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from hygiene.acts.finds import also_in, find_mould
from hygiene.acts.following import follow
from hygiene.acts.how import How
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Refused, WronglyPut
from hygiene.farm.in_force import in_force
from hygiene.kinds import SETUP, kind_class
from hygiene.kinds.base import Unfit, read_plain
from hygiene.kinds.book import Strike
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.find import Mould
from hygiene.rota.signing import failures, to_action

STAYS: Final = {
    "sign_off": ("task", "due", "version"),
    "miss": ("task", "due"),
    "countersign": ("entries", "day", "how"),
    "action": ("about", "incident"),
    "recheck": ("action",),
    "close": ("action", "recheck"),
    "release": ("hold",),
    "assess": ("holds",),
    "sow": ("batch",),
    "seed": ("lot",),
    "container": ("container",),
}
"""What an entry is an answer to, or gives its code to. A correction of it would sign,
close, release or countersign something else, past every rule that asks about that; or
leave the finds and holds behind that name the code."""


class StruckAlready(Refused):
    """An entry that is ruled through already."""

    sentence = "{name} is ruled through already, by {by}: {reason}"


class NothingChanged(WronglyPut):
    """A correction that says just what stands."""

    sentence = "{name} says that already; nothing was written"


class NoReason(WronglyPut):
    """A correction or a strike says why."""

    sentence = "say why: --reason is empty"


class CannotCorrect(WronglyPut):
    """A kind that is put right in another way."""

    sentence = "a {kind} is not {how} like this"


class StaysAsItWas(WronglyPut):
    """A field that says what the entry answers."""

    sentence = "the {key} of a {kind} is not corrected"


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
    _need_reason(reason)
    last = writing.record.standing(name)
    _not_set_up(last, "ruled through")
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
    _need_reason(reason)
    history = writing.record.history(name)
    last = last_said(history)
    _not_set_up(last, "corrected")
    _need_same(last, body)
    moment = happened_at or datetime.fromisoformat(last.happened_at)
    same_moment = moment == datetime.fromisoformat(last.happened_at)
    if body == last.body and same_moment and history[-1].kind != "strike":
        raise NothingChanged(name=last.name)
    body = _named_anew(writing, last, body, moment)
    body, finds = _find_what_is_mouldy(
        writing, last, body, How(by, moment, reason=reason)
    )
    try:
        thing = read_plain(kind_class(last.kind), body)
    except Unfit as unfit:
        key, what = unfit.problems[0]
        raise DoesNotFit(name=".".join(map(str, key)), what=what) from unfit
    made = writing.add(thing, by=by, happened_at=moment, corrects=name, reason=reason)
    opened = _open_what_fails(writing, made, last, by)
    return made, [*finds, *opened, *follow(writing, made)]


def _need_reason(reason: str) -> None:
    if not reason.strip():
        raise NoReason(way_out="add --reason TEXT")


def _not_set_up(entry: Entry, how: str) -> None:
    """A struck farm or person would leave a record that nobody can sign in."""
    if entry.kind in SETUP or entry.kind == "opening":
        raise CannotCorrect(
            kind=entry.kind,
            how=how,
            way_out="change the farm file and run: hygiene set-up FARM.toml",
        )


def _need_same(last: Entry, body: Mapping[str, Any]) -> None:
    for key in STAYS.get(last.kind, ()):
        # what was left out, and is needed, is told with the other things that lack
        if key in body and body[key] != last.get(key):
            raise StaysAsItWas(
                key=key,
                kind=last.kind.replace("_", " "),
                way_out=f"rule it through, write another: hygiene strike {last.first}",
            )


def _named_anew(
    writing: Writing, last: Entry, body: Mapping[str, Any], at: datetime
) -> Mapping[str, Any]:
    """A find put right names the batches in which it is by its new trays and hour."""
    if last.kind != "mould":
        return body
    try:
        thing = read_plain(Mould, body)
    except Unfit:  # told below, with the other things that do not fit
        return body
    return {
        **body,
        "batches": list(also_in(writing.record, thing, at, writing.clock())),
    }


def signed_steps(record: Record, sign_off: Entry) -> dict[str, Mapping[str, Any]]:
    """The steps, by code, of the checklist version that was signed."""
    said = (sign_off.get("task"), sign_off.get("version"))
    for entry in reversed(record.all_versions(["checklist"])):
        if (entry.get("code"), entry.get("version")) == said:
            return {str(step.get("code")): step for step in rows_of(entry, "steps")}
    return {}


def _find_what_is_mouldy(
    writing: Writing, last: Entry, body: Mapping[str, Any], how: How
) -> tuple[Mapping[str, Any], list[Entry]]:
    """An answer put right to mould writes the find, as it does when it is signed."""
    if last.kind != "sign_off":
        return body, []
    steps = signed_steps(writing.record, last)
    farm = in_force(writing.record.setup(), how.at(writing))
    answers, found = [], []
    for row in rows_of(body, "answers"):
        step = steps.get(str(row.get("step")), {})
        if step.get("writes") == "mould" and _fails_anew(row):
            of, count = str(row.get("of")), int(row.get("value") or 0) or None
            thing = (
                Mould(trays=(of,), tray_count=count)
                if step.get("per") == "tray"
                else Mould(rack=of, tray_count=count)
            )
            made = find_mould(
                writing, farm, thing, how, step=row.get("step"), did=row.get("did")
            )
            found += [made.mould, *made.holds, *([made.action] if made.action else [])]
            row = {**row, "wrote": made.mould.name}
        answers.append(row)
    return {**body, "answers": answers} if found else body, found


def _fails_anew(answer: Mapping[str, Any]) -> bool:
    return answer.get("passed") is False and not answer.get("wrote")


def _open_what_fails(
    writing: Writing, made: Entry, before: Entry, by: str
) -> list[Entry]:
    """A corrected answer that fails now, and did not before, opens its action."""
    old = {_place(answer) for answer in failures(before)}
    # what wrote a find has that find's incident
    return [
        writing.add(to_action(made, answer), by=by)
        for answer in failures(made)
        if _place(answer) not in old and not answer.get("wrote")
    ]


def _place(answer: Mapping[str, Any]) -> tuple[Any, Any]:
    return answer.get("step"), answer.get("of")
