"""Every trouble that the readiness rules find, to be planted on a clean farm."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from random import Random

from inspected_farm import (
    A_DAY,
    CLOCKS,
    GROWING,
    Clean,
    Found,
    at,
    trays_of,
)

from hygiene.kinds.batch import Feed, Place, SeedShare, Sow
from hygiene.kinds.book import Strike
from hygiene.kinds.day import Answer, Miss
from hygiene.kinds.find import Hold, Pest
from hygiene.kinds.moments import months_after, stamp
from hygiene.kinds.sanitising import Container, Reading
from hygiene.kinds.seed import Germination
from hygiene.kinds.setup import (
    Training,
    Tray,
)

Plant = Callable[[Clean, date], Found]


def gap(farm: Clean, day: date) -> Found:
    del farm.events[f"wash {day}"]
    return {("gap", day)}


def unsigned(farm: Clean, day: date) -> Found:
    typed_by_another(farm, day)
    # nor can the typist be the second person who looks at it
    late = {("unreviewed", day)} if day <= farm.last - 5 * A_DAY else set()
    return {("unsigned", day), *late}


def typed_by_another(farm: Clean, day: date) -> None:
    event = farm.events[f"walk {day}"]
    event.written_by = "CD" if event.by == "AB" else "AB"


def unreviewed(farm: Clean, day: date) -> Found:
    del farm.events[f"seen {day}"]
    return {("unreviewed", day)} if day <= farm.last - 5 * A_DAY else set()


def too_warm(farm: Clean, day: date) -> None:
    answer = Answer(step="temp", passed=False, value=Decimal("27.3"), unit="C")
    farm.change(f"walk {day}", answers=(answer,))


def no_action(farm: Clean, day: date) -> Found:
    too_warm(farm, day)
    return {("no-action", day)}


def open_action(farm: Clean, day: date) -> Found:
    too_warm(farm, day)
    farm.acted("warm", day, about=f"walk {day}", step="temp")
    del farm.events["warm close"]
    return {("open-action", day)}


def closed_unchecked(farm: Clean, day: date) -> Found:
    too_warm(farm, day)
    farm.acted("hot", day, about=f"walk {day}", step="temp")
    farm.add(
        "hot strike", at(day, "19:00"), Strike(struck="recheck"),
        corrects="hot recheck", reason="another room was looked at",
    )  # fmt: skip
    return {("closed-unchecked", day)}


def marked(farm: Clean, day: date, mark: str, *, kind: str = "dose") -> None:
    """An entry that bears a mark, whose action was closed."""
    farm.change(f"{kind} {day}", marks=(mark,))
    farm.acted(mark, day, about=f"{kind} {day}")


def marked_open(farm: Clean, day: date, mark: str, *, kind: str = "dose") -> None:
    marked(farm, day, mark, kind=kind)
    del farm.events[f"{mark} close"]


def strength(farm: Clean, day: date) -> Found:
    marked_open(farm, day, "too-weak")
    return {("strength", day)}


def two_strengths(farm: Clean, day: date) -> Found:
    read = (Reading(spot="start", value_mg_per_l=Decimal(400), kit="QS"),)
    farm.change(f"dose {day}", readings=read)
    return {("strength", day)}


def contact_time(farm: Clean, day: date) -> Found:
    marked_open(farm, day, "contact-short")
    return {("time", day)}


def two_times(farm: Clean, day: date) -> Found:
    farm.change(f"dose {day}", ended_at=stamp(at(day, "09:30")))
    return {("time", day)}


def order(farm: Clean, day: date) -> Found:
    marked_open(farm, day, "not-washed")
    return {("order", day)}


def without_paper(farm: Clean, day: date) -> Found:
    marked_open(farm, day, "not-looked-at", kind="feed")
    return {("without-paper", day)}


def chain(farm: Clean, day: date) -> Found:
    farm.change(f"sow {day}", seeds=(SeedShare(lot="L-9", grams=6_000),))
    return {("chain", "L-9")}


def lost_tray(farm: Clean, day: date) -> Found:
    """It is fed without one of its trays, which is sown again a day later."""
    sown = day - GROWING * A_DAY
    farm.change(f"feed {day}", trays=trays_of(sown, farm.first)[1:])
    return {("balance", f"B-{sown}")}


def expired_store(farm: Clean, day: date) -> Found:
    can = Container(
        container="C-2", product="hypo", tenth_ml=50_000, expires_on=day - A_DAY
    )
    farm.add("old can", at(farm.first, "06:10"), can)
    return {("expired-store", day - A_DAY)}


def kit_check(farm: Clean, day: date) -> Found:
    farm.set("kit PH", check_every_months=1)
    when = min(farm.last - 40 * A_DAY, farm.first - A_DAY)
    farm.events["check PH"].happened_at = at(when, "09:00")
    return {("kit-check", "PH")}


def drill(farm: Clean, day: date) -> Found:
    when = farm.last - 380 * A_DAY
    farm.events["drill"].happened_at = at(when, "09:00")
    return {("drill", months_after(when, 12))}


def backup(farm: Clean, day: date) -> Found:
    del farm.events["backup"]
    return {("backup", "")}


def incident(farm: Clean, day: date) -> Found:
    farm.add(f"pest {day}", at(day, "12:00"), Pest(what="rat", place="hopper"))
    farm.acted("rat", day, about=f"pest {day}", incident=True)
    del farm.events["rat close"]
    return {("incident", day)}


def past_day(farm: Clean, day: date) -> Found:
    sown = farm.last - (GROWING + 1) * A_DAY
    one_tray(farm, "LATE", sown, "T033")
    return {("past-day", sown)}


def one_tray(farm: Clean, name: str, day: date, tray: str) -> None:
    """A small batch in a tray that is only there for it."""
    farm.things[f"tray {tray}"] = Tray(code=tray)
    thing = Sow(
        batch=f"B-{name}", seeds=(SeedShare(lot="L-1", grams=1_500),),
        places=(Place(tray=tray, rack="R1"),),
    )  # fmt: skip
    farm.add(f"sow {name}", at(day, "11:20"), thing)


def germination(farm: Clean, day: date) -> Found:
    farm.add(
        "count", at(day, "12:05"), Germination(lot="L-1", sown=200, germinated=150)
    )
    return {("germination", day)}


def fed_young(farm: Clean, day: date) -> Found:
    fed_after(farm, day, GROWING - 1)
    return {("young", day)}


def fed_after(farm: Clean, day: date, days: int) -> None:
    one_tray(farm, "SMALL", day - days * A_DAY, "T034")
    thing = Feed(
        batch="B-SMALL", trays=("T034",), animals="EWES", grams=8_600, look_ok=True,
        smell_ok=True,
    )  # fmt: skip
    farm.add("feed SMALL", at(day, "12:40"), thing)


def seed_held(farm: Clean, day: date) -> Found:
    held = Hold(held="L-1", sort="lot", why="nobody saw that it is untreated")
    farm.add("seed hold", at(day, "12:00"), held)
    return {("seed-held", day)}


def water(farm: Clean, day: date) -> Found:
    when = farm.last - 300 * A_DAY
    farm.events["sample"].happened_at = at(when, "09:00")
    return {("water", months_after(when, 6))}


def kit_order(farm: Clean, day: date) -> Found:
    farm.set("kit QS", expires_on=day - A_DAY)
    return {("kit-order", "QS")}


def register(farm: Clean, day: date) -> Found:
    farm.set("product hypo", product_types=("PT2",))
    return {("register", "hypo")}


def data_sheet(farm: Clean, day: date) -> Found:
    farm.set("product hypo", sds_checked_on=farm.last - 400 * A_DAY)
    return {("data-sheet", "hypo")}


def assessment(farm: Clean, day: date) -> Found:
    farm.set("product hypo", assessment_review_on=day - A_DAY)
    return {("assessment", day - A_DAY)}


def training(farm: Clean, day: date) -> Found:
    until = Training(topic="chemicals", had_on=date(2025, 1, 6), until=day - A_DAY)
    hygiene = Training(topic="hygiene", had_on=date(2025, 1, 5))
    farm.set("person CD", training=(hygiene, until))
    return {("training", "CD")}


def own_check(farm: Clean, day: date) -> Found:
    event = farm.events[f"seen {day}"]
    event.by = farm.events[f"walk {day}"].by
    farm.change(f"seen {day}", how="self-reviewed")
    late = {("unreviewed", day)} if day <= farm.last - 5 * A_DAY else set()
    return {("own-check", day), *late}


def own_recheck(farm: Clean, day: date) -> Found:
    too_warm(farm, day)
    farm.acted("own", day, about=f"walk {day}", step="temp")
    for key in ("own action", "own recheck", "own close"):
        farm.events[key].by = "AB"
    return {("own-check", day)}


def again(farm: Clean, day: date) -> Found:
    for back in (6, 3, 0):
        mice(farm, day - back * A_DAY)
    return {("again", day)}


def mice(farm: Clean, day: date) -> None:
    thing = Pest(what="mouse droppings", place="behind the hopper")
    farm.add(f"mice {day}", at(day, "12:10"), thing)


def late(farm: Clean, day: date) -> Found:
    event = farm.events[f"wash {day}"]
    event.happened_at, event.at = event.at, at(day + A_DAY, "06:40")
    event.reason = "the telephone was flat"
    # the second look of that evening was before it was there
    seen = farm.events[f"seen {day}"]
    seen.at = at(day + A_DAY, "06:50")
    return {("late", day)}


def late_dose(farm: Clean, day: date) -> Found:
    farm.events[f"dose {day}"].at = at(day + A_DAY, "06:45")
    return {("late", day)}


def impossible(farm: Clean, day: date) -> Found:
    event = farm.events[f"dose {day}"]
    event.at = at(day, "09:01")
    return {("impossible", day)}


def ahead(farm: Clean, day: date) -> Found:
    farm.events[f"sow {day}"].happened_at = at(day, "14:00")
    return {("impossible", day)}


def same_value(farm: Clean, day: date) -> Found:
    same_days(farm, day, 5)
    return {("same-value", day)}


def same_days(farm: Clean, day: date, times: int) -> None:
    """So many days running up to a day, and another value around them."""
    for back in range(-1, times + 1):
        when = day - back * A_DAY
        value = Decimal("20.6") if 0 <= back < times else Decimal("21.3")
        if f"walk {when}" in farm.events:
            answer = Answer(step="temp", passed=True, value=value, unit="C")
            farm.change(f"walk {when}", answers=(answer,))


def unread(farm: Clean, day: date) -> Found:
    answer = Answer(step="temp", passed=True, done=True)
    farm.change(f"walk {day}", answers=(answer,))
    return {("unread", day)}


def unread_dose(farm: Clean, day: date) -> Found:
    farm.change(f"dose {day}", readings=())
    return {("unread", day)}


def often(farm: Clean, day: date) -> Found:
    """On every third day it is not done, and it is said why."""
    days = farm.every_day()[::3]
    for when in days:
        missed(farm, when)
    return {("often", "wash")}


def missed(farm: Clean, day: date) -> None:
    due = stamp(at(day, CLOCKS["wash"]))
    farm.events[f"wash {day}"].make = lambda names: Miss(
        task="wash", due=due, why="no water"
    )


def expired_used(farm: Clean, day: date) -> Found:
    marked(farm, day, "expired")
    return {("expired-used", day)}


def product_type(farm: Clean, day: date) -> Found:
    marked(farm, day, "wrong-product-type")
    return {("product-type", day)}


def untrained(farm: Clean, day: date) -> Found:
    marked(farm, day, "untrained", kind="wash")
    return {("untrained", day)}


def kit_used(farm: Clean, day: date) -> Found:
    marked(farm, day, "kit-out-of-date")
    return {("kit-used", day)}


def against_rules(farm: Clean, day: date) -> Found:
    marked(farm, day, "tray-not-cleared", kind="sow")
    return {("against-rules", day)}


def clock(farm: Clean, day: date) -> Found:
    """A line is recorded by a clock that is thirty hours behind."""
    thing = Pest(what="wasp", place="door")
    farm.add(f"clock {day}", at(day, "13:00"), thing)
    return {("clock", (at(day, "13:00") - timedelta(hours=30)).date())}


PLANTS: dict[str, Plant] = {
    "gap": gap,
    "unsigned": unsigned,
    "unreviewed": unreviewed,
    "no-action": no_action,
    "open-action": open_action,
    "closed-unchecked": closed_unchecked,
    "strength": strength,
    "strength, two papers": two_strengths,
    "time": contact_time,
    "time, two papers": two_times,
    "order": order,
    "without-paper": without_paper,
    "chain": chain,
    "balance": lost_tray,
    "expired-store": expired_store,
    "kit-check": kit_check,
    "drill": drill,
    "backup": backup,
    "incident": incident,
    "past-day": past_day,
    "germination": germination,
    "young": fed_young,
    "seed-held": seed_held,
    "water": water,
    "kit-order": kit_order,
    "register": register,
    "data-sheet": data_sheet,
    "assessment": assessment,
    "training": training,
    "own-check": own_check,
    "own-check, recheck": own_recheck,
    "again": again,
    "late": late,
    "late, dose": late_dose,
    "impossible": impossible,
    "impossible, ahead": ahead,
    "same-value": same_value,
    "unread": unread,
    "unread, dose": unread_dose,
    "often": often,
    "expired-used": expired_used,
    "product-type": product_type,
    "untrained": untrained,
    "kit-used": kit_used,
    "against-rules": against_rules,
    "clock": clock,
}
"""Every trouble, by the rule that finds it."""


WARM: tuple[str, ...] = (
    "no-action", "open-action", "closed-unchecked", "own-check, recheck",
)  # fmt: skip
"""Each is about a room that is too warm: three of them within thirty days would be a
trouble of its own."""


def plant_many(farm: Clean, chance: Random) -> Found:
    """One trouble of every rule, each on a day of its own that chance draws.

    What is not done often enough is not done on every third day, on which nothing
    else is planted.
    """
    seldom = set(farm.every_day()[::3])
    left = chance.sample(WARM, 2)
    names = [name for name in PLANTS if name not in WARM or name in left]
    chance.shuffle(names)
    # the one that needs a week of mornings finds its place first
    names.sort(key=lambda name: name != "same-value")
    expected, taken = set[tuple[str, date | str | None]](), set[date]()
    for name in names:
        free = [
            day
            for day in farm.every_day()[22:-3]
            if day not in seldom and not _touched(name, day) & taken
        ]
        day = chance.choice(free)
        taken |= _touched(name, day)
        expected |= PLANTS[name](farm, day)
    return expected


def _touched(name: str, day: date) -> set[date]:
    if name == "same-value":
        return {day - back * A_DAY for back in range(-1, 6)}
    return {day}
