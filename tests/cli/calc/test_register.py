"""A product of the register, and the farm's own gallon, in a calculation."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from small_farm import SmallFarm

from hygiene.kinds.setup import Active, Farm, Product

HYPO = Product(
    code="hypo",
    name="Hypo twelve",
    actives=(
        Active(
            name="sodium hypochlorite",
            strength="10.8 % w/w",
            density_kg_per_l=Decimal("1.16"),
        ),
    ),
    label_min_mg_per_l=Decimal(100),
    label_max_mg_per_l=Decimal(500),
)


@pytest.fixture
def stocked(shed: SmallFarm) -> SmallFarm:
    farm = Farm(name="Low Meadow", address="1 Mill Lane", time_zone="UTC", gallon="imp")
    shed.write(lambda w: (w.add(HYPO, by="AB"), w.add(farm, by="AB")))
    return shed


def test_the_register_gives_strength_and_density(run, stocked: SmallFarm) -> None:
    """10.8 % w/w at 1.16 kg/L is 125.28 g/L: 95.8 ml in 60 L for 200 mg/L."""
    made = run("calc", "dilute", "--product", "HYPO", "--to", "200", "--make", "60 L",
               "--json", world=stocked.world())  # fmt: skip
    assert json.loads(made.output)["product_ml"] == pytest.approx(
        60 * 200 / 125.28, rel=1e-9
    )


@pytest.mark.parametrize("words", [
    ("dilute", "--make", "60 L"),
    ("line", "--pipe", "25mm SDR11 x 40m"),
    ("inject", "--flow", "8 L/min"),
])  # fmt: skip
def test_the_label_is_held_to(run, stocked: SmallFarm, words) -> None:
    """A plan above the label's maximum is refused, by its name."""
    made = run("calc", words[0], "--product", "hypo", "--to", "600", *words[1:],
               world=stocked.world())  # fmt: skip
    assert made.exit_code == 5
    assert "Hypo twelve" in made.stderr


def test_what_is_typed_wins(run, stocked: SmallFarm) -> None:
    """A measured strength stands in for the label's."""
    made = run("calc", "dilute", "--product", "hypo", "--stock", "100 g/L", "--to",
               "200", "--make", "60 L", "--json", world=stocked.world())  # fmt: skip
    assert json.loads(made.output)["product_ml"] == pytest.approx(120)


def test_an_unknown_product_names_the_nearest(run, stocked: SmallFarm) -> None:
    """Exit code 4."""
    made = run("calc", "dilute", "--product", "hipo", "--to", "200", "--make", "60 L",
               world=stocked.world())  # fmt: skip
    assert made.exit_code == 4
    assert "did you mean hypo?" in made.stderr


def test_a_bare_gallon_is_the_farms(run, stocked: SmallFarm, world) -> None:
    """Where the set-up says which; without a record it is refused."""
    words = ("calc", "dilute", "--stock", "100 g/L", "--to", "100", "--make", "10 gal",
             "--json")  # fmt: skip
    made = run(*words, world=stocked.world())
    assert json.loads(made.output)["made_l"] == pytest.approx(45.4609)


def test_a_bare_gallon_without_a_record_is_refused(run, world) -> None:
    """One clear line, never a number."""
    made = run("calc", "dilute", "--stock", "100 g/L", "--to", "100", "--make",
               "10 gal", world=world)  # fmt: skip
    assert made.exit_code == 2
