"""What to measure, and how much water, for a strength that is wanted.

"Make 60 L" means made up **to** 60 L: product and water together. The mass of the
active is conserved, so with stock Cs, target Cf, water already holding Cb and volume
V, the product is V (Cf - Cb) / (Cs - Cb); without a background that is the rule of
CDC, Best Practices for Environmental Cleaning, Appendix E (parts of water =
Cs / Cf - 1; grams of powder in a litre = wanted % / powder % x 1000).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from hygiene.answers import Answer, figure, litres
from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.measuring import CannotDilute, Label, Tool
from hygiene.sanitising.strength import CHLORINE, Strength

SOURCE: Final = (
    "CDC, Best Practices for Environmental Cleaning, App. E (dilution by parts and by "
    "weight); conservation of mass for a tank that already holds some"
)
VALID: Final = (
    "Clean water and a fresh product: soil, sun, heat and age use the active up. "
    "Check the made solution with a test strip. The product's label governs."
)
UNMEASURED_SHARE: Final = 0.05
"""Reading error taken where no measuring tool is named: an assumption, no source."""

_FEW_MARKS: Final = 5


@dataclass(frozen=True, slots=True)
class Dilution:
    """One worked dilution; ``product`` is in ``stock.unit`` (millilitres or grams)."""

    stock: Strength
    target_mg_per_l: float
    background_mg_per_l: float
    made_l: float
    exact: float
    product: float
    low_mg_per_l: float
    high_mg_per_l: float

    @property
    def product_l(self) -> float:
        """The room that the product takes; a dissolved powder is taken as none."""
        return 0.0 if self.stock.solid else self.product / 1000

    @property
    def water_l(self) -> float:
        """The water to add, so that both together make the volume."""
        return self.made_l - self.product_l

    @property
    def given_mg_per_l(self) -> float:
        """The strength that the product as measured really gives."""
        return strength_given(
            self.stock, self.product, self.made_l, self.background_mg_per_l
        )

    @property
    def parts_water(self) -> float:
        """Parts of water to one of product: by volume, or of a solid by weight."""
        per_l = 1000 * self.water_l
        return per_l / self.product


def product_needed(
    stock: Strength,
    target_mg_per_l: float,
    made_l: float,
    background_mg_per_l: float = 0.0,
) -> float:
    """Work out the product for a volume made up to ``made_l``: millilitres or grams."""
    _possible(stock, target_mg_per_l, background_mg_per_l)
    wanted_mg = made_l * (target_mg_per_l - background_mg_per_l)
    displaced = 0.0 if stock.solid else background_mg_per_l / 1000
    return wanted_mg / (stock.mg_per_unit - displaced)


def strength_given(
    stock: Strength, product: float, made_l: float, background_mg_per_l: float = 0.0
) -> float:
    """Give the strength, in mg/L, of ``product`` made up to ``made_l``."""
    displaced_l = 0.0 if stock.solid else product / 1000
    water_mg = (made_l - displaced_l) * background_mg_per_l
    return (product * stock.mg_per_unit + water_mg) / made_l


def made_from(
    stock: Strength,
    target_mg_per_l: float,
    water_l: float,
    background_mg_per_l: float = 0.0,
) -> float:
    """Work out the volume that results when the product goes **into** ``water_l``.

    V_product = V_water (Cf - Cb) / (Cs - Cf); a powder adds nothing.
    """
    _possible(stock, target_mg_per_l, background_mg_per_l)
    if stock.solid:
        return water_l
    if target_mg_per_l >= stock.mg_per_l:
        raise CannotDilute(why="no amount of product makes water as strong as itself")
    wanted = target_mg_per_l - background_mg_per_l
    return water_l * (1 + wanted / (stock.mg_per_l - target_mg_per_l))


def work_out(
    stock: Strength,
    target_mg_per_l: float,
    made_l: float,
    *,
    background_mg_per_l: float = 0.0,
    tool: Tool | None = None,
) -> Dilution:
    """Work out one dilution, rounded up to what the tool can measure."""
    exact = product_needed(stock, target_mg_per_l, made_l, background_mg_per_l)
    product, error = exact, exact * UNMEASURED_SHARE
    if tool is not None:
        tool.fits(stock.unit)
        product = tool.round_up(exact)
        error = tool.error(product)
    most = math.inf if stock.solid else made_l * 1000
    if product > most * (1 + 1e-9):
        why = "the tool's marks are too wide for so small a volume"
        raise CannotDilute(why=why)
    ends = (max(product - error, 0.0), min(product + error, most))
    low, high = (
        strength_given(stock, end, made_l, background_mg_per_l) for end in ends
    )
    return Dilution(
        stock, target_mg_per_l, background_mg_per_l, made_l, exact, product, low, high
    )


def dilute(
    stock: Strength,
    target_mg_per_l: float,
    *,
    made_l: float | None = None,
    into_l: float | None = None,
    background_mg_per_l: float = 0.0,
    label: Label | None = None,
    tool: Tool | None = None,
) -> Answer:
    """Answer a dilution, made up to ``made_l`` or put into ``into_l`` of water.

    Raises :class:`OutsideLabel` where the label does not allow the strength asked for.
    """
    if (made_l is None) == (into_l is None):
        raise CannotDilute(why="say one volume: what to make, or what is in the tank")
    (label or Label()).check(target_mg_per_l)
    if into_l is not None:
        made_l = made_from(stock, target_mg_per_l, into_l, background_mg_per_l)
    done = work_out(
        stock,
        target_mg_per_l,
        made_l or 0.0,
        background_mg_per_l=background_mg_per_l,
        tool=tool,
    )
    return Answer(
        values=values_of(done),
        says=_says(done, tool, into_l),
        steps=steps_of(done, tool, into_l),
        source=SOURCE,
        valid=VALID,
        warnings=warnings_of(done, tool),
        findings=(label or Label()).faults(done.low_mg_per_l, done.high_mg_per_l)
        if tool is not None
        else (),
        cautions=cautions(stock, "dilute"),
    )


def cautions(stock: Strength, task: str) -> tuple[str, ...]:
    """Say what to be careful of with this product at this task."""
    dry = stock.solid and stock.active == CHLORINE
    return cautions_for("calcium hypochlorite" if dry else stock.active, task)


def _possible(stock: Strength, target: float, background: float) -> None:
    if target > stock.mg_per_l * (1 + 1e-12):
        raise CannotDilute(
            why=f"{figure(target)} mg/L is stronger than the product itself, "
            f"{figure(stock.mg_per_l)} mg/L ({stock.as_written})",
        )
    if background >= target:
        raise CannotDilute(
            why=f"the water already holds {figure(background)} mg/L: no product is "
            f"needed for {figure(target)} mg/L",
        )


def values_of(done: Dilution) -> dict[str, Any]:
    """Give the numbers of a dilution under their JSON keys."""
    return {
        f"product_{done.stock.unit}": done.product,
        "water_l": done.water_l,
        "made_l": done.made_l,
        "target_mg_per_l": done.target_mg_per_l,
        "given_mg_per_l": done.given_mg_per_l,
        "low_mg_per_l": done.low_mg_per_l,
        "high_mg_per_l": done.high_mg_per_l,
        "parts_water": done.parts_water,
        f"exact_{done.stock.unit}": done.exact,
    }


def _says(done: Dilution, tool: Tool | None, into_l: float | None) -> tuple[str, ...]:
    unit = done.stock.unit
    amount = f"{figure(done.product)} {unit}"
    verb = "Weigh" if done.stock.solid else "Measure"
    if into_l is not None:
        act = f"{verb} {amount} of product into the {litres(into_l)} in the tank."
    else:
        act = f"{verb} {amount} of product. Put it into about half of the water, then "
        act += f"water up to {litres(done.made_l)}"
        act += "." if done.stock.solid else f" ({litres(done.water_l)} of water)."
    shown = f"{figure(done.given_mg_per_l)} mg/L {done.stock.name}"
    parts = f"1 part to {figure(done.parts_water)} parts of water"
    said = [act, f"That gives {shown} ({parts}{' by weight' * done.stock.solid})."]
    ends = f"{figure(done.low_mg_per_l)} to {figure(done.high_mg_per_l)} mg/L"
    if tool is None:
        said.append(f"Misread by 5 %, it gives {ends}.")
    else:
        said.append(f"{_how(tool, done.product)} it gives {ends}.")
    return tuple(said)


def _how(tool: Tool, amount: float) -> str:
    times = tool.fillings(amount)
    filled = f"In {times} fillings of" if times > 1 else "With"
    return f"{filled} the {figure(tool.holds)} {tool.unit} {tool.name}"


def steps_of(
    done: Dilution, tool: Tool | None, into_l: float | None
) -> tuple[str, ...]:
    """Write the working of a dilution, numbers put in."""
    stock, cf, cb = done.stock, done.target_mg_per_l, done.background_mg_per_l
    wanted = figure(cf) if cb == 0 else f"({figure(cf)} - {figure(cb)})"
    steps = [*stock.steps]
    if into_l is not None and not stock.solid:
        steps.append(
            f"product = {figure(into_l)} L x {wanted} mg/L / ({figure(stock.mg_per_l)} "
            f"- {figure(cf)} mg/L) = {figure(done.exact / 1000)} L = "
            f"{figure(done.exact)} ml"
        )
    else:
        held = figure(stock.mg_per_unit)
        if cb and not stock.solid:
            held = f"({held} - {figure(cb / 1000)})"
        steps.append(
            f"product = {figure(done.made_l)} L x {wanted} mg/L / {held} mg per "
            f"{stock.unit} = {figure(done.exact)} {stock.unit}"
        )
    if not stock.solid and into_l is None:
        steps.append(
            f"water = {litres(done.made_l)} - {litres(done.product_l)} = "
            f"{litres(done.water_l)}"
        )
    if tool is not None:
        steps.append(
            f"up to the next {figure(tool.mark)} {tool.unit} mark: "
            f"{figure(done.product)} {tool.unit}, read within "
            f"{figure(tool.error(done.product))} {tool.unit}"
        )
    return tuple(steps)


def warnings_of(done: Dilution, tool: Tool | None) -> tuple[str, ...]:
    """Say what is odd about this dilution."""
    said = [*done.stock.warnings]
    if tool is None:
        said.append(
            "No measuring tool was named: a misreading of 5 % is assumed (no source). "
            "Name yours with --measure."
        )
    elif done.exact < _FEW_MARKS * tool.mark:
        said.append(
            f"{figure(done.exact)} {tool.unit} is too little for "
            f"{figure(tool.mark)} {tool.unit} marks: use finer marks, or --two-step."
        )
    if done.stock.solid and done.product > 200 * done.made_l:
        said.append(
            f"{figure(done.product / done.made_l)} g in a litre may not all dissolve."
        )
    return tuple(said)


def mixing_card(
    stock: Strength,
    targets_mg_per_l: Sequence[float],
    volumes_l: Sequence[float],
    *,
    label: Label | None = None,
    tool: Tool | None = None,
) -> Answer:
    """Work out a card for the wall: every strength in every volume, of one product."""
    for target in targets_mg_per_l:
        (label or Label()).check(target)
    rows = [
        [work_out(stock, target, made_l, tool=tool) for target in targets_mg_per_l]
        for made_l in volumes_l
    ]
    return Answer(
        values={
            "stock": stock.as_written,
            "active": stock.active,
            "unit": stock.unit,
            "targets_mg_per_l": list(targets_mg_per_l),
            "rows": [
                {"made_l": made_l, "product": [cell.product for cell in row]}
                for made_l, row in zip(volumes_l, rows, strict=True)
            ],
            "parts_water": [cell.parts_water for cell in rows[0]],
        },
        says=_card_lines(stock, targets_mg_per_l, rows),
        steps=(
            *stock.steps,
            f"product = volume in L x mg/L / {figure(stock.mg_per_unit)} mg per "
            f"{stock.unit}; then water up to the volume",
        ),
        source=SOURCE,
        valid=VALID,
        warnings=stock.warnings,
        cautions=cautions(stock, "dilute"),
    )


def _card_lines(
    stock: Strength, targets: Sequence[float], rows: Sequence[Sequence[Dilution]]
) -> tuple[str, ...]:
    heads = [f"{figure(target)} mg/L" for target in targets]
    cells = [
        [f"{figure(cell.product, 3)} {stock.unit}" for cell in row] for row in rows
    ]
    width = max(len(text) for text in [*heads, *(c for row in cells for c in row)]) + 2
    first = [f"{figure(row[0].made_l)} L" for row in rows]
    margin = max(9, *(len(text) for text in first)) + 2
    lines = [f"{stock.as_written} ({stock.name}): {stock.unit} of product"]
    lines.append("make up to".ljust(margin) + "".join(h.rjust(width) for h in heads))
    for name, row in zip(first, cells, strict=True):
        lines.append(name.ljust(margin) + "".join(cell.rjust(width) for cell in row))
    return tuple(lines)
