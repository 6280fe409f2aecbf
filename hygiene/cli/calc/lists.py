"""Reads lists as they are typed on one line: ``5,5,5`` or ``1 ml, 0.1 ml``."""

from __future__ import annotations

from collections.abc import Sequence

from hygiene.errors import WronglyPut
from hygiene.quantities import number


class BadList(WronglyPut):
    """A list on the command line that cannot be read."""

    sentence = "{given!r} {fault}"


def parts(text: str) -> list[str]:
    """Split at commas and semicolons; an empty part is refused."""
    found = [part.strip() for part in text.replace(";", ",").split(",")]
    if not all(found) or len(found) > 100:
        raise BadList(given=text.strip()[:40], fault="is not a list: write it as 5,5,5")
    return found


def whole_numbers(text: str, example: str = "5,5,5") -> list[int]:
    """Read whole numbers from zero up, with commas between them."""
    made = []
    for part in parts(text):
        if not (part.isascii() and part.isdigit() and len(part) <= 7):
            fault = f"is not a whole number: write the list as {example}"
            raise BadList(given=part[:40], fault=fault)
        made.append(int(part))
    return made


def amounts(text: str, units: Sequence[str], example: str) -> list[tuple[float, str]]:
    """Read amounts above zero; a bare number has the first of ``units``."""
    made = []
    for part in parts(text):
        value, unit = number(part, f"an amount: write the list as {example}")
        name = unit.lower() or units[0]
        if name not in units:
            fault = f"has a unit other than {' or '.join(units)}"
            raise BadList(given=part[:40], fault=fault)
        if value <= 0:
            raise BadList(given=part[:40], fault="must be more than zero")
        made.append((value, name))
    return made
