"""What a dose is worth, against its label and the farm's rules: each fault by itself.

A fault is *failed* where something is known to be wrong, and *unknown* where nobody
wrote what would have to be known. Failed ones mark the entry for ever and open its
corrective action; for clearance an unknown counts as much as a failure.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.sanitising.doses import (
    IN_THE_TUB,
    Dosed,
    Label,
    Read,
    Rinsed,
    kept_in_the_water,
)
from hygiene.sanitising.labels import (
    FARM_FILE,
    Fault,
    Rules,
    above_no_rinse,
    bounds,
    label_faults,
    unknown,
)

CLEAN_FIRST: Final = (
    "clean and rinse before sanitising: dirt uses the sanitiser up (CDC, Best "
    "Practices for Environmental Cleaning)"
)
SAID: Final[Mapping[str, str]] = {
    "start": "at the start",
    "mid": "in the middle",
    "end": "at the end",
    "nozzle": "at the last nozzle",
    "incoming": "of the incoming water",
    "rinsed": "after the rinse",
}
UNSTEADY: Final = ("soak", None)
"""Ways of sanitising in which many trays share one tub; not said: taken for a tub."""


class Contact(NamedTuple):
    """The readings that speak for one dose, and when its contact ended."""

    ended: datetime | None
    readings: tuple[Read, ...]
    lacks: tuple[Fault, ...] = ()


def contact_of(
    dose: Dosed,
    thing: str,
    tub: Sequence[Dosed] = (),
    rinses: Iterable[Rinsed] = (),
) -> Contact:
    """The readings around a dose: the last before it, those in it, the first after.

    ``tub`` and ``rinses`` are those of the whole tub; a rinse of the ``thing`` ends
    its contact. A tub for several trays needs a reading on either side, so a failed
    one speaks against every tray since the last good one.
    """
    after = sorted((r for r in rinses if r.at >= dose.started), key=lambda r: r.at)
    washed = (r.at for r in after if r.rinsed and thing in r.things)
    ended = dose.ended or next(washed, None)
    timed = _timed(dose, ended, tub, after)
    earlier = [at for at, _ in timed if at <= dose.started]
    later = [at for at, _ in timed if ended is not None and at >= ended]
    first = max(earlier, default=None)
    last = min(later, default=None)
    spoken = tuple(
        read
        for at, read in timed
        if at in (first, last) or (at > dose.started and (not ended or at < ended))
    )
    return Contact(ended, spoken, tuple(_lacking(dose, tub, first, last, spoken)))


def _timed(
    dose: Dosed, ended: datetime | None, tub: Sequence[Dosed], after: Sequence[Rinsed]
) -> list[tuple[datetime, Read]]:
    """The tub's readings with their moments; a first or last one stands at that end."""
    made = []
    for each in (dose, *(d for d in tub if d.name != dose.name)):
        end = ended if each.name == dose.name else each.ended
        for read in each.readings:
            at = read.at or {"start": each.started, "end": end}.get(read.spot)
            if read.spot in IN_THE_TUB and at is not None:
                made.append((at, read))
    for rinse in after:
        ends = [read for read in rinse.readings if read.spot == "end"]
        made += [(read.at or rinse.at, read) for read in ends]
    return made


def _lacking(
    dose: Dosed,
    tub: Sequence[Dosed],
    first: datetime | None,
    last: datetime | None,
    spoken: Sequence[Read],
) -> Iterator[Fault]:
    shared = len({tray for each in (dose, *tub) for tray in each.trays}) > 1
    if not (shared and dose.way in UNSTEADY):
        if not spoken:
            yield _unread("no strength was read")
        return
    if first is None:
        yield _unread("no strength was read at the start of the tub")
    if last is None:
        yield _unread("no strength was read at the end of the tub")


def _unread(says: str) -> Fault:
    return unknown(
        "not-read",
        says,
        "a tub for many trays is read at its start and its end",
        "read it: hygiene rinse TRAYS --read end=PPM --kit CODE",
    )


def strength_faults(
    readings: Iterable[Read], low: float | None, high: float | None, source: str
) -> Iterator[Fault]:
    """Readings out of range; where a scale ended (< or >) it may be unknown."""
    for read in readings:
        shown = f"{read.sign or ''}{read.mg_per_l:g} mg/L {SAID.get(read.spot, '')}"
        if low is not None and _below(read, low):
            yield Fault(
                "too-weak",
                f"{shown.strip()} is too weak: at least {low:g}",
                source,
                "make it up anew, read it, and do again all since the last good one",
            )
        elif high is not None and read.mg_per_l > high:
            yield Fault(
                "too-strong",
                f"{shown.strip()} is too strong: at most {high:g}",
                source,
                "rinse until a strip reads 0: hygiene rinse ... --read rinsed=0",
            )
        elif _cannot_tell(read, low, high):
            yield unknown(
                "not-read",
                f"{shown.strip()}: the scale ended there",
                source,
                "read it again, thinned with clean water",
            )


def _below(read: Read, low: float) -> bool:
    if read.sign == "<":
        return read.mg_per_l <= low
    return read.sign is None and read.mg_per_l < low


def _cannot_tell(read: Read, low: float | None, high: float | None) -> bool:
    if read.sign == ">":
        return high is not None or (low is not None and read.mg_per_l < low)
    return read.sign == "<" and low is not None


def _above(read: Read, high: float) -> bool:
    """What may be above, since the scale ended below, counts as above."""
    return read.mg_per_l > high or read.sign == ">"


READ_AS: Final = {"chlorine": ("free", "total"), "peracetic": ("paa",)}
"""The names under which a kit reads an active substance, by a word of its name."""


def kit_faults(
    readings: Iterable[tuple[Read, datetime]], rules: Rules, active: str | None = None
) -> Iterator[Fault]:
    """Readings by a kit that nobody named, was out of date, or reads something else."""
    for read, at in readings:
        if read.kit is None:
            said = f"{read.mg_per_l:g} mg/L {SAID.get(read.spot, '')}".rstrip()
            yield unknown(
                "no-kit",
                f"no kit was named for {said}",
                "a reading counts by a kit that was in date",
                "read it again with a kit of the farm file: --kit CODE",
            )
            continue
        why = rules.kit_fault(read.kit, read.at or at)
        if why is not None:
            yield Fault(
                "kit-out-of-date",
                why,
                "a reading counts by a kit that was in date",
                "read it again with a kit that is in date",
            )
        if not _can_read(rules.kit_reads(read.kit, read.at or at), active):
            yield Fault(
                "kit-reads-another",
                f"kit {read.kit} is not one that reads {active}",
                "the farm file says what each kit reads",
                f"read it again with a kit for {active}",
            )


def _can_read(reads: Sequence[str], active: str | None) -> bool:
    """Whether a kit reads an active substance; unknown of either counts as yes."""
    wanted = [READ_AS[word] for word in READ_AS if word in (active or "").lower()]
    return not reads or not wanted or not set(wanted[0]).isdisjoint(reads)


def temperature_faults(readings: Iterable[Read], label: Label) -> Iterator[Fault]:
    """A solution colder than the label allows, or of which nobody wrote how cold."""
    least = label.lowest_temp_c
    if least is None:
        return
    known = [read.temp_c for read in readings if read.temp_c is not None]
    if not known:
        yield unknown(
            "temperature-not-read",
            f"the solution's temperature was not read (at least {least:g} C)",
            label.source,
            "measure it in the tub: --temp",
        )
    elif min(known) < least:
        yield Fault(
            "too-cold",
            f"the solution was {min(known):g} C, the label asks for {least:g} C",
            label.source,
            "use warmer water, never heated bleach; or a product for cold water",
        )


def time_faults(
    dose: Dosed, ended: datetime | None, label: Label, rules: Rules
) -> Iterator[Fault]:
    """A contact shorter than the label, or the deep variant, asks for."""
    need = label.contact_minutes
    source = label.source
    if dose.deep and dose.target == "tray" and rules.deep_minutes > (need or 0):
        need, source = rules.deep_minutes, FARM_FILE
    if need is None:
        yield unknown(
            "time-not-known", f"the farm file says no contact time of {label.name}",
            FARM_FILE,
        )  # fmt: skip
        return
    if ended is None:
        yield unknown(
            "not-ended", "when it ended is not written", source, "add --ended TIME"
        )
        return
    minutes = (ended - dose.started).total_seconds() / 60
    if minutes < need:
        yield Fault(
            "contact-short",
            f"it stood {minutes:g} min, {need:g} are needed",
            source,
            "do it again for the whole time",
        )


def rinse_faults(
    dose: Dosed,
    thing: str,
    strongest: float | None,
    label: Label,
    rules: Rules,
    rinses: Iterable[Rinsed],
) -> Iterator[Fault]:
    """A rinse that the label, a ceiling or too strong a solution asks for."""
    later = [r for r in rinses if r.at >= dose.started and thing in r.things]
    rinsed = dose.was_rinsed(thing) or any(r.rinsed for r in later)
    ceiling = rules.no_rinse_up_to(label.active)
    over = ceiling is not None and strongest is not None and strongest > ceiling
    if rinsed or (label.rinse_needed is False and not over):
        return
    known = dose.rinsed is False
    if label.rinse_needed is False:
        if strongest is not None and ceiling is not None:
            says = "was not rinsed off"
            yield above_no_rinse(strongest, ceiling, says, failed=known)
        return
    says = "it was not rinsed" if known else "that it was rinsed is not written"
    yield Fault(
        "not-rinsed",
        f"{says}, and the label asks for it"
        if label.rinse_needed
        else f"{says}, and the farm file does not say that the label spares it",
        label.source,
        "rinse it: hygiene rinse ...",
        failed=known and label.rinse_needed is True,
    )


def left_faults(
    dose: Dosed,
    thing: str,
    label: Label,
    readings: Sequence[Read],
    rinses: Iterable[Rinsed],
) -> Iterator[Fault]:
    """After too strong a solution a strip shows that none is left."""
    high = label.most_mg_per_l
    if high is None or not any(_above(read, high) for read in readings):
        return
    strips = [(dose.started, dose.readings)] + [
        (r.at, r.readings)
        for r in rinses
        if r.rinsed and thing in r.things and r.at >= dose.started
    ]
    left: list[float] = []
    for _, found in sorted(strips, key=lambda pair: pair[0]):
        left = [read.mg_per_l for read in found if read.spot == "rinsed"] or left
    if not left or max(left) > 0:
        yield unknown(
            "left-on-it",
            "it was too strong, and no strip has read 0 after a rinse",
            label.source,
            "rinse until a strip reads 0: hygiene rinse ... --read rinsed=0",
        )


def gear_faults(dose: Dosed, label: Label) -> Iterator[Fault]:
    """Gear of the label that was not worn, where it was said what was."""
    lacking = [gear for gear in label.gear if gear not in dose.gear]
    if dose.gear and lacking:
        yield Fault(
            "gear-missing",
            f"without {', '.join(lacking)}",
            label.source,
            "wear it next time; splashed: hygiene accident",
        )


def tray_faults(
    dose: Dosed,
    tray: str,
    label: Label | None,
    rules: Rules,
    *,
    tub: Sequence[Dosed] = (),
    rinses: Sequence[Rinsed] = (),
) -> Iterator[Fault]:
    """Everything against a dose of one tray; ``tub`` and ``rinses`` of all the tub."""
    yield from label_faults(dose, label)
    if label is None:
        return
    if label.least_mg_per_l is None:
        yield unknown(
            "no-sanitiser",
            f"the farm file says no strength at which {label.name} sanitises",
            FARM_FILE,
            "sanitise with a product that has one",
        )
        return
    contact = contact_of(dose, tray, tub, rinses)
    yield from _washed(dose)
    yield from contact.lacks
    yield from strength_faults(contact.readings, *bounds(dose, label))
    readings = [(read, dose.started) for read in contact.readings]
    yield from kit_faults(readings, rules, label.active)
    yield from temperature_faults(contact.readings, label)
    yield from time_faults(dose, contact.ended, label, rules)
    strongest = max((read.mg_per_l for read in contact.readings), default=None)
    yield from rinse_faults(dose, tray, strongest, label, rules, rinses)
    yield from left_faults(dose, tray, label, contact.readings, rinses)


def _washed(dose: Dosed) -> Iterator[Fault]:
    if not dose.washed:
        known = dose.washed is False
        yield Fault(
            "not-washed",
            "it was not washed first" if known
            else "that it was washed first is not written",
            CLEAN_FIRST,
            "wash it, then sanitise it again",
            failed=known,
        )  # fmt: skip


def other_faults(dose: Dosed, label: Label | None, rules: Rules) -> Iterator[Fault]:
    """Everything against a dose on a line, a tank, a surface or tools."""
    yield from label_faults(dose, label)
    if label is None or label.least_mg_per_l is None:
        return
    low, high, source = bounds(dose, label)
    ends = [r for r in dose.readings if r.spot in (*IN_THE_TUB, "nozzle")]
    # a shock dose falls while it stands: its end has a limit of its own
    if dose.target in ("line", "tank"):
        ends = [read for read in ends if read.spot != "end"]
    yield from strength_faults(ends, low, high, source)
    readings = [(read, dose.started) for read in dose.readings]
    yield from kit_faults(readings, rules, label.active)
    yield from temperature_faults(dose.readings, label)
    if dose.ended is not None and not kept_in_the_water(dose, label.active):
        yield from time_faults(dose, dose.ended, label, rules)


SLUG_MG_PER_L: Final = 100.0
SHOCK_MG_PER_L: Final = 25.0
HOLD_SOURCE: Final = "AWWA C651, C652 (25 mg/L for 24 h seen, slug from memory)"


def hold_of(target_mg_per_l: float) -> tuple[float, float] | None:
    """Hours that a shock dose of chlorine stands, and the mg/L it keeps; else None.

    AWWA C651, C652: 100 mg/L for 3 h, never below 50 (from memory); 25 mg/L for 24 h,
    at least 10 left (seen).
    """
    if target_mg_per_l >= SLUG_MG_PER_L:
        return 3.0, 50.0
    if target_mg_per_l >= SHOCK_MG_PER_L:
        return 24.0, 10.0
    return None


def failed(faults: Iterable[Fault]) -> list[Fault]:
    """Those that are known to be wrong, each mark and sentence once."""
    return list(dict.fromkeys(fault for fault in faults if fault.failed))
