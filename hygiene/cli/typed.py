"""What a person types about trays, places and weights, read against the farm."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal, InvalidOperation
from typing import Annotated

import typer

from hygiene.acts.codes import known
from hygiene.acts.how import How
from hygiene.cli.desk import Desk
from hygiene.errors import WronglyPut
from hygiene.kinds.base import CannotBe
from hygiene.kinds.checks import expand
from hygiene.quantities import mass_g

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
    return How(
        desk.person(by),
        desk.moment(at) if at else None,
        desk.person(written_by) if written_by else None,
        reason,
    )


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
    found = [known(desk.farm, "tray", code) for text in given for code in _codes(text)]
    return tuple(dict.fromkeys(found))


def _codes(text: str) -> Iterator[str]:
    for part in text.split(","):
        try:
            yield from expand(part.strip().upper())
        except CannotBe as odd:
            raise WronglyPut(what=odd.details["what"]) from odd


def split_place(given: str) -> tuple[str, str | None, int | None]:
    """``T001..T012@R1/2`` as trays, rack and level; raises ``NotAPlace``."""
    found = PLACE.fullmatch(given.strip())
    if found is None:
        raise NotAPlace(given=given)
    level = found["level"]
    return found["trays"], found["rack"], int(level) if level else None
