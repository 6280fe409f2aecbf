"""Seed comes in, a dozen trays are sown a day, and go to the animals on day 7.

Each line has its fortnight: what is sown then stands below it, on its two racks. So
the other one is bare before its turn comes, and can be sanitised.
"""

from __future__ import annotations

from decimal import Decimal
from random import Random
from typing import NamedTuple

from demo_farm.dates import A_DAY
from demo_farm.inside import Growing, Inside, OpenLot
from demo_farm.ordinary import on_duty
from demo_farm.shed import Day, Share, Shed
from hygiene.acts import batches, leaving, seed
from hygiene.acts.how import How
from hygiene.kinds.batch import Dispatch, Feed, Place, Sample, SeedShare
from hygiene.kinds.seed import Germination, Scrap

A_LOT_GRAMS = 240_000
ORDER_BELOW_GRAMS = 90_000
TRAYS_A_DAY = 12
ON_A_LEVEL = 8
GROWING_DAYS = 7
RACKS = {"L1": ("R1", "R2"), "L2": ("R3", "R4")}
BUYER = "THRUSH"


class Supplier(NamedTuple):
    """Whom seed is bought from, and how their lots are called and described."""

    code: str
    numbers: str
    variety: str
    declaration: str


SUPPLIERS = (
    Supplier("QUILL", "QM {year}-{n:03d} B", "winter barley", "declaration QD-{n:03d}"),
    Supplier("SALLOW", "SF/{n:04d}", "spring barley", "on delivery note {n:04d}"),
)


def line_of(before: int) -> str:
    """The line below which is sown, so many days before the last one."""
    return ("L2", "L1")[(before - 4) // 14 % 2]


def resting_line(before: int) -> str:
    """The other one."""
    return "L1" if line_of(before) == "L2" else "L2"


def sows(day: Day) -> bool:
    """Whether anything is sown; not where it would be ready while the shed stops."""
    stop = day.shed.stop
    return not stop.first - GROWING_DAYS * A_DAY <= day.date <= stop.last


def stops_tomorrow(day: Day) -> bool:
    """Whether it is the last day before the shed stops."""
    return day.date + A_DAY == day.shed.stop.first


# ---- seed ------------------------------------------------------------------------


def seed_store(day: Day) -> None:
    """A lot is ordered when little is left; a few days later it is counted."""
    if day.date == day.shed.first:
        day.at("05:55", lambda: take_in(day))
        day.at("05:57", lambda: take_in(day))
    elif sows(day):
        day.at("11:05", lambda: _order(day))


def _order(day: Day) -> None:
    inside = day.shed.inside
    if sum(lot.left for lot in inside.usable()) < ORDER_BELOW_GRAMS:
        take_in(day)


def take_in(day: Day, *, declared: bool = True) -> seed.Received:
    """A lot comes in from one supplier, then from the other."""
    shed, inside = day.shed, day.shed.inside
    number = inside.lots_received
    inside.lots_received += 1
    chance = Random(f"lot {number}")
    supplier = SUPPLIERS[number % 2]
    words = {"n": 211 + 7 * number, "year": day.date.year % 100}
    by = on_duty(day.date)
    made = seed.receive(
        shed.writing,
        shed.farm,
        How(by),
        supplier=supplier.code,
        supplier_lot=supplier.numbers.format(**words),
        grams=A_LOT_GRAMS,
        untreated_seen_by=by if declared else None,
        declaration=supplier.declaration.format(**words) if declared else None,
        document=f"delivery note {words['n']:04d}",
        variety=supplier.variety,
        grade="feed, cleaned",
        claimed_germination_percent=Decimal(95),
        moisture_percent=Decimal(chance.randint(118, 138)) / 10,
        look="plump, bright, no dust",
        smell="of straw",
        chaff_percent=Decimal(chance.randint(2, 11)) / 10,
        pests_seen="none",
        ergot_count=0,
        best_before=day.date + 300 * A_DAY,
        kept_where="STORE, on pallets",
    )
    code = str(made.seed.get("lot"))
    inside.lots.append(OpenLot(code, A_LOT_GRAMS))
    if made.hold is not None:
        inside.put_aside.add(code)
    if declared:
        day.at("17:40", lambda: _count(shed, code, chance), days=3)
    return made


def _count(shed: Shed, lot: str, chance: Random) -> None:
    good = min(200, round(chance.gauss(190, 2.5)))
    thing = Germination(lot=lot, sown=200, germinated=good, days=3)
    seed.count(shed.writing, thing, How(on_duty(shed.now.date())))


def shares(shed: Shed, grams: int) -> tuple[SeedShare, ...]:
    """Seed for a batch: what is left of the oldest lot, and the rest of the next.

    What lies at the bottom of the last bag is dust, and is written off.
    """
    taken: list[SeedShare] = []
    for lot in list(shed.inside.usable()):
        need = grams - sum(share.grams for share in taken)
        if not need:
            break
        if lot.left <= need:
            dust = min(lot.left - 1, 180 + 20 * (shed.inside.lots_received % 9))
            _scrap(shed, lot, dust)
            need = lot.left
            shed.inside.lots.remove(lot)
        lot.left -= need
        taken.append(SeedShare(lot=lot.code, grams=need))
    return tuple(taken)


def _scrap(shed: Shed, lot: OpenLot, grams: int) -> None:
    if grams <= 0:
        return
    thing = Scrap(lot=lot.code, grams=grams, why="dust and broken grain in the bag")
    seed.scrap(shed.writing, thing, How(on_duty(shed.now.date())))
    lot.left -= grams


# ---- sowing ----------------------------------------------------------------------


def sowing(day: Day) -> None:
    """A dozen trays in the morning, soaked since the evening before."""
    if sows(day):
        day.at("07:52", day.own_sowing or (lambda: sow_today(day)))


def sow_today(
    day: Day,
    *,
    seeds: tuple[SeedShare, ...] = (),
    trays: tuple[str, ...] = (),
    reason: str | None = None,
    note: str | None = None,
) -> batches.Sown | None:
    """Sow what is clean, on the racks whose fortnight it is; None: too little is."""
    shed, inside = day.shed, day.shed.inside
    short = TRAYS_A_DAY - len(trays)
    clean = inside.take_clean(short, day.date)
    grams = TRAYS_A_DAY * seed_a_tray(day.before)
    if (short and not clean) or not (seeds or _enough(inside, grams)):
        return None
    line, places = line_of(day.before), (*trays, *clean)
    made = batches.sow(
        shed.writing,
        shed.farm,
        How(on_duty(day.date), reason=reason),
        seeds=seeds or shares(shed, grams),
        places=_places(day.before, places),
        line=line,
        note=note,
    )
    code, rack = str(made.sow.get("batch")), RACKS[line][day.before % 2]
    inside.growing[code] = Growing(code, day.date, places, grams, line, rack)
    if made.hold is not None:
        inside.held.add(code)
    return made


def _enough(inside: Inside, grams: int) -> bool:
    return sum(lot.left for lot in inside.usable()) >= grams + 1000


def seed_a_tray(before: int) -> int:
    """Grams of dry seed on a tray: four kilograms or so on a square metre."""
    return 1450 + 10 * Random(f"sow {before}").randint(0, 10)


def _places(before: int, trays: tuple[str, ...]) -> tuple[Place, ...]:
    """Four batches share a rack of six levels, eight trays on a level."""
    rack = RACKS[line_of(before)][before % 2]
    first = before // 2 % 4 * TRAYS_A_DAY
    return tuple(
        Place(tray=tray, rack=rack, level=(first + n) // ON_A_LEVEL + 1)
        for n, tray in enumerate(trays)
    )


# ---- feeding ---------------------------------------------------------------------


SHARES = (
    Share("08:50", "MILKERS", 7),
    Share("08:56", "YOUNG", 1),
    Share("09:03", "EWES", 4),
)
SOLD_ON, SOLD_TRAYS = 5, 2
"""On Saturdays two of the ewes' trays go to the neighbour's alpacas."""


def feeding(day: Day) -> None:
    """What has grown for seven days goes out: a sample first, then group by group."""
    wash = day.plans.get("wash")
    if "feedout" not in day.plans:
        return
    if wash is not None and not wash.needed and not stops_tomorrow(day):
        return
    day.at("08:48", lambda: keep_samples(day))
    for share in SHARES if day.own_feeding is None else day.own_feeding:
        day.at(share.clock, lambda share=share: feed_share(day, share))


def keep_samples(day: Day) -> None:
    """A handful of each batch that goes out is frozen."""
    for batch in day.shed.inside.ready(day.date):
        thing = Sample(
            batch=batch.code,
            grams=250,
            frozen_at="freezer in the store",
            why="reference sample, kept for six weeks",
        )
        leaving.sample(day.shed.writing, thing, How(on_duty(day.date)))


def feed_share(day: Day, share: Share) -> None:
    """One group gets its trays of each batch that is ready."""
    for batch in day.shed.inside.ready(day.date):
        trays = batch.trays if share.animals == "EWES" else batch.trays[: share.trays]
        if share.animals == "EWES" and day.date.weekday() == SOLD_ON:
            send(day, batch, trays[-SOLD_TRAYS:])
            trays = trays[:-SOLD_TRAYS]
        if trays:
            feed(day, batch, trays, share.animals)


def feed(day: Day, batch: Growing, trays: tuple[str, ...], animals: str) -> None:
    """Feed trays, looked at and smelt, and weighed on the barrow."""
    thing = Feed(
        batch=batch.code,
        trays=trays,
        animals=animals,
        grams=fodder_grams(batch, trays),
        look_ok=True,
        smell_ok=True,
    )
    leaving.feed(day.shed.writing, day.shed.farm, thing, How(on_duty(day.date)))
    day.shed.inside.emptied(batch.code, trays)


def send(day: Day, batch: Growing, trays: tuple[str, ...]) -> None:
    """Sell trays to the neighbour, with a delivery note."""
    thing = Dispatch(
        batch=batch.code,
        trays=trays,
        buyer=BUYER,
        grams=fodder_grams(batch, trays),
        document=f"delivery note {day.date:%y%m%d}",
        look_ok=True,
        smell_ok=True,
    )
    leaving.dispatch(day.shed.writing, day.shed.farm, thing, How(on_duty(day.date)))
    day.shed.inside.emptied(batch.code, trays)


def fodder_grams(batch: Growing, trays: tuple[str, ...]) -> int:
    """What trays weigh: five to seven times their seed, to a tenth of a kilogram."""
    chance = Random(f"{batch.sown.toordinal() % 7} {trays}")
    times = 5.8 + 0.25 * (batch.sown.toordinal() % 5 - 2) + chance.uniform(-0.1, 0.1)
    return round(batch.seed_grams / TRAYS_A_DAY * len(trays) * times / 100) * 100


EVERY_DAY = (seed_store, sowing, feeding)
