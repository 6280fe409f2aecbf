"""Whether a tray may be sown in, and whether a line may water, and why not.

Anything unknown: not cleared. The last dose decides, with every version of it that
still counts; a correction or a strike never clears anything by itself.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from hygiene.kinds.entry import rows_of, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.sanitising.doses import (
    Dosed,
    DoseTold,
    Label,
    Read,
    Rinsed,
    Told,
    firm,
    is_chlorine,
    read_told,
    text,
)
from hygiene.sanitising.labels import Fault, Rules, label_faults
from hygiene.sanitising.verdict import (
    HOLD_SOURCE,
    contact_of,
    hold_of,
    kit_faults,
    tray_faults,
)

AS_INCOMING_MG_PER_L: Final = 0.5
"""How far above the incoming water the last nozzle may read: one step of a strip,
common practice, no source."""
MIXED: Final = frozenset({"two-products", "must-not-meet"})
"""Marks of a dose after which nothing but another dose clears."""
CURABLE: Final = frozenset({"not-rinsed", "above-no-rinse", "left-on-it"})
"""Faults that a later rinse puts right."""


class Clearance(NamedTuple):
    """Cleared or not, and why not; the dose that decides; up to when it counts."""

    whys: tuple[str, ...]
    dose: str | None = None
    until: datetime | None = None

    @property
    def cleared(self) -> bool:
        """Whether nothing stands against it."""
        return not self.whys


class Growth(NamedTuple):
    """What last grew in a tray: its batch, when it was sown, when it was emptied."""

    batch: str
    sown: datetime
    emptied: datetime | None


class Shed(NamedTuple):
    """What was read of a shed, to judge its trays and lines; made by ``shed``."""

    rules: Rules
    label_then: Callable[[str, datetime], Label | None]
    doses: tuple[DoseTold, ...] = ()
    rinses: tuple[Rinsed, ...] = ()
    growth: Mapping[str, Growth] = {}
    finds: Mapping[str, frozenset[str]] = {}

    def tub(self, dose: Dosed) -> list[Dosed]:
        """Every version of every dose that was made from the same tub."""
        return [v for told in self.doses for v in told.versions if v.tub == dose.tub]

    def rinsed(self, dose: Dosed) -> list[Rinsed]:
        """The rinses that name a dose, or another of its tub, in order."""
        names = {dose.first, *(each.first for each in self.tub(dose))}
        found = [rinse for rinse in self.rinses if rinse.doses & names]
        return sorted(found, key=lambda rinse: rinse.at)

    def faults(self, dose: Dosed, tray: str) -> list[Fault]:
        """Everything against one version of a dose of a tray."""
        label = self.label_then(dose.product, dose.started)
        tub, rinses = self.tub(dose), self.rinsed(dose)
        found = tray_faults(dose, tray, label, self.rules, tub=tub, rinses=rinses)
        return list(found)


def shed(
    rules: Rules,
    label_then: Callable[[str, datetime], Label | None],
    doses: Iterable[Told] = (),
    rinses: Iterable[Told] = (),
    growth: Mapping[str, Growth] | None = None,
    finds: Mapping[str, frozenset[str]] | None = None,
) -> Shed:
    """Read what was gathered once for all trays and lines.

    ``doses`` are those of the trays and lines in question with all of the same tub,
    ``rinses`` those that name them. ``growth`` is what last grew in a tray, ``finds``
    the mould records that touch it. ``label_then`` gives the label that was in force.
    """
    return Shed(
        rules,
        label_then,
        tuple(map(read_told, doses)),
        tuple(map(firm, rinses)),
        growth or {},
        finds or {},
    )


def last_growth(
    tray: str, sowings: Iterable[Told], ends: Iterable[Told], before: datetime
) -> Growth | None:
    """What was last sown in a tray by any version, and when all agree it was emptied.

    ``ends`` are what was fed, sent, discarded or sampled of those batches.
    """
    sown = [
        (moment_of(version.happened_at), text(version.body, "batch") or "")
        for told in sowings
        for version in told.versions
        if tray in (row.get("tray") for row in rows_of(version.body, "places"))
        and moment_of(version.happened_at) <= before
    ]
    if not sown:
        return None
    at, batch = max(sown)
    emptied = [
        max(moment_of(version.happened_at) for version in told.versions)
        for told in ends
        if told.stands is not None
        and all(
            version.get("batch") == batch and tray in texts_of(version.body, "trays")
            for version in told.versions
        )
    ]
    return Growth(batch, at, min(emptied, default=None))


def of_tray(tray: str, shed: Shed, at: datetime) -> Clearance:
    """Whether a tray is cleared at a moment: emptied, washed, sanitised, dry, lately.

    Sanitised: strength read in range around its contact by kits in date, as warm and
    as long as the label says, rinsed if the label says so; after mould, deep.
    """
    found = [(_start(told, tray, at), told) for told in shed.doses]
    dated = [(start, told) for start, told in found if start is not None]
    if not dated:
        return Clearance(("nothing shows that it was washed and sanitised lately",))
    last = max(start for start, _ in dated)
    growth = shed.growth.get(tray)
    if growth is not None and growth.sown >= last:
        # the dose is used up: whatever else was wrong with it no longer matters
        return Clearance((f"{growth.batch} was sown in it since",))
    whys: list[str] = []
    ended = last
    for told in (told for start, told in dated if start == last):
        whys += _of_matter(tray, told, shed)
        ended = max([ended, *_ends(tray, told, shed)])
    whys += _growing(growth, last)
    whys += _mouldy(tray, shed)
    until = ended + timedelta(days=shed.rules.clear_days)
    if at > until:
        whys.append(f"sanitised over {shed.rules.clear_days} days ago")
    name = next(told.name for start, told in dated if start == last)
    return Clearance(tuple(dict.fromkeys(whys)), name, None if whys else until)


def _start(told: DoseTold, tray: str, before: datetime) -> datetime | None:
    started = [
        dose.started
        for dose in told.versions
        if tray in dose.trays and dose.started <= before
    ]
    return max(started, default=None)


def _ends(tray: str, told: DoseTold, shed: Shed) -> Iterator[datetime]:
    for dose in told.versions:
        contact = contact_of(dose, tray, shed.tub(dose), shed.rinsed(dose))
        if contact.ended is not None:
            yield contact.ended


def _of_matter(tray: str, told: DoseTold, shed: Shed) -> Iterator[str]:
    """Why not, by every version of a dose that counts."""
    if not told.stands:
        yield (
            f"its dose {told.name} is ruled through, and no second person has looked "
            f"at that: hygiene countersign {told.last}"
        )
    older = len(told.versions) > 1
    if older and told.stands and any(_against_older(tray, told, shed)):
        yield (
            f"{told.name} was put right, which counts alone once a second person has "
            f"looked: hygiene countersign {told.last}"
        )
    for dose in told.versions:
        if tray not in dose.trays:
            yield f"one version of {told.name} does not name it"
            continue
        yield from _of_version(tray, dose, shed)


def _against_older(tray: str, told: DoseTold, shed: Shed) -> Iterator[str]:
    for dose in told.versions[:-1]:
        yield from _of_version(tray, dose, shed)


def _of_version(tray: str, dose: Dosed, shed: Shed) -> Iterator[str]:
    # too strong alone is put right by a rinse after which a strip reads 0
    yield from (f.says for f in shed.faults(dose, tray) if f.mark != "too-strong")
    yield from (
        f"{mark.replace('-', ' ')}, as was marked when {dose.first} was written"
        for mark in sorted(dose.marks & MIXED)
    )
    if not _dry(dose, _on(tray, shed.rinsed(dose))):
        yield "that it is dry is not written"


def _on(thing: str, rinses: Iterable[Rinsed]) -> list[Rinsed]:
    return [rinse for rinse in rinses if thing in rinse.things]


def _dry(dose: Dosed, rinses: Iterable[Rinsed]) -> bool:
    dry = dose.dry is True
    for rinse in rinses:
        dry = rinse.dry if rinse.rinsed else dry or rinse.dry
    return dry


def _growing(growth: Growth | None, dosed: datetime) -> Iterator[str]:
    if growth is None:
        return
    if growth.emptied is None or growth.emptied > dosed:
        yield f"{growth.batch} was not written as out of it before it was sanitised"


def _mouldy(tray: str, shed: Shed) -> Iterator[str]:
    """Mould that touched it and that no sound deep dose of it answers, by name."""
    owed = set(shed.finds.get(tray, ()))
    for told in shed.doses if owed else ():
        if told.stands and all(_sound(tray, v, shed) for v in told.versions):
            owed -= frozenset.intersection(*(v.finds for v in told.versions))
    if owed:
        yield f"after mould ({', '.join(sorted(owed))}) it needs the deep variant"


def _sound(tray: str, dose: Dosed, shed: Shed) -> bool:
    """Whether a deep dose of the tray was as it should be, but for its rinse."""
    if not dose.deep or tray not in dose.trays or dose.marks & MIXED:
        return False
    curable = CURABLE | {"too-strong"}
    return all(fault.mark in curable for fault in shed.faults(dose, tray))


def owed_finds(tray: str, shed: Shed) -> frozenset[str]:
    """The mould records that a dose of this tray must answer, by being deep."""
    return frozenset() if not any(_mouldy(tray, shed)) else shed.finds[tray]


def of_line(line: str, shed: Shed, below: Sequence[str], at: datetime) -> Clearance:
    """Whether a line may water after the last dose that was no everyday one.

    Nothing grew ``below``, the timer was locked off, the dose reached the last nozzle
    and stood, it was flushed, the last nozzle reads as the incoming water, and the
    timer is on again. A line that was never shocked is cleared.
    """
    dated = [
        (max(dose.started for dose in told.versions), told)
        for told in shed.doses
        if told.versions
    ]
    if not dated:
        return Clearance(())
    last = max(start for start, _ in dated)
    whys: list[str] = []
    for told in (told for start, told in dated if start == last):
        if not told.stands:
            whys.append(
                f"its dose {told.name} is ruled through, and no second person has "
                f"looked at that: hygiene countersign {told.last}"
            )
        for dose in told.versions:
            whys += _of_shock(line, dose, shed)
    if below:
        whys.append(f"trays grew below it: {', '.join(below[:4])}")
    name = next(told.name for start, told in dated if start == last)
    return Clearance(tuple(dict.fromkeys(whys)), name)


def _of_shock(line: str, dose: Dosed, shed: Shed) -> Iterator[str]:
    label = shed.label_then(dose.product, dose.started)
    yield from (fault.says for fault in label_faults(dose, label))
    rinses = _on(line, shed.rinsed(dose))
    if dose.locked_off_by is None:
        yield "who locked its timer off is not written"
    flushed = [rinse for rinse in rinses if rinse.rinsed]
    ended = dose.ended or (flushed[0].at if flushed else None)
    ends = [r for rinse in rinses for r in rinse.readings if r.spot == "end"]
    if label is not None:
        yield from _held(dose, [*dose.readings, *ends], label, ended)
    yield from _flushed(rinses)
    readings = [(r, dose.started) for r in dose.readings]
    readings += [(r, rinse.at) for rinse in rinses for r in rinse.readings]
    yield from (
        fault.says for fault in kit_faults(readings, shed.rules, label and label.active)
    )


def _held(
    dose: Dosed, readings: Sequence[Read], label: Label, ended: datetime | None
) -> Iterator[str]:
    """Whether it reached the last nozzle, and stood for long and strong enough."""
    rule = hold_of(dose.target_mg_per_l or 0) if is_chlorine(label.active) else None
    hours, keep = rule or (0.0, 0.0)
    need = max(60 * hours, label.contact_minutes or 0)
    least = max(keep, label.least_mg_per_l or 0)
    yield from _read_there(readings, "nozzle", least, "to say that it got there")
    if keep:
        yield from _read_there(readings, "end", keep, "at the end of the hold")
    if ended is None:
        yield f"it stands: {need:g} min from {dose.started:%d %b %H:%M}"
        return
    minutes = (ended - dose.started).total_seconds() / 60
    if minutes < need:
        yield f"it stood {minutes:g} min of {need:g} ({HOLD_SOURCE}; {label.source})"


def _read_there(
    readings: Iterable[Read], spot: str, least: float, why: str
) -> Iterator[str]:
    found = [read for read in readings if read.spot == spot]
    if not found:
        yield f"no reading {why} ({spot})"
    elif least and min(read.mg_per_l for read in found) < least:
        low = min(read.mg_per_l for read in found)
        yield f"{spot} {low:g} mg/L, at least {least:g} {why}"


def _flushed(rinses: Sequence[Rinsed]) -> Iterator[str]:
    if not any(rinse.rinsed for rinse in rinses):
        yield "it was not flushed"
        return
    nozzle = _last_read(rinses, "nozzle")
    incoming = _last_read(rinses, "incoming")
    if nozzle is None or incoming is None:
        lacks = "the last nozzle" if nozzle is None else "the incoming water"
        yield f"{lacks} was not read after the flush"
    elif nozzle > incoming + AS_INCOMING_MG_PER_L:
        yield f"the last nozzle reads {nozzle:g} mg/L, the incoming water {incoming:g}"
    if not any(rinse.timer_on for rinse in rinses):
        yield "that its timer is on again is not written"


def _last_read(rinses: Sequence[Rinsed], spot: str) -> float | None:
    """The latest reading at a spot; of several in one flush the highest nozzle."""
    for rinse in reversed(rinses):
        found = [read.mg_per_l for read in rinse.readings if read.spot == spot]
        if found:
            return max(found) if spot == "nozzle" else min(found)
    return None
