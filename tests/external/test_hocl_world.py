"""The share of HOCl against PHREEQC and a textbook."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from phreeqpython import PhreeqPython

from hygiene.sanitising.active import hocl_share, pka_hocl

# HOCl is in none of PHREEQC's databases: the constant is handed to it, and its own
# equilibrium and activity model do the rest
DEFINITION = """
SOLUTION_MASTER_SPECIES
Ocl Ocl- 0 51.45 51.45
SOLUTION_SPECIES
Ocl- = Ocl-
 log_k 0
H+ + Ocl- = HOcl
 -analytical_expression -10.0686 0.0253 3000
END
"""

Share = Callable[..., float]


@pytest.fixture(scope="module")
def phreeqc_share() -> Share:
    """Give PHREEQC's share of HOCl at a pH, a temperature and some table salt."""
    phreeqc = PhreeqPython()
    phreeqc.ip.run_string(DEFINITION)

    def share(ph: float, temp_c: float, salt_mmol: float = 0.0) -> float:
        made = phreeqc.add_solution({
            "temp": temp_c, "pH": ph, "units": "mmol/kgw", "Ocl": 0.001,
            "Na": salt_mmol, "Cl": salt_mmol,
        })  # fmt: skip
        held = made.species
        return held["HOcl"] / (held["HOcl"] + held["Ocl-"])

    return share


@pytest.mark.parametrize("temp_c", [5, 10, 20, 30])
@pytest.mark.parametrize("ph", [6.5, 7.0, 7.5, 8.0, 9.0])
def test_nearly_pure_water(phreeqc_share: Share, ph: float, temp_c: float):
    """Source: PHREEQC (phreeqpython), near-zero ionic strength."""
    assert hocl_share(ph, temp_c) == pytest.approx(
        phreeqc_share(ph, temp_c), abs=0.0005
    )


@pytest.mark.parametrize("ph", [7.0, 7.5, 8.0])
def test_salty_water(phreeqc_share: Share, ph: float):
    """Source: PHREEQC, 10 mmol/L of salt: lower by two to three points."""
    ours = hocl_share(ph, 20, ionic_mol_per_l=0.01)
    assert ours == pytest.approx(phreeqc_share(ph, 20, 10.0), abs=0.001)


def test_the_textbook_pka():
    """Source: Davis, Water and Wastewater Engineering, app. A: 7.54 at 25 C."""
    assert pka_hocl(25) == pytest.approx(7.54, abs=0.005)


def test_the_textbook_example():
    """Source: Davis, example 13-1: pH 7.0, 25 C, OCl- is 22.37 %."""
    assert 100 * (1 - hocl_share(7.0, 25)) == pytest.approx(22.37, abs=0.15)


@pytest.mark.parametrize(
    ("temp_c", "ph", "percent"),
    [(20, 7.0, 79.2), (20, 7.5, 54.7), (20, 8.0, 27.6),
     (10, 7.0, 83.1), (10, 7.5, 60.8), (10, 8.0, 32.9)],
)  # fmt: skip
def test_worked_values(temp_c: float, ph: float, percent: float):
    """Worked by hand from the formula of Morris 1966, to a tenth of a point."""
    assert 100 * hocl_share(ph, temp_c) == pytest.approx(percent, abs=0.06)
