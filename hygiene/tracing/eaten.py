"""What a group of animals ate, by day and by head, and the air in which it grew."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, tzinfo
from decimal import Decimal
from typing import Any, Final, NamedTuple

from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.moments import days_between, moment_of
from hygiene.tracing.batches import Batch, whole
from hygiene.tracing.holds import Layout

READING_UNITS: Final = ("c", "f", "%", "% rh", "°c", "°f")


class DayFed(NamedTuple):
    """What a group was fed on one day at the farm, with its head count then."""

    day: date
    grams: int
    head: int | None
    batches: tuple[str, ...]

    @property
    def kg_per_head(self) -> Decimal | None:
        """Fresh fodder in kilograms a head, to 10 g; None where nobody counted."""
        if not self.head:
            return None
        return (Decimal(self.grams) / 1000 / self.head).quantize(Decimal("0.01"))


def head_on(versions: Iterable[Entry], day: date, zone: tzinfo) -> int | None:
    """The head count that stood at the end of a day, from a group's set-up entries."""
    last = None
    for entry in sorted(versions, key=lambda e: moment_of(e.happened_at)):
        if moment_of(entry.happened_at).astimezone(zone).date() <= day:
            last = entry.get("head") if entry.kind == "animals" else None
    return last if isinstance(last, int) else None


class Moved(NamedTuple):
    """An animal that came into a group, and the group that it came from."""

    tag: str
    came_from: str | None
    entry: Entry


def newcomers(setup: Iterable[Entry], group: str, since: datetime) -> list[Moved]:
    """The tagged animals that came into a group from a moment on.

    What they ate before stands on the sheet of the group that they came from.
    """
    found: list[Moved] = []
    home: dict[str, str] = {}
    for entry in sorted(setup, key=lambda e: moment_of(e.happened_at)):
        if entry.kind != "animals":
            continue
        code = str(entry.get("code"))
        for tag in texts_of(entry, "members"):
            came = code == group and home.get(tag) != group
            if came and moment_of(entry.happened_at) >= since:
                found.append(Moved(tag, home.get(tag), entry))
            home[tag] = code
    return found


def fed_by_day(
    feeds: Sequence[Entry],
    versions: Sequence[Entry],
    first: date,
    last: date,
    zone: tzinfo,
) -> list[DayFed]:
    """Every day of a stretch, both ends included, also those without a feed."""
    by_day: dict[date, list[Entry]] = {}
    for feed in feeds:
        day = moment_of(feed.happened_at).astimezone(zone).date()
        by_day.setdefault(day, []).append(feed)
    return [
        DayFed(
            day,
            sum(whole(feed, "grams") for feed in by_day.get(day, ())),
            head_on(versions, day, zone),
            tuple(dict.fromkeys(str(f.get("batch")) for f in by_day.get(day, ()))),
        )
        for day in days_between(first, last)
    ]


class RoomReading(NamedTuple):
    """A reading out of limit while a batch grew in that room."""

    sign_off: Entry
    room: str | None
    answer: Mapping[str, Any]


def out_of_limit(
    batch: Batch, sign_offs: Iterable[Entry], layout: Layout
) -> list[RoomReading]:
    """The room readings out of limit that stick to a batch: it grew there then.

    A reading of heat or damp that names no room sticks to every batch.
    """
    found = []
    for entry in sign_offs:
        at = moment_of(entry.happened_at)
        rooms = {layout.room_of.get(stay.rack or "") for stay in batch.standing(at)}
        if not rooms:
            continue
        for answer in rows_of(entry, "answers"):
            of = answer.get("of")
            here = of in rooms or of is None or rooms == {None}
            if here and answer.get("passed") is False and _of_air(answer):
                found.append(RoomReading(entry, of, answer))
    return found


def _of_air(answer: Mapping[str, Any]) -> bool:
    return str(answer.get("unit", "")).lower().strip() in READING_UNITS
