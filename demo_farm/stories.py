"""The troubles that are planted in the year, each on its day, counted from the end.

A story is a function of the day: it changes what is planned for it, or puts more on
its agenda. ``PLANTED`` lists them, with the task and the sort of trace that each
leaves; ``every_day`` gives what goes on through the year. To add one, write
``def NAME(day: Day)`` and put it in one of the two.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from typing import Any, NamedTuple

from demo_farm import (
    bad_batch,
    growing,
    inspector,
    measuring,
    mishaps,
    ordinary,
    washing,
)
from demo_farm.dates import A_DAY
from demo_farm.shed import MANAGER, OTHER, WORKER, Day, Mend, Shed
from hygiene.acts.actions import look_again
from hygiene.acts.how import How
from hygiene.acts.mending import correct, strike
from hygiene.acts.papers import turn
from hygiene.acts.people import train
from hygiene.acts.set_up import FarmFiles
from hygiene.acts.signing import Signed
from hygiene.kinds.action import Recheck
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.entry import Entry
from hygiene.kinds.papers import Season
from hygiene.kinds.people import Train
from hygiene.kinds.setup import Product

SHEETS = 197
"""Days before the last one when the data sheets were looked at (FARM.toml)."""
LAPSED = 178
"""Days before the last one when the worker's chemicals training ends (FARM.toml)."""
UNSEEN = ordinary.UNSEEN


def gap(day: Day) -> None:
    """Nobody signs, and nobody ever says why."""
    day.plans["floors"].silent = True


def still_open(day: Day) -> None:
    """Out of limit, looked at again and still not right; left open."""
    plan = day.plans["walk"]
    plan.fail("dry", "2", "watered by hand", None)
    seen = "new nozzle fitted, one tray still dry under it"
    plan.then = lambda signed: day.at("11:20", partial(_not_better, day, signed, seen))


def _not_better(day: Day, signed: Signed, seen: str) -> None:
    for action in signed.actions:
        thing = Recheck(action=action.name, seen=seen, passed=False)
        look_again(day.shed.writing, thing, by=MANAGER)


def typed_late(day: Day) -> None:
    """Done in time, written down the next morning, with the reason."""
    plan = day.plans["floors"]
    plan.typed_at = day.moment("06:40", days=1)
    plan.reason = "the telephone was flat"


def typed_by_the_other(day: Day) -> None:
    """One did it with wet gloves on, the other typed it."""
    plan = day.plans["wash"]
    plan.typed_by = OTHER[plan.by]


def corrected(day: Day) -> None:
    """A strip read as 150 was typed as 15, and is put right within the hour."""
    plan = day.plans["wash"]
    plan.answers["strength"] = "15"

    def put_right(signed: Signed) -> None:
        body = _with_answer(signed.sign_off, "strength", 150)
        name, by = signed.sign_off.name, plan.by
        day.shed.later(
            timedelta(minutes=35),
            lambda: correct(
                day.shed.writing,
                name,
                body,
                reason="typed 15, the strip said 150",
                by=by,
            ),
        )

    plan.then = put_right


def _with_answer(entry: Entry, step: str, value: int) -> dict[str, Any]:
    rows = [
        {**row, "value": value} if row.get("step") == step else dict(row)
        for row in entry.get("answers")
    ]
    return {**entry.body, "answers": rows}


def struck(day: Day) -> None:
    """Signed too early by mistake, ruled through, and signed when it was done."""
    plan = day.plans["floors"]
    plan.at = day.moment("16:03")
    again = dataclasses.replace(plan, at=day.moment("17:41"))

    def rule_through(signed: Signed) -> None:
        name, by = signed.sign_off.name, plan.by
        reason = "signed the wrong line: only the drains were done"
        act = partial(strike, day.shed.writing, name, reason=reason, by=by)
        day.at("16:09", act)
        day.shed.carry_out(again)

    plan.then = rule_through


def not_needed(day: Day) -> None:
    """No trays came back, so there was nothing to wash."""
    plan = day.plans["wash"]
    plan.missed, plan.needed = "no trays were emptied: fodder kept a day longer", False


def missed(day: Day) -> None:
    """Not done, and it is said why."""
    plan = day.plans["visitors"]
    plan.missed = "dip tub split, the new one came at night"
    plan.at = day.moment("18:30")


def out_of_limit(day: Day) -> None:
    """Too warm, put right, looked at again, closed."""
    mend = Mend("21.4 C", "fan belt changed", "21.4", "C", "fan belt torn")
    day.plans["walk"].fail("temp.GROW", "27.3", "doors opened", mend)


def power_cut(day: Day) -> None:
    """Nothing that needs water or light was done from noon on; written next morning."""
    for plan in day.plans.values():
        if plan.at >= day.moment("12:00") and plan.at.date() == day.date:
            plan.missed = "no power from noon to the night: no water, no light"
            plan.at = day.moment("06:45", days=1)


def untrained(day: Day) -> None:
    """The worker washes trays though the training has lapsed; it says so for ever."""
    plan = day.plans["wash"]
    plan.by = WORKER
    plan.mend = Mend(
        "watched the next wash: strength, time and gear as the label says",
        "booked on the next course; the manager washes until then",
        cause="nobody looked at the date",
    )


def new_version(day: Day) -> None:
    """The walk-round gets a step: version 2, approved by the manager."""
    day.at("18:50", lambda: day.shed.set_up(version_2(day.shed.files, day.date)))


def version_2(files: FarmFiles, adopted: date) -> FarmFiles:
    fans = Step(
        code="fans",
        text="Fans seen to run, filters clear",
        if_fails="Power off, clear them, start again. No fan: door open, trays apart.",
    )

    def changed(made: Checklist) -> Checklist:
        if made.code != "walk":
            return made
        return dataclasses.replace(
            made, version=2, dated=adopted, steps=(*made.steps, fans)
        )

    lists = tuple((document, changed(made)) for document, made in files.checklists)
    return dataclasses.replace(files, checklists=lists)


def trained_again(day: Day) -> None:
    """The worker has the training anew, and signs for chemicals again."""
    day.at("18:20", lambda: retrain(day.shed, day.date))


def retrain(shed: Shed, had_on: date) -> None:
    """Write the training that the worker had on a day."""
    thing = Train(
        person=WORKER,
        topic="chemicals",
        had_on=had_on,
        until=had_on + 3 * 365 * A_DAY,
        given_by="Varrow College",
    )
    train(shed.writing, shed.farm, How(MANAGER), thing)
    shed.look_round()


class Planted(NamedTuple):
    """A trouble: where it lies, what trace it leaves, on what, and what to say.

    ``task`` is that of a checklist, or the kind of entry that tells it. One that goes
    on for days has no ``story`` here: ``bad_batch`` or ``mishaps`` tells it.
    """

    before: int
    sort: str
    task: str
    says: str
    story: Callable[[Day], None] | None = None

    def on(self, last: date) -> date:
        """Its day, in a year that ends on ``last``."""
        return last - self.before * A_DAY


CHANGED, RETRAINED = 160, 150
"""Days before the last one when the walk-round and the worker's training change."""

PLANTED = (
    Planted(LAPSED - 2, "untrained", "wash", "signed without training", untrained),
    Planted(
        CHANGED, "version", "walk", "the checklist changed to version 2", new_version
    ),
    Planted(RETRAINED, "trained", "wash", "the training was had again", trained_again),
    Planted(37, "power-cut", "floors", "an afternoon missed, and why", power_cut),
    Planted(bad_batch.FOUND, "mould", "mould", "mould; two groups had eaten of it"),
    Planted(bad_batch.ASSESSED, "burnt", "discard", "what was left of it: burnt"),
    Planted(bad_batch.SAVED, "saved", "assess", "a batch of the same tub: saved"),
    Planted(mishaps.SAMPLED, "ecoli", "water", "E. coli; sowing held; taken again"),
    Planted(mishaps.NO_PAPER, "no-paper", "seed", "a lot without its declaration"),
    Planted(mishaps.TOO_WEAK, "too-weak", "dose", "tub too weak, done again"),
    Planted(mishaps.EXPIRED, "expired", "dose", "drawn from a can past its date"),
    Planted(bad_batch.CLOSED, "closed", "close", "the mould's incident closed"),
    Planted(20, "out-of-limit", "walk", "too warm, rechecked, closed", out_of_limit),
    Planted(mishaps.FLOOR_PRODUCT, "floor-product", "dose", "PT2 product on trays"),
    Planted(17, "missed", "visitors", "not done, and why", missed),
    Planted(
        mishaps.ACID_RINSED,
        "acid-rinsed",
        "dose",
        "acid in a tub rinsed before: no harm",
    ),
    Planted(15, "not-needed", "wash", "not needed that day", not_needed),
    Planted(13, "struck", "floors", "signed too early, ruled through", struck),
    Planted(mishaps.ACID_UNRINSED, "acid", "dose", "acid after bleach: gas, incident"),
    Planted(10, "corrected", "wash", "15 mg/L put right to 150", corrected),
    Planted(8, "typed-by", "wash", "typed by the other one", typed_by_the_other),
    Planted(mishaps.TRAY_LOST, "tray-lost", "feed", "a tray that nobody wrote off"),
    Planted(6, "late", "floors", "written the next morning", typed_late),
    Planted(mishaps.FORCED, "forced", "sow", "sown against the rules, with a reason"),
    Planted(3, "gap", "floors", "nothing written, never explained", gap),
    Planted(1, "open", "walk", "dry trays, rechecked, still open", still_open),
)


def begin(shed: Shed, first: date) -> None:
    """The first morning: the set-up, with what the stories before it have changed."""
    files = inspector.with_review_put_off(shed.files, shed.last)
    if shed.before(first) < CHANGED:
        files = version_2(files, shed.last - CHANGED * A_DAY)
    if shed.before(first) > SHEETS:
        files = with_sheets_of(files, shed.last - (SHEETS + 365) * A_DAY)
    shed.set_up(files)
    shed.inside.idle = list(shed.farm.trays())
    if shed.before(first) < RETRAINED:
        retrain(shed, shed.last - RETRAINED * A_DAY)


def on_day(day: Day) -> bool:
    """Let the planted stories of a day happen; False where it has none."""
    found = [planted for planted in PLANTED if planted.before == day.before]
    for planted in found:
        if planted.story is not None:
            planted.story(day)
    return inspector.on_day(day) or bool(found)


def season(day: Day) -> None:
    """The shed stops for two weeks of summer: said the evening before, each way."""
    stop = day.shed.stop
    if day.date == stop.first - A_DAY:
        last = Season(runs=False, day=day.date, why="the goats are on grass")
        day.at("18:55", partial(_turn, day.shed, last))
    if day.date == stop.last:
        day.at(
            "18:55", partial(_turn, day.shed, Season(runs=True, day=day.date + A_DAY))
        )


def _turn(shed: Shed, thing: Season) -> None:
    turn(shed.writing, shed.farm, How(MANAGER), thing)
    shed.look_round()


def sheets_looked_at(day: Day) -> None:
    """Once a year somebody asks for the newest data sheets; until then they age."""
    if day.before == SHEETS:
        files = with_sheets_of(day.shed.files, day.date)
        day.at("18:30", lambda: day.shed.set_up(files))


def with_sheets_of(files: FarmFiles, looked_at: date) -> FarmFiles:
    """The farm files with the day on which the data sheets were looked at."""
    things = dict(files.wanted.things)
    things["product"] = tuple(
        dataclasses.replace(product, sds_checked_on=looked_at)
        for product in things["product"]
        if isinstance(product, Product)
    )
    return dataclasses.replace(
        files, wanted=dataclasses.replace(files.wanted, things=things)
    )


def this_morning(day: Day) -> None:
    """Nothing has been fed out yet when the year stops: somebody signs that next."""
    if day.before == 0:
        day.plans["feedout"].at = day.moment("09:05")


Story = Callable[[Day], object]


def every_day() -> tuple[Story, ...]:
    """What goes on through a year, told anew: what it remembers is its own."""
    return (
        season,
        sheets_looked_at,
        this_morning,
        bad_batch.BadBatch().live,
        mishaps.Mishaps().live,
        *growing.EVERY_DAY,
        *washing.EVERY_DAY,
        *measuring.EVERY_DAY,
    )
