"""Trays are washed and sanitised as they come back; lines are flushed and shocked.

What is measured out is worked out from the can's age, as ``hygiene dose --check`` does
it, and rounded up to the next 5 ml.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from demo_farm.dates import A_DAY
from demo_farm.growing import resting_line
from demo_farm.ordinary import on_duty
from demo_farm.shed import LOOKED_AT, MANAGER, OTHER, Day, Mend, Plan, Shed
from hygiene.acts import containers, dosing
from hygiene.acts.how import How
from hygiene.acts.store import container_of
from hygiene.kinds.moments import stamp
from hygiene.kinds.sanitising import Dose, Drawn, Lost, Reading, Rinse
from hygiene.sanitising.dosing import ends_of, plan, plan_line
from hygiene.sanitising.lines import read_pipe

HYPO = "hypo"
GEAR = ("gloves", "goggles", "apron", "boots")
CAN_TENTH_ML = 50_000
NEW_CAN_BELOW = 4_000
TARGET_MG_PER_L = Decimal(150)
TUB_L = Decimal(60)
SPRAYER_L = Decimal(15)
A_MINUTE = timedelta(minutes=1)
STEP_TENTH_ML = 50
LEAST, MOST = 12, 24
"""Trays of a tub: what the day after tomorrow needs, and what it holds."""
HOLD = timedelta(hours=3, minutes=10)
DRY_AFTER = timedelta(hours=2)


# ---- cans ------------------------------------------------------------------------


def chemical_store(day: Day) -> None:
    """A can of five litres comes while there is still some in the last one."""
    if day.date == day.shed.first:
        day.at("05:58", lambda: take_in_can(day))
    elif "wash" in day.plans:
        day.at("11:20", lambda: _order(day))


def _order(day: Day) -> None:
    inside = day.shed.inside
    little = inside.left_tenth_ml[inside.cans[HYPO]] < NEW_CAN_BELOW
    if little and inside.next_can is None:
        inside.next_can = take_in_can(day, in_use=False)


def take_in_can(
    day: Day, product: str = HYPO, *, in_use: bool = True, **said: Any
) -> str:
    """A can comes in; it is the one in use from now on, if nothing else is said."""
    shed = day.shed
    given: dict[str, Any] = {
        "tenth_ml": CAN_TENTH_ML,
        "maker_batch": f"{product[:2].upper()} {day.date:%y%j} / 4",
        "made_on": day.date - 9 * A_DAY,
        "received_on": day.date,
        "expires_on": day.date + 171 * A_DAY,
        "kept_where": "STORE, low shelf, in a tray of its own",
        "kept_at_c": Decimal(13),
        "document": f"delivery note C{day.date:%y%m%d}",
        **said,
    }
    (made,) = containers.receive(
        shed.writing, shed.farm, How(on_duty(day.date)), product=product, **given
    )
    code = str(made.entry.get("container"))
    shed.inside.left_tenth_ml[code] = given["tenth_ml"]
    if in_use:
        shed.inside.cans[product] = code
    return code


def enough(shed: Shed, volume_l: Decimal | None, line: str = "") -> tuple[Drawn, ...]:
    """Draw what a tub or a line takes from the can in use, or from the next one.

    The last of a can, too little for a tub, is rinsed out and written off.
    """
    inside, by = shed.inside, How(MANAGER)
    can = inside.cans[HYPO]
    need = measured_out(shed, can, volume_l, line)
    if need > inside.left_tenth_ml[can] and inside.next_can is not None:
        left = inside.left_tenth_ml.pop(can)
        why = "the last of it, rinsed out with the can"
        if left:
            thing = Lost(container=can, tenth_ml=left, why=why)
            containers.lose(shed.writing, thing, by)
        can = inside.cans[HYPO] = inside.next_can
        inside.next_can = None
        need = measured_out(shed, can, volume_l, line)
    return draw(shed, can, need)


def measured_out(shed: Shed, can: str, volume_l: Decimal | None, line: str) -> int:
    """Tenths of a millilitre for a tub of that volume, or for all of a line."""
    held = container_of(shed.writing.record, can)
    if held is None:
        raise LookupError(can)
    on = shed.now.astimezone(shed.farm.zone).date()
    ends = [ends_of(held, shed.farm.get("product", HYPO) or {}, on)]
    target = float(TARGET_MG_PER_L)
    if volume_l is not None:
        planned = plan(ends, target, float(volume_l), on).planned
    else:
        runs = (shed.farm.get("line", line) or {}).get("runs") or ()
        pipes = [read_pipe(str(run)) for run in runs]
        planned = plan_line(ends, target, pipes, [], on).planned
    step = STEP_TENTH_ML if volume_l is not None else 10
    return -(-planned // step) * step


def draw(shed: Shed, can: str, tenth_ml: int) -> tuple[Drawn, ...]:
    """Take so much out of a can."""
    shed.inside.left_tenth_ml[can] -= tenth_ml
    return (Drawn(container=can, tenth_ml=tenth_ml),)


def whoever(day: Day, topic: str = "chemicals") -> str:
    """Who is on duty, if trained; else the other one."""
    duty = on_duty(day.date)
    trained = day.shed.farm.trained(duty, topic, day.date)
    return duty if trained else OTHER[duty]


# ---- trays -----------------------------------------------------------------------


def washing(day: Day) -> None:
    """The wash of the day is a dose of what came back; none where it was missed."""
    stop = day.shed.stop
    if stop.last - A_DAY <= day.date <= stop.last:
        day.at("13:10", lambda: wash_today(day, MANAGER))
    plan = day.plans.get("wash")
    if plan is None or plan.silent or plan.missed:
        return
    dry = max(plan.at, day.moment("10:20")) + DRY_AFTER
    tub = plan.tub or wash_today
    day.shed.at(dry, lambda: tub(day, plan.by, plan))


def wash_today(
    day: Day, by: str, plan: Plan | None = None, least: int = LEAST, **said: Any
) -> dosing.Dosing | None:
    """Write the dose of the trays that came back, once they are dry."""
    trays = day.shed.inside.to_wash(least, MOST)
    if not trays:
        return None
    return soak(day, by, trays, **{**read_in_tub(day, plan), **said})


def read_in_tub(day: Day, plan: Plan | None) -> dict[str, Any]:
    """What the strip and the clock said: as signed in the checklist, where it was."""
    said = {} if plan is None else plan.answers
    start = Decimal(said.get("strength", 150))
    return {
        "start": start if start >= 100 else TARGET_MG_PER_L,
        "end": Decimal(said.get("endstrength", 120)),
        "minutes": int(said.get("contact", 12)),
    }


def soak(
    day: Day,
    by: str,
    trays: tuple[str, ...],
    *,
    start: Decimal = TARGET_MG_PER_L,
    end: Decimal = Decimal(120),
    minutes: int = 12,
    clock: str = "09:24",
    can: str | None = None,
    mend: Mend | None = LOOKED_AT,
    **said: Any,
) -> dosing.Dosing:
    """Write a tub in which trays were sanitised; what it clears is clean from now on.

    What stands against it is looked at and closed as ``mend`` says; None: by its story.
    """
    shed = day.shed
    drawn = (
        draw(shed, can, measured_out(shed, can, TUB_L, ""))
        if can
        else enough(shed, TUB_L)
    )
    began = day.moment(clock) + timedelta(minutes=day.before % 9)
    thing = Dose(
        product=HYPO,
        drawn=drawn,
        target="tray",
        trays=trays,
        tools=("TUB1", "JUG1"),
        way="soak",
        volume_l=TUB_L,
        target_mg_per_l=TARGET_MG_PER_L,
        readings=(by_strip("start", start), by_strip("end", end)),
        ended_at=stamp(began + timedelta(minutes=minutes)),
        washed_before=True,
        rinsed=True,
        tools_rinsed=True,
        dry=True,
        gear=GEAR,
    )
    how = How(by, happened_at=began)
    made = dosing.dose(shed.writing, shed.setup, shed.farm, replace(thing, **said), how)
    for tray in trays:
        if made.trays[tray].cleared:
            shed.inside.clean.append((day.date, tray))
        else:
            shed.inside.dirty.append(tray)
    for action in made.actions if mend is not None else ():
        shed.mend(action, mend, OTHER[by])
    return made


def by_strip(spot: str, mg_per_l: Decimal, at: datetime | None = None) -> Reading:
    """A strength in the tub or the line, read with a strip."""
    return Reading(
        spot=spot,
        value_mg_per_l=mg_per_l,
        kit="QS",
        temp_c=Decimal("14.5"),
        read_at=None if at is None else stamp(at),
    )


# ---- lines -----------------------------------------------------------------------


def flushing(day: Day) -> None:
    """Both lines are flushed when they are looked after, once a week."""
    plan = day.plans.get("lines")
    if plan is None or plan.silent or plan.missed:
        return
    at = plan.at + timedelta(minutes=7)
    day.shed.at(at, lambda: [flush(day, line, plan.by) for line in ("L1", "L2")])


def flush(day: Day, line: str, by: str, **said: Any) -> dosing.Rinsing:
    """Clean water through a line until the last nozzle reads as what comes in."""
    shed, chance = day.shed, Random(f"flush {line} {day.before}")
    incoming = Decimal(chance.randint(20, 35)) / 100
    readings = (
        _by_drops("incoming", incoming),
        _by_drops("nozzle", incoming + Decimal(chance.randint(0, 9)) / 100),
    )
    thing = Rinse(line=line, volume_l=Decimal(45), readings=readings)
    return dosing.rinse(
        shed.writing, shed.setup, shed.farm, replace(thing, **said), How(by)
    )


def _by_drops(spot: str, mg_per_l: Decimal) -> Reading:
    return Reading(spot=spot, value_mg_per_l=mg_per_l, kit="DPD")


def shocking(day: Day) -> None:
    """The line whose racks are bare stands full of sanitiser for three hours.

    Both do before the shed starts again.
    """
    stop = day.shed.stop
    if stop.first <= day.date <= stop.last:
        if day.date == stop.last - A_DAY:
            day.at("09:10", lambda: [shock(day, line) for line in ("L1", "L2")])
    elif (day.before - 4) % 14 == 4:
        day.at("13:05", lambda: shock(day, resting_line(day.before)))


def shock(day: Day, line: str) -> None:
    """Fill a line, hold, flush; each is written when it is done."""
    shed, by = day.shed, whoever(day)
    began = shed.now
    chance = Random(f"shock {line} {day.before}")
    first, last = Decimal(chance.randint(132, 155)), Decimal(chance.randint(78, 110))
    thing = Dose(
        product=HYPO,
        drawn=enough(shed, None, line),
        target="line",
        line=line,
        tools=("JUG1",),
        target_mg_per_l=TARGET_MG_PER_L,
        readings=(by_strip("nozzle", first), by_strip("end", last, began + HOLD)),
        ended_at=stamp(began + HOLD),
        tools_rinsed=True,
        gear=GEAR,
        locked_off_by=by,
    )
    how = How(by, happened_at=began)

    def held() -> None:
        dosing.dose(shed.writing, shed.setup, shed.farm, thing, how)

    shed.later(HOLD, held)
    shed.later(
        HOLD + timedelta(minutes=25), lambda: flush(day, line, by, timer_on=True)
    )


EVERY_DAY = (chemical_store, washing, flushing, shocking)


def wipe_down(
    day: Day, at: str, place: str, *, way: str, tool: str, volume_l: Decimal
) -> None:
    """A washed surface is wetted for twenty minutes, rinsed and left to dry."""
    shed, by = day.shed, whoever(day)
    began = day.moment(at)
    thing = Dose(
        product=HYPO,
        drawn=enough(shed, volume_l),
        target="surface",
        place=place,
        tools=(tool,),
        way=way,
        volume_l=volume_l,
        target_mg_per_l=TARGET_MG_PER_L,
        readings=(by_strip("start", TARGET_MG_PER_L),),
        ended_at=stamp(began + 20 * A_MINUTE),
        washed_before=True,
        rinsed=True,
        tools_rinsed=True,
        dry=True,
        gear=GEAR,
    )
    how = How(by, happened_at=began)
    dosing.dose(shed.writing, shed.setup, shed.farm, thing, how)
