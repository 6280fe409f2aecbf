"""What a month of hygiene cost: from the doses, rinses and sign-offs of its days."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from hygiene.acts.clearance import thing_then
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.moments import moment_of
from hygiene.sanitising.containers import Container, drawn_of, read_containers
from hygiene.sanitising.cost import Cost, Drawn, Prices, Task, cost


def cost_between(
    record: Record,
    setup: Sequence[Entry],
    farm: InForce,
    since: datetime,
    before: datetime,
) -> Cost:
    """The cost of what happened in [since, before), at the prices of then."""
    doses = record.entries(["dose", "lost"], since=since, before=before)
    used = [*doses, *record.entries(["rinse"], since=since, before=before)]
    fodder = record.entries(["feed", "dispatch"], since=since, before=before)
    sown = record.entries(["sow"], since=since, before=before)
    said = farm.farm or {}
    return cost(
        _drawn(record, setup, doses),
        [_litres(e) for e in used if _takes_water(e)],
        _tasks(record, setup, since, before),
        Prices(
            _price(said.get("water_price_per_m3")),
            _price(said.get("labour_price_per_hour")),
        ),
        trays=sum(len(rows_of(entry.body, "places")) for entry in sown),
        fodder_grams=sum(_whole(entry.get("grams")) for entry in fodder),
    )


def _litres(entry: Entry) -> Decimal | None:
    """The water of a use; None where nobody wrote it, or no number."""
    given = entry.get("volume_l")
    return Decimal(given) if type(given) in (int, Decimal) else None


def _takes_water(entry: Entry) -> bool:
    """A dose from an earlier dose's tub takes no new water, nor does drying."""
    if entry.kind == "dose":
        return entry.get("tub") is None
    return entry.kind == "rinse" and entry.get("rinsed", True) is True


def _drawn(
    record: Record, setup: Sequence[Entry], entries: Sequence[Entry]
) -> Iterator[Drawn]:
    draws = [(entry, draw) for entry in entries for draw in _draws(entry)]
    codes = sorted({code for _, (code, _) in draws})
    held = read_containers(record.mentioning(*codes)) if codes else {}
    for entry, (code, amount) in draws:
        if code in held:
            price = _price_then(setup, held[code], moment_of(entry.happened_at))
            yield Drawn(held[code].product, amount, held[code].size, price)


def _draws(entry: Entry) -> list[tuple[str, int]]:
    if entry.kind == "dose":
        return [(code, amount) for code, _, amount in drawn_of(entry.body)]
    amount = _whole(entry.get("tenth_ml")) or _whole(entry.get("mg"))
    return [(str(entry.get("container")), amount)]


def _price_then(
    setup: Sequence[Entry], held: Container, at: datetime
) -> Decimal | None:
    body = thing_then(setup, "product", held.product, at) or {}
    return _price(body.get("price_per_container"))


def _price(given: Any) -> Decimal | None:
    if isinstance(given, bool) or not isinstance(given, int | Decimal):
        return None
    return Decimal(given)


def _whole(given: Any) -> int:
    return given if isinstance(given, int) and not isinstance(given, bool) else 0


def _tasks(
    record: Record, setup: Sequence[Entry], since: datetime, before: datetime
) -> list[Task]:
    """How often each task was signed, with the minutes of the version in force."""
    signed = record.entries(["sign_off"], since=since, before=before)
    times = Counter((str(e.get("task")), str(e.get("version"))) for e in signed)
    minutes = {
        (str(entry.get("code")), str(entry.get("version"))): entry.get("minutes")
        for entry in setup
        if entry.kind == "checklist"
    }
    return [
        Task(key[0], count, minutes.get(key) if minutes.get(key) else None)
        for key, count in sorted(times.items(), key=str)
    ]
