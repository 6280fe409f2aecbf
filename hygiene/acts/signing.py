"""Signing a task: what was answered is written as it is, with all that follows.

Plans are refused, facts never: a second sign-off of the same due, or one of a task
that was never adopted, is refused with the way out; what was done late, untrained or
without the right is written, says so for ever, and opens its corrective action.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import NamedTuple

from hygiene.acts.day import EARLY, about
from hygiene.acts.finds import Found, find_mould
from hygiene.acts.how import How
from hygiene.acts.roles import need_role
from hygiene.acts.water import WaterTest, write_test
from hygiene.acts.water_typed import read_typed
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Refused, WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.action import Action
from hygiene.kinds.attached import Attached
from hygiene.kinds.base import Kind, plain
from hygiene.kinds.day import Countersign, Miss, SignOff
from hygiene.kinds.entry import Entry, items, rows_of
from hygiene.kinds.find import Mould, Pest
from hygiene.kinds.moments import moment_of, span, stamp
from hygiene.rota.schedule import Due, Task
from hygiene.rota.signing import (
    Answered,
    Ask,
    asks,
    failures,
    marks,
    to_action,
)


class SignedAlready(Refused):
    """A due that somebody signed."""

    sentence = "refused: {task} of {due} is signed already, by {by} ({name})"


class MissedAlready(Refused):
    """A due that was written down as not done."""

    sentence = "refused: {task} of {due} was written down as not done, by {by} ({name})"


class NotDueYet(Refused):
    """A due of a day that has not come."""

    sentence = "refused: {task} is due on {due}, which has not come"


class BeforeItWasDue(WronglyPut):
    """Work that cannot have been this task's: it lies more than a day before it."""

    sentence = "{task} was due on {due}: it was not done as early as {at}"


class LateNeedsReason(WronglyPut):
    """A late entry must say why."""

    sentence = "{task} of {due} is {late} late: say why it is written only now"


class CannotRead(WronglyPut):
    """What was found cannot be made into an entry."""

    sentence = "{name}: {given!r}: write what, where and how many, with commas between"


class DoerCannot(Refused):
    """A second person is another person."""

    sentence = "refused: {by} did the work itself, so it is no second look: {names}"


class OthersCanLook(Refused):
    """A farm with more than one person has a second one to look."""

    sentence = "refused: this farm has others who can look: {others}"


class TooSoon(Refused):
    """One's own work is looked at again later, with fresh eyes."""

    sentence = "refused: {name} was written only today; look at it again tomorrow"


class Signed(NamedTuple):
    """What a signing wrote. ``already`` where it had been recorded before."""

    sign_off: Entry
    finds: tuple[Entry, ...] = ()
    actions: tuple[Entry, ...] = ()
    already: bool = False
    mould: tuple[Found, ...] = ()


def questions(task: Task, farm: InForce) -> list[Ask]:
    """What the task asks, once for each rack, line or growing room there is now."""
    return asks(task.steps, lambda sort: _there(farm, sort))


def _there(farm: InForce, sort: str) -> list[str]:
    """The codes of a sort; of rooms those in which racks stand, if any do."""
    codes = list(farm.things(sort))
    if sort != "room":
        return codes
    growing = {rack.get("room") for rack in farm.things("rack").values()}
    return [code for code in codes if code in growing] or codes


def sign(
    writing: Writing,
    farm: InForce,
    due: Due,
    answers: Iterable[Answered],
    *,
    by: str,
    happened_at: datetime,
    written_by: str | None = None,
    reason: str | None = None,
    note: str | None = None,
    attached: tuple[Attached, ...] = (),
    sheet: str | None = None,
) -> Signed:
    """Write a sign-off and all that follows from it, in the open transaction.

    ``sheet`` is the line of the paper from which it is typed; ``attached`` is then the
    scan. What was done in time by a paper that is kept is marked late, since it was
    typed late, and opens no action for that alone.
    """
    now = writing.clock()
    given = tuple(answers)
    _need_come(farm, due, now)
    _not_too_early(due, happened_at)
    before = about(writing.record, due)
    for entry in before:
        if entry.kind == "sign_off":
            if entry.by == by and _same_answers(entry, given):
                return Signed(entry, already=True)
            raise _signed_already(due, entry)
    found = marks(
        may_sign=due.task.may_sign,
        roles=farm.roles(by),
        trained=_trained(due.task, farm, by, happened_at),
        deadline=due.deadline,
        now=now,
    )
    reason = (reason or "").strip() or None
    if sheet is not None:
        found = (*found, "paper")
        reason = reason or f"typed in from the sheet {sheet}"
    if "late" in found and reason is None:
        raise LateNeedsReason(
            task=due.code,
            due=_when(due),
            late=span(now - due.deadline),
            way_out="add --reason TEXT",
        )
    if before:
        found = (*found, "was-missed")
    return _write(
        writing,
        farm,
        due,
        given,
        SignOff(
            task=due.code,
            due=stamp(due.at),
            version=due.task.version,
            note=note,
            marks=found,
            sheet=sheet,
            attached=attached,
        ),
        How(by, happened_at, written_by, reason),
    )


def may_be_asked(record: Record, farm: InForce, due: Due, now: datetime) -> None:
    """Refuse before the first question what ``sign`` would refuse after the last.

    Raises ``NotDueYet`` or ``SignedAlready``.
    """
    _need_come(farm, due, now)
    for entry in about(record, due):
        if entry.kind == "sign_off":
            raise _signed_already(due, entry)


def _need_come(farm: InForce, due: Due, now: datetime) -> None:
    if due.day > now.astimezone(farm.zone).date():
        raise NotDueYet(task=due.code, due=_when(due))


def _not_too_early(due: Due, at: datetime) -> None:
    """What was written about a due is looked for from a day before it on."""
    if at < due.at - EARLY:
        raise BeforeItWasDue(
            task=due.code,
            due=_when(due),
            at=f"{at.astimezone(due.at.tzinfo):%d %B %Y, %H:%M}",
            way_out="give the time that it was done: --at '2026-03-31 07:00'; or its "
            "day: --on DATE",
        )


def _write(
    writing: Writing,
    farm: InForce,
    due: Due,
    given: tuple[Answered, ...],
    bare: SignOff,
    how: How,
) -> Signed:
    finds, pests, tests, answers = [], [], [], []
    for answered in given:
        name = None
        if _tells_mould(answered):
            finds.append(_mould(writing, farm, answered, how))
            name = finds[-1].mould.name
        elif answered.ask.step.get("writes") == "pest" and answered.detail:
            pests.append(how.add(writing, _pest(answered)))
            name = pests[-1].name
        elif answered.ask.step.get("writes") == "water" and answered.detail:
            tests.append(_water(writing, farm, answered, how))
            name = tests[-1].water.name
        answers.append(replace(answered.answer, wrote=name))
    made = how.add(writing, replace(bare, answers=tuple(answers)))
    # the incident of a find of mould stands for the action of its step
    incidents = {find.mould.name for find in finds}
    rows = (row for row in failures(made) if row.get("wrote") not in incidents)
    opened = [to_action(made, row) for row in rows]
    if _must_be_answered(due, bare, how.at(writing)):
        opened.append(_marked(made, due, writing.clock()))
    actions = [find.action for find in finds if find.action is not None]
    actions += [writing.add(thing, by=made.by) for thing in opened]
    actions += [action for test in tests for action in test.actions]
    written = [e for find in finds for e in (find.mould, *find.holds)]
    written += [e for t in tests for e in (t.water, *t.rechecks, *t.holds)]
    return Signed(made, (*written, *pests), tuple(actions), mould=tuple(finds))


def _must_be_answered(due: Due, bare: SignOff, happened_at: datetime) -> bool:
    """Whether its marks open an action: not where a kept paper shows it was in time."""
    against = set(bare.marks) - {"paper"}
    if bare.sheet and bare.attached and happened_at <= due.deadline:
        against -= {"late"}
    return bool(against)


def _tells_mould(answered: Answered) -> bool:
    writes = answered.ask.step.get("writes")
    return writes == "mould" and not answered.answer.passed


def _mould(writing: Writing, farm: InForce, answered: Answered, how: How) -> Found:
    """The find that a step writes, through the same act as ``hygiene mould``."""
    answer, step = answered.answer, answered.ask.step
    of, count = str(answer.of), int(answer.value or 0)
    thing = (
        Mould(trays=(of,), tray_count=count or None)
        if step.get("per") == "tray"
        else Mould(rack=of, tray_count=count or None)
    )
    code = str(step.get("code"))
    return find_mould(writing, farm, thing, how, step=code, did=answer.did)


def _water(writing: Writing, farm: InForce, answered: Answered, how: How) -> WaterTest:
    """The water test that a step writes, through the act of ``hygiene water``."""
    line = answered.answer.of if answered.ask.step.get("per") == "line" else None
    typed = read_typed(farm, str(answered.detail), line)
    return write_test(
        writing, farm, how, point=typed.point, given=typed.given, kits=typed.kits
    )


def _pest(answered: Answered) -> Kind:
    parts = [part.strip() for part in str(answered.detail).split(",")]
    if len(parts) not in (2, 3) or (len(parts) == 3 and not parts[2].isdigit()):
        raise CannotRead(name=answered.ask.name, given=answered.detail)
    count = int(parts[2]) if len(parts) == 3 else None
    return Pest(what=parts[0], place=parts[1], count=count, did=answered.answer.did)


def _marked(made: Entry, due: Due, now: datetime) -> Action:
    said = {
        "late": f"signed {span(now - due.deadline)} late",
        "not-allowed": f"{made.by} has no right to sign this task",
        "untrained": f"{made.by} has no training in {due.task.training} that holds",
        "was-missed": "it had been written down as not done",
    }
    problem = "; ".join(said[m] for m in items(made, "marks") if m in said)
    return Action(about=made.name, problem=f"{due.code}: {problem}")


def _trained(task: Task, farm: InForce, by: str, moment: datetime) -> bool:
    day = moment.astimezone(farm.zone).date()
    return task.training is None or farm.trained(by, task.training, day)


def _same_answers(entry: Entry, given: tuple[Answered, ...]) -> bool:
    def said(row: Mapping[str, object]) -> dict[str, object]:
        return {k: v for k, v in row.items() if k != "wrote" and v is not None}

    return [said(row) for row in rows_of(entry, "answers")] == [
        said(plain(answered.answer)) for answered in given
    ]


def _signed_already(due: Due, entry: Entry) -> SignedAlready:
    return SignedAlready(
        task=due.code,
        due=_when(due),
        by=entry.by,
        name=entry.name,
        way_out=f"put it right with: hygiene correct {entry.name} STEP=VALUE "
        f"--reason TEXT; or look at it as a second person: hygiene countersign "
        f"{entry.name}",
    )


def _when(due: Due) -> str:
    return f"{due.at:%d %B, %H:%M}"


def miss(
    writing: Writing,
    due: Due,
    *,
    why: str,
    by: str,
    needed: bool = True,
    happened_at: datetime | None = None,
    written_by: str | None = None,
    reason: str | None = None,
) -> Entry:
    """Write that a task was not done, and why. An identical one is written once."""
    now = writing.clock()
    if due.at > now + EARLY:
        raise NotDueYet(task=due.code, due=_when(due))
    _not_too_early(due, happened_at or now)
    for entry in about(writing.record, due):
        if entry.kind == "sign_off":
            raise _signed_already(due, entry)
        if entry.by == by and entry.get("why") == why:
            return entry
        raise MissedAlready(
            task=due.code,
            due=_when(due),
            by=entry.by,
            name=entry.name,
            way_out=f"put it right with: hygiene correct {entry.name} why=TEXT "
            "--reason TEXT",
        )
    thing = Miss(task=due.code, due=stamp(due.at), why=why, needed=needed)
    return How(by, happened_at, written_by, reason).add(writing, thing)


def countersign(
    writing: Writing,
    entries: list[Entry],
    *,
    by: str,
    day: str | None = None,
    alone: bool = False,
    note: str | None = None,
    happened_at: datetime | None = None,
    written_by: str | None = None,
    reason: str | None = None,
) -> Entry:
    """A second look by another person; ``alone`` is the farm with one person.

    The doer of any of the entries is refused (``DoerCannot``). A one-person farm
    may look again at its own work: that is written as self-reviewed and never as
    countersigned.
    """
    record = writing.record
    need_role(in_force(record.setup(), writing.clock()), by, "countersign")
    own = [entry.name for entry in entries if by in (entry.by, entry.written_by)]
    if own and not alone:
        raise DoerCannot(
            by=by,
            names=", ".join(own[:3]),
            way_out="another person countersigns; a farm with one person: "
            "add --self-review",
        )
    thing = Countersign(
        entries=tuple(entry.name for entry in entries),
        day=day,
        how="self-reviewed" if own else "countersigned",
        note=note,
    )
    found = writing.same(thing, by=by, happened_at=happened_at)
    return found or writing.add(
        thing, by=by, happened_at=happened_at, written_by=written_by, reason=reason
    )


def need_alone(farm: InForce, entries: list[Entry], by: str, now: datetime) -> None:
    """A self-review is for a farm with one person, and not of the same day.

    Whoever did what another typed may look at it at once: two people have seen it
    then. Raises ``OthersCanLook`` or ``TooSoon``. That a day lies between is common
    practice, no source.
    """
    if entries and all(e.by == by != (e.written_by or by) for e in entries):
        return
    others = [
        code
        for code in farm.people
        if code != by and {"manager", "worker"} & set(farm.roles(code))
    ]
    if others:
        raise OthersCanLook(
            others=", ".join(others),
            way_out=f"hygiene countersign --by {others[0]}",
        )
    for entry in entries:
        typed = moment_of(entry.recorded_at).astimezone(farm.zone).date()
        if by in (entry.by, entry.written_by) and typed >= now.date():
            raise TooSoon(name=entry.name)
