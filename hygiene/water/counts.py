"""Colony counts from plates, with their exact interval.

The colonies of all plates that can be counted, over all that was plated (ISO 7218: the
weighted mean), with the exact Poisson interval (Garwood 1936).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from hygiene.answers import Answer, figure
from hygiene.errors import WronglyPut

_TAIL: Final = 0.025
FEWEST: Final = 10
MOST: Final = 300
"""Colonies on a plate that can be trusted as a count (ISO 7218; from memory)."""
MOST_MOULD: Final = 150
"""The same for moulds and yeasts, whose colonies run together (from memory)."""

SOURCE: Final = (
    "ISO 7218 weighted mean (from memory); exact Poisson interval, Garwood 1936"
)


class BadPlates(WronglyPut):
    """Plates that cannot be."""

    sentence = "{what}"


@dataclass(frozen=True, slots=True)
class Plate:
    """One plate: its colonies (None: too many to count) and the sample on it."""

    colonies: int | None
    amount: float
    """Millilitres or grams of the undiluted sample."""


@dataclass(frozen=True, slots=True)
class Count:
    """The count per millilitre or gram, with its exact 95 % interval."""

    per_one: float
    sign: Literal["=", "<", ">"]
    low: float
    high: float
    colonies: int
    amount: float


def plates(
    colonies: Sequence[int | None], amounts: Sequence[float]
) -> tuple[Plate, ...]:
    """Put the plates together.

    Raises :class:`BadPlates`: rows of unequal length, none, a count below zero, an
    amount of nothing.
    """
    if len(colonies) != len(amounts):
        raise BadPlates(
            what=f"{len(colonies)} counts and {len(amounts)} amounts: as many of each"
        )
    if not 1 <= len(colonies) <= 100:
        raise BadPlates(what="give 1 to 100 plates")
    for number in colonies:
        if number is not None and not 0 <= number <= 100_000:
            raise BadPlates(what=f"{number} colonies cannot be counted on a plate")
    for amount in amounts:
        if not (math.isfinite(amount) and 1e-12 <= amount <= 1e6):
            raise BadPlates(what=f"an amount of {amount:g} cannot be")
    return tuple(map(Plate, colonies, amounts))


def count(made: Sequence[Plate], *, most: int = MOST) -> Count:
    """Count per millilitre or gram over all plates that can be counted.

    No colony at all: ``<`` one in all that was plated. No plate that can be counted:
    ``>`` ``most`` in the smallest amount.
    """
    good = [plate for plate in made if _countable(plate, most)]
    if not good:
        least = most / min(plate.amount for plate in made)
        return Count(least, ">", least, math.inf, 0, 0.0)
    colonies = sum(plate.colonies or 0 for plate in good)
    amount = math.fsum(plate.amount for plate in good)
    low, high = poisson_interval(colonies)
    if colonies == 0:
        return Count(1 / amount, "<", 0.0, high / amount, 0, amount)
    return Count(colonies / amount, "=", low / amount, high / amount, colonies, amount)


def poisson_interval(seen: int) -> tuple[float, float]:
    """Return the exact two-sided 95 % interval for a count of ``seen``.

    Garwood 1936: the means at which ``seen`` or more, and ``seen`` or fewer, come about
    once in 40 times.
    """
    low = 0.0
    if seen > 0:
        low = _crossing(lambda mean: _at_least(seen, mean) - _TAIL, 0.0, float(seen))
    high = _crossing(
        lambda mean: _TAIL - _at_most(seen, mean), float(seen), 2.0 * seen + 20
    )
    return low, high


def _at_most(seen: int, mean: float) -> float:
    """Chance of ``seen`` or fewer, for a mean above ``seen``."""
    term = math.exp(seen * math.log(mean) - mean - math.lgamma(seen + 1))
    total = term
    for number in range(seen, 0, -1):
        term *= number / mean
        total += term
        if term < 1e-17 * total:
            break
    return total


def _at_least(seen: int, mean: float) -> float:
    """Chance of ``seen`` or more, for a mean below ``seen``."""
    if mean <= 0:
        return 0.0
    term = math.exp(seen * math.log(mean) - mean - math.lgamma(seen + 1))
    total, number = term, seen
    while term > 1e-17 * total:
        number += 1
        term *= mean / number
        total += term
    return total


def _crossing(rising: Callable[[float], float], low: float, high: float) -> float:
    for _ in range(200):
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if rising(middle) < 0:
            low = middle
        else:
            high = middle
    return high


def _countable(plate: Plate, most: int) -> bool:
    return plate.colonies is not None and plate.colonies <= most


# ---- worked answer ---------------------------------------------------------------


def plate_count(
    made: Sequence[Plate], *, unit: Literal["ml", "g"] = "ml", mould: bool = False
) -> Answer:
    """Work out the count per ml (and per 100 ml) or per gram, with its interval."""
    most = MOST_MOULD if mould else MOST
    found = count(made, most=most)
    scale, per = (100.0, "100ml") if unit == "ml" else (1.0, "g")
    high = None if math.isinf(found.high) else scale * found.high
    mark = "" if found.sign == "=" else found.sign
    shown = f"{mark}{figure(scale * found.per_one, 3)}"
    words = "100 ml" if unit == "ml" else "g"
    return Answer(
        values={
            f"count_per_{per}": scale * found.per_one,
            f"low_per_{per}": scale * found.low,
            f"high_per_{per}": high,
            "sign": found.sign,
            "as_written": shown,
            "colonies": found.colonies,
        },
        says=(
            f"{shown} per {words}, 95 % interval {figure(scale * found.low, 3)} to"
            f" {'no upper end' if high is None else figure(high, 3)}.",
        ),
        steps=_steps(made, found, most, unit),
        source=SOURCE,
        valid="Colonies spread at random; one colony may be a clump, not one organism.",
        warnings=_warnings(made, found, most),
    )


def _steps(
    made: Sequence[Plate], found: Count, most: int, unit: str
) -> tuple[str, ...]:
    if found.sign == ">":
        smallest = figure(min(plate.amount for plate in made))
        return (
            f"No plate can be counted: more than {most} in {smallest} {unit}, that is"
            f" more than {figure(found.per_one)} per {unit}",
        )
    low, high = poisson_interval(found.colonies)
    return (
        f"{found.colonies} colonies in {figure(found.amount)} {unit} in all",
        f"{max(found.colonies, 1)} / {figure(found.amount)}"
        f" = {figure(found.per_one)} per {unit}",
        f"Exact interval of {found.colonies}: {figure(low)} to {figure(high)} colonies",
    )


def _warnings(made: Sequence[Plate], found: Count, most: int) -> tuple[str, ...]:
    said = []
    left_out = sum(not _countable(plate, most) for plate in made)
    if found.sign == ">":
        said.append("Plate it again, further diluted.")
    elif left_out:
        said.append(f"{left_out} of {len(made)} plates left out: more than {most}.")
    if found.sign != ">" and found.colonies < FEWEST:
        said.append(f"Fewer than {FEWEST} colonies: an estimate, see its interval.")
    return tuple(said)
