"""What stands against a dose: its label, its containers, what it meets, who does it.

One set of rules for the plan and for the fact; the fact adds what was measured.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.acts import clearance as shed
from hygiene.acts.codes import UnknownCode, known, meant
from hygiene.acts.containers import against_drawing
from hygiene.acts.lines import growing_below
from hygiene.acts.rules import Against
from hygiene.acts.store import container_of
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Body, Entry
from hygiene.kinds.moments import stamp
from hygiene.kinds.sanitising import Dose
from hygiene.sanitising import clearance, labels, verdict
from hygiene.sanitising.chemistries import MustNotMeet, between
from hygiene.sanitising.containers import Container, drawn_of
from hygiene.sanitising.doses import (
    Dosed,
    Label,
    firm,
    kept_in_the_water,
    read_dose,
    read_label,
)
from hygiene.sanitising.labels import Fault

IN_DANGER: Final = ("must-not-meet", "two-products")
"""The marks of a dose that put people in danger: each opens an incident."""
OFF_PLAN: Final = 0.1
"""How far what was measured out may lie from the plan: common practice, no source."""
FAR_BACK: Final = 5
"""How many doses back a thing is looked at for what was not rinsed off it."""


class Case(NamedTuple):
    """A dose in question: on which record, at whose farm, by whom and when."""

    record: Record
    setup: Sequence[Entry]
    farm: InForce
    thing: Dose
    by: str
    at: datetime

    @property
    def dose(self) -> Dosed:
        """The dose as the pure rules read it, as if it were written."""
        return read_dose(entry_of(self.thing, self.at))

    @property
    def product(self) -> Body:
        """The product of the farm file, as it stood then; it is known."""
        code = self.thing.product
        return shed.thing_then(self.setup, "product", code, self.at) or {}

    def product_of(self, container: str) -> Body:
        """The product of a container, as the farm file has it now."""
        held = container_of(self.record, container)
        return self.farm.get("product", held.product if held else "") or {}

    @property
    def label(self) -> Label:
        """Its label."""
        return read_label(self.product)

    @property
    def rules(self) -> labels.Rules:
        """What the farm and its region ask for."""
        return shed.rules_of(self.record, self.setup, self.farm, self.at)


def entry_of(thing: Kind, at: datetime) -> Entry:
    """Something that is not written yet, as the pure rules read an entry."""
    moment = stamp(at)
    return Entry("", 0, thing.kind, moment, moment, "", thing.body())


class Said(NamedTuple):
    """What stands against a dose, and what is only warned about."""

    against: tuple[Against, ...]
    warned: tuple[Against, ...] = ()

    @property
    def every(self) -> tuple[Against, ...]:
        """Both: each leaves its mark."""
        return (*self.against, *self.warned)


def need_known(farm: InForce, thing: Dose) -> None:
    """Every code of the farm file that a dose names; raises ``UnknownCode``."""
    known(farm, "product", thing.product)
    for sort, codes in (
        ("tray", thing.trays),
        ("tool", thing.tools),
        ("line", (thing.line,)),
        ("tank", (thing.tank,)),
    ):
        for code in codes:
            if code is not None:
                known(farm, sort, code)


def beforehand(case: Case, wanted: Mapping[str, int]) -> Said:
    """What is known before anything is measured; ``wanted`` is drawn, by container."""
    held = [(container(case.record, code), need) for code, need in wanted.items()]
    refused, warned = against_drawing(
        case.farm, held, case.at.astimezone(case.farm.zone).date()
    )
    faults = [
        *verdict.failed(labels.label_faults(case.dose, case.label)),
        *refused,
        *_training(case),
        *_growing(case),
        *_deep(case),
    ]
    return Said(
        (*_products(case, held), *_meeting(case), *map(_against, faults)),
        (*_containers(held), *map(_against, warned)),
    )


def to_rinse(case: Case) -> list[Against]:
    """A planned strength above what may stay on without a rinse in this region."""
    target, label = case.dose.target_mg_per_l, case.label
    ceiling = case.rules.no_rinse_up_to(label.active)
    if ceiling is None or target is None or label.rinse_needed is not False:
        return []
    if target <= ceiling or case.thing.target in ("line", "tank"):
        return []
    return [_against(labels.above_no_rinse(target, ceiling, "must be rinsed off"))]


def _against(fault: Fault) -> Against:
    return Against(fault.mark, fault.says, fault.source, fault.way_out)


def container(record: Record, code: str) -> Container:
    """A container that stands, by its code in any case; raises ``UnknownCode``."""
    held = container_of(record, meant(record, "container", code))
    if held is None:
        raise UnknownCode(
            sort="container",
            given=code,
            way_out="its entry is ruled through: hygiene log container",
        )
    return held


def _products(case: Case, held: Sequence[tuple[Container, int]]) -> Iterator[Against]:
    """Never two products in one dose."""
    others = {each.product for each, _ in held} - {case.thing.product}
    for code in sorted(others):
        other = case.farm.get("product", code) or {"code": code, "name": code}
        meeting = between(case.product, other)
        says = f"two products in one dose: {case.label.name} and {other.get('name')}"
        yield Against(
            "two-products",
            says if meeting is None else f"{says}; {meeting.says}",
            "one product in one dose: no label speaks of a mixture"
            if meeting is None
            else meeting.source,
            "make it up from one product only",
        )


def _containers(held: Sequence[tuple[Container, int]]) -> Iterator[Against]:
    if len(held) > 1:
        codes = " and ".join(each.code for each, _ in held)
        yield Against(
            "two-containers",
            f"two containers in one dose: {codes}",
            "their strengths differ, so neither can be checked by what was made",
            "strip-test before use",
        )


def _training(case: Case) -> Iterator[Fault]:
    topic = (case.farm.farm or {}).get("dosing_training")
    on = case.at.astimezone(case.farm.zone).date()
    if isinstance(topic, str) and not case.farm.trained(case.by, topic, on):
        yield Fault(
            "untrained",
            f"{case.by} has no training in {topic} that holds on {on}",
            labels.FARM_FILE,
            "let somebody do it who has; train, then: hygiene train",
        )


def _growing(case: Case) -> Iterator[Fault]:
    """Trays that are not emptied, and trays that grow below a line under shock."""
    if case.thing.trays:
        growth = shed.growths(case.record, case.thing.trays, case.at)
        full = {t: g for t, g in growth.items() if not _emptied(g, case.at)}
        if full:
            batches = ", ".join(dict.fromkeys(g.batch for g in full.values()))
            yield Fault(
                "not-emptied",
                f"{_few(full)} still grow: {batches}",
                "a tray is emptied and washed before it is sanitised",
                "write first that it was fed, sent or discarded",
            )
    below = sorted(
        {
            tray
            for line in _lines(case)
            for tray in growing_below(case.record, line, case.at, case.at)
        }
    )
    if below:
        yield Fault(
            "grows-below",
            f"trays grow below it: {_few(below)}",
            "a shock dose must not drip on what will be fed",
            "wait until they are fed, or move them to a rack of another line",
        )


def _emptied(growth: clearance.Growth, at: datetime) -> bool:
    return growth.emptied is not None and growth.emptied <= at


def _lines(case: Case) -> list[str]:
    """The lines that a shock dose would run through."""
    thing = case.thing
    dose = case.dose
    if thing.target not in ("line", "tank") or kept_in_the_water(
        dose, case.label.active
    ):
        return []
    if thing.line is not None:
        return [thing.line]
    return _lines_of_tank(case.farm, thing.tank)


def _lines_of_tank(farm: InForce, tank: str | None) -> list[str]:
    lines = farm.things("line")
    return [code for code, body in lines.items() if tank and body.get("tank") == tank]


def _deep(case: Case) -> Iterator[Fault]:
    if case.thing.finds and not case.thing.deep and case.thing.target == "tray":
        yield Fault(
            "not-deep",
            f"mould touched these trays ({', '.join(case.thing.finds)})",
            "after mould the deep variant: scrubbed, stood longer, read, rinsed "
            "(common practice, no source)",
            "do it deep, and say so: --deep",
        )


def owed_finds(case: Case) -> tuple[str, ...]:
    """The mould records, however old, that a dose of these trays must answer."""
    if not case.thing.trays:
        return ()
    law = shed.law_at(case.record, case.setup, case.at, case.farm)
    recent = shed.dosed_lately(case.record, law, case.at)
    facts = shed.shed_of_trays(
        case.record, law, case.at, case.thing.trays, recent, find_back=None
    )
    owed = {
        name for tray in case.thing.trays for name in clearance.owed_finds(tray, facts)
    }
    return tuple(sorted(owed))


# what must not meet


class Unrinsed(NamedTuple):
    """A thing from which an earlier product was not rinsed off before another came."""

    code: str
    dose: Dosed
    meeting: MustNotMeet


def _meeting(case: Case) -> Iterator[Against]:
    found: dict[str, list[Unrinsed]] = {}
    for each in unrinsed(case):
        found.setdefault(each.dose.first, []).append(each)
    for first, all_of in found.items():
        meeting = all_of[0].meeting
        codes = dict.fromkeys(each.code for each in all_of)
        yield Against(
            "must-not-meet" if meeting.dangerous else "spoils",
            f"{meeting.says}. {_few(codes)}: no rinse is written since {first} of "
            f"{all_of[0].dose.started:%d %B %H:%M}",
            meeting.source,
            f"{meeting.instead} Then: hygiene rinse {' '.join(list(codes)[:4])}",
        )


def unrinsed(case: Case) -> Iterator[Unrinsed]:
    """Everything that this dose touches and where another product still is."""
    matters: dict[str, tuple[list[Dosed], bool, frozenset[str]]] = {}
    for code in sorted(_touched(case)):
        for entry in case.record.latest(
            "dose", code, before=case.at + shed.INSTANT, most=FAR_BACK
        ):
            if entry.first not in matters:
                matters[entry.first] = _earlier(case.record, entry.first)
            versions, stands, rinsed = matters[entry.first]
            if not versions:
                continue
            if code in rinsed or (stands and all(v.was_rinsed(code) for v in versions)):
                break
            for dose in versions:
                body = shed.thing_then(
                    case.setup, "product", dose.product, dose.started
                ) or {"code": dose.product, "name": dose.product}
                meeting = between(body, case.product)
                if meeting is not None and code in dose.things:
                    yield Unrinsed(code, dose, meeting)
                    break


def _touched(case: Case) -> set[str]:
    """What the product touches: a line with its tank, a tank with its lines."""
    touched = set(case.dose.things)
    line = case.farm.get("line", case.thing.line or "") or {}
    if line.get("tank"):
        touched.add(str(line["tank"]))
    return touched | set(_lines_of_tank(case.farm, case.thing.tank))


def _earlier(record: Record, first: str) -> tuple[list[Dosed], bool, frozenset[str]]:
    """A dose's versions, whether it stands, and what was rinsed since it."""
    told = shed.matter(record, first)
    naming = record.mentioning(first, every_version=True)
    rinses = [
        firm(shed.matter(record, name))
        for name in dict.fromkeys(e.first for e in naming if e.kind == "rinse")
    ]
    rinsed = (rinse.things for rinse in rinses if rinse.rinsed)
    return (
        [read_dose(version) for version in told.versions],
        told.stands is not None,
        frozenset[str]().union(*rinsed),
    )


# what was measured


def afterwards(case: Case, planned: int | None) -> Said:
    """What was measured, against the label and the plan."""
    dose, label, rules = case.dose, case.label, case.rules
    if case.thing.target == "tray":
        tub = _mates(case)
        faults = list(verdict.tray_faults(dose, dose.trays[0], label, rules, tub=tub))
    else:
        faults = list(verdict.other_faults(dose, label, rules))
    if label.least_mg_per_l is None:
        # a detergent or a descaler: its label may still ask for a time and a rinse
        faults += verdict.kit_faults(((r, dose.started) for r in dose.readings), rules)
    faults += verdict.gear_faults(dose, label)
    known_before = {"wrong-product-type", "not-for-this-use"}
    failed = [f for f in verdict.failed(faults) if f.mark not in known_before]
    return Said(tuple(map(_against, failed)), tuple(_off_plan(case.thing, planned)))


def _mates(case: Case) -> list[Dosed]:
    """The earlier doses of the same tub, every version of them."""
    if case.thing.tub is None:
        return []
    head = case.record.entry(case.thing.tub).first
    naming = case.record.mentioning(head, every_version=True)
    firsts = [head, *(e.first for e in naming if e.kind == "dose")]
    return [
        read_dose(version)
        for first in dict.fromkeys(firsts)
        for version in shed.matter(case.record, first).versions
    ]


def _off_plan(thing: Dose, planned: int | None) -> Iterator[Against]:
    drawn = sum(many for _, _, many in drawn_of(thing.body()))
    if planned and drawn and abs(drawn - planned) > OFF_PLAN * planned:
        off = f"{abs(drawn - planned) / planned:.0%}"
        more = "more" if drawn > planned else "less"
        yield Against(
            "off-plan",
            f"{off} {more} was measured out than planned",
            "within a tenth of the plan (common practice, no source)",
            "strip-test it; find out why",
        )


def _few(codes: Iterable[str]) -> str:
    listed = list(codes)
    if len(listed) <= 4:
        return ", ".join(listed)
    return f"{', '.join(listed[:3])} and {len(listed) - 3} more"
