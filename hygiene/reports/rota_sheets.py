"""The blank rota for a week or a month: to be filled in by hand and typed in after.

A block for each task and time of day: its days across (of a month, a week at a time),
its questions down. Above each block stands the code by which it is typed in. Only
what there is to ask is printed: no answer, no name, nothing of the record beside.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import NamedTuple

from hygiene.acts.signing import questions
from hygiene.book.record import Record
from hygiene.errors import Unknown
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import items
from hygiene.reports.frame import Frame, frame_of
from hygiene.reports.period import Period
from hygiene.reports.qr import qr
from hygiene.reports.reading import Reading, read_only
from hygiene.reports.words import UNITS, limit, listed
from hygiene.rota.names import resolve
from hygiene.rota.schedule import Due
from hygiene.rota.sheet import Days, Line, dues_of, farm_of, lines
from hygiene.rota.signing import Ask


class NothingDue(Unknown):
    """No task is due in those days."""

    sentence = "nothing is due in {days}{what}: there is no sheet to print"


class Gathered(NamedTuple):
    """What the sheets are made from."""

    reading: Reading
    lines: tuple[Line, ...]


class Row(NamedTuple):
    """A question as it stands at the left of its row."""

    text: str
    hint: str
    name: str
    safety: bool


class Block(NamedTuple):
    """A task at a time of day, with up to seven of its days across."""

    title: str
    at: str
    version: int
    code: str
    svg: str
    days: tuple[str, ...]
    rows: tuple[Row, ...]
    gear: str
    cautions: tuple[str, ...]
    typed: str
    more: str


class Page(NamedTuple):
    """The sheets as values; ``report_templates/rota.html`` lays them out."""

    frame: Frame
    blocks: tuple[Block, ...]


def gather(
    record: Record, days: Days, printed_at: datetime, tasks: Sequence[str] = ()
) -> Gathered:
    """Read the set-up alone: the lines of those days, or those of some tasks.

    Raises ``NothingDue``.
    """
    reading = read_only(record, Period(days.first, days.last), printed_at)
    found = lines(reading.rota, farm_of(record.setup()), days)
    titles = {task.code: task.title for task in reading.rota.tasks}
    wanted = {resolve(name, titles) for name in tasks}
    kept = tuple(line for line in found if not wanted or line.task.code in wanted)
    if not kept:
        what = f" of {listed(sorted(wanted))}" if wanted else ""
        raise NothingDue(days=days.words, what=what)
    return Gathered(reading, kept)


def page(gathered: Gathered) -> Page:
    """A block for each line, in the order of the clock."""
    reading = gathered.reading
    return Page(
        frame=frame_of(reading, "To fill in by hand"),
        blocks=tuple(b for line in gathered.lines for b in _blocks(reading, line)),
    )


def _blocks(reading: Reading, line: Line) -> Iterator[Block]:
    weeks: dict[date, list[Due]] = {}
    for due in dues_of(reading.rota, line):
        monday = date.fromordinal(due.day.toordinal() - due.day.weekday())
        weeks.setdefault(monday, []).append(due)
    for number, dues in enumerate(weeks.values(), 1):
        yield _block(reading.farm, line, dues, number, len(weeks))


def _block(farm: InForce, line: Line, dues: list[Due], number: int, many: int) -> Block:
    task = line.task
    asked = questions(task, farm)
    first = dues[0].day
    key = f"{first:%a}"[:2].lower() if line.days.sort == "W" else str(first.day)
    reading = next((ask.name for ask in asked if ask.sort == "reading"), "")
    example = f" {key}.{reading}=..." if reading else ""
    return Block(
        title=task.title,
        at=f"{line.at:%H:%M}",
        version=task.version,
        code=line.code,
        svg=qr(line.code).svg,
        days=tuple(f"{due.day:%a} {due.day.day}" for due in dues),
        rows=tuple(map(_row, asked)),
        gear=listed(task.gear),
        cautions=task.cautions,
        typed=f"hygiene sign --from-sheet {line.code} {key}=INITIALS@TIME{example}",
        more=f"part {number} of {many}" if many > 1 else "",
    )


def _row(ask: Ask) -> Row:
    of = f": {ask.of}" if ask.of else ""
    return Row(
        f"{ask.step.get('text')}{of}",
        _hint(ask),
        ask.name,
        bool(ask.step.get("safety")),
    )


def _hint(ask: Ask) -> str:
    """What may stand in the cell."""
    step = ask.step
    match ask.sort:
        case "choice":
            return " / ".join(map(str, items(step, "options")))
        case "reading":
            right, unit = limit(step), str(step.get("unit") or "")
            return f"right: {right}" if right else UNITS.get(unit, unit)
        case "entry":
            return "none, or what was found"
    return ""
