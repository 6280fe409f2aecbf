"""``hygiene report``: a page to hand over, as an archive PDF or as HTML."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from hygiene.cli.desk import (
    AsJson,
    By,
    Desk,
    FirstDay,
    LastDay,
    NotYet,
    RecordPath,
    reading,
    show_json,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.pages import Html, Out, need_page, place_of
from hygiene.cli.world import World
from hygiene.errors import Unknown, WronglyPut
from hygiene.kinds.moments import (
    NotADay,
    a_year_to,
    moment_of,
    typed_day,
    typed_moment,
)
from hygiene.reports.period import Period, month_of, plain_day

if TYPE_CHECKING:
    from hygiene.book.record import Record
    from hygiene.reports.catalogue import Report
    from hygiene.reports.proof import Made, Taken

MONTH = re.compile(r"\d{4}-\d{2}")
NOT_IN_A_NAME = re.compile(r"[^\w.]+")
MOST_NAMED = 8
"""So many files are named on the screen; ``--json`` names them all."""
LONGEST = timedelta(days=6 * 366)

app = one_command()


class UnknownReport(Unknown):
    """A name that no report has."""

    sentence = "there is no report {given!r}; there are: {known}"


class NotAPeriod(WronglyPut):
    """Options that do not say one period."""

    sentence = "{what}"


class WrongSubject(WronglyPut):
    """A report that lacks what it is about, or that is about nothing."""

    sentence = "{what}"


class PrintedBefore(WronglyPut):
    """A moment of printing that lies before entries which the page would count."""

    sentence = (
        "a page printed at {given} cannot count {entry}, which was written at {then}"
    )


@app.command()
def report(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="Which page; see above.")],
    subject: Annotated[
        str | None, typer.Argument(metavar="[CODE]", help="What it is about.")
    ] = None,
    on: Annotated[
        str | None, typer.Option(metavar="DATE", help="The day (else today).")
    ] = None,
    month: Annotated[
        str | None, typer.Option(metavar="2026-03", help="The month (else this one).")
    ] = None,
    first: FirstDay = None,
    last: LastDay = None,
    out: Out = None,
    as_html: Html = False,
    printed_at: Annotated[
        str | None,
        typer.Option(
            metavar="TIME", help="The moment it says it was printed (else now)"
        ),
    ] = None,
    as_of: Annotated[
        list[str] | None,
        typer.Option(
            metavar="HEAD",
            help="Read the record as it was: heads as printed, or a moment.",
        ),
    ] = None,
    extra: Annotated[
        str | None,
        typer.Option("--with", metavar="WORD", help="In a pack as well: readiness."),
    ] = None,
    record: RecordPath = None,
    by: By = None,
    as_json: AsJson = False,
) -> None:
    """Make a page to print or to send, as an archive PDF.

    Of a day or a month: day, month. Logs of a month or any days: dosing, water, seed,
    batches, feeding, mould, actions, training, calibration, pests, visitors (and
    accidents). Of what stands now: store, cards [PRODUCT], vet GROUP. Of what became of
    something: trace CODE. What an inspector would find in twelve months: readiness. All
    in one file, for an inspector: pack --from DATE --to DATE.

    Inside the PDF travel the entries that it was made from: hygiene verify FILE. That
    it was made is written down where a writer is known.

    The same entries, period and --printed-at give the same file, byte for byte: with
    --as-of BOOK/SEQ:HASH (each head that it prints) also when more was written since.

    Example: hygiene report day --on 2026-03-25
    """
    from hygiene.cli.as_of import read_as_of
    from hygiene.cli.issuing import issue
    from hygiene.cli.progress import shown
    from hygiene.reports import paper, proof

    world: World = ctx.obj
    wanted = _report(name)
    subject = subject or extra
    _need_subject(wanted, subject)

    def then(record: Record) -> None:
        if as_of:
            read_as_of(record, as_of, world.now())

    with reading(ctx, record, then) as desk:
        if not as_of and world.by(by) is not None:
            desk.person(by)  # somebody unknown is told so before the work is done
        moment = _moment(desk, printed_at)
        period = _period(desk, wanted, on, month, first, last)
        path = _path(out, wanted, subject, period, ".html" if as_html else ".pdf")
        need_page(path)
        about = f"{wanted.name}, {period.title}"
        with shown(about):
            taken = proof.take(desk.record, wanted, period, moment, subject)
    with shown(about):
        made = proof.make_html(taken) if as_html else proof.make(taken)
    paper.put(path, made.content)
    for file in made.attached if as_html else ():
        paper.put(path.with_name(file.name), file.content)
    told = _told(path, taken, made)
    if not as_html:
        told["issued"] = issue(ctx, record, by, told)
    if as_json:
        show_json(told)
    else:
        _say(told, made, as_html)


def _say(told: dict[str, Any], made: Made, as_html: bool) -> None:
    from hygiene.reports.proof import OWN

    frame = made.page.frame
    print(f"Written: {told['file']} ({_size(len(made.content))})")
    print(f"  {frame.title}, {frame.period_words}")
    print(f"  from {told['entries']:,} entries, printed {frame.printed}")
    names = [file.name for file in made.attached if file.name not in OWN]
    where = "beside" if as_html else "inside"
    for name in names if len(names) <= MOST_NAMED else ():
        print(f"  {where} it: {name}")
    if len(names) > MOST_NAMED:
        print(f"  {where} it: {len(names)} files with tables, papers and photos")
    if not as_html:
        print(f"  inside it: the {told['carried']:,} entries that it was made from")
    for head in told["heads"]:
        print(f"  head {head}")
    if told.get("issued"):
        print(f"  that it was made is written as {told['issued']}")


def _report(name: str) -> Report:
    from hygiene.reports.catalogue import REPORTS

    if name in REPORTS:
        return REPORTS[name]
    near = get_close_matches(name.lower(), REPORTS, 1)
    raise UnknownReport(
        given=name,
        known=", ".join(REPORTS),
        way_out=f"did you mean: hygiene report {near[0]}" if near else None,
    )


def _need_subject(wanted: Report, given: str | None) -> None:
    if given is None and wanted.subject and not wanted.subject.startswith("["):
        raise WrongSubject(
            what=f"the report {wanted.name} needs its {wanted.subject}",
            way_out=f"hygiene report {wanted.name} {wanted.subject}",
        )
    if given is not None and not wanted.subject:
        raise WrongSubject(what=f"the report {wanted.name} takes no {given!r}")


def _period(
    desk: Desk,
    wanted: Report,
    on: str | None,
    month: str | None,
    first: str | None,
    last: str | None,
) -> Period:
    """The one period that the options say; else the one that the report is of."""
    today = desk.now.date()
    said = [key for key, given in (("--on", on), ("--month", month)) if given]
    said += ["--from and --to"] if first or last else []
    if len(said) > 1:
        raise NotAPeriod(what=f"give one of {' and '.join(said)}, not both")
    if wanted.of == "day" and said not in ([], ["--on"]):
        raise NotAPeriod(
            what="this report is of one day",
            way_out=f"hygiene report {wanted.name} --on DATE",
        )
    if wanted.of == "days" and month:
        raise NotAPeriod(what="say --on DATE, or --from and --to")
    if wanted.of == "now" and said:
        raise NotAPeriod(what=f"this report is of now: leave out {said[0]}")
    if wanted.of in ("month", "year") and on:
        raise NotAPeriod(
            what="this report is of more than one day",
            way_out=f"hygiene report {wanted.name} --month 2026-03",
        )
    if first or last:
        made = _from_to(first, last, today)
    elif wanted.of == "year" and not month:
        made = Period(a_year_to(today), today)
    elif wanted.of in ("month", "year"):
        made = month_of(_month(month, today))
    else:
        day = typed_day(on or "today", today)
        made = Period(day, day)
    if made.first > today and not desk.demonstration:
        raise NotYet(given=plain_day(made.first), now=f"{desk.now:%Y-%m-%d}")
    return made


def _from_to(first: str | None, last: str | None, today: date) -> Period:
    if first is None:
        raise NotAPeriod(what="--to needs --from", way_out="add --from DATE")
    made = Period(typed_day(first, today), typed_day(last or "today", today))
    if made.last < made.first:
        raise NotAPeriod(what=f"--to {made.last} lies before --from {made.first}")
    if made.last - made.first > LONGEST:
        raise NotAPeriod(what="a report is of six years at most")
    return made


def _month(given: str | None, today: date) -> date:
    if given is None:
        return today
    try:
        if MONTH.fullmatch(given.strip()):
            return typed_day(f"{given.strip()}-01", today)
    except NotADay:
        pass
    raise NotAPeriod(what=f"{given!r} is not a month; write one such as 2026-03")


def _moment(desk: Desk, given: str | None) -> datetime:
    """The moment of printing; never before an entry that the page counts."""
    if given is None:
        return desk.now
    if desk.demonstration:
        return typed_moment(given, desk.now, desk.farm.zone)
    moment = desk.moment(given)
    for head in desk.record.heads():
        entry = desk.record.entry(f"{head.book}/{head.seq}")
        if moment_of(entry.recorded_at) > moment:
            raise PrintedBefore(
                given=f"{moment:%Y-%m-%d %H:%M}",
                entry=entry.name,
                then=entry.recorded_at[:16].replace("T", " "),
            )
    return moment


def _path(
    out: Path | None, wanted: Report, subject: str | None, period: Period, suffix: str
) -> Path:
    """Where it goes, under a name that says the report, its subject and its days."""
    if period.first == period.last:
        when = f"{period.first}"
    elif period == month_of(period.first):
        when = f"{period.first:%Y-%m}"
    else:
        when = f"{period.first}-to-{period.last}"
    about = "-" + NOT_IN_A_NAME.sub("-", subject)[:40] if subject else ""
    return place_of(out, f"{wanted.name}{about}-{when}", suffix)


def _size(count: int) -> str:
    return f"{count / 1000:,.0f} kB" if count >= 1000 else f"{count} bytes"


def _told(path: Path, taken: Taken, made: Made) -> dict[str, Any]:
    from hashlib import sha256

    frame = made.page.frame
    return {
        "file": str(path),
        "report": taken.report.name,
        "about": taken.subject,
        "from": taken.period.first,
        "to": taken.period.last,
        "printed_at": frame.printed_at,
        "entries": frame.entries,
        "carried": len(taken.carried.lines),
        "heads": [str(head) for head in taken.carried.heads],
        "demonstration": frame.demonstration,
        "attached": [file.name for file in made.attached],
        "bytes": len(made.content),
        "sha256": sha256(made.content).hexdigest(),
    }
