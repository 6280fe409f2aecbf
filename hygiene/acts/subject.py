"""What a trace begins with: any code or entry, and the batches that it asks about.

A tray, a group, a buyer, a line, a rack or a room is something only together with
days: it held other batches before and after. Read only.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.codes import FIRST_KIND, UnknownCode, entries_of, meant, no_such
from hygiene.acts.standing import LOOK_BACK, layout
from hygiene.book.record import Record
from hygiene.errors import Unknown, WronglyPut
from hygiene.farm.in_force import InForce
from hygiene.kinds.codes import PREFIXES, WrongCode, own_code, read_minted
from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.moments import day_span, moment_of
from hygiene.tracing.batches import KINDS, Batch, read_batches
from hygiene.tracing.lineage import Node

DATED: Final = ("tray", "animals", "buyer", "line", "rack", "room", "tank")
"""What means something only together with days."""
SORTS: Final = (*DATED, "supplier")
A_YEAR: Final = timedelta(days=365)
BEFORE_ILL: Final = timedelta(days=21)
"""How far back the fodder of sick animals is traced, as on the vet's sheet."""
MINTED: Final = {prefix: sort for sort, prefix in PREFIXES.items()}


class NothingThere(Unknown):
    """Nothing grew, was fed or was sent there in those days."""

    sentence = "{what} {days}"


class NothingToTrace(WronglyPut):
    """An entry that moved no material and is about none."""

    sentence = "{name} is a {kind}: there is nothing to trace from it"


class Subject(NamedTuple):
    """What is asked about; ``batches`` are those in question, ``start`` where to begin.

    ``first`` and ``last`` are days at the farm, both included; None: not by days.
    """

    sort: str
    code: str
    batches: tuple[str, ...] = ()
    start: tuple[Node, ...] = ()
    first: date | None = None
    last: date | None = None
    entry: Entry | None = None

    @property
    def days(self) -> str:
        """Its days in words, or nothing."""
        return in_days(self.first, self.last)


def subject_of(
    record: Record,
    farm: InForce,
    given: str,
    now: datetime,
    first: date | None = None,
    last: date | None = None,
) -> Subject:
    """What a code or an entry's name means, on or between days (else today).

    ``farm`` is as it stood on the last of them. Raises ``UnknownCode`` with the
    nearest, ``NothingThere`` with where to look, or ``NothingToTrace``.
    """
    if "/" in given:
        paper = _of_paper(record, own_code(given))
        return paper or _of_entry(record, farm, record.entry(given.strip()))
    for sort in SORTS:
        code = _standing_code(farm, sort, given)
        if code is not None:
            return _of_thing(record, farm, sort, code, now, first, last)
    return _of_minted(record, farm, given)


def _standing_code(farm: InForce, sort: str, given: str) -> str | None:
    wanted = given.strip().upper()
    return next((c for c in farm.things(sort) if c.upper() == wanted), None)


def _of_minted(record: Record, farm: InForce, given: str) -> Subject:
    try:
        code = read_minted(given)
    except WrongCode:
        code = given.strip().upper()
    sort = MINTED.get(code[:1]) if code else None
    paper = _of_paper(record, given.strip())
    if paper is not None:
        return paper
    if sort is None:
        raise _unknown(farm, given)
    return _of_code(sort, meant(record, sort, given))


def _of_paper(record: Record, own: str) -> Subject | None:
    """What a number of the farm's own, from an old paper, means."""
    for sort, kind in FIRST_KIND.items():
        if entries_of(record, kind, sort, own):
            return _of_code(sort, own)
    return None


def _of_code(sort: str, code: str) -> Subject:
    batches = (code,) if sort == "batch" else ()
    return Subject(sort, code, batches, (Node(sort, code),))


def _unknown(farm: InForce, given: str) -> UnknownCode:
    return no_such(
        farm,
        SORTS,
        given,
        "give a lot, supplier, batch, tray, group, buyer, container, line, rack "
        "or room, or the name of an entry",
    )


def _of_thing(
    record: Record,
    farm: InForce,
    sort: str,
    code: str,
    now: datetime,
    first: date | None,
    last: date | None,
) -> Subject:
    today = now.astimezone(farm.zone).date()
    if sort == "supplier":
        days = (first or today - A_YEAR, last or today)
        return Subject(sort, code, (), (Node(sort, code),), *days)
    days = (first or last or today, last or first or today)
    start, end = day_span(*days, farm.zone)
    found = _batches_of(record, farm, sort, code, start, end)
    if not found:
        raise _nothing(record, farm, sort, code, days, start)
    return _by_days(sort, code, found, *days)


def _batches_of(
    record: Record, farm: InForce, sort: str, code: str, start: datetime, end: datetime
) -> tuple[str, ...]:
    match sort:
        case "tray":
            return _in_tray(record, code, start, end)
        case "animals":
            return _went_to(record, "feed", sort, code, start, end)
        case "buyer":
            return _went_to(record, "dispatch", sort, code, start, end)
    return _stood_at(record, farm, sort, code, start, end)


def _in_tray(
    record: Record, tray: str, start: datetime, end: datetime
) -> tuple[str, ...]:
    """The batches that stood in a tray in these days, by what stands.

    Where an entry no longer stands that put one into it, that one counts as well.
    """
    sowings = record.latest("sow", tray, before=end, most=4)
    codes = dict.fromkeys(str(sow.get("batch")) for sow in sowings)
    batches = _read(record, codes)
    return tuple(
        code
        for code in reversed(codes)
        if code not in batches or _stood_in(batches[code], tray, start, end)
    )


def _stood_in(batch: Batch, tray: str, start: datetime, end: datetime) -> bool:
    mine = [stay for stay in batch.stays if stay.tray == tray]
    if not mine:
        return batch.over is None or batch.over > start
    return any(
        stay.since < end and (stay.until is None or stay.until > start) for stay in mine
    )


def _went_to(
    record: Record, kind: str, sort: str, code: str, start: datetime, end: datetime
) -> tuple[str, ...]:
    found = record.all_versions([kind], since=start, before=end)
    mine = (str(e.get("batch")) for e in found if e.get(sort) == code)
    return tuple(dict.fromkeys(mine))


def _stood_at(
    record: Record, farm: InForce, sort: str, code: str, start: datetime, end: datetime
) -> tuple[str, ...]:
    """The batches that grew on a rack, in a room, or under a line or tank."""
    sown = record.all_versions(["sow"], since=start - LOOK_BACK, before=end)
    place = layout(farm)
    batches = _read(record, dict.fromkeys(str(sow.get("batch")) for sow in sown))

    def there(batch: Batch) -> bool:
        lines = {str(s.get("line")) for s in sown if s.get("batch") == batch.code}
        if sort in ("line", "tank"):
            return code in lines or code in {place.tank_of.get(str(n)) for n in lines}
        stays = (s for s in batch.stays if s.until is None or s.until > start)
        racks = {stay.rack for stay in stays if stay.since < end}
        return code in racks or code in {place.room_of.get(r or "") for r in racks}

    standing = (b for b in batches.values() if b.over is None or b.over > start)
    return tuple(batch.code for batch in standing if there(batch))


def _read(record: Record, codes: Iterable[str]) -> dict[str, Batch]:
    wanted = sorted(codes)
    found = record.mentioning(*wanted) if wanted else []
    return read_batches(entry for entry in found if entry.kind in KINDS)


def _nothing(
    record: Record,
    farm: InForce,
    sort: str,
    code: str,
    days: tuple[date, date],
    start: datetime,
) -> NothingThere:
    kind, verb = {
        "animals": ("feed", "was fed"),
        "buyer": ("dispatch", "was sent"),
    }.get(sort, ("sow", "was sown"))
    what = {
        "animals": f"nothing was fed to {code}",
        "buyer": f"nothing was sent to {code}",
    }.get(sort, f"nothing grew at {sort} {code}")
    way = f"say another day: hygiene trace {code} --on DATE"
    if sort in ("tray", "animals", "buyer"):
        before = record.latest(kind, code, before=start)
        if before:
            day = moment_of(before[0].happened_at).astimezone(farm.zone).date()
            batch = before[0].get("batch")
            way = f"{batch} {verb} on {day}: hygiene trace {code} --on {day}"
    return NothingThere(what=what, days=in_days(*days), way_out=way)


def in_days(first: date | None, last: date | None) -> str:
    """Days in words: on 2026-03-09; from 2026-03-01 to 2026-03-05."""
    if first is None or last is None:
        return ""
    return f"on {first}" if first == last else f"from {first} to {last}"


def _of_entry(record: Record, farm: InForce, entry: Entry) -> Subject:
    """What an entry is about: a find, an incident, a hold, a feed, a dose ..."""
    first = record.entry(entry.first)
    found = _Entries(record, farm).subject(first)
    if found is None:
        raise NothingToTrace(
            name=first.name,
            kind=first.kind.replace("_", " "),
            way_out="give a batch, a lot, a tray with --on DATE, or a find of mould",
        )
    return found._replace(entry=first)


class _Entries:
    """What entries are about, each asked once: entries may name each other."""

    def __init__(self, record: Record, farm: InForce) -> None:
        self.record = record
        self.farm = farm
        self.seen: set[str] = set()

    def subject(self, entry: Entry) -> Subject | None:
        if entry.first in self.seen:
            return None
        self.seen.add(entry.first)
        versions = self.record.history(entry.first)
        match versions[0].kind:
            case "dose":
                return Subject("dose", entry.first, (), (Node("dose", entry.first),))
            case "ill":
                return self._ill(versions[0])
        said = [version for version in versions if version.kind != "strike"]
        return self._codes(said) or self._answered(said) or self._places(said)

    def _codes(self, said: Sequence[Entry]) -> Subject | None:
        """The batches, or else the lot or container, that any version names."""
        batches = dict.fromkeys(code for v in said for code in _batches_in(v))
        if batches:
            nodes = tuple(Node("batch", code) for code in batches)
            return Subject("batch", ", ".join(batches), tuple(batches), nodes)
        for sort in ("lot", "container"):
            for version in said:
                held = version.get("sort") == sort
                code = version.get("held" if held else sort)
                if isinstance(code, str):
                    return _of_code(sort, code)
        return None

    def _answered(self, said: Sequence[Entry]) -> Subject | None:
        """What the entries and codes are about that it answers, taken together."""
        keys = ("about", "action", "hold", "concerns")
        named = [str(v.get(key)) for v in said for key in keys if v.get(key)]
        for version in said:
            named += [*texts_of(version, "abouts"), *texts_of(version, "holds")]
            wrote = (row.get("wrote") for row in rows_of(version, "answers"))
            named += [str(name) for name in wrote if name]
        found = [self._of_name(name) for name in dict.fromkeys(named)]
        return _together([each for each in found if each is not None])

    def _of_name(self, name: str) -> Subject | None:
        if "/" in name:
            return self.subject(self.record.entry(name))
        try:
            code = read_minted(name)
        except WrongCode:
            return None
        return _of_code(MINTED[code[:1]], code) if code else None

    def _places(self, said: Sequence[Entry]) -> Subject | None:
        """What stood on that day at the rack, line, room or tank that is named."""
        for version in said:
            sort, code = version.get("sort"), version.get("held")
            if sort not in DATED or not isinstance(code, str):
                sort, code = "rack", version.get("rack")
            if isinstance(code, str):
                return self._on_the_day(str(sort), code, version)
        return None

    def _on_the_day(self, sort: str, code: str, entry: Entry) -> Subject | None:
        day = moment_of(entry.happened_at).astimezone(self.farm.zone).date()
        span = day_span(day, day, self.farm.zone)
        batches = _batches_of(self.record, self.farm, sort, code, *span)
        return _by_days(sort, code, batches, day, day) if batches else None

    def _ill(self, said: Entry) -> Subject | None:
        """What the group ate in the three weeks up to the day it was written."""
        group, at = str(said.get("animals")), moment_of(said.happened_at)
        last = at.astimezone(self.farm.zone).date()
        first = last - BEFORE_ILL
        span = day_span(first, last, self.farm.zone)
        batches = _went_to(self.record, "feed", "animals", group, *span)
        return _by_days("animals", group, batches, first, last) if batches else None


def _by_days(
    sort: str, code: str, batches: tuple[str, ...], first: date, last: date
) -> Subject:
    nodes = tuple(Node("batch", batch) for batch in batches)
    return Subject(sort, code, batches, nodes, first, last)


def _together(found: Sequence[Subject]) -> Subject | None:
    if not found:
        return None
    batches = dict.fromkeys(code for each in found for code in each.batches)
    start = dict.fromkeys(node for each in found for node in each.start)
    return found[0]._replace(batches=tuple(batches), start=tuple(start))


def _batches_in(entry: Entry) -> list[str]:
    held = entry.get("held") if entry.get("sort") == "batch" else None
    codes = (entry.get("batch"), held, *texts_of(entry, "batches"))
    return [code for code in codes if isinstance(code, str)]
