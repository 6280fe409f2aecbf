"""``hygiene calendar``: what is due, as a file that any calendar takes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from hygiene.cli.desk import AsJson, RecordPath, reading, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.pages import place_of
from hygiene.errors import WronglyPut
from hygiene.plain_file import replaceable

BEGINS = b"BEGIN:VCALENDAR"
NAME = "hygiene"

app = one_command()


class NotACalendar(WronglyPut):
    """Another file stands where the calendar is to go."""

    sentence = "{path} is no calendar, and is not written over"


@app.command("calendar")
def calendar_command(
    ctx: typer.Context,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Where to write it (else hygiene.ics)."),
    ] = None,
    alarms: Annotated[
        bool, typer.Option("--alarms/--no-alarms", help="Whether it rings.")
    ] = True,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Write a calendar: the rota, water samples, expiries, reviews, trainings, drills.

    Import it anywhere; after a change import it again: what moved is moved, nothing
    stands twice. The same record gives the same file. Times are the farm's own.

    Example: hygiene calendar --out shed.ics
    """
    from hygiene.reports import ical, paper

    with reading(ctx, record) as desk:
        gathered = ical.gather(desk.record)
    path = place_of(out, NAME, ".ics")
    _need_calendar(path)
    made = ical.calendar(gathered, alarms=alarms)
    paper.put(path, made)
    tasks = sum(line.startswith(b"RRULE") for line in made.splitlines())
    told = {
        "file": str(path),
        "tasks": tasks,
        "dates": [
            {"on": each.day, "sort": each.sort, "title": each.title}
            for each in gathered.dated
        ],
    }
    if as_json:
        show_json(told)
        return
    print(f"Written: {path}")
    print(f"  {tasks} tasks that come round, and {len(gathered.dated)} days to come")
    for each in [day for day in gathered.dated if day.day >= desk.now.date()][:3]:
        print(f"  {each.day} {each.title}")


def _need_calendar(path: Path) -> None:
    if not replaceable(path, lambda begins: begins.startswith(BEGINS)):
        raise NotACalendar(path=path, way_out="give another place with --out FILE")
