"""Readings of a residual: diluted samples, bleached-out reagent, strips in steps.

DPD reagent bleaches above 8-10 mg/L and can then read nothing at all: a strong sample
is thinned with chlorine-free water first, and read again at a second dilution. A strip
does not read a number: it lies between two of its steps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from hygiene.answers import Answer, Value, figure
from hygiene.errors import WronglyPut

BLEACHES_ABOVE_MG_PER_L: Final = 8.0
"""DPD reagent bleaches out above 8-10 mg/L: the lower end counts."""
AGREE_WITHIN: Final = 0.2
"""Two dilutions agree within a fifth: common practice, no source."""
_CLOSE: Final = 1e-9
_SOURCE: Final = "DPD free chlorine: C = reading x whole / sample"


class BadReading(WronglyPut):
    """A reading that cannot be."""

    sentence = "{what}"


@dataclass(frozen=True, slots=True)
class Diluted:
    """What the meter showed of a sample made up to a larger volume."""

    shown_mg_per_l: float
    sample_ml: float = 1.0
    made_up_to_ml: float = 1.0
    sign: Literal["=", "<", ">"] = "="

    def __post_init__(self) -> None:
        """Refuse a volume of nothing, and a sample larger than the whole."""
        given = (self.shown_mg_per_l, self.sample_ml, self.made_up_to_ml)
        if not all(map(math.isfinite, given)):
            raise BadReading(what="a reading must be a plain number")
        if self.shown_mg_per_l < 0:
            raise BadReading(what="a reading cannot be below zero")
        if self.sample_ml <= 0:
            raise BadReading(what="the sample must be more than zero")
        if self.made_up_to_ml < self.sample_ml - _CLOSE:
            raise BadReading(
                what=f"{figure(self.sample_ml)} ml of sample cannot be made up to"
                f" {figure(self.made_up_to_ml)} ml"
            )

    @property
    def factor(self) -> float:
        """How many times the sample was thinned."""
        return self.made_up_to_ml / self.sample_ml

    @property
    def mg_per_l(self) -> float:
        """The level in the undiluted water, in mg/L."""
        return self.shown_mg_per_l * self.factor


def reading(first: Diluted, again: Diluted | None = None) -> Answer:
    """Work out the residual of the undiluted water; two dilutions must agree."""
    values: dict[str, Value] = {
        "free_mg_per_l": first.mg_per_l,
        "sign": first.sign,
        "times_diluted": first.factor,
    }
    steps, findings = [_step(first)], []
    warnings = list(_warnings(first, checked=again is not None))
    mark = "" if first.sign == "=" else first.sign
    says = [f"{mark}{figure(first.mg_per_l, 3)} mg/L free in the water."]
    if again is not None:
        steps.append(_step(again))
        agree = _agree(first, again)
        values |= {"again_mg_per_l": again.mg_per_l, "agree": agree}
        if agree:
            says.append("The two dilutions agree.")
        else:
            findings.append(_apart(first, again))
    return Answer(
        values=values,
        says=tuple(says),
        steps=tuple(steps),
        source=_SOURCE,
        valid="Thinned with chlorine-free water. DPD only: ORP millivolts are no level",
        warnings=tuple(warnings),
        findings=tuple(findings),
    )


def _step(one: Diluted) -> str:
    return (
        f"{figure(one.shown_mg_per_l)} x {figure(one.made_up_to_ml)} /"
        f" {figure(one.sample_ml)} = {figure(one.mg_per_l)} mg/L"
    )


def _warnings(first: Diluted, *, checked: bool) -> list[str]:
    said = []
    if first.shown_mg_per_l > BLEACHES_ABOVE_MG_PER_L:
        said.append(
            "The reagent bleaches above 8 to 10 mg/L: thin the sample more, read again."
        )
    if first.shown_mg_per_l == 0 or first.sign == "<":
        said.append(
            "Nothing or a pink flash that fades may be bleached-out reagent in strong"
            " water: thin the sample ten times, read again."
        )
    if first.factor > 1 and not checked:
        said.append(
            f"Thinning makes the reading's error {figure(first.factor)} times larger"
            " too: repeat at a second dilution (--again)."
        )
    return said


def _agree(first: Diluted, again: Diluted) -> bool:
    larger = max(first.mg_per_l, again.mg_per_l)
    return abs(first.mg_per_l - again.mg_per_l) <= AGREE_WITHIN * larger + _CLOSE


def _apart(first: Diluted, again: Diluted) -> str:
    less, more = sorted((first, again), key=lambda one: one.factor)
    if more.mg_per_l > less.mg_per_l:
        return "the thinner sample reads higher: the other was bleached out; thin more"
    return "the two dilutions differ by more than a fifth: measure both again"


# ---- strips ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Interval:
    """Where a level lies; ``high_mg_per_l`` is infinity above the last step."""

    low_mg_per_l: float
    high_mg_per_l: float


def strip_interval(steps: Sequence[float], matched: Sequence[float]) -> Interval:
    """Return what a strip that matches a step, or lies between two, says.

    A match may be one step off for wet hands and poor light, so it stands for the whole
    span between its neighbours. Raises :class:`BadReading`: fewer than two steps, steps
    that do not go up, a match that is no step.
    """
    _check_steps(steps)
    places = []
    for match in matched:
        if match not in steps:
            names = ", ".join(figure(step) for step in steps)
            raise BadReading(
                what=f"{figure(match)} is not a step of this strip: {names}"
            )
        places.append(list(steps).index(match))
    if len(places) == 2:
        if places[1] - places[0] != 1:
            raise BadReading(
                what="between which two neighbouring steps, low one first?"
            )
        return Interval(steps[places[0]], steps[places[1]])
    if len(places) != 1:
        raise BadReading(what="give the step that matches, or the two it lies between")
    place = places[0]
    low = steps[place - 1] if place > 0 else 0.0
    high = steps[place + 1] if place + 1 < len(steps) else math.inf
    return Interval(low, high)


def _check_steps(steps: Sequence[float]) -> None:
    if len(steps) < 2:
        raise BadReading(what="give the strip's steps, as 0,10,25,50,100")
    if not all(math.isfinite(step) and step >= 0 for step in steps):
        raise BadReading(what="the strip's steps must be plain numbers from 0 up")
    if any(later <= sooner for sooner, later in pairwise(steps)):
        raise BadReading(what="the strip's steps must go up, as 0,10,25,50,100")


def strip(
    steps: Sequence[float],
    matched: Sequence[float],
    *,
    at_least_mg_per_l: float | None = None,
    at_most_mg_per_l: float | None = None,
) -> Answer:
    """Say where a strip's reading lies, and whether that is enough or too much."""
    found = strip_interval(steps, matched)
    top = math.isinf(found.high_mg_per_l)
    span = (
        f"above {figure(found.low_mg_per_l)} mg/L"
        if top
        else f"{figure(found.low_mg_per_l)} to {figure(found.high_mg_per_l)} mg/L"
    )
    enough = _at_least(found, at_least_mg_per_l)
    within = _at_most(found, at_most_mg_per_l)
    said = (enough, within)
    names = ", ".join(figure(step) for step in steps)
    return Answer(
        values={
            "low_mg_per_l": found.low_mg_per_l,
            "high_mg_per_l": None if top else found.high_mg_per_l,
            "at_least": enough.holds,
            "at_most": within.holds,
        },
        says=(
            f"A strip reads in steps: {span}.",
            *(one.words for one in said if one.holds),
        ),
        steps=(
            f"Steps {names}; read: {' to '.join(figure(one) for one in matched)}",
            f"One step down and one step up: {span}"
            if len(matched) == 1
            else f"Between two steps: {span}",
        ),
        source="the strip's own scale; one step either way: common practice, no source",
        valid="A strip in date, kept dry, dipped and read at the maker's times.",
        warnings=(
            *(one.words for one in said if one.holds is None and one.words),
            *(("Off the scale: thin the sample and read again.",) if top else ()),
        ),
        findings=tuple(one.words for one in said if one.holds is False),
    )


@dataclass(frozen=True, slots=True)
class _Held:
    """Whether a bound holds; None: a strip cannot tell, or no bound was given."""

    holds: bool | None
    words: str


def _at_least(found: Interval, least: float | None) -> _Held:
    if least is None:
        return _Held(None, "")
    bound = f"{figure(least)} mg/L"
    if found.high_mg_per_l < least:
        return _Held(False, f"below {bound}: too weak")
    if found.low_mg_per_l < least:
        return _Held(None, f"It may be below {bound}: a strip cannot tell.")
    return _Held(True, f"At least {bound}.")


def _at_most(found: Interval, most: float | None) -> _Held:
    if most is None:
        return _Held(None, "")
    bound = f"{figure(most)} mg/L"
    if found.low_mg_per_l > most:
        return _Held(False, f"above {bound}: too strong")
    if found.high_mg_per_l > most:
        return _Held(None, f"It may be above {bound}: a strip cannot tell.")
    return _Held(True, f"Not above {bound}.")
