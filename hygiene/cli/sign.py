"""``hygiene sign``: walk a task's steps, or take them all on one line."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.acts.day import answers as said_of
from hygiene.acts.day import list_of
from hygiene.acts.how import How
from hygiene.acts.signing import (
    may_be_asked,
    questions,
    sign,
)
from hygiene.cli.attach import Attach, attached
from hygiene.cli.desk import (
    At,
    By,
    Desk,
    RecordPath,
    WrittenBy,
    at_work,
    note,
)
from hygiene.cli.fields import pairs
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import folded
from hygiene.cli.steps import ask_all, tell, tell_mould
from hygiene.errors import Unknown, WronglyPut
from hygiene.kinds.moments import span, typed_day
from hygiene.kinds.words import gist
from hygiene.rota.names import NotToday, pick, resolve
from hygiene.rota.schedule import Due, Rota, read_rota
from hygiene.rota.signing import (
    Answered,
    answer_all,
    share_out,
)

app = one_command()


class NotThatDay(Unknown):
    """A task that was not due on the day that was named."""

    sentence = "{task} was not due on {day}"


class NoTask(WronglyPut):
    """Nothing was said that could be signed."""

    sentence = "which task? nothing was given"


class TwiceOnOneLine(WronglyPut):
    """Answers on one line name a task, and it was due more than once."""

    sentence = "{task} is in {given!r} more than once: sign it by its number"


@app.command("sign")
def sign_command(
    ctx: typer.Context,
    task: Annotated[
        str | None, typer.Argument(help="Its number on today's list, 1-4, or its name.")
    ] = None,
    answers: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[STEP=ANSWER]...",
            help="Answers; STEP.RACK=ANSWER; STEP.did=TEXT for what was done; "
            "TASK.STEP=ANSWER where several tasks are signed.",
        ),
    ] = None,
    day: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="The day that it was due."),
    ] = None,
    reason: Annotated[str | None, typer.Option(help="Why it is written late.")] = None,
    note: Annotated[str | None, typer.Option(help="A remark.")] = None,
    from_sheet: Annotated[
        str | None,
        typer.Option(
            metavar="CODE", help="Type in a line of a printed sheet, day by day."
        ),
    ] = None,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Sign a task. Plain ticks count as done; readings and safety steps are typed.

    At a terminal it asks step by step, and Enter accepts. A reading out of limit is
    written as it is and opens a corrective action (exit code 3). Of several (1-4),
    those that are signed already are left out.

    From a sheet: DAY=INITIALS@TIME and DAY.STEP=ANSWER, where --by is who types:
    hygiene sign --from-sheet W2614-K7QX-C mo=AB@07:10 mo.temp=21.3 --attach scan.jpg

    Example: hygiene sign walk temp.GROW=21.3 mould.R1=0 mould.R2=0 --by AB
    """
    if from_sheet is not None:
        from hygiene.cli.sheet_typed import type_in

        words = [*([task] if task else []), *(answers or [])]
        with at_work(ctx, record) as desk:
            failed = type_in(desk, from_sheet, words, written_by or by, reason, attach)
        raise typer.Exit(3 if failed else 0)
    with at_work(ctx, record) as desk:
        rota = read_rota(desk.setup)
        task = task or _which(desk, rota)
        dues = dues_meant(desk, rota, task, day)
        if len(dues) > 1:
            dues = _unsigned(desk, dues)
        if not dues:
            return
        who, moment = desk.who_when(by, at)
        typist = desk.person(written_by) if written_by else None
        if answers or not desk.world.asks:
            made = _on_one_line(desk, task, dues, answers or [])
        else:
            reason = _why_late(desk, dues, reason)
            made = [(due, _walk(desk, due)) for due in dues]
        with desk.writing() as writing:
            kept = attached(writing, attach)
            done = [
                sign(
                    writing,
                    desk.farm,
                    due,
                    given,
                    by=who,
                    happened_at=moment,
                    written_by=typist,
                    reason=reason,
                    note=note,
                    attached=kept,
                )
                for due, given in made
            ]
        for each in done:
            tell(each)
            tell_mould(desk, each, How(who, moment if at else None, typist))
    if any(each.actions and not each.already for each in done):
        raise typer.Exit(3)


def _which(desk: Desk, rota: Rota) -> str:
    if desk.world.asks:
        for number, state in enumerate(list_of(desk.record, rota, desk.now), 1):
            if state.open:
                print(f"{number:>3}  {state.due.code:<12}{state.due.task.title}")
        return input("Which task? Its number on today's list, or its name: ")
    raise NoTask(way_out="hygiene today lists them: hygiene sign NUMBER-OR-NAME")


def dues_meant(desk: Desk, rota: Rota, task: str, day: str | None) -> list[Due]:
    """The dues that were meant: on today's list, or on the day that was named."""
    if day is None:
        listed = list_of(desk.record, rota, desk.now)
        titles = {code: t.title for code, t in rota.in_force(desk.now).items()}
        try:
            return [state.due for state in pick(task, listed, titles)]
        except NotToday as refused:
            code = refused.details["task"]
            raise NotToday(task=code, way_out=_next(rota, code, desk)) from refused
    on = typed_day(day, desk.now.date())
    code = resolve(task, {t.code: t.title for t in rota.tasks})
    found = [due for due in rota.dues(on, on) if due.code == code]
    if not found:
        raise NotThatDay(
            task=code, day=on, way_out=f"list that day: hygiene report day --on {on}"
        )
    said = said_of(desk.record, found)
    return [*(due for due in found if not said.get(due.key)), found[-1]][:1]


def _unsigned(desk: Desk, dues: list[Due]) -> list[Due]:
    """Of several, those of which nothing is written; the others are said on stderr."""
    said = said_of(desk.record, dues)
    for due in dues:
        for entry in said.get(due.key, ())[:1]:
            note(f"Left out, by {entry.by}: {gist(entry)} ({entry.name})")
    return [due for due in dues if not said.get(due.key)]


def _next(rota: Rota, code: str, desk: Desk) -> str:
    due = rota.next_due(code, desk.now.date())
    coming = f"it is due next on {due.at:%d %B %Y}; " if due else ""
    return f"{coming}for a day that has passed add --on DATE"


def _on_one_line(
    desk: Desk, task: str, dues: list[Due], words: list[str]
) -> list[tuple[Due, list[Answered]]]:
    asked = {due.code: questions(due.task, desk.farm) for due in dues}
    if len(asked) < len(dues):
        codes = [due.code for due in dues]
        twice = next(code for code in codes if codes.count(code) > 1)
        raise TwiceOnOneLine(task=twice, given=task)
    given = share_out(asked, pairs(words))
    return [(d, answer_all(d.code, asked[d.code], given[d.code])) for d in dues]


def _why_late(desk: Desk, dues: list[Due], reason: str | None) -> str | None:
    """Ask for the reason of a late entry before its questions, not after them."""
    late = [due for due in dues if desk.now > due.deadline]
    for due in late:
        may_be_asked(desk.record, desk.farm, due, desk.now)
    while late and not (reason or "").strip():
        due = late[0]
        age = span(desk.now - due.deadline)
        reason = input(f"{due.code} is {age} late. Why is it written only now? ")
    return reason


def _walk(desk: Desk, due: Due) -> list[Answered]:
    """Ask step by step at a terminal; nothing is locked meanwhile."""
    may_be_asked(desk.record, desk.farm, due, desk.now)
    print(f"{due.task.title} (version {due.task.version})")
    gear = ", ".join(due.task.gear)
    for text in (*due.task.cautions, *([f"Wear: {gear}"] if gear else [])):
        print(folded(f"  ! {text}", desk.world.width))
    try:
        return ask_all(questions(due.task, desk.farm), desk.world.width)
    except (KeyboardInterrupt, EOFError):
        note(f"\nStopped: nothing was written about {due.code}.")
        raise
