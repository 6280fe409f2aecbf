"""Which trays are cleared at a moment: what is read to judge that.

What counts is asked for by name and by index: the doses of the last days, what names
them, what last grew in their trays, and the mould that touched those. Nothing here
imports a kind's dataclass: the page of the day reads this.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from hygiene.acts.kits import checks_of
from hygiene.book.record import Record
from hygiene.errors import HygieneError
from hygiene.farm import kits
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Body, Entry, rows_of, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.sanitising import clearance
from hygiene.sanitising.clearance import Clearance, Growth, Shed, last_growth
from hygiene.sanitising.doses import Label, Told, read_dose, read_label, told
from hygiene.sanitising.labels import Rules

LOOK_BACK: Final = timedelta(days=60)
"""How far back mould is looked for by the page of the day. What is older was looked
for, without end, when the dose was written: the dose names it."""
MOST_SAID: Final = 10_000
LONGEST_CONTACT: Final = timedelta(days=2)
ENDS: Final = ("feed", "dispatch", "discard", "sample")
INSTANT: Final = timedelta(seconds=1)
A_FEW: Final = 20
SOWN_LATELY: Final = timedelta(days=21)
"""So long back sowings are read at once, not tray by tray: three growths, as a rule."""
NO_RINSE_REGION: Final = {"us-sprout-strict": "us"}
"""The profiles whose law has a ceiling under which nothing need be rinsed off."""


def matter(record: Record, name: str) -> Told:
    """A matter by any version's name, with its second looks."""
    return _told(record, record.history(name))


def matters(record: Record, firsts: Iterable[str]) -> dict[str, Told]:
    """Matters by the names of their first entries, with their second looks."""
    found = record.histories(sorted(firsts))
    return {first: _told(record, history) for first, history in found.items()}


def _told(record: Record, history: Sequence[Entry]) -> Told:
    looks = record.mentioning(history[-1].name) if len(history) > 1 else ()
    return told(history, looks)


def rules_of(
    record: Record, setup: Sequence[Entry], farm: InForce, at: datetime
) -> Rules:
    """What the farm file, its region and its kits ask for, up to a moment."""
    said = farm.farm or {}
    return Rules(
        clear_days=_whole(said, "clear_days", Rules().clear_days),
        deep_minutes=_whole(said, "deep_minutes", Rules().deep_minutes),
        no_rinse_up_to=_ceiling(NO_RINSE_REGION.get(str(said.get("profile")))),
        kit_fault=_kit_fault(record, setup, farm, at),
        kit_reads=lambda kit, then: texts_of(
            thing_then(setup, "kit", kit, then) or {}, "reads"
        ),
    )


def _whole(said: Body, key: str, default: int) -> int:
    given = said.get(key)
    # a number that no farm file may say is none
    return given if type(given) is int and 0 < given <= MOST_SAID else default


def _ceiling(region: str | None) -> Callable[[str | None], float | None]:
    if region is None:
        return lambda active: None

    def ceiling(active: str | None) -> float | None:
        # tables of the region's law: only where there is such a region
        from hygiene.sanitising.food_code import CEILINGS_US, sanitiser_of

        try:
            return CEILINGS_US[sanitiser_of(active or "")].mg_per_l
        except HygieneError:
            return None

    return ceiling


def _kit_fault(
    record: Record, setup: Sequence[Entry], farm: InForce, until: datetime
) -> Callable[[str, datetime], str | None]:
    """Why a kit did not count at a moment, its checks read once."""
    known: dict[str, list[kits.Check]] = {}

    def fault(code: str, at: datetime) -> str | None:
        body = thing_then(setup, "kit", code, at)
        if body is None:
            return f"kit {code} is not in the farm file"
        if code not in known:
            known[code] = checks_of(record, farm, code, max(until, at))
        why = kits.fault(body, known[code], at.astimezone(farm.zone))
        return None if why is None else f"kit {code} {why}"

    return fault


def thing_then(
    setup: Sequence[Entry], kind: str, code: str, at: datetime
) -> Body | None:
    """A thing of the set-up as it was last described at a moment.

    What happened before it was set up is judged by what was first said of it.
    """
    found = sorted(
        (e for e in setup if e.kind == kind and e.get("code") == code),
        key=lambda entry: moment_of(entry.happened_at),
    )
    known = [entry for entry in found if moment_of(entry.happened_at) <= at]
    last = known[-1:] or found[:1]
    return last[0].body if last else None


def label_then(
    setup: Sequence[Entry],
) -> Callable[[str, datetime], Label | None]:
    """The label of a product as it stood at a moment."""
    known: dict[tuple[str, datetime], Label | None] = {}

    def label(code: str, at: datetime) -> Label | None:
        if (code, at) not in known:
            body = thing_then(setup, "product", code, at)
            known[code, at] = None if body is None else read_label(body)
        return known[code, at]

    return label


class Law(NamedTuple):
    """What counts at a moment: the farm as set up, its rules, its products' labels."""

    farm: InForce
    rules: Rules
    label_then: Callable[[str, datetime], Label | None]


def law_at(
    record: Record,
    setup: Sequence[Entry],
    at: datetime,
    farm: InForce | None = None,
) -> Law:
    """What counts at a moment; ``farm`` is what is in force then, where it is known."""
    farm = farm or in_force(setup, at)
    return Law(farm, rules_of(record, setup, farm, at), label_then(setup))


class Reader:
    """Gathers matters by name, each once."""

    def __init__(self, record: Record) -> None:
        self.record = record
        self.doses: dict[str, Told] = {}
        self.rinses: dict[str, Told] = {}

    def take(self, names: Iterable[str]) -> None:
        """Add doses by their first names, all of the same tub, and what rinsed them."""
        new, asked = set(names) - self.doses.keys(), set(self.doses)
        while new:
            asked |= new
            doses = self._doses(new)
            self.doses |= doses
            heads = {
                dose.tub
                for made in doses.values()
                for dose in map(read_dose, made.versions)
            }
            naming = self.record.mentioning(*new, *heads, every_version=True)
            rinses = {entry.first for entry in naming if entry.kind == "rinse"}
            self.rinses |= matters(self.record, rinses - self.rinses.keys())
            mates = {entry.first for entry in naming if entry.kind == "dose"}
            new = (heads | mates) - asked

    def _doses(self, names: Iterable[str]) -> dict[str, Told]:
        """What a tub is named after may be no dose: an odd entry is passed over."""
        return {
            first: _told(self.record, history)
            for first, history in self.record.histories(sorted(names)).items()
            if history[0].kind == "dose"
        }


def dosed_lately(record: Record, law: Law, at: datetime) -> list[Entry]:
    """Every version of the doses that could still clear a tray."""
    since = at - timedelta(days=law.rules.clear_days) - LONGEST_CONTACT
    return record.all_versions(["dose"], since=since, before=at + INSTANT)


def shed_of_trays(
    record: Record,
    law: Law,
    at: datetime,
    trays: Iterable[str],
    recent: Sequence[Entry],
    *,
    find_back: timedelta | None = LOOK_BACK,
) -> Shed:
    """What is to be known of trays, to judge whether they are cleared at a moment.

    ``recent`` is what ``dosed_lately`` gives.
    """
    wanted = set(trays)
    reader = Reader(record)
    reader.take(e.first for e in recent if wanted & set(texts_of(e.body, "trays")))
    since = None if find_back is None else at - find_back
    known = {name for entry in recent for name in texts_of(entry.body, "finds")}
    touched = finds(record, wanted, at, since, known)
    deep = {name for found in touched.values() for name in found}
    naming = record.mentioning(*deep, every_version=True) if deep else ()
    reader.take(e.first for e in naming if e.kind == "dose")
    return clearance.shed(
        law.rules,
        law.label_then,
        reader.doses.values(),
        reader.rinses.values(),
        growths(record, wanted, at),
        touched,
    )


def shed_of_doses(
    record: Record, setup: Sequence[Entry], at: datetime, names: Iterable[str]
) -> Shed:
    """What is to be known of doses, by their first names, to judge each by itself."""
    reader = Reader(record)
    reader.take(names)
    return clearance.shed(
        rules_of(record, setup, in_force(setup, at), at),
        label_then(setup),
        reader.doses.values(),
        reader.rinses.values(),
    )


def growths(record: Record, trays: Iterable[str], at: datetime) -> dict[str, Growth]:
    """What last grew in each tray, by the strictest reading."""
    since, before = at - SOWN_LATELY, at + INSTANT
    lately = record.all_versions(["sow"], since=since, before=before)
    return last_growths(record, last_sowings(record, trays, at, lately), at)


def last_sowings(
    record: Record, trays: Iterable[str], at: datetime, lately: Sequence[Entry]
) -> dict[str, list[Told]]:
    """The last sowing of each tray, or the last few: as many as are wanted.

    ``lately`` is every version of the sowings of late; only for the trays that none of
    them names the record is asked.
    """
    newest: dict[str, str] = {}
    for entry in reversed(lately):
        first = entry.first
        for row in rows_of(entry.body, "places"):
            newest.setdefault(str(row.get("tray")), first)
    asked = list(trays)
    known = matters(record, {newest[tray] for tray in asked if tray in newest})
    made: dict[str, list[Told]] = {}
    for tray in asked:
        last = known.get(newest.get(tray, ""))
        # one that a second person found to be wrong no longer counts
        if last is not None and last.versions:
            made[tray] = [last]
        else:
            made[tray] = _sowings_of(record, tray, at)
    return made


def _sowings_of(record: Record, tray: str, at: datetime) -> list[Told]:
    made: list[Told] = []
    for most in (1, A_FEW):
        found = record.latest("sow", tray, before=at + INSTANT, most=most)
        made = list(matters(record, {entry.first for entry in found}).values())
        if not found or any(sow.versions for sow in made):
            break
    return made


def last_growths(
    record: Record, sowings: Mapping[str, Sequence[Told]], at: datetime
) -> dict[str, Growth]:
    """What last grew in each tray by these sowings, and when it was emptied."""
    batches = {
        str(version.get("batch"))
        for sown in sowings.values()
        for sow in sown
        for version in sow.versions
    }
    ends = _ends_by_tray(record, batches)
    made = {
        tray: last_growth(tray, sown, ends.get(tray, ()), at)
        for tray, sown in sowings.items()
    }
    return {tray: growth for tray, growth in made.items() if growth is not None}


def _ends_by_tray(record: Record, batches: Iterable[str]) -> dict[str, list[Told]]:
    """What ended trays of these batches, by every tray that any version names."""
    codes = sorted(batches)
    naming = record.versions_naming(*codes) if codes else ()
    said = [version for version in naming if version.entry.kind in ENDS]
    # as a rule there is one version, which need not be read again
    alone = [v.entry for v in said if v.stands and v.entry.corrects is None]
    found = {entry.first: told((entry,)) for entry in alone}
    found |= matters(record, {v.entry.first for v in said} - found.keys())
    ends: dict[str, list[Told]] = {}
    for end in found.values():
        for tray in {t for v in end.versions for t in texts_of(v.body, "trays")}:
            ends.setdefault(tray, []).append(end)
    return ends


def finds(
    record: Record,
    trays: Iterable[str],
    at: datetime,
    since: datetime | None,
    known: Iterable[str] = (),
) -> dict[str, frozenset[str]]:
    """The mould records that touch each tray: that name it, or a batch it grew in.

    Those since a moment, and those that are ``known`` by name.
    """
    moulds = record.all_versions(["mould"], since=since, before=at + INSTANT)
    older = set(known) - {mould.first for mould in moulds}
    moulds += [v for name in older for v in record.history(name) if v.kind == "mould"]
    if not moulds:
        return {}
    of_batch = _trays_of({b for mould in moulds for b in _batches(mould)}, record)
    wanted = set(trays)
    touched: dict[str, set[str]] = {}
    for mould in moulds:
        named = set(texts_of(mould.body, "trays"))
        named |= {t for batch in _batches(mould) for t in of_batch.get(batch, ())}
        for tray in named & wanted:
            touched.setdefault(tray, set()).add(mould.first)
    return {tray: frozenset(names) for tray, names in touched.items()}


def _batches(mould: Entry) -> set[str]:
    return {
        str(code)
        for code in (mould.get("batch"), *texts_of(mould.body, "batches"))
        if code
    }


def _trays_of(batches: set[str], record: Record) -> Mapping[str, set[str]]:
    """Every tray that any version of a sowing put into each batch."""
    made: dict[str, set[str]] = {}
    naming = record.mentioning(*batches, every_version=True) if batches else ()
    for entry in naming:
        if entry.kind == "sow":
            rows = rows_of(entry.body, "places")
            trays = made.setdefault(str(entry.get("batch")), set())
            trays |= {str(row.get("tray")) for row in rows}
    return made


def trays_cleared(
    record: Record,
    setup: Sequence[Entry],
    at: datetime,
    trays: Sequence[str] | None = None,
) -> dict[str, Clearance]:
    """Each tray that was asked about, or was dosed lately: cleared, or why not."""
    return _trays_cleared(record, law_at(record, setup, at), at, trays)


def _trays_cleared(
    record: Record, law: Law, at: datetime, trays: Sequence[str] | None = None
) -> dict[str, Clearance]:
    recent = dosed_lately(record, law, at)
    if trays is None:
        trays = sorted({tray for e in recent for tray in texts_of(e.body, "trays")})
    shed = shed_of_trays(record, law, at, trays, recent)
    return {tray: clearance.of_tray(tray, shed, at) for tray in trays}


class TraysNow(NamedTuple):
    """Trays cleared at a moment, beside how many are sown on a day lately."""

    cleared: tuple[str, ...]
    waiting: Mapping[str, Clearance]
    sown_a_day: int


LATELY: Final = 7


def trays_now(record: Record, law: Law, at: datetime) -> TraysNow:
    """Cleared trays against tomorrow's need: the mean of the days sown of a week."""
    found = _trays_cleared(record, law, at)
    sown = record.entries(["sow"], since=at - timedelta(days=LATELY), before=at)
    days = {moment_of(entry.happened_at).date() for entry in sown}
    trays = sum(len(rows_of(entry.body, "places")) for entry in sown)
    waiting = {
        tray: made
        for tray, made in found.items()
        if not made.cleared and not any("sown in it since" in why for why in made.whys)
    }
    return TraysNow(
        tuple(tray for tray, made in found.items() if made.cleared),
        waiting,
        -(-trays // len(days)) if days else 0,
    )
