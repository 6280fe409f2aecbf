"""A dilution by way of a bottle in between, and what to write on that bottle.

Where the amount is too small to measure, the product is first brought down to a round
fraction of its strength. The bottle is labelled at once: name, strength, hazards, made
at, use by.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from hygiene.answers import Answer, figure, litres
from hygiene.sanitising.dilution import (
    SOURCE,
    VALID,
    Dilution,
    cautions,
    product_needed,
    steps_of,
    values_of,
    warnings_of,
    work_out,
)
from hygiene.sanitising.measuring import CannotDilute, Label, Tool
from hygiene.sanitising.strength import CHLORINE, Strength

_GOOD_MARKS: Final = 10
_LEAST_UNNAMED_ML: Final = 5.0  # a syringe of 10 ml, taken where no tool is named
_ROUND_FACTORS: Final = (10, 20, 50, 100, 200, 500, 1000)
_BOTTLES_L: Final = (0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0)


def two_step(
    stock: Strength,
    target_mg_per_l: float,
    made_l: float,
    *,
    background_mg_per_l: float = 0.0,
    label: Label | None = None,
    tool: Tool | None = None,
    mixed_at: datetime | None = None,
) -> Answer:
    """Dilute by way of a bottle in between, where the amount is too small to measure.

    The bottle's strength is a round fraction of the product's; its label comes with the
    answer. Hypochlorite so diluted is used within a day (CDC: made new every day).
    """
    (label or Label()).check(target_mg_per_l)
    if stock.solid:
        raise CannotDilute(
            why="a two-step dilution is for a liquid: weigh this product"
        )
    direct = product_needed(stock, target_mg_per_l, made_l, background_mg_per_l)
    if tool is not None:
        tool.fits(stock.unit)
    least_ml = _GOOD_MARKS * tool.mark if tool else _LEAST_UNNAMED_ML
    factor, bottle_l = _bottle(stock, target_mg_per_l, direct, least_ml)
    first = work_out(stock, stock.mg_per_l / factor, bottle_l, tool=tool)
    middle = replace(
        stock,
        as_written=f"{stock.as_written}, 1 in {factor}",
        mg_per_unit=first.given_mg_per_l / 1000,
        steps=(f"the bottle holds {figure(first.given_mg_per_l)} mg/L",),
    )
    second = work_out(
        middle, target_mg_per_l, made_l,
        background_mg_per_l=background_mg_per_l, tool=tool,
    )  # fmt: skip
    return _two_step_answer(stock, first, second, label, tool, mixed_at)


def _bottle(
    stock: Strength, target: float, direct_ml: float, least_ml: float
) -> tuple[int, float]:
    for factor in _ROUND_FACTORS:
        second_ml = direct_ml * factor
        if second_ml >= least_ml and stock.mg_per_l / factor > target:
            for bottle_l in _BOTTLES_L:
                fits = bottle_l * 1000 >= second_ml * 1.1
                if fits and bottle_l * 1000 / factor >= least_ml:
                    return factor, bottle_l
    raise CannotDilute(
        why=f"{figure(direct_ml)} ml cannot be measured in two steps with this tool: "
        "name a finer one with --measure"
    )


def _two_step_answer(
    stock: Strength,
    first: Dilution,
    second: Dilution,
    label: Label | None,
    tool: Tool | None,
    mixed_at: datetime | None,
) -> Answer:
    # the misreadings of both steps, one on top of the other
    low = second.low_mg_per_l * first.low_mg_per_l / first.given_mg_per_l
    high = second.high_mg_per_l * first.high_mg_per_l / first.given_mg_per_l
    bottle = _bottle_label(stock, first, mixed_at)
    values = values_of(second) | {
        "product_ml": first.product,
        "exact_ml": first.exact,
        "low_mg_per_l": low,
        "high_mg_per_l": high,
        "bottle_l": first.made_l,
        "bottle_water_l": first.water_l,
        "bottle_mg_per_l": first.given_mg_per_l,
        "from_bottle_ml": second.product,
        "label": bottle,
    }
    says = (
        f"1. Bottle: put {figure(first.product)} ml of product into water, up to "
        f"{litres(first.made_l)} ({litres(first.water_l)} of water): "
        f"{figure(first.given_mg_per_l)} mg/L.",
        f"2. Put {figure(second.product)} ml from the bottle into water, up to "
        f"{litres(second.made_l)} ({litres(second.water_l)} of water).",
        f"That gives {figure(second.given_mg_per_l)} mg/L {stock.name}, "
        f"{figure(low)} to {figure(high)} mg/L as measured.",
        "Label the bottle: " + "; ".join(bottle.values()) + ".",
    )
    return Answer(
        values=values,
        says=says,
        steps=(*steps_of(first, tool, None), *steps_of(second, tool, None)),
        source=SOURCE + "; made new every day: CDC, chlorine solution instructions",
        valid=VALID,
        warnings=warnings_of(second, tool),
        findings=(label or Label()).faults(low, high) if tool is not None else (),
        cautions=cautions(stock, "two-step"),
    )


def _bottle_label(
    stock: Strength, bottle: Dilution, mixed_at: datetime | None
) -> dict[str, str]:
    label = {
        "name": f"{stock.name}, diluted product ({stock.as_written})",
        "strength": f"{figure(bottle.given_mg_per_l)} mg/L",
        "hazards": hazards_of(stock.active, bottle.given_mg_per_l),
    }
    if mixed_at is not None:
        label["made_at"] = "made " + mixed_at.strftime("%Y-%m-%d %H:%M")
        use_by = mixed_at + timedelta(days=1)
        label["use_by"] = "use by " + use_by.strftime("%Y-%m-%d %H:%M")
    else:
        label["made_at"] = "made (write the time)"
        label["use_by"] = "use by 24 hours after"
    if stock.active != CHLORINE:
        label["use_by"] += ", or sooner if the product's label says so"
    return label


def hazards_of(active: str, mg_per_l: float) -> str:
    """Say what to write on a bottle of this active at this strength.

    For hypochlorite: CLP Annex VI and its generic limits (5, 3, 2.5 and 1 % active
    chlorine), from memory; the product's own safety data sheet comes first.
    """
    if active != CHLORINE:
        return "hazards as on the product's own label"
    percent = mg_per_l / 10000
    if percent >= 5:
        return "H314 burns skin, H318 eyes, H400; EUH031 with acids makes toxic gas"
    if percent >= 3:
        return "H315 irritates skin, H318 damages eyes, H400; no acids: toxic gas"
    if percent >= 1:
        return "H315, H319 irritates skin and eyes; no acids: toxic gas"
    return "do not drink; no acids: toxic gas"
