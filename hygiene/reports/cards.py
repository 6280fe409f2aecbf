"""Mixing cards for the wall: one product a card, to be read at arm's length.

The amounts are those of ``calc card`` for the strength on the label, the strong end, so
that even a fresh can stays within the label, to the last figure shown. Strengths and
volumes are those that the farm used of late, and round ones beside them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from hygiene.acts.codes import known
from hygiene.answers import figure, litres
from hygiene.book.record import Record
from hygiene.errors import HygieneError
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Body, Entry, rows_of, texts_of
from hygiene.reports.frame import Frame, frame_of
from hygiene.reports.period import Period
from hygiene.reports.reading import Reading, read_only, span_of
from hygiene.reports.words import listed, number
from hygiene.sanitising.cautions import first_aid
from hygiene.sanitising.chemistries import between
from hygiene.sanitising.dilution import SOURCE, mixing_card
from hygiene.sanitising.doses import number as float_of
from hygiene.sanitising.dosing import labelled
from hygiene.sanitising.measuring import Label
from hygiene.sanitising.strength import CHLORINE, Strength

LATELY: Final = timedelta(days=90)
ROUND: Final = (
    0.2, 0.5, 1, 2, 3, 5, 10, 15, 20, 25, 50, 80, 100, 150, 200, 250, 300, 400, 500,
    600, 800, 1000, 1500, 2000, 2500, 3000, 4000, 5000, 10_000,
)  # fmt: skip
"""Strengths that a strip shows, in mg/L."""
VOLUMES_L: Final = (5.0, 10.0, 20.0, 50.0, 100.0)
MOST_COLUMNS, MOST_ROWS = 3, 5
ABOVE_LEAST: Final = 1.25
"""No strength is proposed closer than this above the label's least, so that a can that
has aged or a jug misread does not fall below it: an assumption, no source."""


class Gathered(NamedTuple):
    """What the cards are made from: the products, and the doses of late."""

    reading: Reading
    products: tuple[Body, ...]
    doses: tuple[Entry, ...]


class Row(NamedTuple):
    """A volume, and how much product makes each strength in it."""

    made: str
    amounts: tuple[str, ...]


class Card(NamedTuple):
    """One product's card."""

    name: str
    code: str
    strength: str
    verb: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    checks: tuple[str, ...]
    ages: bool
    wear: str
    never: tuple[str, ...]
    aid: str
    authorisation: str


class Page(NamedTuple):
    """The cards as values; ``report_templates/cards.html`` lays them out."""

    frame: Frame
    cards: tuple[Card, ...]
    without: tuple[str, ...]
    numbers: tuple[tuple[str, str], ...]
    source: str


def gather(
    record: Record, period: Period, printed_at: datetime, subject: str | None
) -> Gathered:
    """Read the products in force, or the one asked for, and the doses of late."""
    reading = read_only(record, period, printed_at)
    farm = reading.farm
    codes = [known(farm, "product", subject)] if subject else farm.things("product")
    _, end = span_of(reading.rota, period)
    doses = record.entries(["dose"], since=end - LATELY, before=end)
    bodies = (farm.get("product", code) for code in codes)
    return Gathered(reading, tuple(body for body in bodies if body), tuple(doses))


def page(gathered: Gathered) -> Page:
    """A card for every product whose label says a strength to make up."""
    reading, products, doses = gathered
    cards: list[Card] = []
    without: list[str] = []
    for body in products:
        try:
            cards.append(_card(reading.farm, body, doses))
        except HygieneError as fault:
            without.append(f"{body.get('name')}: {fault}")
    contacts = rows_of(reading.farm.farm or {}, "contacts")
    return Page(
        frame=frame_of(reading, "Mixing cards"),
        cards=tuple(cards),
        without=tuple(without),
        numbers=tuple(
            (str(row.get("role")), str(row.get("telephone")))
            for row in contacts
            if row.get("role") in ("poison", "emergency") and row.get("telephone")
        ),
        source=SOURCE,
    )


class NoStrengths(HygieneError):
    """A product of which no strength to make up is known."""

    sentence = "its label says no strength to make up"


def _card(farm: InForce, body: Body, doses: Iterable[Entry]) -> Card:
    stock = labelled(body)
    least, most = (float_of(body, f"label_{end}_mg_per_l") for end in ("min", "max"))
    mine = [entry for entry in doses if entry.get("product") == body.get("code")]
    targets = strengths(_used(mine, "target_mg_per_l"), least, most)
    if not targets:
        raise NoStrengths()
    volumes = _volumes(_used(mine, "volume_l"))
    label = Label(least, most, str(body.get("name")))
    made = mixing_card(stock, targets, volumes, label=label).values
    active = next(iter(rows_of(body, "actives")), {})
    return Card(
        str(body.get("name")),
        str(body.get("code")),
        f"{stock.as_written} {active.get('name')}",
        "Weigh out" if stock.solid else "Measure out",
        tuple(f"{figure(target)} mg/L" for target in targets),
        tuple(_rows(made["rows"], stock.unit)),
        tuple(_checks(body)),
        _ages(stock),
        listed(texts_of(body, "gear")),
        tuple(_never(farm, body)),
        first_aid("splash")[0],
        str(body.get("authorisation") or ""),
    )


def _ages(stock: Strength) -> bool:
    return stock.active == CHLORINE and not stock.solid


def _used(doses: Sequence[Entry], key: str) -> list[float]:
    """What the doses of late were made up to, the most usual first."""
    found = (float_of(entry.body, key) for entry in doses)
    counted = Counter(value for value in found if value)
    return [value for value, _ in counted.most_common()]


def strengths(
    used: Sequence[float], least: float | None, most: float | None
) -> list[float]:
    """Up to three strengths that the label allows: used ones, then round ones.

    Without both ends on the label only what was used counts, and must lie within.
    """
    low, high = least or 0.0, most if most is not None else float("inf")
    chosen = [value for value in used if low <= value <= high][:MOST_COLUMNS]
    if least is not None and most is not None:
        able = [v for v in ROUND if ABOVE_LEAST * low <= v <= most and v not in chosen]
        chosen += _spread(able, MOST_COLUMNS - len(chosen))
        chosen = chosen or [most]
    return sorted(chosen)


def _spread(values: Sequence[float], many: int) -> list[float]:
    """So many of them, from the first to the last in even steps."""
    if many <= 0 or len(values) <= many:
        return list(values[: max(many, 0)])
    if many == 1:
        return [values[len(values) // 2]]
    step = (len(values) - 1) / (many - 1)
    return [values[round(n * step)] for n in range(many)]


def _volumes(used: Sequence[float]) -> list[float]:
    chosen = list(used[:MOST_ROWS])
    rest = [volume for volume in VOLUMES_L if volume not in chosen]
    return sorted(chosen + rest[: MOST_ROWS - len(chosen)])


def _rows(given: Any, unit: str) -> Iterable[Row]:
    for row in given:
        amounts = (_amount(float(many), unit) for many in row["product"])
        yield Row(litres(row["made_l"]), tuple(amounts))


def _amount(many: float, unit: str) -> str:
    """To three figures, which is more than a jug shows; a litre or a kilogram up."""
    if many < 1000:
        return f"{figure(many, 3)} {unit}"
    return f"{figure(many / 1000, 3)} {'L' if unit == 'ml' else 'kg'}"


def _checks(body: Mapping[str, Any]) -> Iterable[str]:
    """What must be seen of the made-up solution, by its label."""
    low, high = body.get("label_min_mg_per_l"), body.get("label_max_mg_per_l")
    if low is not None and high is not None:
        yield f"The strip must read {number(low)} to {number(high)} mg/L"
    minutes, warm = body.get("contact_minutes"), body.get("lowest_temp_c")
    if minutes is not None:
        yield f"Let it stand {number(minutes)} min"
    if warm is not None:
        yield f"Water at {number(warm)} °C or warmer, never hot"
    rinse = body.get("rinse_needed")
    if isinstance(rinse, bool):
        yield "Then rinse" if rinse else "No rinse needed"
    else:
        yield "Rinse: read the label"


def _never(farm: InForce, body: Body) -> Iterable[str]:
    """What it must not meet: the other products here, then the label's own words."""
    others = farm.things("product")
    for other in others.values():
        meeting = between(body, other)
        if meeting is not None and meeting.dangerous:
            yield f"{other.get('name')} ({meeting.says.rpartition(': ')[2]})"
    yield from (w for w in texts_of(body, "incompatible_with") if w not in others)
