"""What a container still holds, and whether it may be used: read from its entries.

Amounts are whole numbers of the smallest unit, tenths of a millilitre or milligrams,
so that what came in is what was drawn, what was lost and what is left, exactly.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

from hygiene.kinds.entry import Body, Entry, rows_of
from hygiene.kinds.moments import days_after, moment_of
from hygiene.sanitising.doses import number, text
from hygiene.sanitising.labels import Fault

KINDS: Final = ("container", "opened", "strength", "lost", "dose")
"""The kinds that say something of a container."""
SOON: Final = timedelta(days=14)
SDS: Final = (
    "a safety data sheet is looked at again, since its maker must renew it: Regulation "
    "(EC) 1907/2006 Article 31(9) (from memory); how often: common practice, no source"
)


class Container(NamedTuple):
    """A container as the standing entries tell it; ``unit`` is tenth_ml or mg."""

    code: str
    product: str
    unit: str
    size: int
    drawn: int
    lost: int
    entry: str
    came_on: date
    maker_batch: str | None = None
    made_on: date | None = None
    expires_on: date | None = None
    opened_on: date | None = None
    kept_where: str | None = None
    kept_at_c: float | None = None
    measured: float | None = None
    measured_on: date | None = None
    odd: tuple[str, ...] = ()

    @property
    def left(self) -> int:
        """What is left; below zero where more was drawn than it held."""
        return self.size - self.drawn - self.lost


def amount(unit: str, many: int) -> str:
    """An amount for a person: ``96 ml``, ``9.9 L``, ``250 g``, ``4.75 kg``."""
    small, large = ("ml", "L") if unit == "tenth_ml" else ("g", "kg")
    tens = 10 if unit == "tenth_ml" else 1000
    if abs(many) < 1000 * tens:
        return f"{many / tens:.10g} {small}"
    return f"{many / tens / 1000:.10g} {large}"


def read_containers(entries: Iterable[Entry]) -> dict[str, Container]:
    """The containers by code, from standing entries in the order as they happened."""
    found = list(entries)
    made = {
        c.code: c
        for c in (_came(entry) for entry in found if entry.kind == "container")
    }
    for entry in found:
        for code, row in _about(entry):
            if code in made:
                made[code] = _after(made[code], entry, row)
    return made


def _came(entry: Entry) -> Container:
    unit = "mg" if entry.get("mg") is not None else "tenth_ml"
    return Container(
        code=str(entry.get("container")),
        product=str(entry.get("product")),
        unit=unit,
        size=_whole(entry.body, unit),
        drawn=0,
        lost=0,
        entry=entry.name,
        came_on=_day(entry.body, "received_on") or moment_of(entry.happened_at).date(),
        maker_batch=text(entry.body, "maker_batch"),
        made_on=_day(entry.body, "made_on"),
        expires_on=_day(entry.body, "expires_on"),
        kept_where=text(entry.body, "kept_where"),
        kept_at_c=number(entry.body, "kept_at_c"),
    )


def _about(entry: Entry) -> Iterator[tuple[str, Body]]:
    if entry.kind == "dose":
        for row in rows_of(entry.body, "drawn"):
            yield str(row.get("container")), row
    elif entry.kind in KINDS:
        yield str(entry.get("container")), entry.body


def _after(held: Container, entry: Entry, row: Body) -> Container:
    on = moment_of(entry.happened_at).date()
    opened = min(held.opened_on or on, on)
    match entry.kind:
        case "opened":
            return held._replace(opened_on=opened)
        case "strength":
            value = number(row, "value_g_per_l") or number(row, "value_g_per_kg")
            return held._replace(measured=value, measured_on=on)
        case "lost" | "dose":
            if held.unit not in row:
                odd = f"{entry.name} is not in {held.unit}"
                return held._replace(odd=(*held.odd, odd))
            many = _whole(row, held.unit)
            if entry.kind == "lost":
                return held._replace(lost=held.lost + many)
            return held._replace(drawn=held.drawn + many, opened_on=opened)
    return held


def _whole(body: Body, key: str) -> int:
    given = body.get(key)
    return given if isinstance(given, int) and not isinstance(given, bool) else 0


def _day(body: Body, key: str) -> date | None:
    try:
        return date.fromisoformat(body[key])
    except (KeyError, TypeError, ValueError):
        return None


def last_day(held: Container, product: Body | None) -> tuple[date, str] | None:
    """The last day on which it may be used, and why; None where nothing says one."""
    ends = [] if held.expires_on is None else [(held.expires_on, "its expiry date")]
    keeps = (product or {}).get("keeps_days_opened")
    if held.opened_on is not None and isinstance(keeps, int):
        last = days_after(held.opened_on, keeps)
        ends.append((last, f"open since {held.opened_on}, keeps {keeps} days"))
    return min(ends, default=None)


def ends_soon(held: Container, product: Body | None, on: date) -> bool:
    """Whether something is left in it that must be used within two weeks, or is past.

    An empty container expires no more.
    """
    last = last_day(held, product)
    return held.left > 0 and last is not None and last[0] <= on + SOON


def container_faults(
    held: Container, product: Body | None, on: date, need: int
) -> Iterator[Fault]:
    """Whether it may be used on a day for so much: in date, and enough in it."""
    last = last_day(held, product)
    if last is not None and last[0] < on:
        yield Fault(
            "expired",
            f"{held.code} was to be used by {last[0]} ({last[1]})",
            "the label of the container",
            "take one that is in date: hygiene container",
        )
    if held.left <= 0 or need > held.left:
        left = amount(held.unit, max(held.left, 0))
        yield Fault(
            "empty",
            f"{held.code} holds {left}, not {amount(held.unit, need)}"
            if need
            else f"{held.code} is empty",
            "received = drawn + lost + left",
            "take another container: hygiene container",
        )


def sheet_faults(product: Body | None, on: date, months: int) -> Iterator[Fault]:
    """Whether somebody has looked at the product's safety data sheet lately."""
    body = product or {}
    checked = _day(body, "sds_checked_on") or _day(body, "sds_date")
    if checked is None:
        says = f"the farm file says no safety data sheet of {body.get('name')}"
    elif days_after(checked, round(months * 30.44)) < on:
        says = f"the data sheet of {body.get('name')} was last looked at on {checked}"
    else:
        return
    yield Fault(
        "stale-sds",
        says,
        SDS,
        "get the newest sheet, read it, and set sds_checked_on in the farm file",
    )


def balance(held: Iterable[Container]) -> list[str]:
    """What does not add up, each in a line; empty where all of it does."""
    told = []
    for each in held:
        if each.left < 0:
            over = amount(each.unit, -each.left)
            told.append(f"{each.code}: {over} more was drawn or lost than it held")
        told += [f"{each.code}: {odd}" for odd in each.odd]
    return told


def drawn_of(dose: Mapping[str, Any]) -> list[tuple[str, str, int]]:
    """What a dose drew: container, unit and amount of each."""
    made = []
    for row in rows_of(dose, "drawn"):
        unit = "mg" if row.get("mg") is not None else "tenth_ml"
        made.append((str(row.get("container")), unit, _whole(row, unit)))
    return made
