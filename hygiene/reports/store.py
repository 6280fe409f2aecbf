"""The chemical store: every container that holds something, and a page a product.

The pages say what the farm file copied from the label and the data sheet; the advice
beneath is general, and gives way to both. Regulation (EC) 1907/2006 Article 35 asks
that whoever uses a chemical can reach what its data sheet says (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.store import LONGEST_KEPT
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Body, rows_of, texts_of
from hygiene.reports.dosing import label_words
from hygiene.reports.frame import Frame, frame_of
from hygiene.reports.marks import Mark
from hygiene.reports.period import Period, plain_day
from hygiene.reports.reading import Reading, read_only, span_of
from hygiene.reports.words import count, listed, plain
from hygiene.rota.schedule import moment_or_none
from hygiene.sanitising.cautions import cautions_for, first_aid
from hygiene.sanitising.chemistries import between
from hygiene.sanitising.containers import (
    SOON,
    Container,
    amount,
    balance,
    last_day,
    read_containers,
    sheet_faults,
)
from hygiene.sanitising.doses import is_chlorine, text
from hygiene.sanitising.hazards import meanings

PAST: Final = Mark("▲", "past its last day: not to be used")
NEAR: Final = Mark("◧", f"to be used within {SOON.days} days")
OPEN_ENDED: Final = Mark("□", "no last day is written")
TYPES: Final = {
    "PT2": "surfaces that feed does not touch",
    "PT3": "animal housing",
    "PT4": "what touches food or feed",
    "PT5": "water that is drunk",
}
"""The product types of Regulation (EU) 528/2012 Annex V that are of use in a shed."""
TWO_NUMBERS: Final = ("poison", "emergency")


class Gathered(NamedTuple):
    """What the page is made from."""

    reading: Reading
    containers: tuple[Container, ...]


class Held(NamedTuple):
    """A container as a row of the list."""

    code: str
    maker_batch: str
    came: str
    opened: str
    until: str
    mark: Mark | None
    left: str
    where: str


class Shelf(NamedTuple):
    """A product of the list with its containers."""

    name: str
    code: str
    authorisation: str
    held: tuple[Held, ...]


class Hazard(NamedTuple):
    """A product's own page."""

    name: str
    code: str
    facts: tuple[tuple[str, str], ...]
    overdue: tuple[str, ...]
    statements: tuple[tuple[str, str], ...]
    pictograms: tuple[tuple[str, str], ...]
    gear: tuple[str, ...]
    apart: tuple[str, ...]
    aid: tuple[tuple[str, str], ...]
    care: tuple[str, ...]
    stands: tuple[str, ...]


class Page(NamedTuple):
    """The store as values; ``report_templates/store.html`` lays it out."""

    frame: Frame
    summary: tuple[str, ...]
    shelves: tuple[Shelf, ...]
    key: tuple[Mark, ...]
    odd: tuple[str, ...]
    hazards: tuple[Hazard, ...]
    numbers: tuple[tuple[str, str, str], ...]


def gather(record: Record, period: Period, printed_at: datetime) -> Gathered:
    """Read the containers that had come by the end of the day, as they were then."""
    reading = read_only(record, period, printed_at)
    _, end = span_of(reading.rota, period)
    came = record.entries(["container"], since=end - LONGEST_KEPT, before=end)
    codes = sorted({str(entry.get("container")) for entry in came})
    naming = record.mentioning(*codes) if codes else []
    then = (e for e in naming if _before(e.happened_at, end))
    return Gathered(reading, tuple(read_containers(then).values()))


def _before(happened_at: str, end: datetime) -> bool:
    moment = moment_or_none(happened_at)
    return moment is not None and moment < end


def page(gathered: Gathered) -> Page:
    """The store at the end of the reading's day."""
    reading, every = gathered
    farm, on = reading.farm, reading.period.first
    held = [container for container in every if container.left > 0]
    shelves = tuple(_shelves(farm, held, on))
    hazards = tuple(_hazard(farm, body, held, on) for body in _products(farm, held))
    marks = {row.mark for shelf in shelves for row in shelf.held}
    return Page(
        frame=frame_of(reading, "The chemical store"),
        summary=tuple(_summary(shelves, hazards, len(every) - len(held))),
        shelves=shelves,
        key=tuple(mark for mark in (PAST, NEAR, OPEN_ENDED) if mark in marks),
        odd=tuple(balance(every)),
        hazards=hazards,
        numbers=tuple(_numbers(farm)),
    )


def _products(farm: InForce, held: Iterable[Container]) -> Iterator[Body]:
    """The products in force, then those of which something is left none the less."""
    known = farm.things("product")
    yield from known.values()
    for code in dict.fromkeys(each.product for each in held):
        if code not in known:
            last = farm.last_described("product", code)
            yield last.body if last else {"code": code, "name": f"{code} (not known)"}


def _shelves(farm: InForce, held: Sequence[Container], on: date) -> Iterator[Shelf]:
    for body in _products(farm, held):
        mine = [each for each in held if each.product == body.get("code")]
        yield Shelf(
            str(body.get("name")),
            str(body.get("code")),
            str(body.get("authorisation") or ""),
            tuple(_held(each, body, on) for each in mine),
        )


def _held(held: Container, product: Body, on: date) -> Held:
    last = last_day(held, product)
    made = _short(held.made_on) if held.made_on else "?"
    return Held(
        held.code,
        held.maker_batch or "not written",
        f"{made}\n{_short(held.came_on)}",
        _short(held.opened_on) if held.opened_on else "no",
        _until(held, last),
        _mark(last, on),
        f"{amount(held.unit, held.left)} of {amount(held.unit, held.size)}",
        held.kept_where or "not written",
    )


def _until(held: Container, last: tuple[date, str] | None) -> str:
    if last is None:
        return "not written"
    day = _short(last[0])
    return day if last[0] == held.expires_on else f"{day}, since it is open"


def _mark(last: tuple[date, str] | None, on: date) -> Mark | None:
    if last is None:
        return OPEN_ENDED
    if last[0] < on:
        return PAST
    return NEAR if last[0] <= on + SOON else None


def _short(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


# a product's page


def _hazard(farm: InForce, body: Body, held: Iterable[Container], on: date) -> Hazard:
    mine = [each for each in held if each.product == body.get("code")]
    return Hazard(
        str(body.get("name")),
        str(body.get("code")),
        tuple(_facts(body)),
        tuple(_overdue(farm, body, on)),
        tuple(meanings(texts_of(body, "hazards"))),
        tuple(meanings(texts_of(body, "pictograms"))),
        texts_of(body, "gear"),
        tuple(_apart(farm, body)),
        *_advice(body),
        tuple(
            f"{each.code}, {each.kept_where or 'place not written'}" for each in mine
        ),
    )


def _facts(body: Body) -> Iterator[tuple[str, str]]:
    yield (
        "Holds",
        "; ".join(map(_active, rows_of(body, "actives"))) or "no active named",
    )
    types = [f"{t}, {TYPES.get(t, '?')}" for t in texts_of(body, "product_types")]
    yield "Authorisation", str(body.get("authorisation") or "none written")
    yield "Product types", "; ".join(types) or "none written"
    yield "Allowed on", listed(texts_of(body, "uses")) or "no use written"
    keeps = body.get("keeps_days_opened")
    once_open = "" if keeps is None else f"; once open it keeps {keeps} days"
    yield "Its label asks", label_words(body) + once_open
    looked = _dated(body, "sds_checked_on", "never, as far as is written")
    sheet = _dated(body, "sds_date", "no date written")
    yield "Data sheet", f"{sheet}; looked at again: {looked}"
    reviewed = _dated(body, "assessment_review_on", "")
    review = f", to be reviewed by {reviewed}" if reviewed else ""
    yield "Risk assessment", f"{body.get('assessment') or 'none written'}{review}"


def _active(row: Mapping[str, Any]) -> str:
    density = row.get("density_kg_per_l")
    dense = f" (density {plain(density)} kg/L)" if density is not None else ""
    return f"{row.get('name')} {row.get('strength')}{dense}"


def _dated(body: Body, key: str, otherwise: str) -> str:
    day = _day(body.get(key))
    return otherwise if day is None else plain_day(day)


def _day(given: Any) -> date | None:
    try:
        return date.fromisoformat(given)
    except (TypeError, ValueError):
        return None


def _overdue(farm: InForce, body: Body, on: date) -> Iterator[str]:
    months = (farm.farm or {}).get("sds_months")
    whole = months if isinstance(months, int) else 12
    yield from (fault.says for fault in sheet_faults(body, on, whole))
    review = _day(body.get("assessment_review_on"))
    if review is not None and review < on:
        yield f"the risk assessment was to be reviewed by {plain_day(review)}"


def _apart(farm: InForce, body: Body) -> Iterator[str]:
    """What it must not meet: the other products here, then the label's own words."""
    others = farm.things("product")
    for other in others.values():
        meeting = between(body, other)
        if meeting is not None:
            what = meeting.says.rpartition(": ")[2]
            yield f"{other.get('name')}: {what}"
    listed_too = [w for w in texts_of(body, "incompatible_with") if w not in others]
    if listed_too:
        yield f"as its label says: {listed(listed_too)}"


def _advice(body: Body) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """What to do when something went wrong, and what else to be careful of."""
    actives = rows_of(body, "actives")
    name = (text(actives[0], "name") if actives else None) or str(body.get("name"))
    if body.get("solid") is True and is_chlorine(name):
        name = "calcium hypochlorite"
    aid = (
        ("Splashed, swallowed", first_aid("splash")[0]),
        ("Gas", first_aid("gas")[0]),
        ("Spilt", first_aid("spill", name)[0]),
    )
    told = [says for _, says in aid]
    every = cautions_for(name, "dilute", full=True)
    rest = (says for says in every if not any(one in says for one in told))
    return aid, tuple(rest)


def _numbers(farm: InForce) -> Iterator[tuple[str, str, str]]:
    for row in rows_of(farm.farm or {}, "contacts"):
        if row.get("role") in TWO_NUMBERS:
            telephone = str(row.get("telephone") or "no number written")
            yield str(row.get("role")), str(row.get("name")), telephone


def _summary(
    shelves: Sequence[Shelf], hazards: Sequence[Hazard], empty: int
) -> Iterator[str]:
    rows = [row for shelf in shelves for row in shelf.held]
    yield (
        f"{count(len(shelves), 'product')}, {count(len(rows), 'container')} with "
        f"something in {'it' if len(rows) == 1 else 'them'}"
        + (f"; {empty} empty ones are left out." if empty else ".")
    )
    past = sum(row.mark == PAST for row in rows)
    if past:
        yield f"{count(past, 'container')} past the last day: not to be used."
    late = [f"{h.code}: {says}" for h in hazards for says in h.overdue]
    yield from (f"{says[:1].upper()}{says[1:]}." for says in late)
