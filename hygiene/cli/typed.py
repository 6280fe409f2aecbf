"""What a person types about trays, places and weights, read against the farm."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Annotated, Any

import typer

from hygiene.acts.codes import known, meant
from hygiene.acts.how import How
from hygiene.acts.rules import Against, refuse
from hygiene.book.record import Record
from hygiene.cli.desk import Desk, written
from hygiene.cli.fields import pairs
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.base import CannotBe, plain
from hygiene.kinds.checks import expand
from hygiene.kinds.entry import Entry
from hygiene.kinds.words import gist
from hygiene.quantities import mass_g

if TYPE_CHECKING:
    from hygiene.kinds.batch import Place, SeedShare

Check = Annotated[
    bool, typer.Option("--check", help="Only ask if it may be done; writes nothing.")
]
Reason = Annotated[
    str | None, typer.Option(help="Why it was done against a rule, or is late.")
]
Trays = Annotated[
    str | None,
    typer.Option(
        "--trays", metavar="TRAYS", help="Which: T001..T006,T010 (else all of it)."
    ),
]
PLACE = re.compile(r"(?P<trays>[^@]+)(@(?P<rack>[^/@]+)(/(?P<level>\d{1,2}))?)?")


class NotAWeight(WronglyPut):
    """A text that is no weight in whole grams."""

    sentence = "{given!r} is no weight: write kilograms as 84 or 12.5, or 500 g"


class NotAPlace(WronglyPut):
    """A text that names no trays and where they stand."""

    sentence = "{given!r}: write trays, rack and level as T001..T012@R1/2"


def how(
    desk: Desk,
    by: str | None,
    at: str | None,
    written_by: str | None = None,
    reason: str | None = None,
) -> How:
    """The envelope of an act, from what was typed."""
    who, moment = desk.who_when(by, at)
    return How(
        who,
        moment if at else None,
        desk.person(written_by) if written_by else None,
        reason,
    )


def say(entry: Entry, already: bool = False) -> None:
    """Say which entry says so: just written, or there already after a retry."""
    text = f"action: {gist(entry)}" if entry.kind == "action" else gist(entry)
    written(entry, text, already=already)


def may(against: Sequence[Against]) -> None:
    """Answer a question beforehand: refuse the plan, or say that it may be done."""
    refuse(against)
    print("Nothing stands against it. Nothing was written.")


def grams(given: str) -> int:
    """A weight in whole grams; a bare number is kilograms."""
    text = given.strip()
    try:
        kilograms = Decimal(text)
    except InvalidOperation:
        return max(round(mass_g(text)), 1)
    made = kilograms * 1000 if kilograms.is_finite() else Decimal(0)
    if made <= 0 or made != made.to_integral_value() or "e" in text.lower():
        raise NotAWeight(given=given)
    return int(made)


def kilograms(grams: int) -> str:
    """Grams for a person: ``84 kg``, ``0.5 kg``."""
    return f"{(Decimal(grams) / 1000).normalize():f} kg"


def trays(desk: Desk, given: Iterable[str]) -> tuple[str, ...]:
    """Tray codes from texts such as ``T001..T006,T010``, as they were set up."""
    return _trays(desk.farm, given)


def _trays(farm: InForce, given: Iterable[str]) -> tuple[str, ...]:
    found = [known(farm, "tray", code) for text in given for code in _codes(text)]
    return tuple(dict.fromkeys(found))


def _codes(text: str) -> Iterator[str]:
    for part in text.split(","):
        try:
            yield from expand(part.strip().upper())
        except CannotBe as odd:
            raise WronglyPut(what=odd.details["what"]) from odd


def places(farm: InForce, given: Iterable[str]) -> tuple[Place, ...]:
    """Trays with their racks and levels from texts such as ``T001..T012@R1/2``."""
    return tuple(_places(farm, given))


def _places(farm: InForce, given: Iterable[str]) -> Iterator[Place]:
    from hygiene.kinds.batch import Place  # not every command that types wants it

    for text in given:
        found = PLACE.fullmatch(text.strip())
        if found is None:
            raise NotAPlace(given=text)
        rack = known(farm, "rack", found["rack"]) if found["rack"] else None
        level = int(found["level"]) if found["level"] else None
        for tray in _trays(farm, [found["trays"]]):
            yield Place(tray=tray, rack=rack, level=level)


def seeds(record: Record, given: Iterable[tuple[str, str]]) -> tuple[SeedShare, ...]:
    """Lots that are there with their weights, from LOT and KG."""
    from hygiene.kinds.batch import SeedShare

    return tuple(
        SeedShare(lot=meant(record, "lot", lot), grams=grams(weight))
        for lot, weight in given
    )


def put_again(record: Record, key: str, text: str) -> Any:
    """A field of a sowing, a feed and the like, put right; plain, as a body holds it.

    Several places or lots are written with spaces between.
    """
    if key in ("batch", "lot"):
        return meant(record, key, text)
    farm = in_force(record.setup(), datetime.max.replace(tzinfo=UTC))
    match key:
        case "trays":
            return list(_trays(farm, [text]))
        case "places":
            return plain(places(farm, text.split()))
    return plain(seeds(record, pairs(text.split())))
