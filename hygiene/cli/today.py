"""``hygiene today``: the page that the person lives on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any

import typer

from hygiene.acts.day import Day, drill_due, read_day
from hygiene.acts.sampling import Coming, coming
from hygiene.acts.standing import ShedNow, shed_now
from hygiene.acts.store import StoreNow, store_now
from hygiene.cli.coming import as_json as near_json
from hygiene.cli.coming import sections as near_sections
from hygiene.cli.desk import AsJson, Desk, RecordPath, reading, show_json
from hygiene.cli.elsewhere import (
    Away,
    away_json,
    away_now,
    backup,
    books_elsewhere,
    clock,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.screen import folded
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of, span
from hygiene.kinds.words import gist
from hygiene.rota.day import State
from hygiene.rota.schedule import Due, read_rota

app = one_command()

HEADINGS = {
    "overdue": "OVERDUE",
    "due": "DUE NOW",
    "not yet": "LATER TODAY",
    "failed": "DONE, WITH SOMETHING OUT OF LIMIT",
    "late": "DONE LATE",
    "done": "DONE",
    "missed": "NOT DONE",
    "not needed": "NOT NEEDED",
    "gap": "NOTHING WRITTEN",
}


@app.command()
def today(
    ctx: typer.Context,
    week: Annotated[
        bool, typer.Option("--week", help="Each task's last 7 days as a small bar.")
    ] = False,
    month: Annotated[
        bool, typer.Option("--month", help="The same of 28 days.")
    ] = False,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """What is due now, overdue, done and held; the numbers are for ``sign``.

    Example: hygiene today
    """
    with reading(ctx, record) as desk, desk.record.at_one_moment():
        if week or month:
            _bars(desk, month, as_json)
            return
        rota = read_rota(desk.setup)
        day = read_day(desk.record, rota, desk.now)
        shed = shed_now(desk.record, desk.farm, desk.now)
        store = store_now(desk.record, desk.setup, desk.farm, desk.now)
        near = coming(desk.record, desk.farm, desk.now, day.actions)
        drill = drill_due(desk.record, desk.now)
        away = away_now(desk)
    if as_json:
        parts = (_json(desk, day), _shed_json(shed), _store_json(store))
        near_part = {**near_json(near), "drill_due": drill, **away_json(away)}
        show_json({k: v for part in (*parts, near_part) for k, v in part.items()})
        return
    for line in _page(desk, day, shed, store, near, drill, away):
        print(folded(line, desk.world.width) if desk.world.asks else line)


def _bars(desk: Desk, month: bool, as_json: bool) -> None:
    # a day's page does not pay for the bars
    from hygiene.cli import bars

    made = bars.read_bars(desk, bars.MONTH if month else bars.WEEK)
    if as_json:
        show_json(bars.as_json(made))
        return
    for line in bars.lines(made):
        print(line)


def _page(
    desk: Desk,
    day: Day,
    shed: ShedNow,
    store: StoreNow,
    near: Coming,
    drill: date | None,
    away: Away,
) -> Iterator[str]:
    farm = desk.farm.farm or {}
    yield f"{farm.get('name')}   {desk.now:%A %d %B %Y, %H:%M}"
    if desk.demonstration:
        yield "DEMONSTRATION RECORD: an invented farm, nothing here is real."
    yield from clock(desk, away)
    yield from _held(desk, day.holds)
    yield from books_elsewhere(desk, away)
    yield from _exposed(shed)
    yield from _open(desk, day.actions)
    yield from _growing(desk, shed)
    yield from _store(store)
    yield from _listed(desk, day.listed)
    yield from near_sections(near, desk.now.date())
    yield from _drill(drill)
    yield from backup(desk, away)
    yield from _gaps(day.gaps)
    if not day.listed:
        yield ""
        yield "Nothing is due today."
    yield ""
    yield from _first_day(desk)
    yield _next(day)


def _first_day(desk: Desk) -> Iterator[str]:
    """Why the list of a farm that was set up today is short."""
    lists = [entry for entry in desk.setup if entry.kind == "checklist"]
    begun = [moment_of(e.happened_at).astimezone(desk.now.tzinfo) for e in lists[:1]]
    if begun and begun[0].date() == desk.now.date():
        yield f"Set up today, {begun[0]:%H:%M}: what was due before begins tomorrow."


def _drill(due: date | None) -> Iterator[str]:
    if due is not None:
        yield ""
        yield f"ONCE A YEAR: trace a lot both ways by {due:%d %B %Y}: hygiene drill"


def _held(desk: Desk, holds: list[Entry]) -> Iterator[str]:
    if holds:
        yield ""
        yield "HELD: do not use, feed or send; only a release ends it"
    for hold in holds:
        yield f"  {gist(hold)}, {_age(desk, hold)} ({hold.name})"


def _exposed(shed: ShedNow) -> Iterator[str]:
    if shed.exposed:
        yield ""
        yield "WATCH: these ate of a batch in which mould was found"
    for exposure in shed.exposed:
        yield (
            f"  {exposure.animals} ate {exposure.batch} ({exposure.feed.name}); "
            f"flagged until {exposure.until:%d %B %Y}"
        )


def _growing(desk: Desk, shed: ShedNow) -> Iterator[str]:
    """The batches by growing day, those past their last day first."""
    last = desk.farm.growing_days
    if shed.growing:
        yield ""
        yield f"GROWING, by day: day {last} is the last"
    for row in shed.growing:
        batch, racks = (
            row.batch,
            dict.fromkeys(s.rack for s in row.batch.standing(desk.now)),
        )
        where = ", ".join(rack for rack in racks if rack)
        trays = f"{len(batch.growing)} of {len(batch.trays)} trays"
        late = f"  PAST DAY {last}" if row.day > last else ""
        held = "  HELD" if row.stops else ""
        yield f"  day {row.day:>2}  {batch.code:<12}{trays:<17}{where}{late}{held}"


def _store(store: StoreNow) -> Iterator[str]:
    """Lines that may not water, clean trays against a day's need, cans near the end."""
    lines = [f"  line {code}: {why.whys[0]}" for code, why in store.lines.items()]
    if lines:
        yield ""
        yield "NOT CLEARED: do not water or sow below it (hygiene trays LINE)"
        yield from lines
    cleared, need = len(store.trays.cleared), store.trays.sown_a_day
    if cleared or need or store.trays.waiting:
        yield ""
        short = "  NOT ENOUGH" if cleared < need else ""
        yield f"CLEARED TRAYS: {cleared}; a day's sowing takes {need}{short}"
        if store.trays.waiting:
            yield f"  {len(store.trays.waiting)} dosed and not cleared: hygiene trays"
    if store.ending:
        yield ""
        yield "CONTAINERS to be used up or written off"
    for held, last, why in store.ending:
        yield f"  {held.code:<12}{held.product:<10} by {last:%d %B %Y}: {why}"


def _store_json(store: StoreNow) -> dict[str, Any]:
    return {
        "trays_cleared": list(store.trays.cleared),
        "trays_not_cleared": {t: list(c.whys) for t, c in store.trays.waiting.items()},
        "trays_sown_a_day": store.trays.sown_a_day,
        "lines_not_cleared": {line: list(c.whys) for line, c in store.lines.items()},
        "containers_ending": [
            {
                "container": held.code,
                "product": held.product,
                "last": last,
                "why": why,
                "left": held.left,
                "unit": held.unit,
            }
            for held, last, why in store.ending
        ],
    }


def _open(desk: Desk, actions: list[Entry]) -> Iterator[str]:
    if actions:
        yield ""
        yield "TO PUT RIGHT: needs what was done, a recheck, and closing"
    for action in actions:
        did = f"; done: {action.get('did')}" if action.get("did") else ""
        yield f"  {action.get('problem')}{did}, {_age(desk, action)} ({action.name})"


def _age(desk: Desk, entry: Entry) -> str:
    days = (desk.now.date() - moment_of(entry.happened_at).date()).days
    return "today" if days <= 0 else f"{days} d ago"


def _listed(desk: Desk, listed: list[State]) -> Iterator[str]:
    numbered = list(enumerate(listed, 1))
    for status, heading in HEADINGS.items():
        rows = [(n, state) for n, state in numbered if state.status == status]
        if rows:
            yield ""
            yield heading
        for number, state in rows:
            yield _row(desk, number, state)


def _row(desk: Desk, number: int, state: State) -> str:
    due = state.due
    when = f"{due.at:%H:%M}"
    if due.day != desk.now.date():
        when = f"{due.at:%d %b %H:%M}"
    title = f"{number:>3}  {due.code:<12}{due.task.title[:34]:<35}"
    return f"{title} {when} {_told(state)}".rstrip()


def _told(state: State) -> str:
    late = f"{span(state.late_by)} late" if state.late_by else ""
    if state.status == "overdue":
        return late
    if state.entry is None:
        return "" if state.status == "not yet" else _deadline(state.due)
    at = moment_of(state.entry.happened_at).astimezone(state.due.at.tzinfo)
    why = f"{state.entry.get('why')}" if state.entry.kind == "miss" else late
    return f"{state.entry.by} {at:%H:%M} {why}".rstrip()


def _deadline(due: Due) -> str:
    other = "" if due.deadline.date() == due.day else f"{due.deadline:%d %b} "
    return f"by {other}{due.deadline:%H:%M}"


def _gaps(gaps: list[State]) -> Iterator[str]:
    """A task to a line, however many days it was left out."""
    if not gaps:
        return
    yield ""
    yield "NOTHING WRITTEN lately: hygiene miss TASK --on DATE --reason TEXT"
    days: dict[str, dict[str, None]] = {}
    for state in gaps:
        days.setdefault(state.due.code, {})[f"{state.due.at:%d %b}"] = None
    for code, when in days.items():
        yield f"     {code:<12}{', '.join(when)}"


def _next(day: Day) -> str:
    ready = [s.status for s in day.listed if s.status in ("due", "overdue")]
    if not ready:
        signed = any(s.status != "not yet" for s in day.listed)
        return "All that is due by now is signed." if signed else "Nothing is due yet."
    return f"{len(ready)} to do now. Sign one: hygiene sign NUMBER"


def _json(desk: Desk, day: Day) -> dict[str, Any]:
    return {
        "farm": (desk.farm.farm or {}).get("name"),
        "at": desk.now,
        "demonstration": desk.demonstration,
        "tasks": [_task(n, state) for n, state in enumerate(day.listed, 1)],
        "gaps": [_task(None, state) for state in day.gaps],
        "actions": [
            {"entry": a.name, "problem": a.get("problem"), "since": a.happened_at}
            for a in day.actions
        ],
        "holds": [
            {
                "entry": h.name,
                "held": h.get("held"),
                "sort": h.get("sort"),
                "why": h.get("why"),
                "since": h.happened_at,
            }
            for h in day.holds
        ],
    }


def _shed_json(shed: ShedNow) -> dict[str, Any]:
    return {
        "growing": [
            {
                "batch": row.batch.code,
                "day": row.day,
                "trays": list(row.batch.growing),
                "trays_sown": len(row.batch.trays),
                "lots": list(row.batch.lots),
                "held": [
                    {"entry": stop.entry, "why": stop.why, "trays": sorted(stop.trays)}
                    for stop in row.stops
                ],
            }
            for row in shed.growing
        ],
        "exposed": [
            {
                "animals": e.animals,
                "batch": e.batch,
                "fed": e.feed.name,
                "mould": e.mould,
                "until": e.until,
            }
            for e in shed.exposed
        ],
    }


def _task(number: int | None, state: State) -> dict[str, Any]:
    due = state.due
    return {
        "number": number,
        "task": due.code,
        "title": due.task.title,
        "version": due.task.version,
        "due": due.at,
        "deadline": due.deadline,
        "status": state.status,
        "late_minutes": int(state.late_by.total_seconds() // 60)
        if state.late_by
        else None,
        "by": state.entry.by if state.entry else None,
        "entry": state.entry.name if state.entry else None,
    }
