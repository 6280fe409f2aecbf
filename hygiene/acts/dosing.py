"""A dose and a rinse: planned, then written as they were done, with what follows.

A plan is refused with every rule against it. What was done is written: what stands
against it marks it for ever and opens a corrective action; what puts people in danger
opens an incident as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final, NamedTuple

from hygiene.acts import against_dosing as rules
from hygiene.acts import clearance as shed
from hygiene.acts.against_dosing import Case, Said
from hygiene.acts.codes import known, meant
from hygiene.acts.how import How
from hygiene.acts.lines import line_cleared
from hygiene.acts.rules import Against, in_words, marks, refuse
from hygiene.acts.store import container_of
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import HygieneError, WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.action import Action
from hygiene.kinds.base import Kind, read_plain
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.moments import moment_of
from hygiene.kinds.sanitising import Dose, Opened, Rinse
from hygiene.sanitising import labels, verdict
from hygiene.sanitising.clearance import AS_INCOMING_MG_PER_L, Clearance
from hygiene.sanitising.containers import drawn_of
from hygiene.sanitising.doses import Dosed, Read, read_dose, read_rinse
from hygiene.sanitising.dosing import Plan, ends_of, plan, plan_line
from hygiene.sanitising.lines import read_pipe
from hygiene.sanitising.measuring import Label, Tool

LABEL_WAY_OUT: Final = (
    "ask for what the label allows; or check the can: hygiene container CODE --strength"
)


CHLORATE_LAW: Final = "(EU) 2020/2184 annex I: chlorate in water that is drunk"


class NoVolume(WronglyPut):
    """A dose of which nobody says how much is made up."""

    sentence = "how much is made up? the volume is not known"


class NotADose(WronglyPut):
    """An entry that is no dose."""

    sentence = "{name} is a {kind}, not a dose"


class Dosing(NamedTuple):
    """What a dose wrote, what stands against it, and which trays it clears."""

    dose: Entry
    said: Said
    actions: tuple[Entry, ...]
    trays: Mapping[str, Clearance]
    lines: Mapping[str, Clearance]
    already: bool = False


class Rinsing(NamedTuple):
    """What a rinse wrote, and what it clears."""

    rinse: Entry
    against: tuple[Against, ...]
    actions: tuple[Entry, ...]
    trays: Mapping[str, Clearance]
    lines: Mapping[str, Clearance]
    already: bool = False


def plan_dose(
    case: Case, containers: Sequence[str], *, tool: Tool | None = None
) -> tuple[Plan | None, tuple[Against, ...]]:
    """The plan of a dose from these containers, and what it is warned about.

    Without a strength that is wanted there are no sums: the rules alone are asked.
    Raises ``PlanRefused`` with every rule against it, ``NoVolume``, ``CannotPlan``.
    """
    rules.need_known(case.farm, case.thing)
    case = case._replace(thing=replace(case.thing, finds=rules.owed_finds(case)))
    made = _plan(case, containers, tool)
    if made is None and case.thing.target_mg_per_l is not None and containers:
        raise NoVolume(way_out="say how much is made up, such as --in '60 L'")
    drawn = [] if made is None else made.drawn
    wanted = dict.fromkeys(containers, 0)
    wanted |= {ends.held.code: many for ends, many in drawn}
    said = rules.beforehand(case, wanted)
    outside = [] if made is None else list(_against_plan(case, made))
    refuse([*said.against, *outside])
    return made, (*said.warned, *rules.to_rinse(case))


def _against_plan(case: Case, made: Plan) -> Iterator[Against]:
    """An end that the label does not allow, and chlorate in water that is drunk."""
    for fault in made.answer.findings:
        if fault in made.outside_label:
            yield Against("outside-label", fault, case.label.source, LABEL_WAY_OUT)
        else:
            yield Against("chlorate", fault, CHLORATE_LAW, "dose from a fresher can")


def _plan(case: Case, containers: Sequence[str], tool: Tool | None) -> Plan | None:
    """The sums of a plan; None where target or volume is not known."""
    thing = case.thing
    if thing.target_mg_per_l is None or not containers:
        return None
    target = float(thing.target_mg_per_l)
    on = case.at.astimezone(case.farm.zone).date()
    stocks = [
        ends_of(rules.container(case.record, code), case.product_of(code), on)
        for code in containers
    ]
    label = Label(*_bounds(case), case.label.name)
    line = case.farm.get("line", thing.line or "")
    if thing.volume_l is None and thing.target == "line" and line is not None:
        pipes = [read_pipe(str(run)) for run in items(line, "runs")]
        tanks = [] if thing.tank is None else [_tank_l(case.farm, thing.tank)]
        if not pipes and not tanks:
            return None
        flow = line.get("flow_l_per_min")
        return plan_line(
            stocks,
            target,
            pipes,
            tanks,
            on,
            flow_l_per_min=None if flow is None else float(flow),
            label=label,
            tool=tool,
        )
    volume_l = thing.volume_l
    if volume_l is None and thing.target == "tank" and thing.tank is not None:
        return plan(
            stocks, target, _tank_l(case.farm, thing.tank), on,
            label=label, tool=tool, task="line",
        )  # fmt: skip
    if volume_l is None:
        return None
    task = "line" if thing.target in ("line", "tank") else "trays"
    return plan(stocks, target, float(volume_l), on, label=label, tool=tool, task=task)


def _bounds(case: Case) -> tuple[float | None, float | None]:
    low, high, _ = labels.bounds(case.dose, case.label)
    return low, high


def _tank_l(farm: InForce, code: str) -> float:
    return float((farm.get("tank", known(farm, "tank", code)) or {}).get("volume_l", 0))


def dose(
    writing: Writing, setup: Sequence[Entry], farm: InForce, thing: Dose, how: How
) -> Dosing:
    """Write a dose as it was done, with its marks and what follows from them.

    What was planned is worked out again from target, volume and containers.
    """
    rules.need_known(farm, thing)
    at = how.at(writing)
    thing = _meant(writing.record, thing)
    case = Case(writing.record, setup, farm, thing, how.by, at)
    before = how.retried(
        writing, thing, "marks", "finds", "planned_tenth_ml", "planned_mg"
    )
    if before is not None:
        return Dosing(before, Said(()), (), {}, {}, already=True)
    case = case._replace(thing=replace(thing, finds=rules.owed_finds(case)))
    wanted: dict[str, int] = {}
    for code, _, many in drawn_of(thing.body()):
        wanted[code] = wanted.get(code, 0) + many
    planned = _planned(case, list(wanted))
    first, then = rules.beforehand(case, wanted), rules.afterwards(case, planned)
    said = Said((*first.against, *then.against), (*first.warned, *then.warned))
    solid = case.product.get("solid") is True
    thing = replace(
        case.thing,
        marks=marks(said.every),
        planned_mg=planned if solid else None,
        planned_tenth_ml=None if solid else planned,
    )
    _open(writing, wanted, how)
    made = how.add(writing, thing)
    actions = _actions(writing, made, said.against, how)
    return Dosing(made, said, actions, *_cleared(writing, setup, farm, read_dose(made)))


def _open(writing: Writing, containers: Iterable[str], how: How) -> None:
    """What is drawn from for the first time is open from then on."""
    for code in containers:
        held = container_of(writing.record, code)
        if held is not None and held.opened_on is None:
            how.add(writing, Opened(container=code))


def _meant(record: Record, thing: Dose) -> Dose:
    """The containers and the tub as they are written, in any case."""
    if thing.tub is not None:
        found = record.entry(thing.tub)
        if found.kind != "dose":
            raise NotADose(
                name=thing.tub, kind=found.kind, way_out="list them: hygiene log dose"
            )
        thing = replace(thing, tub=read_dose(record.entry(found.first)).tub)
    drawn = tuple(
        replace(each, container=meant(record, "container", each.container))
        for each in thing.drawn
    )
    return replace(thing, drawn=drawn)


def _planned(case: Case, containers: Sequence[str]) -> int | None:
    """What the plan would have been, where enough is known; a fact is never refused."""
    same = [c for c in containers if _of(case.record, c) == case.thing.product]
    try:
        made = _plan(case, same, None)
    except HygieneError:
        return None
    return None if made is None else made.planned


def _of(record: Record, code: str) -> str | None:
    held = container_of(record, code)
    return None if held is None else held.product


def _actions(
    writing: Writing, made: Entry, against: Sequence[Against], how: How
) -> tuple[Entry, ...]:
    """One action for what failed, and an incident for what puts people in danger."""
    grave = [rule for rule in against if rule.mark in rules.IN_DANGER]
    other = [rule for rule in against if rule.mark not in rules.IN_DANGER]
    concerns = made.get("line") or made.get("tank")
    return tuple(
        how.add(
            writing,
            Action(
                about=made.name,
                problem=in_words(some),
                step=some[0].way_out,
                concerns=concerns,
                incident=some is grave,
            ),
        )
        for some in (grave, other)
        if some
    )


def _cleared(
    writing: Writing, setup: Sequence[Entry], farm: InForce, done: Dosed
) -> tuple[dict[str, Clearance], dict[str, Clearance]]:
    record, now = writing.record, writing.clock()
    trays = shed.trays_cleared(record, setup, now, done.trays) if done.trays else {}
    return trays, _lines(record, setup, farm, (done.line, done.tank), now)


def _lines(
    record: Record,
    setup: Sequence[Entry],
    farm: InForce,
    things: Iterable[str | None],
    now: datetime,
) -> dict[str, Clearance]:
    named = {thing for thing in things if thing}
    lines = {
        code
        for code, body in farm.things("line").items()
        if code in named or body.get("tank") in named
    }
    return {line: line_cleared(record, setup, line, now) for line in sorted(lines)}


def rinse(
    writing: Writing, setup: Sequence[Entry], farm: InForce, thing: Rinse, how: How
) -> Rinsing:
    """Write a rinse, a flush or that something is dry; it names what it washes off."""
    record, at = writing.record, how.at(writing)
    _need_known(farm, thing)
    before = how.retried(writing, thing, "marks", "doses")
    if before is not None:
        return Rinsing(before, (), (), {}, {}, already=True)
    thing = replace(thing, doses=_washed_off(record, thing, farm, at))
    against = _against_rinse(record, setup, farm, thing, at)
    made = how.add(writing, replace(thing, marks=marks(against)))
    actions = _actions(writing, made, against, how)
    now = writing.clock()
    trays = shed.trays_cleared(record, setup, now, thing.trays) if thing.trays else {}
    lines = _lines(record, setup, farm, (thing.line, thing.tank), now)
    return Rinsing(made, tuple(against), actions, trays, lines)


def _need_known(farm: InForce, thing: Rinse) -> None:
    for sort, codes in (
        ("tray", thing.trays),
        ("tool", thing.tools),
        ("line", (thing.line,)),
        ("tank", (thing.tank,)),
    ):
        for code in codes:
            if code is not None:
                known(farm, sort, code)


def _washed_off(
    record: Record, thing: Rinse, farm: InForce, at: datetime
) -> tuple[str, ...]:
    """The doses since the rinse before, of each thing; the line's tank counts too."""
    things = [*thing.trays, *thing.tools, thing.line, thing.tank]
    line = farm.get("line", thing.line or "") or {}
    things.append(line.get("tank"))
    found: dict[str, None] = {}
    for code in dict.fromkeys(str(t) for t in things if t):
        for entry in record.latest(
            "dose", code, before=at + shed.INSTANT, most=rules.FAR_BACK
        ):
            found[entry.first] = None
    return tuple(found)


def _against_rinse(
    record: Record,
    setup: Sequence[Entry],
    farm: InForce,
    thing: Rinse,
    at: datetime,
) -> list[Against]:
    """A tub that failed at its end, a line that does not read as the incoming water."""
    said = read_rinse(rules.entry_of(thing, at))
    faults = list(
        verdict.kit_faults(
            ((read, at) for read in said.readings),
            shed.rules_of(record, setup, farm, at),
        )
    )
    ends = [read for read in said.readings if read.spot == "end"]
    label = shed.label_then(setup)
    for name in thing.doses[:1] if ends else ():
        of = read_dose(record.entry(name))
        known_label = label(of.product, of.started)
        if known_label is not None and of.target == "tray":
            faults += verdict.strength_faults(ends, *labels.bounds(of, known_label))
    against = [
        Against(f.mark, f.says, f.source, f.way_out) for f in verdict.failed(faults)
    ]
    return against + _against_flush(said.readings)


def _against_flush(readings: Iterable[Read]) -> list[Against]:
    of = {read.spot: read.mg_per_l for read in readings}
    nozzle, incoming = of.get("nozzle"), of.get("incoming")
    if nozzle is None or incoming is None:
        return []
    if nozzle <= incoming + AS_INCOMING_MG_PER_L:
        return []
    return [
        Against(
            "not-flushed",
            f"the last nozzle reads {nozzle:g} mg/L, the incoming water {incoming:g}",
            "a line is flushed until it reads as the incoming water",
            "flush again, read again: hygiene rinse LINE --read nozzle=PPM",
        )
    ]


def after_dose_correction(record: Record, made: Entry) -> list[Kind]:
    """The action that a corrected dose calls for: what fails now and did not before."""
    if made.kind != "dose":
        return []
    setup = record.setup()
    at = moment_of(made.happened_at)
    farm = in_force(setup, at)
    thing = read_plain(Dose, made.body)
    said = rules.afterwards(Case(record, setup, farm, thing, made.by, at), None)
    before = {
        mark
        for version in record.history(made.first)
        for mark in items(version, "marks")
    }
    new = [rule for rule in said.against if rule.mark not in before]
    if not new:
        return []
    return [Action(about=made.name, problem=in_words(new), step=new[0].way_out)]


# what others lay out


class DoseLine(NamedTuple):
    """A dose with all that rinsed it, for a log of a period."""

    dose: Entry
    rinses: tuple[Entry, ...]
    struck: bool


def dose_lines(record: Record, since: datetime, before: datetime) -> list[DoseLine]:
    """The doses that began in [since, before), struck ones as well, with their rinses.

    Each by the version that stands, or by the last one that said something.
    """
    versions = record.all_versions(["dose"], since=since, before=before)
    made = []
    for first in dict.fromkeys(entry.first for entry in versions):
        history = record.history(first)
        said = next(v for v in reversed(history) if v.kind == "dose")
        rinses = [e for e in record.mentioning(first) if e.kind == "rinse"]
        made.append(DoseLine(said, tuple(rinses), history[-1].kind == "strike"))
    return sorted(made, key=lambda line: line.dose.happened_at)
