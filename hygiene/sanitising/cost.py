"""What a stretch of hygiene cost: product, water and labour, by tray and by kilogram.

Only what has a price is counted; what has none is named, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Final, NamedTuple

CENT: Final = Decimal("0.01")
LITRES_IN_M3: Final = 1000
MINUTES_IN_HOUR: Final = 60
GRAMS_IN_KG: Final = 1000


class Drawn(NamedTuple):
    """Product used up: so much of a container of that size and price."""

    product: str
    amount: int
    size: int
    price_per_container: Decimal | None


class Task(NamedTuple):
    """A task that was done so many times, with the minutes that it takes."""

    code: str
    times: int
    minutes: int | None


class Prices(NamedTuple):
    """What a cubic metre of water and an hour of work cost; None: not said."""

    water_per_m3: Decimal | None = None
    labour_per_hour: Decimal | None = None


class Cost(NamedTuple):
    """The cost of a stretch of days; None where it has no price."""

    product: Decimal | None
    water: Decimal | None
    labour: Decimal | None
    water_l: Decimal
    minutes: int
    trays: int
    fodder_grams: int
    by_product: tuple[tuple[str, Decimal], ...]
    not_counted: tuple[str, ...]

    @property
    def total(self) -> Decimal:
        """All that has a price."""
        return sum(
            (part for part in (self.product, self.water, self.labour) if part),
            Decimal(0),
        )

    @property
    def per_tray(self) -> Decimal | None:
        """For each tray that was sown."""
        return _cents(self.total / self.trays) if self.trays else None

    @property
    def per_kg(self) -> Decimal | None:
        """For each kilogram of fodder that was fed or sent."""
        if not self.fodder_grams:
            return None
        return _cents(self.total * GRAMS_IN_KG / self.fodder_grams)


def cost(
    drawn: Iterable[Drawn],
    water_l: Iterable[Decimal | None],
    tasks: Iterable[Task],
    prices: Prices,
    *,
    trays: int,
    fodder_grams: int,
) -> Cost:
    """Add up a stretch of days; ``water_l`` None: a use whose volume nobody wrote."""
    priced, lacking = _products(drawn)
    volumes = list(water_l)
    known = sum((v for v in volumes if v is not None), Decimal(0))
    unread = sum(volume is None for volume in volumes)
    minutes, no_minutes = _minutes(tasks)
    lacking += [f"water of {unread} uses: no volume"] * (unread > 0)
    lacking += ["water: no price"] * (prices.water_per_m3 is None and known > 0)
    lacking += no_minutes
    lacking += ["labour: no price"] * (prices.labour_per_hour is None and minutes > 0)
    return Cost(
        product=sum(priced.values(), Decimal(0)) if priced else None,
        water=_share(prices.water_per_m3, known, LITRES_IN_M3),
        labour=_share(prices.labour_per_hour, Decimal(minutes), MINUTES_IN_HOUR),
        water_l=known,
        minutes=minutes,
        trays=trays,
        fodder_grams=fodder_grams,
        by_product=tuple(sorted(priced.items())),
        not_counted=tuple(lacking),
    )


def _products(drawn: Iterable[Drawn]) -> tuple[dict[str, Decimal], list[str]]:
    exact: dict[str, Decimal] = {}
    lacking: dict[str, None] = {}
    for each in drawn:
        if each.price_per_container is None or not each.size:
            lacking[f"{each.product}: no price"] = None
            continue
        share = each.price_per_container * each.amount / each.size
        exact[each.product] = exact.get(each.product, Decimal(0)) + share
    return {code: _cents(value) for code, value in exact.items()}, list(lacking)


def _minutes(tasks: Iterable[Task]) -> tuple[int, list[str]]:
    total, lacking = 0, []
    for task in tasks:
        if task.minutes is None:
            lacking.append(f"task {task.code}: no minutes")
        else:
            total += task.minutes * task.times
    return total, lacking


def _share(price: Decimal | None, amount: Decimal, of: int) -> Decimal | None:
    return None if price is None else _cents(price * amount / of)


def _cents(value: Decimal) -> Decimal:
    return value.quantize(CENT, ROUND_HALF_EVEN)
