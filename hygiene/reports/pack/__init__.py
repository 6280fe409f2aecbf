"""The inspector's pack: one dated file that answers every question.

It binds what the other reports tell, and adds what only the whole can say: whose
record it is, which clause is answered where, what did not go as planned, what is still
open, and what the file itself proves. Long lists travel inside as data; what is short
stands on the pages.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.clauses import clauses, published
from hygiene.book.record import Record
from hygiene.errors import Unknown
from hygiene.inspection.clauses import Clause
from hygiene.kinds.words import gist
from hygiene.reports import month
from hygiene.reports.attached import Attached
from hygiene.reports.composing import Part, part, styles
from hygiene.reports.frame import Frame, Who, frame_of, signers, who
from hygiene.reports.logs.page import Sentences
from hygiene.reports.pack import papers as filed
from hygiene.reports.pack.answering import Heap, answering, tally
from hygiene.reports.pack.exceptions import Exceptions, exceptions
from hygiene.reports.pack.glance import Glance, glance
from hygiene.reports.pack.grids import Grids, grids
from hygiene.reports.pack.holding import Holding, holding
from hygiene.reports.pack.laboratory import Laboratory, laboratory
from hygiene.reports.pack.papers import Papers
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading, read, span_of
from hygiene.reports.stories import Action, action_of
from hygiene.reports.words import clock, count, listed, short, signed

BOUND: Final = (
    "dosing", "store", "water", "seed", "batches", "feeding", "mould", "actions",
    "training", "calibration", "pests", "visitors",
)  # fmt: skip
"""The logs that are bound into a pack, in this order, as far as they are there."""
OF_A_DAY: Final = ("store",)
SHORT: Final = 40
"""A log of more lines than that travels inside only, and its chapter tells the rest."""
LINES_KEPT: Final = 30_000
"""So many lines are taken apart once for all the logs together."""
TOLD_ELSEWHERE: Final = ("stories", "changed")
"""Parts of a log that the chapter of exceptions tells."""
LONGEST_NAME: Final = 80
LONG_TABLES: Final = {
    "totals": "Drawn from {} containers",
    "besides": "{} containers opened, measured, spilt or thrown away",
}
"""Tables of a log that are left out where they are long, and what is said instead."""
READINESS: Final = "readiness"
EXTRAS: Final = {"readiness": READINESS}
"""What a pack holds only when it is asked for, and the report that it is."""


class UnknownExtra(Unknown):
    """A word for what a pack cannot hold."""

    sentence = "a pack cannot hold {given!r}; it can hold besides: {known}"


class Gathered(NamedTuple):
    """What the pack is made from."""

    reading: Reading
    logs: tuple[tuple[str, Any], ...]
    found: filed.Found
    clauses: tuple[Clause, ...]
    profile: str


class Chapter(NamedTuple):
    """A line of the contents: the id of its heading, its title, and a few words."""

    code: str
    title: str
    told: str = ""


class Log(NamedTuple):
    """A report that is bound in: its chapter, its body, and whether it lies across."""

    code: str
    title: str
    part: Part
    wide: bool


class Page(NamedTuple):
    """The pack as values; ``report_templates/pack.html`` lays it out."""

    frame: Frame
    profile: str
    lead: tuple[tuple[str, str], ...]
    contents: tuple[Chapter, ...]
    holding: Holding
    papers: Papers
    clauses: tuple[Heap, ...]
    clauses_told: str
    open: tuple[Action, ...]
    glance: Glance
    exceptions: Exceptions
    logs: tuple[Log, ...]
    laboratory: Laboratory | None
    months: Grids | None
    styles: str
    seal: tuple[tuple[str, str], ...]
    who: tuple[Who, ...]
    attached: tuple[Attached, ...]

    @property
    def pictures(self) -> list[filed.Kept]:
        """The files that are shown."""
        return [kept for kept in self.papers.files if kept.photo]


def gather(
    record: Record,
    period: Period,
    printed_at: datetime,
    extra: str | None = None,
) -> Gathered:
    """Read the period once, and what each log that is bound in reads for itself.

    ``extra`` is a word of ``EXTRAS``; raises ``UnknownExtra``.
    """
    from hygiene.reports.catalogue import REPORTS

    record.keep(LINES_KEPT)
    reading = read(record, period, printed_at)
    _, end = span_of(reading.rota, period)
    wanted = [*BOUND, *_extra(extra)]
    return Gathered(
        reading,
        tuple(
            (name, REPORTS[name].read(record, _days(name, period), printed_at))
            for name in wanted
            if name in REPORTS
        ),
        filed.gather(record, reading, end),
        clauses(reading.farm),
        published().profile(reading.farm.farm or {}).name,
    )


def _extra(word: str | None) -> Iterator[str]:
    if word is None:
        return
    if word not in EXTRAS:
        raise UnknownExtra(given=word, known=", ".join(EXTRAS))
    yield EXTRAS[word]


def _days(name: str, period: Period) -> Period:
    return Period(period.last, period.last) if name in OF_A_DAY else period


def page(gathered: Gathered) -> Page:
    """The whole pack."""
    reading = gathered.reading
    pages = {name: _page_of(name, one) for name, one in gathered.logs}
    months = month.page(reading)
    told = _exceptions(reading, months, pages)
    papers = filed.papers(reading, gathered.found)
    logs = tuple(_logs(pages))
    grids_ = grids(months)
    open_ = tuple(_open(reading))
    chapters = tuple(_chapters(reading, told, papers, logs, grids_, open_))
    titles = {chapter.code: chapter.title for chapter in chapters}
    beside = {"file": len(papers.papers), "opening": len(reading.heads)}
    heaps = answering(reading, gathered.clauses, beside, titles)
    numbers = glance(reading, _verdicts(gathered.logs))
    return Page(
        frame=frame_of(reading, "Inspection pack"),
        profile=gathered.profile,
        lead=tuple(_lead(reading, numbers, told, open_)),
        contents=chapters,
        holding=holding(reading),
        papers=papers,
        clauses=heaps,
        clauses_told=listed(tally(heaps)),
        open=open_,
        glance=numbers,
        exceptions=told,
        logs=logs,
        laboratory=laboratory(getattr(pages.get("water"), "certificates", ())),
        months=grids_,
        styles=styles(log.part for log in logs),
        seal=tuple(_of_the_record(reading)),
        who=tuple(_who(reading)),
        attached=tuple(_attached(months, pages, told, papers)),
    )


def _page_of(name: str, gathered: Any) -> Any:
    from hygiene.reports.catalogue import REPORTS

    return REPORTS[name].page(gathered)


def _verdicts(logs: Iterable[tuple[str, Any]]) -> list[tuple[Any, str]]:
    rows = [row for name, one in logs if name == "dosing" for row in one.rows]
    return [(r.matter.said, r.judged.verdict) for r in rows if not r.matter.struck]


# the chapters


def _exceptions(
    reading: Reading, months: month.Page, pages: Mapping[str, Any]
) -> Exceptions:
    return exceptions(
        reading,
        (story for part_ in months.months for story in part_.stories),
        getattr(pages.get("dosing"), "failures", ()),
        getattr(pages.get("water"), "failures", ()),
    )


def _logs(pages: Mapping[str, Any]) -> Iterator[Log]:
    from hygiene.reports.catalogue import REPORTS

    across = False
    for name, whole in pages.items():
        title = whole.frame.title.removeprefix("The ")
        made = part(REPORTS[name].laid_out_by, brief(whole), name)
        if 'class="log"' in made.body or not made.wide:
            across = made.wide
        # a body without lines fits any paper, and stays on that of the one before
        yield Log(name, title[:1].upper() + title[1:], made, across)


def brief(whole: Any) -> Any:
    """A log without what the pack tells elsewhere, and without a list that is long.

    What failed and what was put right is told under the exceptions.
    """
    fields = getattr(whole, "_fields", ())
    changed: dict[str, Any] = {
        name: type(getattr(whole, name))()
        for name in ("failures", "amended", "who")
        if name in fields
    }
    if "more_failures" in fields:
        changed["more_failures"] = 0
    for name, says in LONG_TABLES.items():
        many = len(getattr(whole, name, ()))
        if many > SHORT:
            said = changed.get("summary", whole.summary)
            more = says.format(many)
            changed |= {name: (), "summary": (*said, f"{more}: see the attached file.")}
    if "certificates" in fields:  # they stand in lines of their own
        changed["certificates"] = ()
    if "hazards" in fields:  # general advice has no place in a pack
        changed["hazards"] = tuple(h._replace(care=()) for h in whole.hazards)
    if {"days", "more"} <= set(fields):
        lines = sum(len(day.lines) for day in whole.days)
        if lines + whole.more > SHORT:
            changed |= {"days": (), "more": whole.more + lines}
    if "parts" in fields:
        files = [file.name for file in whole.attached if file.name.endswith(".csv")]
        told = (p for p in whole.parts if p.sort not in TOLD_ELSEWHERE)
        changed["parts"] = tuple(_short(part_, files) for part_ in told)
    return whole._replace(**changed)


def _short(part_: Any, files: Sequence[str]) -> Any:
    """A part of a log; a list that is too long is named with the file that holds it."""
    says = getattr(part_, "says", ())
    if len(says) > SHORT:
        more = f"{count(len(says) - SHORT, 'sentence')} more are left out here."
        return Sentences(part_.title, (*says[:SHORT], more))
    lines = sum(len(day.lines) for day in getattr(part_, "days", ()))
    if lines <= SHORT:
        return part_
    where = f": all of them in the attached {listed(files)}" if files else ""
    return Sentences(part_.title, (f"{count(lines, 'line')}{where}.",))


def _chapters(
    reading: Reading,
    told: Exceptions,
    papers: Papers,
    logs: Iterable[Log],
    grids_: Grids | None,
    open_: Sequence[Action],
) -> Iterator[Chapter]:
    yield Chapter("holding", "The farm, its people, and whom to ring")
    yield Chapter("papers", "Filed papers", count(len(papers.papers), "paper"))
    yield Chapter("clauses", "Clause map", "what the record answers, and where")
    yield Chapter(
        "open", "Open corrective actions", f"{len(open_)} open" if open_ else "none"
    )
    yield Chapter("glance", "The period at a glance", "numbers by month, and figures")
    yield Chapter("exceptions", "Exceptions in full", f"{told.many:,} told")
    for log in logs:
        yield Chapter(log.code, log.title)
    yield Chapter("files", "Certificates and photos", count(len(papers.files), "file"))
    if grids_ is not None:
        yield Chapter("months", "Month by month", "tasks down, days across")
    yield Chapter("seal", "What this file proves, and how to check it")


def _who(reading: Reading) -> Iterator[Who]:
    for person in who(reading.farm, signers(reading)):
        yield person._replace(name=short(person.name, LONGEST_NAME))


def _open(reading: Reading) -> Iterator[Action]:
    for matter in reading.of_kind("action"):
        made = action_of(reading, matter)
        if not made.closed:
            yield made


def _lead(
    reading: Reading, numbers: Glance, told: Exceptions, open_: Sequence[Action]
) -> Iterator[tuple[str, str]]:
    """The few numbers of the cover."""
    if numbers.kept_percent:
        yield numbers.kept_percent, "of the tasks that were due done in time"
    yield f"{told.many:,}", "exceptions, all told in this file"
    yield f"{len(open_):,}", "corrective actions open when this was made"
    holds = [m for m in reading.of_kind("hold") if not reading.answers(m, "release")]
    yield f"{len(holds):,}", "holds that stand"


def _of_the_record(reading: Reading) -> Iterator[tuple[str, str]]:
    """How the record was kept: backups and drills of the period."""
    for kind, says, none in (
        ("backup", "Last backup that was checked", "none is written in this period"),
        ("drill", "Last drill in tracing", "none is written in this period"),
    ):
        last = [m for m in reading.of_kind(kind) if reading.happened_in(m)][-1:]
        yield says, _told(reading, last[0]) if last else none


def _told(reading: Reading, matter: Matter) -> str:
    hours = reading.rota.hours_on(reading.period.last)
    when = clock(matter.said.happened_at, hours, reading.period)
    return f"{when}, {signed(matter.said)}: {gist(matter.said)} ({matter.said.name})"


# what travels inside


def _attached(
    months: month.Page, pages: Mapping[str, Any], told: Exceptions, papers: Papers
) -> Iterator[Attached]:
    """Every file of every part; of two that bear one name, one bears its part's too."""
    given: set[str] = set()
    parts: list[tuple[str, Iterable[Attached]]] = [
        ("pack", told.attached),
        ("months", months.attached),
        *((name, getattr(page_, "attached", ())) for name, page_ in pages.items()),
        ("pack", papers.attached),
    ]
    for name, files in parts:
        for file in files:
            own = file.name if file.name not in given else f"{name}-{file.name}"
            given.add(own)
            yield file._replace(name=own)


__all__ = ["EXTRAS", "Gathered", "Page", "gather", "page"]
