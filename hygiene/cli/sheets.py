"""``hygiene sheets``: what hangs on the wall, and what is filled in by hand."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Annotated, Any, NamedTuple

import typer

from hygiene.cli.desk import AsJson, Desk, RecordPath, reading
from hygiene.cli.lazy import one_command
from hygiene.cli.pages import Html, Out, PrintedAt, printed, written
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import NotADay, typed_day
from hygiene.rota.sheet import Days, month_of, week_of

MONTH = re.compile(r"\d{4}-\d{2}")
A_WEEK = timedelta(days=7)
SHEETS = ("rota", "cards", "mould", "emergency", "visitors")

app = one_command()


class NotASheetName(WronglyPut):
    """A word that names none of the sheets."""

    sentence = "there is no sheet {given!r}; there are: {known}"


class NotThoseDays(WronglyPut):
    """Options that do not say one week or one month."""

    sentence = "{what}"


class Made(NamedTuple):
    """A page laid out in values: its template, the name of its file, what it says."""

    template: str
    page: Any
    name: str
    says: str
    told: dict[str, Any]


@app.command()
def sheets(
    ctx: typer.Context,
    what: Annotated[
        str,
        typer.Argument(help=f"One of: {', '.join(SHEETS)}."),
    ] = "rota",
    week: Annotated[
        str | None,
        typer.Option(metavar="DATE", help="The week of this day (else next week)."),
    ] = None,
    month: Annotated[
        str | None, typer.Option(metavar="2026-04", help="A whole month.")
    ] = None,
    task: Annotated[
        list[str] | None,
        typer.Option(metavar="TASK", help="Only this task; may be repeated."),
    ] = None,
    out: Out = None,
    as_html: Html = False,
    printed_at: PrintedAt = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Make paper for the shed, as PDF: sheets to fill in, cards for the wall.

    rota: the blank rota of a week or month, typed in after by the code above each
    task (hygiene sign --from-sheet CODE). cards: mixing. mould: what to do on finding
    it. emergency: whom to ring, what must not meet. visitors: who came in.

    Example: hygiene sheets rota --week 2026-03-30
    """
    if what not in SHEETS:
        raise NotASheetName(given=what, known=", ".join(SHEETS))
    if what != "rota" and (week or month or task):
        raise NotThoseDays(
            what=f"--week, --month and --task are for the rota, not {what}"
        )
    with reading(ctx, record) as desk:
        moment = printed(desk, printed_at)
        made = MAKERS[what](desk, moment, week, month, task or [])
    written(
        made.template, made.page, moment, out, as_html, made.name, made.told,
        made.says, as_json,
    )  # fmt: skip


def _rota(
    desk: Desk, moment: datetime, week: str | None, month: str | None, tasks: list[str]
) -> Made:
    from hygiene.reports import rota_sheets
    from hygiene.reports.words import count

    days = _days(moment.astimezone(desk.farm.zone).date(), week, month)
    gathered = rota_sheets.gather(desk.record, days, moment, tasks)
    page = rota_sheets.page(gathered)
    codes = [
        {"code": line.code, "task": line.task.code, "at": f"{line.at:%H:%M}"}
        for line in gathered.lines
    ]
    told = {"from": days.first, "to": days.last, "lines": codes}
    says = "\n".join(
        [
            f"the rota of {days.words}, about {count(len(page.blocks), 'page')} of A4",
            "typed in afterwards with hygiene sign --from-sheet CODE:",
            *("  {code}  {at} {task}".format_map(code) for code in codes),
        ]
    )
    return Made("rota", page, f"rota-{days.file}", says, told)


def _days(today: date, week: str | None, month: str | None) -> Days:
    if week and month:
        raise NotThoseDays(what="give one of --week and --month, not both")
    if month:
        try:
            if MONTH.fullmatch(month.strip()):
                return month_of(typed_day(f"{month.strip()}-01", today))
        except NotADay:
            pass
        raise NotThoseDays(what=f"{month!r} is not a month; write one such as 2026-04")
    return week_of(typed_day(week, today) if week else today + A_WEEK)


def _cards(desk: Desk, moment: datetime, *_: Any) -> Made:
    from hygiene.reports import cards
    from hygiene.reports.period import Period

    day = moment.astimezone(desk.farm.zone).date()
    page = cards.page(cards.gather(desk.record, Period(day, day), moment, None))
    says = f"mixing cards for {len(page.cards)} products"
    return Made("cards", page, f"cards-{day}", says, {"cards": len(page.cards)})


def _wall(name: str, says: str) -> Callable[..., Made]:
    def make(desk: Desk, moment: datetime, *_: Any) -> Made:
        from hygiene.reports import wall

        page = getattr(wall, name)(wall.gather(desk.record, moment))
        day = moment.astimezone(desk.farm.zone).date()
        return Made(name, page, f"{name}-{day}", says, {})

    return make


MAKERS: dict[str, Callable[..., Made]] = {
    "rota": _rota,
    "cards": _cards,
    "mould": _wall("mould", "for the wall: what to do on finding mould"),
    "emergency": _wall("emergency", "for the wall: whom to ring, what must not meet"),
    "visitors": _wall("visitors", "for the door: who came in"),
}
