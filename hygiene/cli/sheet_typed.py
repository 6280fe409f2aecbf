"""Typing in a line of a printed sheet: initials and answers for each of its days."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import NamedTuple

from hygiene.acts.day import answers as said_of
from hygiene.acts.how import How
from hygiene.acts.signing import Signed, may_be_asked, questions, sign
from hygiene.cli.attach import Paper, attached
from hygiene.cli.desk import Desk, note
from hygiene.cli.fields import pairs
from hygiene.cli.screen import folded
from hygiene.cli.steps import ask_all, tell, tell_mould
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import items
from hygiene.kinds.moments import NotAMoment, typed_moment
from hygiene.rota.schedule import Due, Rota, read_rota
from hygiene.rota.sheet import Line, changed_on, dues_of, farm_of, find
from hygiene.rota.signing import Answered, SaidTwice, answer_all

WEEKDAYS = (
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
)
NO_TIME = "no time stands on the sheet"


class NotOnTheSheet(WronglyPut):
    """A day that the line does not have."""

    sentence = "{given!r} is no day of {code}: it has {days}"


class NobodySigned(WronglyPut):
    """Answers of a day without the initials of who did it."""

    sentence = "{day}: whose initials stand there?"


class NoDays(WronglyPut):
    """A line of which nothing was said."""

    sentence = "{line}: nothing was given to type in"


class OneDay(NamedTuple):
    """What the sheet says of one day: who, when, the answers, a remark."""

    due: Due
    by: str
    at: datetime
    answers: list[Answered]
    note: str | None


def type_in(
    desk: Desk,
    code: str,
    words: list[str],
    by: str | None,
    reason: str | None,
    attach: Iterable[Paper] | None,
) -> bool:
    """Write all that the line says, or nothing; whether anything needs an action.

    ``by`` is who types; who did it stands on the sheet.
    """
    rota = read_rota(desk.setup)
    line = find(rota, farm_of(desk.setup), code)
    typist = desk.person(by)
    dues = dues_of(rota, line)
    if words:
        made = list(_read(desk, rota, line, dues, words))
    elif desk.world.asks:
        made = list(_walk(desk, line, dues))
    else:
        raise NoDays(line=_words(line), way_out=_shape(line, dues))
    with desk.writing() as writing:
        scan = attached(writing, attach)
        done = [
            sign(
                writing,
                _farm_then(desk, day.due),
                day.due,
                day.answers,
                by=day.by,
                happened_at=day.at,
                written_by=typist if typist != day.by else None,
                reason=reason,
                note=day.note,
                attached=scan,
                sheet=line.code,
            )
            for day in made
        ]
    for day, each in zip(made, done, strict=True):
        tell(each)
        tell_mould(desk, each, How(day.by, day.at, typist))
    _tell_rest(desk, dues, done, bool(scan))
    return any(each.actions and not each.already for each in done)


def _farm_then(desk: Desk, due: Due) -> InForce:
    """The farm when it was due; on its very first day, when the list was adopted."""
    return desk.farm_at(max(due.at, due.task.adopted))


def _words(line: Line) -> str:
    return (
        f"{line.code} is {line.task.code} ({line.task.title}, version "
        f"{line.task.version}) at {line.at:%H:%M} in {line.days.words}"
    )


def _shape(line: Line, dues: list[Due]) -> str:
    first = _key(dues[0].day) if dues else "mo"
    return (
        f"hygiene sign --from-sheet {line.code} {first}=INITIALS@TIME "
        f"{first}.STEP=ANSWER ..."
    )


def _key(day: date) -> str:
    return WEEKDAYS[day.weekday()][:2]


def _read(
    desk: Desk, rota: Rota, line: Line, dues: list[Due], words: list[str]
) -> Iterator[OneDay]:
    """The days that were typed, each with its answers."""
    given: dict[date, dict[str, str]] = {}
    for key, value in pairs(words):
        name, _, step = key.partition(".")
        day = _day(rota, line, dues, name)
        said = given.setdefault(day, {})
        if step in said:
            raise SaidTwice(given=key)
        said[step] = value
    for due in dues:
        if due.day in given:
            yield _one_day(desk, line, due, given[due.day])


def _one_day(desk: Desk, line: Line, due: Due, said: Mapping[str, str]) -> OneDay:
    day = f"{due.day:%A} {due.day.day} {due.day:%B}"
    if not said.get(""):
        raise NobodySigned(day=day, way_out=f"add {_key(due.day)}=INITIALS@TIME")
    who, at, remark = _signed(desk, due, said[""])
    asked = questions(due.task, _farm_then(desk, due))
    steps = {key: value for key, value in said.items() if key not in ("", "note")}
    try:
        answers = answer_all(f"{due.code} of {day}", asked, steps)
    except WronglyPut as fault:
        fault.way_out = fault.way_out or f"write it as {_key(due.day)}.STEP=ANSWER"
        raise
    remarks = "; ".join(text for text in (said.get("note"), remark) if text)
    return OneDay(due, who, at, answers, remarks or None)


def _signed(desk: Desk, due: Due, text: str) -> tuple[str, datetime, str | None]:
    """Whose initials they are, and the time beside them; without one, when it was due.

    That no time stands there is written with it: it is not known to have been in time.
    """
    initials, _, clock = text.partition("@")
    people = {code.lower(): code for code in _farm_then(desk, due).people}
    who = people.get(initials.strip().lower()) or desk.person(initials.strip())
    if not clock.strip():
        return who, min(due.at, desk.now), NO_TIME
    try:
        at = typed_moment(_full(due.day, clock.strip()), desk.now, desk.farm.zone)
    except NotAMoment as fault:
        fault.way_out = f"write {_key(due.day)}={who}@07:10"
        raise
    return who, desk.moment(at.isoformat()), None


def _full(day: date, clock: str) -> str:
    hour, colon, minute = clock.partition(":")
    return f"{day} {hour.rjust(2, '0')}{colon}{minute}" if colon else clock


def _day(rota: Rota, line: Line, dues: list[Due], given: str) -> date:
    """A day of the line: mo, tuesday, 31 (of the month) or 2026-03-31."""
    word = given.strip().lower()
    days = [due.day for due in dues]
    found = [
        day
        for day in dict.fromkeys(days)
        if word in (str(day), str(day.day), f"{day.day:02}")
        or (len(word) > 1 and WEEKDAYS[day.weekday()].startswith(word))
    ]
    if len(found) == 1:
        return found[0]
    every = [*(day for day in _all_days(line) if day not in days)]
    for day in every:
        changed = changed_on(rota, line, day)
        if changed is not None and word in (str(day), str(day.day), _key(day)):
            raise changed
    shown = ", ".join(f"{_key(day)} {day.day}" for day in days)
    raise NotOnTheSheet(
        given=given,
        code=line.code,
        days=shown or "no day that is still asked by it",
        way_out="a month has several: write the day's number" if found else None,
    )


def _all_days(line: Line) -> Iterator[date]:
    for number in range((line.days.last - line.days.first).days + 1):
        yield date.fromordinal(line.days.first.toordinal() + number)


def _walk(desk: Desk, line: Line, dues: list[Due]) -> Iterator[OneDay]:
    """Ask day by day at a terminal; Enter leaves a day out."""
    print(folded(_words(line), desk.world.width))
    said = said_of(desk.record, dues)
    for due in dues:
        day = f"{due.day:%A} {due.day.day} {due.day:%B}"
        if due.at > desk.now or said.get(due.key):
            continue
        may_be_asked(desk.record, desk.farm, due, desk.now)
        text = input(f"{day}, initials@time (Enter: nothing stands there): ").strip()
        if text:
            who, at, remark = _signed(desk, due, text)
            asked = questions(due.task, _farm_then(desk, due))
            yield OneDay(due, who, at, ask_all(asked, desk.world.width), remark)


def _tell_rest(desk: Desk, dues: list[Due], done: list[Signed], kept: bool) -> None:
    """The days that have passed and of which nothing is written yet."""
    late = any("late" in items(each.sign_off, "marks") for each in done)
    if late and not kept:
        note("With the sheet kept (--attach SCAN), a late typing opens no action.")
    said = said_of(desk.record, dues)
    for due in dues:
        if due.deadline < desk.now and not said.get(due.key):
            note(
                f"Nothing is written of {due.day:%A} {due.day.day} {due.day:%B}: "
                f"hygiene miss {due.code} --on {due.day} --reason TEXT"
            )
