"""The calendar: RFC 5545, the same bytes for the same record.

Nothing of it is reckoned from the day on which it is made. A moment is that of the
record's last entry; what an event is says its UID for good; its SEQUENCE only grows.
So a second import changes nothing, and one after a change puts it in the old place.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Final, NamedTuple
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from hygiene import __version__
from hygiene.acts.dates import Dated, dates
from hygiene.acts.signing import questions
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.moments import moment_of
from hygiene.reports.words import listed
from hygiene.rota.schedule import Rota, read_rota
from hygiene.rota.series import Series, series
from hygiene.rota.sheet import farm_of

if TYPE_CHECKING:
    from icalendar import Alarm, Event, Timezone

OURS: Final = UUID("6f0d6a5e-2f0b-5d0e-9a53-5b8f1c1f7d43")
"""The namespace of our UIDs (RFC 9562, version 5): made once, at random."""
ZONE_UNTIL: Final = 2038
"""The year up to which the zone's clock changes are written out."""
MORNING: Final = timedelta(hours=8)
"""On the day of a reminder it rings at eight."""
LENGTH_MIN: Final = 15
"""How long a task takes where its checklist does not say."""
NOT_REAL: Final = "Demonstration: the farm and all that is planned here are invented."


class Gathered(NamedTuple):
    """What the calendar is made from, as of the last entry of the record."""

    farm: InForce
    rota: Rota
    dated: tuple[Dated, ...]
    moment: datetime
    name: str
    entries: int
    set_ups: int
    demonstration: bool


def gather(record: Record) -> Gathered:
    """Read the rota and every date that is to come."""
    setup = record.setup()
    heads = record.heads()
    moment = max(
        moment_of(record.entry(f"{head.book}/{head.seq}").recorded_at) for head in heads
    )
    farm = in_force(setup, moment)
    return Gathered(
        farm,
        read_rota(setup),
        tuple(dates(record, farm, moment.astimezone(farm.zone))),
        moment,
        farm_of(setup),
        sum(head.seq for head in heads),
        len(setup),
        record.demonstration(),
    )


def calendar(gathered: Gathered, *, alarms: bool = True) -> bytes:
    """The calendar's file."""
    from icalendar import Calendar

    made = Calendar()
    made.add("prodid", f"-//hygiene//hygiene {__version__}//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("method", "PUBLISH")
    name = str((gathered.farm.farm or {}).get("name") or "The shed")
    made.add("name", f"{name}: hygiene")  # RFC 7986
    made.add("x-wr-calname", f"{name}: hygiene")
    if gathered.demonstration:
        made.add("description", NOT_REAL)
    every = series(gathered.rota)
    zone = gathered.rota.hours[-1].zone
    first = min((each.first.year for each in every), default=gathered.moment.year)
    made.add_component(_zone(zone, first))
    for each in every:
        made.add_component(_task(gathered, each, zone, alarms))
    for dated in gathered.dated:
        made.add_component(_day(gathered, dated, alarms))
    content: bytes = made.to_ical()
    return content


def _event(gathered: Gathered, key: Iterable[str], title: str, told: str) -> Event:
    from icalendar import Event

    made = Event()
    made.add("uid", str(uuid5(OURS, "\n".join([gathered.name, *key]))))
    made.add("dtstamp", gathered.moment.astimezone(UTC))
    made.add("summary", title)
    note = f"\n{NOT_REAL}" if gathered.demonstration else ""
    made.add("description", f"{told}{note}")
    made.add("categories", ["hygiene"])
    return made


def _task(gathered: Gathered, each: Series, zone: ZoneInfo, alarms: bool) -> Event:
    from icalendar import vRecur

    task = each.task
    key = ("rota", task.code, f"{each.at:%H:%M}", str(each.stretch or ""))
    made = _event(gathered, key, task.title, _told(gathered.farm, each))
    made.add("sequence", gathered.set_ups)
    # the wall clock that was asked for, also where the change skips it on that day
    begins = datetime.combine(each.first.astimezone(zone).date(), each.at, zone)
    made.add("dtstart", begins)
    made.add("duration", timedelta(minutes=task.minutes or LENGTH_MIN))
    made.add("rrule", vRecur.from_ical(each.text))
    if task.area:
        made.add("location", task.area)
    if alarms:
        made.add_component(_alarm(task.title, timedelta()))
    return made


def _told(farm: InForce, each: Series) -> str:
    task = each.task
    asked = list(dict.fromkeys(str(a.step.get("text")) for a in questions(task, farm)))
    lines = [f"hygiene sign {task.code}"]
    lines += [f"Wear: {listed(task.gear)}"] if task.gear else []
    lines += [f"! {says}" for says in task.cautions]
    return "\n".join([*lines, *(f"- {text}" for text in asked)])


def _day(gathered: Gathered, dated: Dated, alarms: bool) -> Event:
    made = _event(gathered, (dated.sort, dated.key), dated.title, dated.told)
    made.add("sequence", gathered.entries)
    # of a day and without an end, it lasts that day (RFC 5545, 3.6.1)
    made.add("dtstart", dated.day)
    made.add("transp", "TRANSPARENT")
    if alarms:
        for days in (dated.early_days, 0):
            made.add_component(_alarm(dated.title, MORNING - timedelta(days=days)))
    return made


def _alarm(title: str, trigger: timedelta) -> Alarm:
    from icalendar import Alarm

    made = Alarm()
    made.add("action", "DISPLAY")
    made.add("description", title)
    made.add("trigger", trigger)
    return made


class Change(NamedTuple):
    """A clock change: the wall clock before it, both offsets, the name after it."""

    wall: datetime
    before: timedelta
    after: timedelta
    name: str
    summer: bool


def _zone(zone: ZoneInfo, first_year: int) -> Timezone:
    """The farm's zone with every change of its clock written out.

    RFC 5545 3.6.5 wants the wall clock by the offset before the change.
    """
    from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

    made = Timezone()
    made.add("tzid", zone.key)
    start = datetime(first_year, 1, 1, tzinfo=UTC)
    groups: dict[tuple[timedelta, timedelta, str, bool], list[datetime]] = {}
    for change in [_opening(zone, start), *_changes(zone, start)]:
        groups.setdefault(change[1:], []).append(change.wall)
    for (before, after, name, summer), walls in groups.items():
        part = TimezoneDaylight() if summer else TimezoneStandard()
        part.add("dtstart", walls[0])
        part.add("tzoffsetfrom", before)
        part.add("tzoffsetto", after)
        part.add("tzname", name)
        if walls[1:]:
            part.add("rdate", walls[1:])
        made.add_component(part)
    return made


def _opening(zone: ZoneInfo, start: datetime) -> Change:
    local = start.astimezone(zone)
    offset = _offset(local)
    wall = local.replace(tzinfo=None)
    return Change(wall, offset, offset, str(local.tzname()), bool(local.dst()))


def _changes(zone: ZoneInfo, start: datetime) -> Iterator[Change]:
    """Every change after ``start``, to the minute."""
    moment, end = start, datetime(ZONE_UNTIL, 1, 1, tzinfo=UTC)
    while moment < end:
        later = moment + timedelta(days=1)
        before, after = (_offset(at.astimezone(zone)) for at in (moment, later))
        if before != after:
            turn = _turn(zone, moment, later)
            local = turn.astimezone(zone)
            wall = (turn + before).replace(tzinfo=None)
            yield Change(wall, before, after, str(local.tzname()), bool(local.dst()))
        moment = later


def _turn(zone: ZoneInfo, low: datetime, high: datetime) -> datetime:
    """The first minute with the later offset, between two moments."""
    old = _offset(low.astimezone(zone))
    while high - low > timedelta(minutes=1):
        middle = low + timedelta(minutes=(high - low) // timedelta(minutes=2))
        if _offset(middle.astimezone(zone)) == old:
            low = middle
        else:
            high = middle
    return high


def _offset(local: datetime) -> timedelta:
    return local.utcoffset() or timedelta()
