"""Readings typed as the answer of a checklist step: ``P1 free=0.6 ph=7.4 kit=DPD``."""

from __future__ import annotations

import shlex
from typing import NamedTuple

from hygiene.acts.codes import known
from hygiene.acts.water import Given
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import InForce


class NotReadings(WronglyPut):
    """A text that is no readings at a point."""

    sentence = "{given!r}: write the point and its readings, as P1 free=0.6 kit=CODE"


class WhichPoint(WronglyPut):
    """A line with no sample point, or with several."""

    sentence = "{given!r}: line {line} has {points}; begin with the one that was read"


class Typed(NamedTuple):
    """What was typed: the point, its results, and the kits."""

    point: str
    given: tuple[Given, ...]
    kits: tuple[str, ...]


def read_typed(farm: InForce, text: str, line: str | None = None) -> Typed:
    """Read the point, the results and the kits that were typed on one line.

    A step that is asked of a line needs no point where the line has one. Raises
    ``NotReadings``, ``WhichPoint`` or ``UnknownCode``.
    """
    try:
        words = shlex.split(text.replace(",", " "))
    except ValueError as odd:
        raise NotReadings(given=text) from odd
    points = [word for word in words if "=" not in word]
    pairs = [(k.strip(), v) for k, _, v in (w.partition("=") for w in words) if v]
    given = tuple(Given(key, value) for key, value in pairs if key.lower() != "kit")
    if len(points) > 1 or not given:
        raise NotReadings(given=text)
    point = known(farm, "point", points[0]) if points else _point_of(farm, text, line)
    kits = tuple(value for key, value in pairs if key.lower() == "kit")
    return Typed(point, given, kits)


def _point_of(farm: InForce, text: str, line: str | None) -> str:
    if line is None:
        raise NotReadings(given=text)
    found = [
        code for code, body in farm.things("point").items() if body.get("line") == line
    ]
    if len(found) != 1:
        raise WhichPoint(given=text, line=line, points=", ".join(found) or "no point")
    return found[0]
