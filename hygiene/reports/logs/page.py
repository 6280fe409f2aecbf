"""A log as a value: a summary, parts of lines or stories, who signed, what is attached.

A page costs by its boxes, so every line of a log is one text in letters of one width
(``reports.columns``). At most ``MOST`` lines stand on the pages; all rows are attached
as CSV with its CSV-on-the-Web description.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from typing import Any, Final, NamedTuple

from hygiene.exchange.table import Column, Table, columns_of, row_of
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry
from hygiene.kinds.words import gist
from hygiene.reports.amended import Amended, amended_by
from hygiene.reports.attached import Attached, data
from hygiene.reports.columns import Day, Line, in_time, laid_out
from hygiene.reports.frame import Frame, Who, frame_of, who
from hygiene.reports.logs.told import Told, clock_of, marks_of
from hygiene.reports.marks import Mark
from hygiene.reports.period import Period
from hygiene.reports.reading import Matter, Reading
from hygiene.reports.words import count, listed, short

MOST: Final = 500
"""So many lines of a part stand on the pages; the rest only in the attached file."""
MOST_TOLD: Final = 100
"""So many stories of a part, and corrections, are told on the pages."""
LETTERS: Final = 300
"""A cell is cut after so many letters: the whole text is in the attached file."""
CUT: Final = "A text that ends in … is whole in the attached file."
ROOM: Final = 148
"""So many letters go on a line beside the day (report_templates/log.css, wide.css)."""

GOOD: Final = Mark("✔", "nothing against it, or put right since")
BAD: Final = Mark("▲", "something stands against it: written out in full")
OPEN: Final = Mark("□", "not known, not over, or not written")
STRUCK: Final = Mark("–", "ruled through")
SIGNS: Final = (GOOD, BAD, OPEN, STRUCK)


class Row(NamedTuple):
    """A line of a log: its matter, its cells, and how it is printed.

    ``printed`` is ``good``, ``failed`` (in bold) or ``struck`` (ruled through).
    """

    matter: Matter
    cells: tuple[str, ...]
    printed: str = "good"


class Listing(NamedTuple):
    """A part of a log in lines, under the days or whatever else ``first`` names."""

    title: str
    first: str
    head: str
    days: tuple[Day, ...]
    more: str = ""
    key: tuple[Mark, ...] = ()
    note: str = ""
    file: str = ""
    sort: str = "lines"


class Stories(NamedTuple):
    """A part of a log in stories: each told to its end."""

    title: str
    told: tuple[Told, ...]
    more: str = ""
    sort: str = "stories"


class Changed(NamedTuple):
    """What was put right or ruled through, each with its own line before it."""

    title: str
    rows: tuple[tuple[str, Amended], ...]
    more: str = ""
    sort: str = "changed"


class Sentences(NamedTuple):
    """A part of a log in sentences."""

    title: str
    says: tuple[str, ...]
    sort: str = "sentences"


Part = Listing | Stories | Changed | Sentences


class Page(NamedTuple):
    """A log as values; ``report_templates/log.html`` lays it out."""

    frame: Frame
    nothing: str
    summary: tuple[str, ...]
    parts: tuple[Part, ...]
    who: tuple[Who, ...]
    attached: tuple[Attached, ...]


def page_of(
    reading: Reading,
    title: str,
    *,
    nothing: str,
    summary: Iterable[str],
    parts: Iterable[Part | None],
    matters: Iterable[Matter],
    attached: Iterable[Attached] = (),
) -> Page:
    """Put a log together; what was put right among ``matters`` becomes its last part.

    ``nothing`` is said where there is no summary.
    """
    shown = list(matters)
    return Page(
        frame=frame_of(reading, title),
        nothing=nothing,
        summary=tuple(summary),
        parts=tuple(p for p in (*parts, changed(reading, shown)) if p is not None),
        who=tuple(who(reading.farm, people(reading, shown))),
        attached=tuple(attached),
    )


# lines


def listing(
    reading: Reading,
    heads: Sequence[str],
    rows: Sequence[Row],
    what: tuple[str, str],
    *,
    title: str = "",
    file: str = "",
    note: str = "",
    right: Collection[str] = (),
) -> Listing | None:
    """The rows in their days, each after its time; ``what`` is one and many of them.

    ``file`` is the name of the attached file that holds them all.
    """
    if not rows:
        return None
    cells = [(r.matter, r.printed, tuple(map(_cell, r.cells))) for r in rows[:MOST]]
    made = in_time(reading, heads, cells, ROOM, right=right)
    lines = [line.text for day in made.days for line in day.lines]
    return Listing(
        title,
        *made,
        left_out(len(rows) - len(cells), *what, file),
        tuple(m for m in SIGNS if any(m.sign in line for line in lines)),
        " ".join(filter(None, (note, CUT if any("…" in c for c in lines) else ""))),
        file,
    )


def figures(
    title: str,
    first: str,
    heads: Sequence[str],
    rows: Sequence[tuple[str, ...]],
    *,
    right: Collection[str] | None = None,
    note: str = "",
) -> Listing | None:
    """A small table: what each row is of, then its cells; figures stand flush right.

    ``right`` names the columns of figures, else they all are.
    """
    if not rows:
        return None
    cells = [tuple(map(_cell, row[1:])) for row in rows[:MOST]]
    flush = heads if right is None else right
    head, lines = laid_out(heads, cells, ROOM, right=flush)
    days = (
        Day(short(row[0], 24), (Line(text, "good"),))
        for row, text in zip(rows, lines, strict=False)
    )
    more = left_out(len(rows) - len(cells), "row", "rows", "")
    return Listing(title, first, head, tuple(days), more, (), note)


def left_out(more: int, one: str, many: str, file: str) -> str:
    """That a part goes on in an attached file, or nothing where it does not."""
    if more <= 0:
        return ""
    where = f"the log continues in the attached file {file}" if file else "left out"
    return f"{count(more, one, many)} more: {where}."


def _cell(text: str) -> str:
    return short(" ".join(text.split()), LETTERS)


def verdict(reading: Reading, matter: Matter, *words: str) -> tuple[str, str]:
    """How a line is printed, and its verdict: the strictest of all its versions.

    Marks stay for ever; ``words`` are what else stands against it.
    """
    against = [*words, *(str(mark).replace("-", " ") for mark in marks_of(matter))]
    said = ", ".join(dict.fromkeys(against))
    if matter.struck:
        return "struck", "; ".join(filter(None, (f"{STRUCK.sign} ruled through", said)))
    acted = reading.answers(matter, "action", struck=True)
    if not said and not acted:
        return "good", GOOD.sign
    return "failed", f"{BAD.sign} {said or 'action opened'}"


# stories and corrections


def stories(
    title: str, told: Sequence[Told], file: str = "", most: int = MOST_TOLD
) -> Stories | None:
    """What is told in full; None where there is nothing."""
    if not told:
        return None
    more = left_out(len(told) - most, "of these", "of these", file)
    return Stories(title, tuple(told[:most]), more)


def sentences(title: str, says: Iterable[str]) -> Sentences | None:
    """A part in sentences; None where there is none."""
    said = tuple(says)
    return Sentences(title, said) if said else None


def changed(
    reading: Reading,
    matters: Iterable[Matter],
    said: Callable[[Entry], str] = gist,
) -> Changed | None:
    """What was put right or ruled through among these matters."""
    rows = [
        (f"{clock_of(reading, matter.first.happened_at)} {said(matter.first)}", each)
        for matter in once(matters)
        if matter.changed
        for each in amended_by(reading, matter, said)
    ]
    if not rows:
        return None
    more = left_out(len(rows) - MOST_TOLD, "of these", "of these", "")
    return Changed("Put right or ruled through", tuple(rows[:MOST_TOLD]), more)


def once(matters: Iterable[Matter]) -> list[Matter]:
    """Each matter once."""
    return list({matter.first.name: matter for matter in matters}.values())


def people(reading: Reading, matters: Iterable[Matter]) -> set[str]:
    """Everyone who did, saw or typed these matters, or what answers them."""
    answered = ("action", "recheck", "close", "hold", "release", "assess", "notify")
    found: dict[str, Matter] = {}
    new = list(matters)
    while new:
        found |= {matter.first.name: matter for matter in new}
        new = [
            answer
            for matter in new
            for kind in answered
            for answer in reading.answers(matter, kind, struck=True)
            if answer.first.name not in found
        ]
    return {
        code
        for matter in found.values()
        for entry in matter.history
        for code in (entry.by, entry.written_by)
        if code
    }


def name_of(farm: InForce, kind: str, code: Any) -> str:
    """What the farm calls a thing, else its code."""
    entry = farm.last_described(kind, str(code))
    return str(entry.get("name") or code) if entry else str(code)


# the attached files

STANDS: Final = Column("struck", "boolean", "whether it no longer stands")


def file_of(
    reading: Reading,
    kind: str,
    matters: Sequence[Matter],
    more: Sequence[Column] = (),
    values: Callable[[Matter], Sequence[Any]] = lambda matter: (),
    *,
    name: str = "",
) -> tuple[Attached, ...]:
    """Every row of a kind as CSV, with what its columns are; none of no rows.

    ``more`` are further columns, and ``values`` what stands in them. ``name`` is the
    file's, where that is not the kind's.
    """
    if not matters:
        return ()
    table = Table(
        file_name(name or kind, reading.period),
        f"Every {name or kind} of the period as it stands, a row each",
        (*columns_of(kind), STANDS, *more),
        ("entry",),
    )
    return data(
        table,
        ((*row_of(kind, m.said), m.struck, *values(m)) for m in matters),
    )


def file_name(what: str, period: Period) -> str:
    """The name of an attached file, without its ending."""
    return f"{what}-{period.first}-to-{period.last}"


def csv_name(what: str, period: Period) -> str:
    """The name of an attached CSV file."""
    return f"{file_name(what, period)}.csv"


def in_period(reading: Reading, *kinds: str) -> list[Matter]:
    """The matters of these kinds that happened within the period."""
    return [m for m in reading.of_kind(*kinds) if reading.happened_in(m)]


def tally(parts: Iterable[tuple[int, str, str]]) -> str:
    """Counts with their words, those of none left out: 3 fed and 1 sent."""
    return listed(
        f"{many:,} {one if many == 1 else more}" for many, one, more in parts if many
    )
