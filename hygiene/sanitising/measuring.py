"""What a product's label allows, and what a jug, a syringe or a scale can measure."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final, Literal

from hygiene.answers import figure
from hygiene.errors import Refused, WronglyPut
from hygiene.quantities import mass_g, volume_l


class CannotDilute(WronglyPut):
    """A dilution that no mixing can give."""

    sentence = "{why}"


class OutsideLabel(Refused):
    """A strength that the product's label does not allow."""


@dataclass(frozen=True, slots=True)
class Label:
    """What a product's label allows of its working strength, in mg/L."""

    least_mg_per_l: float | None = None
    most_mg_per_l: float | None = None
    product: str = "the product"

    def __post_init__(self) -> None:
        low, high = self.least_mg_per_l, self.most_mg_per_l
        if low is not None and high is not None and low > high:
            why = f"the label's minimum {figure(low)} is above its maximum"
            raise CannotDilute(why=f"{why} {figure(high)} mg/L")

    def check(self, target_mg_per_l: float) -> None:
        """Refuse a plan outside the label, with what the label allows."""
        for fault in self.faults(target_mg_per_l, target_mg_per_l):
            raise OutsideLabel(why=fault, way_out="Ask for a strength that it allows.")

    def faults(self, low_mg_per_l: float, high_mg_per_l: float) -> tuple[str, ...]:
        """Say which end of a range the label does not allow."""
        found = []
        least, most = self.least_mg_per_l, self.most_mg_per_l
        if least is not None and low_mg_per_l < least * (1 - 1e-9):
            found.append(
                f"{figure(low_mg_per_l)} mg/L is below the label's minimum of "
                f"{figure(least)} mg/L for {self.product}"
            )
        if most is not None and high_mg_per_l > most * (1 + 1e-9):
            found.append(
                f"{figure(high_mg_per_l)} mg/L is above the label's maximum of "
                f"{figure(most)} mg/L for {self.product}"
            )
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Tool:
    """A jug, syringe or scale: what it holds and its marks, in millilitres or grams."""

    name: str
    holds: float
    mark: float
    unit: Literal["ml", "g"]

    def round_up(self, amount: float) -> float:
        """Round up to the next mark, so that it is never weaker than asked."""
        return math.ceil(amount / self.mark - 1e-9) * self.mark

    def fillings(self, amount: float) -> int:
        """Count how often it must be filled."""
        return max(1, math.ceil(amount / self.holds - 1e-9))

    def fits(self, unit: Literal["ml", "g"]) -> None:
        """Refuse a jug for what is weighed, and a scale for what is poured."""
        if self.unit == unit:
            return
        how = "weighed: name a scale, as '500 g scale, 1 g marks'"
        if unit == "ml":
            how = "measured by volume: name a jug, as '100 ml jug, 10 ml marks'"
        raise CannotDilute(why=f"this product is {how}")

    def error(self, amount: float) -> float:
        """Give the most it can be misread by: half a mark at each filling."""
        return self.fillings(amount) * self.mark / 2


_TOOL: Final = re.compile(r"(?P<holds>.+?),(?P<mark>.+?)\s*marks?", re.IGNORECASE)
_HOLDS: Final = re.compile(
    r"(?P<size>[\d.]+\s*(?:us |imp )?[a-z]+(?: oz)?)\s*(?P<name>[a-z ]*)",
    re.IGNORECASE,
)


def read_tool(text: str) -> Tool:
    """Read a measuring tool, such as ``100 ml jug, 10 ml marks``."""
    shape = "write it as '100 ml jug, 10 ml marks' or '500 g scale, 1 g marks'"
    parts = _TOOL.fullmatch(text.strip())
    sized = _HOLDS.fullmatch(parts["holds"].strip()) if parts else None
    if parts is None or sized is None:
        raise CannotDilute(why=f"{text[:40]!r} is not a measuring tool: {shape}")
    size, mark = sized["size"].strip(), parts["mark"].strip()
    by_weight = re.search(r"\d\s*(?:mg|g|kg|oz|lb)$", size, re.IGNORECASE) is not None
    unit: Literal["ml", "g"] = "g" if by_weight else "ml"
    holds = mass_g(size) if by_weight else volume_l(size) * 1000
    step = mass_g(mark) if by_weight else volume_l(mark) * 1000
    if step > holds:
        raise CannotDilute(why=f"the marks are wider than the tool holds: {shape}")
    default = "scale" if by_weight else "jug"
    return Tool(sized["name"].strip() or default, holds, step, unit)
