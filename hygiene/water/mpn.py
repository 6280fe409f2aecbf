"""Most probable number: how many organisms a row of positive tubes speaks of.

Maximum likelihood, with the 95 % interval of the FDA BAM's solver (observed information
on the logarithm) and Blodgett's rarity index: how odd this very outcome is.

FDA Bacteriological Analytical Manual, appendix 2; Blodgett 2002, 2005; Jarvis, Wilrich
and Wilrich 2010 (all-negative and all-positive rows, and the three categories).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from hygiene.answers import Answer, figure
from hygiene.errors import WronglyPut

_Z95: Final = 1.959963984540054
_ONE_TAIL: Final = 0.025

SOURCE: Final = (
    "FDA BAM appendix 2 (maximum likelihood; interval from observed information on the"
    " logarithm); rarity: Blodgett 2002, Jarvis and others 2010"
)


class BadTubes(WronglyPut):
    """Tubes, volumes or positives that cannot be."""

    sentence = "{what}"


@dataclass(frozen=True, slots=True)
class Dilution:
    """Tubes of one volume of the sample, and how many of them showed growth."""

    tubes: int
    volume_ml: float
    positive: int


@dataclass(frozen=True, slots=True)
class Mpn:
    """The estimate per millilitre, with its 95 % interval and its rarity."""

    per_ml: float
    sign: Literal["=", "<", ">"]
    low_per_ml: float
    high_per_ml: float
    rarity_index: float

    @property
    def rarity_category(self) -> int:
        """1: to be expected; 2: rare, once in 20 or less; 3: very rare, doubtful."""
        if self.rarity_index >= 0.05:
            return 1
        return 2 if self.rarity_index >= 0.01 else 3


def dilutions(
    tubes: Sequence[int], volumes_ml: Sequence[float], positive: Sequence[int]
) -> tuple[Dilution, ...]:
    """Put the three rows together.

    Raises :class:`BadTubes`: rows of unequal length, no tubes, a volume of nothing,
    more positives than tubes, or below zero.
    """
    if not len(tubes) == len(volumes_ml) == len(positive):
        raise BadTubes(
            what=f"{len(tubes)} sets of tubes, {len(volumes_ml)} volumes and"
            f" {len(positive)} positives: give as many of each"
        )
    if not 1 <= len(tubes) <= 20:
        raise BadTubes(what="give 1 to 20 dilutions")
    made = tuple(map(Dilution, tubes, volumes_ml, positive))
    for place, one in enumerate(made, start=1):
        if not 1 <= one.tubes <= 1000:
            raise BadTubes(what=f"dilution {place}: 1 to 1000 tubes, not {one.tubes}")
        if not (math.isfinite(one.volume_ml) and 1e-9 <= one.volume_ml <= 1e6):
            raise BadTubes(what=f"dilution {place}: {one.volume_ml:g} ml cannot be")
        if not 0 <= one.positive <= one.tubes:
            raise BadTubes(
                what=f"dilution {place}: {one.positive} positive of {one.tubes} tubes"
            )
    return made


def mpn(rows: Sequence[Dilution]) -> Mpn:
    """Estimate the number per millilitre.

    All negative: ``<`` the value of one positive in the largest volume. All positive:
    ``>`` the value of one negative in the smallest. Their one-sided bounds are exact,
    at 97.5 %.
    """
    if all(row.positive == 0 for row in rows):
        bound = -math.log(_ONE_TAIL) / sum(row.tubes * row.volume_ml for row in rows)
        one = _but_one(rows, _largest(rows), positive=1)
        return Mpn(_estimate(one) or bound, "<", 0.0, bound, 1.0)
    if all(row.positive == row.tubes for row in rows):
        place, bound = _smallest(rows), _lower_bound(rows)
        one = _but_one(rows, place, positive=rows[place].tubes - 1)
        return Mpn(_estimate(one) or bound, ">", bound, math.inf, 1.0)
    per_ml = _estimate(rows)
    spread = math.exp(_Z95 * _standard_error_of_log(rows, per_ml))
    return Mpn(per_ml, "=", per_ml / spread, per_ml * spread, _rarity(rows, per_ml))


def _estimate(rows: Sequence[Dilution]) -> float:
    """Solve sum p a / (1 - e^(-L a)) = sum t a for L; 0 where a lone tube has none."""
    total = sum(row.tubes * row.volume_ml for row in rows)
    positive = sum(row.positive for row in rows)
    if positive in (0, sum(row.tubes for row in rows)):
        return 0.0

    def excess(per_ml: float) -> float:
        return total - sum(
            row.positive * row.volume_ml / -math.expm1(-per_ml * row.volume_ml)
            for row in rows
        )

    return _root(excess, positive / total)


def _root(rising: Callable[[float], float], start: float) -> float:
    """Find where ``rising`` crosses zero, from a ``start`` at or below it."""
    low = high = start
    while rising(high) < 0:
        low, high = high, high * 2
    while low > 0 and rising(low) > 0:
        low /= 2
    for _ in range(200):
        middle = math.sqrt(low * high)
        if not low < middle < high:
            break
        if rising(middle) < 0:
            low = middle
        else:
            high = middle
    return high


def _standard_error_of_log(rows: Sequence[Dilution], per_ml: float) -> float:
    information = 0.0
    for row in rows:
        share = per_ml * row.volume_ml
        if row.positive and share < 700:
            information += (
                row.positive * share**2 * math.exp(-share) / math.expm1(-share) ** 2
            )
    return 1 / math.sqrt(information)


def _lower_bound(rows: Sequence[Dilution]) -> float:
    """Return the number at which all tubes turn positive once in 40 times."""

    def excess(per_ml: float) -> float:
        chance = sum(
            row.tubes * math.log(-math.expm1(-per_ml * row.volume_ml)) for row in rows
        )
        return chance - math.log(_ONE_TAIL)

    return _root(excess, 1e-9 / max(row.volume_ml for row in rows))


def _rarity(rows: Sequence[Dilution], per_ml: float) -> float:
    """Compare this outcome's likelihood with that of the likeliest at this number."""
    log_ratio = 0.0
    for row in rows:
        chance = -math.expm1(-per_ml * row.volume_ml)
        if chance in (0.0, 1.0):
            continue
        likeliest = min(math.floor((row.tubes + 1) * chance), row.tubes)
        log_ratio += _log_binomial(row.tubes, row.positive, chance)
        log_ratio -= _log_binomial(row.tubes, likeliest, chance)
    return min(math.exp(log_ratio), 1.0)


def _log_binomial(tubes: int, positive: int, chance: float) -> float:
    return (
        math.log(math.comb(tubes, positive))
        + positive * math.log(chance)
        + (tubes - positive) * math.log1p(-chance)
    )


def _largest(rows: Sequence[Dilution]) -> int:
    return max(range(len(rows)), key=lambda place: rows[place].volume_ml)


def _smallest(rows: Sequence[Dilution]) -> int:
    return min(range(len(rows)), key=lambda place: rows[place].volume_ml)


def _but_one(
    rows: Sequence[Dilution], place: int, *, positive: int
) -> tuple[Dilution, ...]:
    changed = Dilution(rows[place].tubes, rows[place].volume_ml, positive)
    return (*rows[:place], changed, *rows[place + 1 :])


# ---- worked answer ---------------------------------------------------------------


def most_probable_number(rows: Sequence[Dilution]) -> Answer:
    """Work out the number per 100 ml, its 95 % interval, and how odd the outcome is."""
    found = mpn(rows)
    per_100 = 100 * found.per_ml
    high = None if math.isinf(found.high_per_ml) else 100 * found.high_per_ml
    mark = "" if found.sign == "=" else found.sign
    return Answer(
        values={
            "mpn_per_100ml": per_100,
            "low_per_100ml": 100 * found.low_per_ml,
            "high_per_100ml": high,
            "sign": found.sign,
            "as_written": f"{mark}{figure(per_100, 2)}",
            "rarity_index": found.rarity_index,
            "rarity_category": found.rarity_category,
        },
        says=(
            f"{mark}{figure(per_100, 2)} per 100 ml, 95 % interval"
            f" {figure(100 * found.low_per_ml, 2)} to"
            f" {'no upper end' if high is None else figure(high, 2)}.",
        ),
        steps=_steps(rows, found),
        source=SOURCE,
        valid="Organisms spread singly and at random; one turns a tube positive.",
        warnings=_warnings(rows, found),
    )


def _steps(rows: Sequence[Dilution], found: Mpn) -> tuple[str, ...]:
    total = figure(sum(row.tubes * row.volume_ml for row in rows), 6)
    each = [
        f"{row.positive} of {row.tubes} tubes of {figure(row.volume_ml)} ml positive"
        for row in rows
    ]
    if found.sign == "<":
        return (
            *each,
            "None positive: less than the value of one positive in the largest volume,"
            f" {figure(100 * found.per_ml)} per 100 ml",
            f"Upper end: ln 40 / {total} ml = {figure(found.high_per_ml)} per ml",
        )
    if found.sign == ">":
        return (
            *each,
            "All positive: more than the value of one negative in the smallest volume,"
            f" {figure(100 * found.per_ml)} per 100 ml",
            f"Lower end, where all turn positive once in 40 times:"
            f" {figure(found.low_per_ml)} per ml",
        )
    terms = " + ".join(
        f"{row.positive} x {volume} / (1 - e^(-{volume} L))"
        for row in rows
        if row.positive and (volume := figure(row.volume_ml))
    )
    error = _standard_error_of_log(rows, found.per_ml)
    return (
        *each,
        f"L solves {terms} = {total}",
        f"L = {figure(found.per_ml, 5)} per ml,"
        f" {figure(100 * found.per_ml)} per 100 ml",
        f"s = 1 / (L sqrt(sum of p a^2 e^(-a L) / (1 - e^(-a L))^2)) = {figure(error)}",
        f"Interval: L / e^(1.96 s) and L x e^(1.96 s), e^(1.96 s)"
        f" = {figure(math.exp(_Z95 * error))}",
        f"Rarity: this outcome is {figure(found.rarity_index, 3)} times as likely as"
        " the likeliest one at this L",
    )


def _warnings(rows: Sequence[Dilution], found: Mpn) -> tuple[str, ...]:
    if found.sign == "<":
        lowest = min(
            _estimate(_but_one(rows, place, positive=1)) or found.high_per_ml
            for place in range(len(rows))
        )
        return (
            "Printed tables list all-negative as less than the lowest value of any one"
            f" positive: <{figure(100 * lowest, 2)} per 100 ml.",
        )
    if found.sign == ">":
        return ("All tubes positive: test again, further diluted.",)
    return {
        1: (),
        2: ("A rare outcome (under 1/20 of the likeliest): look at the tubes again.",),
        3: ("A very rare outcome: the dilutions or tubes were mixed up? Test again.",),
    }[found.rarity_category]
