"""Readiness rules on what stands there: cans, papers, kits, water, seed, the record.

Each is a small pure function of what was read, and gives the places it found.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from typing import Any, Final

from hygiene.inspection.seen import Item, Seen, few, shown
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of
from hygiene.sanitising.containers import amount, last_day, sheet_faults
from hygiene.tracing.germination import WANTED_PERCENT, interval

LATELY: Final = timedelta(days=60)
"""Who has signed a task in these days is taken to go on doing it."""


def expired_store(seen: Seen) -> Iterator[Item]:
    """Something is left in a container whose last day is over."""
    for held in seen.containers:
        end = last_day(held, seen.farm.get("product", held.product))
        if held.left > 0 and end is not None and end[0] < seen.today:
            left = amount(held.unit, held.left)
            says = (
                f"{held.code}, {held.product}: {left} left, {end[1]} ({shown(end[0])})"
            )
            yield Item(says, end[0], (held.entry,), held.code)


def register(seen: Seen) -> Iterator[Item]:
    """The chemical register says a use that the product's type does not allow."""
    for code, fault in seen.register:
        yield Item(fault.says, code=code)


def data_sheets(seen: Seen) -> Iterator[Item]:
    """Nobody has looked at the safety data sheet of a product for too long."""
    months = seen.body.get("sds_months")
    for code in _kept(seen):
        body = seen.farm.get("product", code)
        whole = months if isinstance(months, int) else 12
        for fault in sheet_faults(body, seen.today, whole):
            yield Item(fault.says, code=code)


def _kept(seen: Seen) -> list[str]:
    """The products of the farm file of which something stands in the store."""
    there = {held.product for held in seen.containers if held.left > 0}
    return [code for code in seen.farm.things("product") if code in there]


def assessments(seen: Seen) -> Iterator[Item]:
    """An assessment or another paper is past the day of its review."""
    for code in _kept(seen):
        body = seen.farm.get("product", code) or {}
        review_on = _day(body.get("assessment_review_on"))
        if review_on is not None and review_on < seen.today:
            says = (
                f"{body.get('assessment') or 'assessment'} of {body.get('name')}: "
                f"to be reviewed by {shown(review_on)}"
            )
            yield Item(says, review_on, code=code)
    for paper in seen.papers:
        says = f"{paper.title}: to be reviewed by {shown(paper.review_on)}"
        yield Item(says, paper.review_on, (paper.entry,))


def _day(given: Any) -> date | None:
    try:
        return date.fromisoformat(given)
    except (TypeError, ValueError):
        return None


def water_due(seen: Seen) -> Iterator[Item]:
    """A sample of the water is overdue, or a bad one was not taken again."""
    for due in seen.samples:
        if due.day < seen.today:
            entries = (due.entry,) if due.entry else ()
            says = f"{due.point}: due {shown(due.day)}; {due.why}"
            yield Item(says, due.day, entries, due.point)


def kits_to_check(seen: Seen) -> Iterator[Item]:
    """A meter, thermometer or scale whose check is overdue, or that failed it."""
    for kit in seen.kits:
        if not kit.to_order:
            yield Item(f"{kit.code}, {kit.name}: {kit.why}", code=kit.code)


def kits_to_order(seen: Seen) -> Iterator[Item]:
    """Strips or reagent that are past their date."""
    for kit in seen.kits:
        if kit.to_order:
            yield Item(f"{kit.code}, {kit.name}: {kit.why}", code=kit.code)


def training(seen: Seen) -> Iterator[Item]:
    """Somebody who does a task holds its training no longer."""
    wanted: dict[tuple[str, str], list[str]] = {}
    for state in seen.states:
        task, entry = state.due.task, state.entry
        lately = state.due.day >= seen.today - LATELY
        if entry is not None and entry.kind == "sign_off" and task.training and lately:
            codes = wanted.setdefault((entry.by, task.training), [])
            codes += [task.code] * (task.code not in codes)
    for (person, topic), codes in sorted(wanted.items()):
        here = seen.farm.get("person", person) is not None
        if here and not seen.farm.trained(person, topic, seen.today):
            says = (
                f"{person} has no training in {topic} that holds ({', '.join(codes)})"
            )
            yield Item(says, code=person)


def chain(seen: Seen) -> Iterator[Item]:
    """Seed, batch or fodder that hangs on nothing: a lot or a sowing is missing."""
    for gap in seen.gaps:
        if gap.broken:
            yield Item(f"{gap.code}: {gap.says}", None, gap.entries, gap.code)


def seed_held(seen: Seen) -> Iterator[Item]:
    """Seed that nobody may sow: dressed, or without the word that it is not."""
    for hold in seen.holds:
        if hold.get("sort") == "lot" and hold.get("stops") is None:
            code = str(hold.get("held"))
            why = str(hold.get("why"))
            named = why if code in why else f"{code}: {why}"
            says = f"{named}, held since {shown(seen.day(hold))}"
            yield Item(says, seen.day(hold), (hold.name,), code)


def germination(seen: Seen) -> Iterator[Item]:
    """The last count of a lot shows that less germinates than is wanted."""
    last: dict[str, Entry] = {}
    for count in sorted(seen.standing("germination"), key=_moment):
        last[str(count.get("lot"))] = count
    for lot, count in last.items():
        good, sown = count.get("germinated"), count.get("sown")
        if not _is_count(good, sown):
            continue
        found = interval(good, sown)
        if found.verdict == "not shown":
            says = (
                f"{lot}: {good} of {sown} germinated, at most "
                f"{found.high_percent:.1f} % of the lot; {WANTED_PERCENT:.0f} % is "
                "common practice, no source"
            )
            yield Item(says, seen.day(count), (count.name,), lot)


def _moment(entry: Entry) -> tuple[datetime, int]:
    return moment_of(entry.happened_at), entry.seq


def _is_count(good: Any, sown: Any) -> bool:
    return type(good) is int and type(sown) is int and 0 <= good <= sown > 0


def past_day(seen: Seen) -> Iterator[Item]:
    """A batch that still grows after its last growing day; a lost tray is a sum's."""
    lost = {each.batch: each.lost for each in seen.trays}
    days = seen.farm.growing_days
    for batch in seen.growing:
        left = [t for t in batch.growing if t not in lost.get(batch.code, ())]
        day = batch.day(seen.today, seen.farm.zone)
        if left and day > days:
            says = (
                f"{batch.code}: day {day} of {days}, {few(left)} still "
                f"grow{'s' * (len(left) == 1)}"
            )
            yield Item(says, seen.day(batch.sow), (batch.sow.name,), batch.code)


def balance(seen: Seen) -> Iterator[Item]:
    """Seed, trays, fodder or sanitiser that does not add up."""
    for gap in seen.gaps:
        if not gap.broken:
            yield Item(f"{gap.code}: {gap.says}", None, gap.entries, gap.code)
    for says in seen.store_odd:
        yield Item(says, code=says.partition(":")[0])


def drill(seen: Seen) -> Iterator[Item]:
    """The yearly exercise in tracing is overdue."""
    if seen.drill_due is not None and seen.drill_due <= seen.today:
        yield Item(f"it was due on {shown(seen.drill_due)}", seen.drill_due)


def backup(seen: Seen) -> Iterator[Item]:
    """No copy of the record was made and verified lately."""
    if not seen.backup_due:
        return
    if seen.backup is None:
        yield Item("no copy was ever made")
        return
    day = seen.day(seen.backup)
    yield Item(f"the last verified copy is of {shown(day)}", day, (seen.backup.name,))
