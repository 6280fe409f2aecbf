"""What each dose of a period is worth, in words: by its label, its plan, its readings.

Pure: what has to be read was read. The strictest reading of all versions counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.reports.marks import Mark
from hygiene.sanitising import clearance, verdict
from hygiene.sanitising.clearance import Shed
from hygiene.sanitising.doses import (
    IN_THE_TUB,
    Dosed,
    DoseTold,
    Label,
    Read,
    Rinsed,
    kept_in_the_water,
)
from hygiene.sanitising.labels import Fault

VERDICTS: Final[Mapping[str, Mark]] = {
    "good": Mark("✔", "as the label asks"),
    "failed": Mark("▲", "something is wrong with it: written out beneath"),
    "unknown": Mark("□", "something is not written: it clears nothing"),
    "struck": Mark("–", "ruled through"),
}
"""A shape for each verdict, so that a black-and-white copy keeps them."""
OWN_WORDS: Final[Mapping[str, str]] = {
    "no-sanitiser": "",
    "two-containers": "two containers",
}
"""Marks that are said in other words than their own; an empty one is not said."""


Measured = tuple[
    tuple[Read, ...], tuple[Read, ...], datetime | None, bool | None, bool | None
]
_NOTHING: Final[Measured] = ((), (), None, None, None)


class Judged(NamedTuple):
    """A dose's verdict: why in few words, each fault, and what was measured.

    ``readings`` are those that count for it, ``after`` those once it was rinsed off.
    """

    verdict: str
    words: tuple[str, ...]
    faults: tuple[Fault, ...]
    whys: tuple[str, ...]
    readings: tuple[Read, ...]
    after: tuple[Read, ...]
    ended: datetime | None
    rinsed: bool | None
    dry: bool | None

    @property
    def sign(self) -> str:
        """The mark of the verdict."""
        return VERDICTS[self.verdict].sign


class Bench:
    """The doses that were read, each beside its own tub and its own rinses.

    ``below`` has, for each shock dose, the lines it ran through and the trays that
    grew below them. Looking through all rinses for every tray of every dose would take
    seconds for a month.
    """

    def __init__(
        self, shed: Shed, below: Mapping[str, Mapping[str, Sequence[str]]]
    ) -> None:
        self._shed = shed
        self._below = below
        self._told = {told.name: told for told in shed.doses}
        self._tubs: dict[str, dict[str, DoseTold]] = {}
        self._rinses: dict[str, dict[str, Rinsed]] = {}
        for told in shed.doses:
            for version in told.versions:
                self._tubs.setdefault(version.tub, {})[told.name] = told
        for rinse in shed.rinses:
            for name in rinse.doses:
                self._rinses.setdefault(name, {})[rinse.name] = rinse

    def judge(self, name: str, *, acted: bool) -> Judged:
        """The verdict on a dose by its first name; ``acted``: it opened an action."""
        told = self._told[name]
        shed = self.around(told)
        faults = tuple(dict.fromkeys(_faults(told, shed)))
        whys = tuple(dict.fromkeys(_whys(told, shed, self._below.get(name, {}))))
        marks = dict.fromkeys(m for v in told.versions for m in sorted(v.marks))
        failed = verdict.failed(faults)
        kind = "failed" if failed or acted else "unknown" if faults or whys else "good"
        said = [*marks, *(f.mark for f in failed)]
        if kind == "unknown":
            said += [f.mark for f in faults] + ["line not cleared"] * bool(whys)
        words = (OWN_WORDS.get(m, m.replace("-", " ")) for m in said)
        last = told.versions[-1] if told.versions else None
        return Judged(
            kind if told.stands else "struck",
            tuple(dict.fromkeys(w for w in words if w)),
            faults,
            whys,
            *(_measured(last, shed) if last else _NOTHING),
        )

    def around(self, told: DoseTold) -> Shed:
        """The shed with nothing in it but what speaks of one dose."""
        mates = {
            name: mate
            for version in told.versions
            for name, mate in self._tubs.get(version.tub, {}).items()
        }
        names = {told.name, *mates}
        rinses = {n: r for d in names for n, r in self._rinses.get(d, {}).items()}
        return self._shed._replace(
            doses=tuple(mates.values()), rinses=tuple(rinses.values())
        )


def is_shock(dose: Dosed, label: Label | None) -> bool:
    """Whether it is one after which a line has to be flushed."""
    if dose.target not in ("line", "tank"):
        return False
    return label is None or not kept_in_the_water(dose, label.active)


def _faults(told: DoseTold, shed: Shed) -> Iterator[Fault]:
    for dose in told.versions:
        label = shed.label_then(dose.product, dose.started)
        if dose.target == "tray":
            yield from _of_trays(dose, shed)
        else:
            yield from verdict.other_faults(dose, label, shed.rules)
        if label is None:
            continue
        if label.least_mg_per_l is None:
            own = ((read, dose.started) for read in dose.readings)
            yield from verdict.kit_faults(own, shed.rules)
        yield from verdict.gear_faults(dose, label)


def _of_trays(dose: Dosed, shed: Shed) -> Iterator[Fault]:
    """The faults of its trays; those that had the same rinses have the same faults."""
    rinses = shed.rinsed(dose)
    seen = set()
    for tray in dose.trays:
        mine = frozenset(rinse.name for rinse in rinses if tray in rinse.things)
        if mine not in seen:
            seen.add(mine)
            yield from (f for f in shed.faults(dose, tray) if f.mark not in OWN_WORDS)


def _whys(
    told: DoseTold, shed: Shed, below: Mapping[str, Sequence[str]]
) -> Iterator[str]:
    """Why each line that a shock dose ran through is not cleared by it."""
    alone = shed._replace(doses=(told,))
    for line, trays in below.items():
        last = max(version.started for version in told.versions)
        yield from clearance.of_line(line, alone, trays, last).whys


def _measured(dose: Dosed, shed: Shed) -> Measured:
    """The readings that count for it, its end, and whether it was rinsed and dried."""
    rinses = shed.rinsed(dose)
    things = dose.trays or tuple(t for t in (dose.line, dose.tank) if t) or dose.tools
    own = [*dose.readings, *(r for rinse in rinses for r in rinse.readings)]
    if dose.target == "tray" and dose.trays:
        contact = verdict.contact_of(dose, dose.trays[0], _mates(dose, shed), rinses)
        readings, ended = contact.readings, contact.ended
        after = [read for read in own if read.spot not in IN_THE_TUB]
    else:
        ends = [r for rinse in rinses for r in rinse.readings if r.spot == "end"]
        readings = (*dose.readings, *ends)
        after = [read for read in own if read not in readings]
        flushed = (r.at for r in rinses if r.rinsed)
        ended = dose.ended or next(flushed, None)
    mine = [[r for r in rinses if thing in r.things] for thing in things]
    rinsed = all(any(r.rinsed for r in some) for some in mine) if mine else False
    dry = all(any(r.dry for r in some) for some in mine) if mine else False
    return readings, tuple(after), ended, rinsed or dose.rinsed, dry or dose.dry


def _mates(dose: Dosed, shed: Shed) -> list[Dosed]:
    """The doses of the same tub, each by its latest version alone."""
    latest = [told.versions[-1] for told in shed.doses if told.versions]
    return [d for d in latest if d.tub == dose.tub and d.first != dose.first]
