"""``hygiene cost``: what a month of hygiene cost."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Annotated, Any

import typer

from hygiene.acts.cost import cost_between
from hygiene.cli.desk import AsJson, RecordPath, reading, show_json
from hygiene.cli.lazy import one_command
from hygiene.errors import WronglyPut
from hygiene.kinds.moments import day_span
from hygiene.sanitising.cost import Cost

app = one_command()


class NotAMonth(WronglyPut):
    """A text that is no month."""

    sentence = "{given!r} is not a month: write it as 2026-03"


@app.command()
def cost(
    ctx: typer.Context,
    month: Annotated[
        str | None, typer.Option(metavar="YYYY-MM", help="The month (else this one).")
    ] = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """The month's cost of hygiene: product, water, labour; by tray and by kg.

    Prices stand in the farm file, minutes in the checklists; both may be left out.

    Example: hygiene cost --month 2026-03
    """
    with reading(ctx, record) as desk:
        first, last = _month(month, desk.now.date())
        since, before = day_span(first, last, desk.farm.zone)
        made = cost_between(desk.record, desk.setup, desk.farm, since, before)
        currency = str((desk.farm.farm or {}).get("currency") or "")
    if as_json:
        show_json(_json(made, first, last, currency))
        return
    print(f"Hygiene, {first:%d %B %Y} to {last:%d %B %Y}, both days included")
    for line in _lines(made, currency):
        print(line)


def _month(given: str | None, today: date) -> tuple[date, date]:
    try:
        first = today.replace(day=1) if given is None else _first(given)
    except ValueError as odd:
        raise NotAMonth(given=given) from odd
    return first, (first + timedelta(days=32)).replace(day=1) - timedelta(days=1)


def _first(given: str) -> date:
    if len(given) != len("2026-03"):
        raise ValueError(given)
    return date.fromisoformat(f"{given}-01")


def _lines(made: Cost, currency: str) -> Iterator[str]:
    rows = (
        ("product", made.product, ", ".join(f"{c} {v}" for c, v in made.by_product)),
        ("water", made.water, f"{made.water_l.normalize():f} L"),
        ("labour", made.labour, f"{made.minutes} min of signed tasks"),
        ("all of it", made.total, ""),
        ("per tray", made.per_tray, f"{made.trays} trays sown"),
        ("per kg", made.per_kg, f"{made.fodder_grams / 1000:.10g} kg fed and sent"),
    )
    for name, value, how in rows:
        said = "-" if value is None else f"{value} {currency}".rstrip()
        yield f"  {name:<10}{said:>14}  {how}".rstrip()
    if made.not_counted:
        yield "Not counted: " + "; ".join(made.not_counted)


def _json(made: Cost, first: date, last: date, currency: str) -> dict[str, Any]:
    return {
        "first": first,
        "last": last,
        "currency": currency or None,
        "product": made.product,
        "water": made.water,
        "labour": made.labour,
        "total": made.total,
        "per_tray": made.per_tray,
        "per_kg": made.per_kg,
        "water_l": made.water_l,
        "minutes": made.minutes,
        "trays": made.trays,
        "fodder_grams": made.fodder_grams,
        "by_product": dict(made.by_product),
        "not_counted": list(made.not_counted),
    }
