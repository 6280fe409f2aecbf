"""The plan of a dose: how much to measure out of which container, and both ends of it.

A can of hypochlorite may be as weak as the model says or as strong as its label, so a
plan on the weak end is held against the label's maximum at the strong one. The sums are
those of ``calc``; nothing is worked out here a second time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from hygiene.answers import Answer, figure, litres
from hygiene.errors import WronglyPut
from hygiene.kinds.entry import Body, rows_of
from hygiene.sanitising.ageing import (
    SAFETY_FACTOR,
    Can,
    Dose,
    Kept,
    age,
    strength_on,
)
from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.containers import Container, amount
from hygiene.sanitising.dilution import (
    SOURCE,
    VALID,
    product_needed,
    strength_given,
)
from hygiene.sanitising.doses import number, text
from hygiene.sanitising.lines import Pipe, shock
from hygiene.sanitising.measuring import Label, Tool
from hygiene.sanitising.strength import (
    CHLORINE,
    PERACETIC,
    Strength,
    read_active,
    read_strength,
)

TAKEN_AS_KEPT_AT_C: Final = 20.0
"""Where nobody wrote how warm a container stands: an assumption, no source."""


class CannotPlan(WronglyPut):
    """A dose of which too little is known to be planned."""

    sentence = "{why}"


@dataclass(frozen=True, slots=True)
class Ends:
    """How strong a container may be on a day: at most, at least, and why.

    ``can`` and ``history`` are there where the model of ageing speaks of it.
    """

    held: Container
    strong: Strength
    weak: Strength
    can: Can | None = None
    history: tuple[Kept, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def per_smallest(self) -> int:
        """How many of the smallest unit there are in a millilitre, or in a gram."""
        return 10 if self.held.unit == "tenth_ml" else 1000


@dataclass(frozen=True, slots=True)
class Plan:
    """A planned dose: the whole smallest units of each container, and the answer.

    ``outside_label`` are the findings that its label does not allow.
    """

    outside_label: tuple[str, ...]
    drawn: tuple[tuple[Ends, int], ...]
    low_mg_per_l: float
    high_mg_per_l: float
    answer: Answer

    @property
    def planned(self) -> int:
        """All of it, in the smallest unit."""
        return sum(many for _, many in self.drawn)


def labelled(product: Body) -> Strength:
    """The strength on the product's label; raises ``CannotPlan`` where none is said."""
    actives = rows_of(product, "actives")
    if not actives:
        raise CannotPlan(
            why=f"the farm file says no active of {product.get('name')}",
            way_out="copy it from the label: [[product.actives]]",
        )
    row = actives[0]
    return read_strength(
        str(row.get("strength")),
        active=_active(text(row, "name")),
        density_kg_per_l=number(row, "density_kg_per_l"),
        solid=product.get("solid") is True,
    )


def _active(name: str | None) -> str:
    # any active without a salt of its own reads a strength alike
    try:
        return read_active(name or "")
    except WronglyPut:
        return PERACETIC


def ends_of(held: Container, product: Body, on: date) -> Ends:
    """How strong a container may be on a day, from its label, its age and its checks.

    A strength that was measured replaces the label as the strong end, and the model
    goes on from it.
    """
    label = labelled(product)
    if label.solid != (held.unit == "mg"):
        kind = "weighed" if label.solid else "measured by volume"
        raise CannotPlan(why=f"{held.code} is of a product that is {kind}")
    if label.active != CHLORINE or label.solid:
        found = label if held.measured is None else _measured(label, held.measured)
        return Ends(held, found, found)
    notes = []
    made_on = held.made_on
    if made_on is None:
        made_on = held.came_on
        notes.append("When it was made is not written: counted from when it came.")
    kept_at_c = held.kept_at_c
    if kept_at_c is None:
        kept_at_c = TAKEN_AS_KEPT_AT_C
        notes.append(f"How warm it stands is not written: {kept_at_c:g} C is taken.")
    can = Can(
        label,
        made_on,
        None if held.measured is None else _measured(label, held.measured),
        held.measured_on if held.measured is not None else None,
    )
    history = (Kept(can.days_until(on), kept_at_c),)
    fresh = label.mg_per_unit
    careful = age(
        can.starts_g_per_l, history, fresh_g_per_l=fresh, factor=SAFETY_FACTOR
    )
    return Ends(
        held,
        replace(label, mg_per_unit=can.starts_g_per_l),
        replace(label, mg_per_unit=careful.strength_g_per_l),
        can,
        history,
        tuple(notes),
    )


def _measured(label: Strength, value: float) -> Strength:
    unit = "g/kg" if label.solid else "g/L"
    return replace(
        label,
        as_written=f"{figure(value)} {unit} measured",
        mg_per_unit=value,
        steps=(f"measured: {figure(value)} {unit}",),
    )


def plan(
    stocks: Sequence[Ends],
    target_mg_per_l: float,
    made_l: float,
    on: date,
    *,
    label: Label | None = None,
    tool: Tool | None = None,
    task: str = "trays",
) -> Plan:
    """Plan a dose on the weak end of its containers, the first ones emptied first.

    ``findings`` of the answer say which end the label does not allow. The amount is
    rounded up to a whole smallest unit, or to the tool's next mark.
    """
    drawn = _drawn(stocks, target_mg_per_l, made_l, tool)
    low, high = (
        sum(
            strength_given(getattr(ends, end), many / ends.per_smallest, made_l)
            for ends, many in drawn
        )
        for end in ("weak", "strong")
    )
    bounds = label or Label()
    target = target_mg_per_l
    faults = bounds.faults(target, target) or bounds.faults(low, high)
    first = drawn[0][0]
    values, steps, warnings = _values(drawn, target_mg_per_l, made_l, low, high)
    made = Answer(
        values=values,
        says=_says(drawn, target_mg_per_l, made_l, low, high),
        steps=steps,
        source=SOURCE,
        valid=VALID,
        warnings=tuple(dict.fromkeys(warnings)),
        findings=faults,
        cautions=cautions_for(_careful_name(first.strong), task),
    )
    answer = _with_ageing(made, drawn[-1][0], target_mg_per_l, on)
    return Plan(faults, tuple(drawn), low, high, answer)


def _careful_name(stock: Strength) -> str:
    dry = stock.solid and stock.active == CHLORINE
    return "calcium hypochlorite" if dry else stock.active


def _drawn(
    stocks: Sequence[Ends], target: float, made_l: float, tool: Tool | None
) -> list[tuple[Ends, int]]:
    """The whole smallest units of each container; the last one makes up the rest."""
    drawn: list[tuple[Ends, int]] = []
    given = 0.0
    for place, ends in enumerate(stocks):
        exact = product_needed(ends.weak, target - given, made_l)
        if tool is not None:
            tool.fits(ends.weak.unit)
            exact = tool.round_up(exact)
        many = math.ceil(exact * ends.per_smallest - 1e-6)
        left = max(ends.held.left, 0)
        if place < len(stocks) - 1 and left < many:
            drawn += [(ends, left)] * (left > 0)
            given += strength_given(ends.weak, left / ends.per_smallest, made_l)
            continue
        drawn.append((ends, many))
        break
    return drawn


def _values(
    drawn: Sequence[tuple[Ends, int]],
    target: float,
    made_l: float,
    low: float,
    high: float,
) -> tuple[dict[str, Any], tuple[str, ...], list[str]]:
    unit = drawn[0][0].held.unit
    planned = sum(many for _, many in drawn)
    values: dict[str, Any] = {
        f"planned_{unit}": planned,
        "made_l": made_l,
        "target_mg_per_l": target,
        "low_mg_per_l": low,
        "high_mg_per_l": high,
        "drawn": [{"container": e.held.code, unit: many} for e, many in drawn],
    }
    steps: list[str] = []
    warnings: list[str] = []
    for ends, many in drawn:
        weak, strong = ends.weak.mg_per_unit, ends.strong.mg_per_unit
        measure = ends.weak.unit
        steps += () if ends.can else ends.strong.steps
        steps.append(
            f"{ends.held.code}, weak end {figure(weak)} mg per {measure}: "
            f"{amount(unit, many)} gives "
            f"{figure(strength_given(ends.weak, many / ends.per_smallest, made_l))} "
            f"mg/L in {litres(made_l)}; strong end {figure(strong)} mg per {measure}: "
            f"{figure(strength_given(ends.strong, many / ends.per_smallest, made_l))} "
            "mg/L"
        )
        warnings += [*ends.notes, *ends.strong.warnings]
    if len(drawn) > 1:
        codes = " and ".join(ends.held.code for ends, _ in drawn)
        warnings.append(f"Two containers in one dose: {codes}. It is written down.")
    return values, tuple(steps), warnings


def _says(
    drawn: Sequence[tuple[Ends, int]],
    target: float,
    made_l: float,
    low: float,
    high: float,
) -> tuple[str, ...]:
    solid = drawn[0][0].strong.solid
    verb = "Weigh" if solid else "Measure"
    parts = [f"{amount(e.held.unit, many)} from {e.held.code}" for e, many in drawn]
    name = drawn[0][0].strong.name
    said = [
        f"{verb} {' and '.join(parts)} into water, made up to {litres(made_l)}: "
        f"{figure(target)} mg/L {name} wanted.",
    ]
    ends = drawn[-1][0]
    if ends.can is None:
        said.append(f"That gives {figure(high)} mg/L.")
    else:
        measured = ends.can.measured is not None
        strong = "as was measured" if measured else "as labelled"
        said.append(
            f"If it has aged: {figure(low)} mg/L. If it is still {strong}: "
            f"{figure(high)} mg/L. Strip-test before the first tray."
        )
    return tuple(said)


def _with_ageing(made: Answer, ends: Ends, target: float, on: date) -> Answer:
    """Add what the model says of this can on this day, and the chlorate it brings."""
    if ends.can is None:
        return made
    aged = strength_on(ends.can, on, ends.history, dose=Dose(target))
    keep = (
        "strength_g_per_l", "careful_strength_g_per_l", "labelled_g_per_l",
        "chlorate_mg_per_l", "buy_new_by",
    )  # fmt: skip
    return replace(
        made,
        values={**made.values, **{key: aged.values[key] for key in keep}},
        says=(*made.says, *aged.says),
        steps=(*aged.steps, *made.steps),
        source=f"{made.source}; {aged.source}",
        warnings=tuple(dict.fromkeys((*made.warnings, *aged.warnings))),
        findings=(*made.findings, *aged.findings),
    )


def plan_line(
    stocks: Sequence[Ends],
    target_mg_per_l: float,
    pipes: Sequence[Pipe],
    tanks_l: Sequence[float],
    on: date,
    *,
    flow_l_per_min: float | None = None,
    label: Label | None = None,
    tool: Tool | None = None,
) -> Plan:
    """Plan a shock dose of a line: also how long it stands and how it is flushed."""
    weak = stocks[0].weak
    shocked = shock(
        pipes, tanks_l, target_mg_per_l, weak, flow_l_per_min=flow_l_per_min
    )
    volume_l = float(str(shocked.values["volume_l"]))
    made = plan(
        stocks, target_mg_per_l, volume_l, on, label=label, tool=tool, task="line"
    )
    keep = (
        "volume_l", "fill_minutes", "flush_l", "hold_hours", "keep_above_mg_per_l",
    )  # fmt: skip
    answer = replace(
        made.answer,
        values={**made.answer.values, **{k: shocked.values[k] for k in keep}},
        says=(*made.answer.says, *shocked.says[1:]),
        steps=(*shocked.steps, *made.answer.steps),
        source=f"{made.answer.source}; {shocked.source}",
        warnings=tuple(dict.fromkeys((*made.answer.warnings, *shocked.warnings))),
    )
    return replace(made, answer=answer)
