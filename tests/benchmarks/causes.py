"""Search for causes on simulated farm-years, with and without a planted cause.

Run by hand: ``python tests/benchmarks/causes.py [--years N] [--only WORD]``.

A year has 365 sowings of 12 trays on three racks of four levels, 26 lots, 4 suppliers,
120 trays, a wash a day, a container a month, two water lines, three people, a deep
clean every four weeks, and seed rates, room heat and humidity that wander. A mouldy
sowing has three mouldy trays on average. Every question is asked, people included.
Each figure stands with its exact 95 % interval.
"""

from __future__ import annotations

import argparse
import math
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from scipy.stats import binomtest

from hygiene.tracing.causes import Causes, find_causes
from hygiene.tracing.outcomes import Batch, Lot, Outcome, TrayOutcome
from hygiene.tracing.questions import DAYS, FACTORS, PERSON, known_sowings
from hygiene.tracing.statistics import hypergeometric_tail

SOWINGS = 365
TRAYS = 120
LOTS = 26
DAYS_OUT = 8
"""Seven days of growth and one in the wash: then a tray is free again."""

PLACES = [(f"R{rack}", f"H{level}") for rack in (1, 2, 3) for level in (1, 2, 3, 4)]
FIRST_DAY = date(2031, 1, 1)
BAD_SHARE = 0.25
"""Share of the trays of a mouldy sowing that are mouldy."""

USUAL_LEVEL = 0.05
"""What false alarms are held against, and what a single question told would use."""

Culprit = tuple[str, str]
Floats = np.ndarray
Random = np.random.Generator


@dataclass(frozen=True)
class Farm:
    """What a simulated year is like; a planted cause is a factor's name."""

    mouldy: float = 0.08
    season: float = 0.0
    spell: float = 1.0
    carry: float = 0.0
    carry_sowings: float = 3.0
    clumped: bool = False
    sticks_to_rack: bool = False
    lots: str = "in turn"
    people: str = "by lot"
    unwatched: float = 0.0
    planted: str = ""
    times: float = 1.0


@dataclass
class Year:
    """The sowings' own side of a year: what each was, before any mould."""

    lots: Floats
    suppliers: Floats
    people: Floats
    seed: Floats
    clean: Floats
    heat: Floats
    damp: Floats
    shape: Floats


def wander(rng: Random, keep: float) -> Floats:
    """A series of unit spread that keeps so much of itself from day to day."""
    out = rng.normal(size=SOWINGS)
    for day in range(1, SOWINGS):
        out[day] = keep * out[day - 1] + math.sqrt(1 - keep * keep) * out[day]
    return out


def lots_sown(farm: Farm, rng: Random) -> Floats:
    day = np.arange(SOWINGS)
    turn = {
        "in turn": 2 * (day // 28) + day % 2,
        "by a coin": 2 * (day // 28) + rng.integers(0, 2, SOWINGS),
        "overlapping": day // 14 + day % 2,
        "one by one": day // 14,
    }
    return np.minimum(turn[farm.lots], LOTS - 1)


def growing_mean(days: Floats) -> Floats:
    return np.array([days[day : day + 7].mean() for day in range(SOWINGS)])


def year_of(farm: Farm, rng: Random) -> Year:
    day = np.arange(SOWINGS)
    lots = lots_sown(farm, rng)
    people = rng.integers(0, 3, SOWINGS) if farm.people == "by lot" else (day // 7) % 3
    season = np.cos(2 * np.pi * (day - rng.uniform(0, 365)) / 365)
    heat = 20 + 1.5 * season + 0.8 * wander(rng, 0.7)
    damp = 72 + 4 * season + 4 * wander(rng, 0.7)
    shape = 1 + farm.season * season
    start = rng.integers(0, SOWINGS - 21)
    if farm.spell > 1:
        shape[start : start + 21] *= farm.spell
        heat[start : start + 21] += 4
    return Year(
        lots,
        rng.integers(0, 4, LOTS)[lots],
        people,
        5 + 0.28 * wander(rng, 0.98) + 0.3 * rng.normal(size=SOWINGS),
        (day + rng.integers(0, 28)) % 28,
        growing_mean(heat),
        growing_mean(damp),
        shape / shape.mean(),
    )


def mouldy_sowings(farm: Farm, year: Year, culprit: Culprit, rng: Random) -> Floats:
    rate = farm.mouldy * year.shape
    levels = {
        "lot": [f"L{lot:02d}" for lot in year.lots],
        "supplier": [f"S{supplier}" for supplier in year.suppliers],
        "sowing day": [
            DAYS[(FIRST_DAY + timedelta(day)).weekday()] for day in range(SOWINGS)
        ],
    }
    if farm.planted in levels:
        bad = np.array(levels[farm.planted]) == culprit[1]
        rate = np.where(bad, farm.times * rate, rate)
    measures = {"seed rate": year.seed, "room humidity": year.damp}
    if farm.planted in measures:
        rank = np.argsort(np.argsort(measures[farm.planted])) / SOWINGS
        lean = farm.times**rank
        rate = rate * lean / lean.mean()
    if farm.carry:
        return carried_over(farm, rate * carry_share(farm), rng)
    return rng.random(SOWINGS) < np.minimum(rate, 0.98)


def carried_over(farm: Farm, rate: Floats, rng: Random) -> Floats:
    """After a find the rate is raised, and the rise dies away with the sowings."""
    found = np.zeros(len(rate), bool)
    last = -math.inf
    for at, draw in enumerate(rng.random(len(rate))):
        rise = farm.carry * math.exp(-(at - last) / farm.carry_sowings)
        if draw < min(0.98, rate[at] * (1 + rise)):
            found[at], last = True, at
    return found


SHARES: dict[tuple[float, float, float], float] = {}


def carry_share(farm: Farm) -> float:
    """The share of the rate that leaves the wanted rate once finds carry over."""
    key = (farm.mouldy, farm.carry, farm.carry_sowings)
    if key not in SHARES:
        low, high = 0.05, 1.0
        for _ in range(16):
            share = (low + high) / 2
            rate = np.full(40_000, farm.mouldy * share)
            if carried_over(farm, rate, np.random.default_rng(1)).mean() > farm.mouldy:
                high = share
            else:
                low = share
        SHARES[key] = low
    return SHARES[key]


def clump(rng: Random, many: int) -> list[int]:
    """Trays that touch: each next one is the nearest to those that are mouldy."""
    spots = [(place // 4, place % 4) for place in range(12)]
    got = [int(rng.integers(12))]
    while len(got) < many:
        away = {
            place: min(
                abs(spots[place][0] - spots[g][0]) + abs(spots[place][1] - spots[g][1])
                for g in got
            )
            for place in range(12)
            if place not in got
        }
        near = [place for place, far in away.items() if far == min(away.values())]
        got.append(int(rng.choice(near)))
    return got


class Shed:
    """Gives the trays of each sowing, and says which of them go mouldy."""

    def __init__(self, farm: Farm, culprit: Culprit, rng: Random) -> None:
        self.farm, self.culprit, self.rng = farm, culprit, rng
        self.free, self.out = list(range(TRAYS)), []
        self.last_rack, self.last_day = "", -math.inf

    def trays(self) -> list[str]:
        if len(self.out) == DAYS_OUT:
            self.free += self.out.pop(0)
        taken = [int(t) for t in self.rng.choice(self.free, 12, replace=False)]
        self.free = [tray for tray in self.free if tray not in taken]
        self.out.append(taken)
        return [f"T{tray:03d}" for tray in taken]

    def mouldy(self, day: int, sowing_mouldy: bool, trays: list[str]) -> Floats:
        bad = np.zeros(12, bool)
        if sowing_mouldy:
            many = 1 + self.rng.binomial(11, 2 / 11)
            if self.farm.clumped:
                bad[clump(self.rng, many)] = True
            else:
                weight = self.weights(day, trays)
                bad[self.rng.choice(12, many, replace=False, p=weight)] = True
            self.last_rack, self.last_day = PLACES[int(np.flatnonzero(bad)[0])][0], day
        if self.farm.planted == "tray" and self.culprit[1] in trays:
            own = self.farm.times * self.farm.mouldy * BAD_SHARE
            bad[trays.index(self.culprit[1])] = self.rng.random() < own
        return bad

    def weights(self, day: int, trays: list[str]) -> Floats:
        farm, name = self.farm, self.culprit[1]
        weight = np.ones(12)
        for at, (rack, level) in enumerate(PLACES):
            here = {"rack": rack, "level": level, "tray in mouldy sowings": trays[at]}
            if here.get(farm.planted) == name:
                weight[at] = farm.times
            if farm.sticks_to_rack and day - self.last_day <= 21:
                weight[at] *= 4 if rack == self.last_rack else 1
        return weight / weight.sum()


def culprit_of(farm: Farm, rng: Random) -> Culprit:
    names = {
        "lot": f"L{rng.integers(0, LOTS - 1):02d}",
        "supplier": "S2",
        "sowing day": "Friday",
        "rack": f"R{rng.integers(1, 4)}",
        "level": f"H{rng.integers(1, 5)}",
        "tray": f"T{rng.integers(0, TRAYS):03d}",
    }
    factor = farm.planted.removesuffix(" in mouldy sowings")
    return factor, names.get(factor, "")


def simulated(farm: Farm, rng: Random) -> tuple[list[Batch], Culprit]:
    """One farm-year and what was planted in it."""
    culprit = culprit_of(farm, rng)
    year = year_of(farm, rng)
    found = mouldy_sowings(farm, year, culprit, rng)
    shed = Shed(farm, culprit, rng)
    batches = []
    for day in range(SOWINGS):
        trays = shed.trays()
        bad = shed.mouldy(day, bool(found[day]), trays)
        watched = rng.random() >= farm.unwatched or bad.any()
        batches.append(batch_of(day, year, trays, bad, watched))
    return batches, culprit


def batch_of(day: int, year: Year, trays: list[str], bad: Floats, watched: bool):
    none = Outcome.NO_MOULD if watched else Outcome.NOT_KNOWN
    lot = Lot(f"L{year.lots[day]:02d}", f"S{year.suppliers[day]}")
    return Batch(
        f"B{day:03d}",
        FIRST_DAY + timedelta(day),
        tuple(
            TrayOutcome(
                tray,
                Outcome.MOULD if mouldy else none,
                rack,
                level,
                line="low" if level in ("H1", "H2") else "high",
                wash=f"W{day:03d}",
                container=f"C{day // 30:02d}",
            )
            for tray, mouldy, (rack, level) in zip(trays, bad, PLACES, strict=True)
        ),
        (lot,),
        (f"P{year.people[day]}",),
        float(year.seed[day]),
        int(year.clean[day]),
        float(year.heat[day]),
        float(year.damp[day]),
    )


def plainly_alarms(batches: list[Batch]) -> bool:
    """What a plain sowing-wise hypergeometric test with Bonferroni would have said."""
    known = known_sowings(batches)
    finds = [batch.outcome is Outcome.MOULD for batch in known]
    ps = []
    for factor in (*FACTORS, PERSON):
        if factor.name in ("tray", "rack", "level", "line", "wash"):
            continue
        bearing: dict[str, list[int]] = {}
        for at, batch in enumerate(known):
            for level in factor.of(batch, batch.trays[0]):
                bearing.setdefault(level, []).append(at)
        ps += [
            hypergeometric_tail(
                sum(finds[at] for at in rows), len(rows), sum(finds), len(known)
            )
            for rows in bearing.values()
        ]
    return min(ps) * len(ps) <= USUAL_LEVEL


@dataclass
class Tally:
    """Counts over the farm-years of one row."""

    years: int = 0
    alarms: int = 0
    plain: int = 0
    days_named: int = 0
    first: int = 0
    told: int = 0
    mouldy: int = 0
    seconds: float = 0.0
    slowest: float = 0.0


def count(tally: Tally, alarmed: Counter[str], batches: list[Batch], culprit: Culprit):
    started = time.perf_counter()
    causes = find_causes(batches, with_people=True)
    took = time.perf_counter() - started
    tally.years += 1
    tally.seconds += took
    tally.slowest = max(tally.slowest, took)
    tally.mouldy += causes.year.mouldy_sowings
    tally.days_named += bool(causes.stretches)
    shown = {one.factor for one in causes.ranked if one.stands_out}
    tally.alarms += bool(shown)
    alarmed.update(shown)
    if culprit[0]:
        tally.first += ranked_first(causes, culprit)
        tally.told += p_told(causes, culprit) <= USUAL_LEVEL
    else:
        tally.plain += plainly_alarms(batches)


def ranked_first(causes: Causes, culprit: Culprit) -> bool:
    first = causes.ranked[0] if causes.ranked else None
    return (
        first is not None
        and (first.factor, first.level) == culprit
        and first.stands_out
    )


def p_told(causes: Causes, culprit: Culprit) -> float:
    """The p of the right question, had it been the only one."""
    return next((f.p for f in causes.ranked if (f.factor, f.level) == culprit), 1.0)


def run(farm: Farm, years: int, seed: int) -> tuple[Tally, Counter[str]]:
    """Simulate and search so many years; the same seed gives the same years."""
    rng = np.random.default_rng(seed)
    tally, alarmed = Tally(), Counter()
    for _ in range(years):
        count(tally, alarmed, *simulated(farm, rng))
    return tally, alarmed


def share(hits: int, years: int) -> str:
    interval = binomtest(hits, years).proportion_ci(0.95, "exact")
    return (
        f"{100 * hits / years:5.1f} ({100 * interval.low:4.1f}-"
        f"{100 * interval.high:5.1f})"
    )


SEASON = Farm(season=0.6)
SPELL = Farm(spell=3.0)
CARRY = Farm(carry=6.0)
BARS = {
    "flat": Farm(),
    "season": SEASON,
    "three-week hot spell": SPELL,
    "carry-over from the last find": CARRY,
}
HARDER = {
    "season, 39 times from low to high": Farm(season=0.95),
    "hot spell, 6 times": Farm(spell=6.0),
    "carry-over, 11 times and longer": Farm(carry=10.0, carry_sowings=4.0),
    "all three": Farm(season=0.6, spell=3.0, carry=6.0),
    "mould in clumps of touching trays": Farm(clumped=True),
    "season, lots by a coin, weekly rota": replace(
        SEASON, lots="by a coin", people="weekly"
    ),
    "spell, lots overlap, weekly rota": replace(
        SPELL, lots="overlapping", people="weekly"
    ),
    "carry-over, one lot at a time, weekly rota": replace(
        CARRY, lots="one by one", people="weekly"
    ),
    "5 % of sowings mouldy, carry-over": replace(CARRY, mouldy=0.05),
    "11 % of sowings mouldy, carry-over": replace(CARRY, mouldy=0.11),
    "a fifth of sowings not watched to the end": Farm(unwatched=0.2),
    "no bar: mould stays on its rack 3 weeks": Farm(sticks_to_rack=True),
}
PLANTED = (
    Farm(planted="rack", times=4),
    Farm(planted="level", times=4),
    Farm(planted="lot", times=8),
    Farm(planted="tray", times=15),
    Farm(planted="tray in mouldy sowings", times=15),
)
ALSO_PLANTED = (
    Farm(planted="lot", times=8, lots="by a coin"),
    Farm(planted="lot", times=8, lots="overlapping"),
    Farm(planted="lot", times=8, lots="one by one"),
    Farm(planted="lot", times=8, carry=6.0),
    Farm(planted="rack", times=4, season=0.6, spell=3.0),
    Farm(planted="supplier", times=4),
    Farm(planted="sowing day", times=4),
    Farm(planted="seed rate", times=8),
    Farm(planted="room humidity", times=8),
)


def false_alarms(rows: dict[str, Farm], years: int) -> Iterator[str]:
    yield (
        f"{'no cause planted':43} {'years':>5}  {'alarms, %':18} {'plain, %':>8} "
        f"{'days named, %':>13}  by factor"
    )
    for name, farm in rows.items():
        tally, alarmed = run(farm, years, seed=7)
        named = ", ".join(f"{f} {n}" for f, n in alarmed.most_common())
        yield (
            f"{name:43} {tally.years:5}  {share(tally.alarms, tally.years):18} "
            f"{100 * tally.plain / years:8.1f} {100 * tally.days_named / years:13.1f}"
            f"  {named}"
        )


def power(farms: list[Farm], years: int) -> Iterator[str]:
    yield (
        f"{'planted':24} {'times':>5} {'lots sown':11} {'mouldy, %':>9} {'years':>5}  "
        f"{'first and shown, %':18} {'told the question, %':20} {'days named, %':>13}"
    )
    for farm in farms:
        tally, _ = run(farm, years, seed=8)
        also = " + carry" if farm.carry else " + season, spell" if farm.season else ""
        yield (
            f"{farm.planted + also:24} {farm.times:5.0f} {farm.lots:11} "
            f"{100 * farm.mouldy:9.0f} {tally.years:5}  "
            f"{share(tally.first, tally.years):18} "
            f"{share(tally.told, tally.years):20} "
            f"{100 * tally.days_named / years:13.1f}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--years", type=int, default=400)
    parser.add_argument("--bar-years", type=int, default=1000)
    parser.add_argument("--only", choices=["bars", "harder", "power", "also"])
    given = parser.parse_args()
    rates = (0.05, 0.08, 0.11)
    planted = [replace(farm, mouldy=rate) for farm in PLANTED for rate in rates]
    parts = {
        "bars": false_alarms(BARS, given.bar_years),
        "harder": false_alarms(HARDER, given.years),
        "power": power(planted, given.years),
        "also": power(list(ALSO_PLANTED), given.years),
    }
    for name, lines in parts.items():
        if given.only in (None, name):
            for line in lines:
                print(line, flush=True)
            print()


if __name__ == "__main__":
    main()
