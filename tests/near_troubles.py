"""For every trouble the nearest thing that is none: the rules stay silent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal

from inspected_farm import (
    A_DAY,
    FAR,
    GROWING,
    Clean,
    Name,
    at,
    trays_of,
)
from troubles import (
    chain,
    expired_store,
    fed_after,
    germination,
    kit_check,
    kit_order,
    late,
    marked,
    mice,
    missed,
    one_tray,
    same_days,
    seed_held,
    too_warm,
    training,
    typed_by_another,
)

from hygiene.kinds.day import Answer, Countersign
from hygiene.kinds.find import Pest, Release
from hygiene.kinds.kits import Calibrate
from hygiene.kinds.moments import stamp
from hygiene.kinds.people import Train
from hygiene.kinds.sanitising import Container, Dose, Lost, Reading
from hygiene.kinds.seed import Germination, Seed
from hygiene.kinds.setup import (
    Product,
)


def explained(farm: Clean, day: date) -> None:
    missed(farm, day)


def signed_by_the_doer(farm: Clean, day: date) -> None:
    typed_by_another(farm, day)
    farm.add(
        "own word",
        at(day, "20:30"),
        lambda names: Countersign(entries=(names[f"walk {day}"],), how="self-reviewed"),
        by=farm.events[f"walk {day}"].by,
    )


def not_yet_reviewed(farm: Clean, day: date) -> None:
    del farm.events[f"seen {farm.last}"]


def acted_upon(farm: Clean, day: date) -> None:
    too_warm(farm, day)
    farm.acted("warm", day, about=f"walk {day}", step="temp")


def put_right(mark: str, kind: str = "dose") -> Callable[[Clean, date], None]:
    return lambda farm, day: marked(farm, day, mark, kind=kind)


def about_the_same(farm: Clean, day: date) -> None:
    """A strip shows 180 where the checklist says 200; a minute more or less."""
    values = {"strength": (200, "mg/L"), "contact": (14, "min")}
    farm.change(
        f"wash {day}",
        answers=tuple(
            Answer(step=step, passed=True, value=Decimal(value), unit=unit)
            for step, (value, unit) in values.items()
        ),
    )
    read = (Reading(spot="start", value_mg_per_l=Decimal(180), kit="QS"),)
    farm.change(f"dose {day}", readings=read, ended_at=stamp(at(day, "09:12")))


def a_lot_more(farm: Clean, day: date) -> None:
    lot = Seed(
        lot="L-9", supplier="ALDER", supplier_lot="AF/9", grams=50_000,
        untreated_seen_by="AB", declaration="note 9",
    )  # fmt: skip
    farm.add("lot 9", at(farm.first, "06:20"), lot)
    chain(farm, day)


def fed_in_two_parts(farm: Clean, day: date) -> None:
    sown = day - GROWING * A_DAY
    first, *rest = trays_of(sown, farm.first)
    event = farm.events[f"feed {day}"]
    whole = event.make({})
    farm.change(f"feed {day}", trays=tuple(rest), grams=26_000)
    part = replace(whole, trays=(first,), grams=8_600)  # type: ignore[type-var]
    farm.add("rest", at(day, "08:40"), part)


def empty_can(farm: Clean, day: date) -> None:
    expired_store(farm, day)
    gone = Lost(container="C-2", tenth_ml=50_000, why="given back")
    farm.add("gone", at(farm.first, "06:15"), gone)


def checked_lately(farm: Clean, day: date) -> None:
    kit_check(farm, day)
    thing = Calibrate(kit="PH", passed=True, against="buffer 7")
    farm.add("check again", at(farm.last - 3 * A_DAY, "09:00"), thing)


def drilled_lately(farm: Clean, day: date) -> None:
    farm.events["drill"].happened_at = at(farm.last - 360 * A_DAY, "09:00")


def backed_up_a_week_ago(farm: Clean, day: date) -> None:
    farm.events["backup"].at = at(farm.last - 6 * A_DAY, "12:00")


def incident_closed(farm: Clean, day: date) -> None:
    farm.add(f"pest {day}", at(day, "12:00"), Pest(what="rat", place="hopper"))
    farm.acted("rat", day, about=f"pest {day}", incident=True)


def on_its_last_day(farm: Clean, day: date) -> None:
    one_tray(farm, "LATE", farm.last - GROWING * A_DAY, "T033")


def counted_again(farm: Clean, day: date) -> None:
    """Too little of the first count, and enough of the next one."""
    germination(farm, day)
    again = Germination(lot="L-1", sown=200, germinated=190)
    farm.add("count again", at(day, "12:06"), again)


def fed_in_time(farm: Clean, day: date) -> None:
    fed_after(farm, day, GROWING)


def paper_came(farm: Clean, day: date) -> None:
    seed_held(farm, day)
    farm.add(
        "seed release",
        at(day, "12:30"),
        lambda n: Release(hold=n["seed hold"], why="it came", document="note 4471"),
    )


def sampled_in_time(farm: Clean, day: date) -> None:
    farm.events["sample"].happened_at = at(farm.last - 170 * A_DAY, "09:00")


def new_strips(farm: Clean, day: date) -> None:
    kit_order(farm, day)
    thing = Calibrate(kit="QS", passed=True, against="new tube", expires_on=FAR)
    farm.add("strips", at(farm.first, "06:30"), thing)


def for_floors(farm: Clean, day: date) -> None:
    """A PT2 product that is said to be for floors hangs together."""
    farm.things["product quat"] = Product(
        code="quat", name="Floor Quat", product_types=("PT2",), uses=("floor",),
        sds_checked_on=farm.first,
    )  # fmt: skip
    can = Container(container="C-3", product="quat", tenth_ml=50_000)
    farm.add("can 3", at(farm.first, "06:40"), can)


def sheet_of_nothing(farm: Clean, day: date) -> None:
    """Of a product that does not stand in the store nobody needs a new sheet."""
    farm.things["product gone"] = Product(
        code="gone", name="Long Gone", uses=("floor",), sds_date=date(2019, 1, 1),
        assessment="RA-9", assessment_review_on=date(2020, 1, 1),
    )  # fmt: skip


def trained_again(farm: Clean, day: date) -> None:
    training(farm, day)
    thing = Train(person="CD", topic="chemicals", had_on=day - A_DAY)
    farm.add("course", at(day - A_DAY, "12:00"), thing)


def a_third_looks(farm: Clean, day: date) -> None:
    """Whoever did it looks as well, but so did another."""
    farm.add(
        "own look",
        at(day, "20:10"),
        lambda names: Countersign(entries=(names[f"walk {day}"],), how="self-reviewed"),
        by=farm.events[f"walk {day}"].by,
    )


def twice_only(farm: Clean, day: date) -> None:
    for back in (40, 6, 0):
        if day - back * A_DAY >= farm.first:
            mice(farm, day - back * A_DAY)


def from_paper(farm: Clean, day: date) -> None:
    """Typed the next morning from the sheet that hangs in the shed."""
    late(farm, day)
    farm.change(f"wash {day}", marks=("late", "paper"))
    farm.events[f"wash {day}"].written_by = "EF"


def right_after(farm: Clean, day: date) -> None:
    """Several jobs signed in one minute, and a dose at the end of its contact."""
    farm.events[f"dose {day}"].at = at(day, "09:20")
    for task in ("walk", "wash"):
        farm.events[f"{task} {day}"].at = at(day, "10:30")


def four_alike(farm: Clean, day: date) -> None:
    same_days(farm, day, 4)


def read_at_the_rinse(farm: Clean, day: date) -> None:
    """The tub was made up for another dose, whose readings count for it."""
    farm.add(
        "second dip",
        at(day, "09:50"),
        lambda names: replace(
            farm.events[f"dose {day}"].make(names),  # type: ignore[type-var]
            readings=(),
            tub=names[f"dose {day}"],
        ),
        happened_at=at(day, "09:15"),
    )
    farm.change(f"dose {day}", trays=trays_of(day, farm.first)[:2])
    farm.events["second dip"].make = _second_dip(farm, day)


def _second_dip(farm: Clean, day: date) -> Name:
    return lambda names: Dose(
        product="hypo",
        target="tray",
        trays=trays_of(day, farm.first)[2:],
        way="soak",
        tub=names[f"dose {day}"],
        ended_at=stamp(at(day, "09:27")),
        washed_before=True,
        rinsed=True,
    )


def missed_once(farm: Clean, day: date) -> None:
    missed(farm, day)


def unmarked(farm: Clean, day: date) -> None:
    """Doses, sowings and tasks without any mark, as on every other day."""


def in_one_second(farm: Clean, day: date) -> None:
    """Two lines of one moment stand in the order in which they were written."""
    for number in (1, 2):
        thing = Pest(what=f"moth {number}", place="door")
        farm.add(f"moth {number}", at(day, "13:10"), thing)


NEAR: dict[str, Callable[[Clean, date], None]] = {
    "gap": explained,
    "unsigned": signed_by_the_doer,
    "unreviewed": not_yet_reviewed,
    "no-action": acted_upon,
    "open-action": acted_upon,
    "closed-unchecked": acted_upon,
    "strength": put_right("too-weak"),
    "strength, two papers": about_the_same,
    "time": put_right("contact-short"),
    "time, two papers": about_the_same,
    "order": put_right("not-washed"),
    "without-paper": put_right("not-looked-at", "feed"),
    "chain": a_lot_more,
    "balance": fed_in_two_parts,
    "expired-store": empty_can,
    "kit-check": checked_lately,
    "drill": drilled_lately,
    "backup": backed_up_a_week_ago,
    "incident": incident_closed,
    "past-day": on_its_last_day,
    "germination": counted_again,
    "young": fed_in_time,
    "seed-held": paper_came,
    "water": sampled_in_time,
    "kit-order": new_strips,
    "register": for_floors,
    "data-sheet": sheet_of_nothing,
    "assessment": sheet_of_nothing,
    "training": trained_again,
    "own-check": a_third_looks,
    "own-check, recheck": acted_upon,
    "again": twice_only,
    "late": from_paper,
    "late, dose": right_after,
    "impossible": right_after,
    "impossible, ahead": right_after,
    "same-value": four_alike,
    "unread": unmarked,
    "unread, dose": read_at_the_rinse,
    "often": missed_once,
    "expired-used": unmarked,
    "product-type": unmarked,
    "untrained": unmarked,
    "kit-used": unmarked,
    "against-rules": unmarked,
    "clock": in_one_second,
}
"""For every trouble, the nearest thing that is none."""
