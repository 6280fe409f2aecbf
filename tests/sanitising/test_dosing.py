"""Planned doses against a table worked by hand, and both ends of a can."""

from __future__ import annotations

from datetime import date

import pytest

from hygiene.sanitising.containers import Container
from hygiene.sanitising.dosing import CannotPlan, ends_of, plan, plan_line
from hygiene.sanitising.lines import read_pipe
from hygiene.sanitising.measuring import CannotDilute, Label, read_tool

ON = date(2026, 3, 2)
HYPO = {
    "code": "hypo",
    "name": "Shed Hypochlorite",
    "actives": [{"name": "chlorine", "strength": "125 g/L"}],
}
PERACID = {
    "code": "peracid",
    "name": "Tray Peracid",
    "actives": [{"name": "peracetic acid", "strength": "50 g/L"}],
}
GRANULES = {
    "code": "granules",
    "name": "Shed Granules",
    "solid": True,
    "actives": [{"name": "chlorine", "strength": "56 % w/w"}],
}


def can(unit: str = "tenth_ml", size: int = 100_000, **said) -> Container:
    given = {"made_on": ON, "kept_at_c": 15.0, **said}
    return Container("C-1", "hypo", unit, size, 0, 0, "shed-1/1", ON, **given)


# worked by hand: L x mg/L / (g/L) = ml, up to the next tenth; for granules of
# 560 mg/g up to the next milligram
BY_HAND = [
    # product, measured g/L, litres, mg/L, smallest units
    (HYPO, None, 60, 200, 960),  # 12000 / 125 = 96.0 ml
    (HYPO, None, 10, 100, 80),  # 1000 / 125 = 8.0 ml
    (HYPO, None, 7, 130, 73),  # 910 / 125 = 7.28, up to 7.3 ml
    (HYPO, None, 450, 1, 36),  # 450 / 125 = 3.6 ml
    (HYPO, None, 120, 500, 4800),  # 60000 / 125 = 480.0 ml
    (HYPO, 100, 60, 200, 1200),  # 12000 / 100 = 120.0 ml
    (HYPO, 96, 25, 150, 391),  # 3750 / 96 = 39.0625, up to 39.1 ml
    (PERACID, None, 30, 150, 900),  # 4500 / 50 = 90.0 ml
    (PERACID, 48, 30, 150, 938),  # 4500 / 48 = 93.75, up to 93.8 ml
    (GRANULES, None, 60, 200, 21_429),  # 12000 / 560 = 21.428571 g
    (GRANULES, None, 20, 140, 5_000),  # 2800 / 560 = 5.0 g
]


@pytest.mark.parametrize(("product", "measured", "litres", "target", "units"), BY_HAND)
def test_planned_doses_equal_the_table(
    product: dict, measured: float | None, litres: float, target: float, units: int
) -> None:
    """Whole smallest units, never weaker than asked."""
    unit = "mg" if product is GRANULES else "tenth_ml"
    held = can(unit, measured=measured, measured_on=ON if measured else None)
    made = plan([ends_of(held, product, ON)], target, litres, ON)
    assert made.planned == units
    assert made.low_mg_per_l >= target * (1 - 1e-9)
    # by no more than one unit more than asked
    assert made.low_mg_per_l <= target * (units / (units - 1)) + 1e-9


def test_a_fresh_can_has_one_end() -> None:
    """Made today, it holds what its label says."""
    ends = ends_of(can(), HYPO, ON)
    assert ends.strong.mg_per_unit == ends.weak.mg_per_unit == 125


def test_an_old_can_has_two() -> None:
    """Planned on the weak one, held against the label at the strong one."""
    ends = ends_of(can(made_on=date(2025, 6, 1)), HYPO, ON)
    assert ends.weak.mg_per_unit < ends.strong.mg_per_unit == 125
    made = plan([ends], 200, 60, ON, label=Label(100, 220))
    assert made.planned > 960
    assert made.high_mg_per_l == pytest.approx(
        made.low_mg_per_l * 125 / ends.weak.mg_per_unit
    )
    assert len(made.answer.findings) == 1
    assert "above the label's maximum of 220" in made.answer.findings[0]


def test_a_target_outside_the_label_is_one_finding() -> None:
    """Not one for each end."""
    made = plan([ends_of(can(), HYPO, ON)], 600, 60, ON, label=Label(100, 500))
    assert len(made.answer.findings) == 1


def test_a_measured_strength_is_the_strong_end() -> None:
    """It cannot be stronger than it was found to be; the model goes on from there."""
    held = can(made_on=date(2025, 6, 1), measured=90.0, measured_on=date(2026, 1, 2))
    ends = ends_of(held, HYPO, ON)
    assert ends.strong.mg_per_unit == 90
    assert ends.weak.mg_per_unit < 90


def test_other_actives_do_not_age_by_the_model() -> None:
    """Only hypochlorite does; a peracid is planned on its label."""
    ends = ends_of(can(made_on=date(2025, 6, 1)), PERACID, ON)
    assert ends.can is None
    assert ends.weak.mg_per_unit == 50


def test_two_cans_are_emptied_in_turn() -> None:
    """The rest comes from the second: 40 of 96 ml, then 56."""
    first = ends_of(can(size=400), HYPO, ON)
    made = plan([first, ends_of(can(), HYPO, ON)], 200, 60, ON)
    assert [many for _, many in made.drawn] == [400, 560]
    assert made.high_mg_per_l == pytest.approx(200)


def test_an_empty_can_is_passed_over() -> None:
    """Nothing is drawn from it."""
    empty = ends_of(can()._replace(drawn=100_000), HYPO, ON)
    made = plan([empty, ends_of(can(), HYPO, ON)], 200, 60, ON)
    assert [many for _, many in made.drawn] == [960]


def test_a_jug_rounds_up_to_its_mark() -> None:
    """96 ml by a jug with marks at ten is a hundred."""
    tool = read_tool("100 ml jug, 10 ml marks")
    made = plan([ends_of(can(), HYPO, ON)], 200, 60, ON, tool=tool)
    assert made.planned == 1_000
    with pytest.raises(CannotDilute):
        plan([ends_of(can("mg"), GRANULES, ON)], 200, 60, ON, tool=tool)


def test_a_line_is_planned_with_its_hold() -> None:
    """25 mm inside x 20 m holds 9.817 L: 981.7 mg / 125 = 7.854 ml."""
    made = plan_line(
        [ends_of(can(), HYPO, ON)], 100, [read_pipe("25mm inside x 20m")], [], ON,
        flow_l_per_min=10,
    )  # fmt: skip
    assert made.planned == 79
    assert made.answer.values["hold_hours"] == 3
    assert made.answer.values["fill_minutes"] == pytest.approx(0.982, abs=0.001)


def test_a_product_without_an_active_has_no_sums() -> None:
    """A detergent: the farm file says no strength of it."""
    with pytest.raises(CannotPlan):
        ends_of(can(), {"code": "soap", "name": "Bay Detergent"}, ON)


def test_a_container_in_the_wrong_unit() -> None:
    """Granules are weighed."""
    with pytest.raises(CannotPlan):
        ends_of(can(), GRANULES, ON)


def test_what_was_taken_for_granted_is_said() -> None:
    """No date of making, no temperature."""
    ends = ends_of(can(made_on=None, kept_at_c=None), HYPO, ON)
    assert len(ends.notes) == 2
