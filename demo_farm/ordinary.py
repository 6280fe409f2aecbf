"""An ordinary day: who works, when each task is done, what is read, what goes wrong.

All of it is drawn from the day's own chance, always in the same order. The values are
invented; where a checklist gives limits for a reading that is not named here, the
middle of them is read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from math import cos, pi
from random import Random
from typing import Any, NamedTuple

from demo_farm.shed import MANAGER, OTHER, WORKER, Day, Mend, Plan, Shed
from hygiene.acts.day import answers
from hygiene.acts.signing import countersign, questions
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of
from hygiene.rota.schedule import Due
from hygiene.rota.signing import Ask

MANAGERS_DAYS = (2, 5, 6)
"""Wednesday, Saturday, Sunday; the worker has the others."""
UNSEEN = (22, 61, 118, 203, 298)
"""Days before the last one at which nobody looked a second time."""
TWICE, A_MONTH = 2, 31
"""The same small thing comes no more often than this: somebody looks for its cause."""
LAST_WEEKS = 45
"""So many days before the last one the stories lie close together."""
DONE_DAYS_LATER = {"watersample": 2, "meters": 1, "chemicals": 1, "yearreview": 20}
"""What has days of grace is done within them."""

READINGS: dict[str, tuple[float, float, int]] = {
    "walk.temp.GROW": (20.6, 0.9, 1),
    "walk.temp": (19.9, 0.6, 1),
    "walk.humid": (63, 5, 0),
    "wash.strength": (150, 9, 0),
    "wash.endstrength": (118, 8, 0),
    "wash.contact": (12, 1, 0),
    "wash.count": (12, 0, 0),
    "deepclean.contact": (12, 1, 0),
    "meters.ice": (0.1, 0.2, 1),
    "meters.scale": (1, 1, 0),
    "watersample.free": (0.2, 0.05, 2),
    "watersample.temp": (11.5, 0.8, 1),
    "yearreview.trace": (95, 10, 0),
}
"""What is read as a rule: the middle, the spread, and the digits after the point."""


class Trouble(NamedTuple):
    """Something small that goes wrong now and then: an answer, and how it is mended."""

    task: str
    step: str
    answer: str
    did: str
    mend: Mend


TROUBLES = (
    Trouble(
        "walk",
        "temp.GROW",
        "25.4",
        "vent opened, thermostat turned down",
        Mend("21.8 C", "thermostat set back to 20", "21.8", "C", "turned up by hand"),
    ),
    Trouble(
        "walk",
        "humid.GROW",
        "88",
        "fan turned up",
        Mend("71 %", "fan left on its second step", "71", "%", "cold night"),
    ),
    Trouble(
        "walk",
        "dry",
        "1",
        "watered by hand",
        Mend("sprays evenly again", "nozzle soaked and put back", cause="scale"),
    ),
    Trouble(
        "walk",
        "drains",
        "slow",
        "roots raked out of the gutter",
        Mend("runs freely", "gutter of rack 2 raked and flushed", cause="roots"),
    ),
    Trouble(
        "wash",
        "look",
        "not clean",
        "brushed and rinsed again",
        Mend("clean to the eye and the hand", "washed again before the tub"),
    ),
    Trouble(
        "floors",
        "drains",
        "smell",
        "trap lifted out and scrubbed",
        Mend("no smell", "trap scrubbed and flushed", cause="seed in the trap"),
    ),
    Trouble(
        "visitors",
        "hands",
        "no",
        "towels fetched from the house",
        Mend("soap, water and towels there", "spare towels put by the basin"),
    ),
    Trouble(
        "tankweek",
        "lid.K1",
        "no",
        "screen pushed back",
        Mend("lid tight, screen on", "screen fixed with a clip", cause="wind"),
    ),
    Trouble(
        "lines",
        "spray.L2",
        "2",
        "both changed for new ones",
        Mend("all spray evenly", "two nozzles changed", cause="scale"),
    ),
)
PESTS = ("mouse droppings, behind the hopper, 3", "fruit flies, wash bay, 6")
WHY_LATE = ("the telephone was flat", "called away to a ewe", "forgot to write it down")
WHY_MISSED = ("no help that afternoon", "called away to a ewe", "the vet was here")


def plans(shed: Shed, day: date, chance: Random) -> dict[str, Plan]:
    """What will become of everything that is due on a day, if nothing goes wrong."""
    made = {}
    for due in shed.rota.dues(day, day):
        at = _moment(due, chance)
        by = doer(shed.farm, due, at)
        asked = questions(due.task, shed.farm)
        said = answers_to(due.code, asked, at, chance)
        pests = {name: text for name, text in said.items() if text in PESTS}
        for name, text in pests.items():
            if _again(shed, text, day):
                said[name] = "none"
        made[due.code] = Plan(due, by, at, said)
    return made


def _moment(due: Due, chance: Random) -> datetime:
    wait = timedelta(minutes=chance.randint(4, 38), seconds=chance.randint(0, 59))
    return due.at + timedelta(days=DONE_DAYS_LATER.get(due.code, 0)) + wait


def on_duty(day: date) -> str:
    """Who has the shed on a day."""
    return MANAGER if day.weekday() in MANAGERS_DAYS else WORKER


def doer(farm: InForce, due: Due, at: datetime) -> str:
    """Whoever is on duty; the other one where that one may not, or is not trained."""
    duty = on_duty(at.date())
    for code in (duty, OTHER[duty]):
        may = set(due.task.may_sign) & set(farm.roles(code))
        topic = due.task.training
        if may and (topic is None or farm.trained(code, topic, at.date())):
            return code
    return duty


def answers_to(
    task: str, asked: Iterable[Ask], at: datetime, chance: Random
) -> dict[str, str]:
    """Good answers to the questions that have no answer by themselves."""
    said = {}
    for ask in asked:
        text = _answer(task, ask, at, chance)
        if text is not None:
            said[ask.name] = text
    if task == "visitors":
        said["signed"] = "no visitors" if said.get("came") == "0" else "all"
    return said


def _answer(task: str, ask: Ask, at: datetime, chance: Random) -> str | None:
    if ask.default is not None or ask.step.get("optional"):
        return None
    match ask.sort:
        case "tick":
            return "yes"
        case "choice":
            return str((ask.step.get("good") or ask.step["options"])[0])
        case "entry":
            return chance.choice(PESTS) if chance.random() < 0.08 else "none"
    return reading(task, ask, at, chance)


def reading(task: str, ask: Ask, at: datetime, chance: Random) -> str:
    """A reading as it is as a rule, within the step's limits."""
    name = f"{task}.{ask.name}"
    if task == "visitors":
        return chance.choice("000012")
    if name.startswith("tankweek.temp"):
        middle, spread, digits = tank_c(at.date()), 0.5, 1
    else:
        usual = READINGS.get(name) or READINGS.get(f"{task}.{ask.step.get('code')}")
        middle, spread, digits = usual or _middle(ask.step)
    drawn = middle + spread * max(-1.9, min(1.9, chance.gauss(0, 0.7)))
    return f"{Decimal(drawn):.{digits}f}"


def tank_c(day: date) -> float:
    """Water in the header tanks: coldest at the end of January."""
    return 11.5 - 5.5 * cos(2 * pi * (day.timetuple().tm_yday - 25) / 365)


def _middle(step: Mapping[str, Any]) -> tuple[float, float, int]:
    low, high = step.get("low"), step.get("high")
    ends = [float(end) for end in (low, high) if end is not None]
    whole = bool(step.get("whole")) or not ends
    return (sum(ends) / len(ends) if ends else 0.0), 0.0, 0 if whole else 1


def _again(shed: Shed, what: str, day: date) -> bool:
    """Whether it was found twice within a month already: the cause was found then."""
    found = shed.found.setdefault(what, [])
    lately = [on for on in found if day - on <= timedelta(days=A_MONTH)]
    if len(lately) < TWICE:
        found.append(day)
    return len(lately) >= TWICE


def go_wrong(day: Day) -> None:
    """One small trouble now and then; none in the last weeks, which go as told."""
    known = sorted(set(day.plans) - DONE_DAYS_LATER.keys())
    drawn = day.chance.random()
    if not known or day.before <= LAST_WEEKS:
        return
    plan = day.plans[day.chance.choice(known)]
    if drawn < 0.09:
        troubles = [trouble for trouble in TROUBLES if trouble.task in known]
        if troubles:
            trouble = day.chance.choice(troubles)
            if not _again(day.shed, f"{trouble.task}.{trouble.step}", day.date):
                day.plans[trouble.task].fail(*trouble[1:])
    elif drawn < 0.12:
        plan.typed_at = day.moment("06:25", days=1)
        plan.reason = day.chance.choice(WHY_LATE)
        day.shed.by_chance.append((day.date, "late"))
    elif drawn < 0.145:
        plan.missed = day.chance.choice(WHY_MISSED)
        plan.typed_at = max(plan.at, day.moment("18:40"))
    elif drawn < 0.165 and "wash" in known:
        wash = day.plans["wash"]
        wash.missed, wash.needed = "no trays were emptied", False


def second_look(day: Day) -> None:
    """The other person looks at the whole day; where both worked, each at the other's.

    So does what was typed since the evening before about an earlier day.
    """
    day.at("20:10", lambda: _look(day, on_duty(day.date)))


def _look(day: Day, duty: str) -> None:
    writing, dues = day.shed.writing, day.shed.rota.dues(day.date, day.date)
    found = answers(writing.record, dues)
    entries = [entry for due in dues for entry in found.get(due.key, ())]
    known = {entry.name for entry in entries}
    before = [e for e in _typed_since(day) if e.name not in known]
    left = [*entries, *before]
    for by in (OTHER[duty], duty):
        others = [e for e in left if by not in (e.by, e.written_by)]
        if others:
            whole = str(day.date) if all(e in others for e in entries) else None
            countersign(writing, others, by=by, day=whole)
        left = [entry for entry in left if entry not in others]


def _typed_since(day: Day) -> list[Entry]:
    """What was signed since the last second look, but for the day that had none."""
    unseen = day.before + 1 in UNSEEN
    evening = day.moment("20:10", days=-2 if unseen else -1)
    written = day.shed.writing.record.entries(
        ["sign_off", "miss"], since=day.moment("00:00", days=-3)
    )
    left_out = str(day.date - timedelta(days=1)) if unseen else None
    return [
        entry
        for entry in written
        if moment_of(entry.recorded_at) > evening
        and str(entry.get("due"))[:10] != left_out
    ]
