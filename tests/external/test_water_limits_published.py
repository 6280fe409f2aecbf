"""The limits of water against the published figures, typed here once more by hand.

Each group names its text and how it was seen: SEEN, read in a stored copy of the text
or of its table; SEEN-2nd, in somebody else's account; MEMORY, not looked up (such a
row is only checked against a second memory of it, and the program says so).
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from hygiene.acts.limits import published
from hygiene.water.limits import WaterLimit
from hygiene.water.parameters import parameter_of, read_as

Row = tuple[str, str | None, str | None, str]
"""Parameter, at least, at most, status."""

# 98/83/EC Annex I Parts A and B: legislation.gov.uk/eudr/1998/83/annex/I (SEEN); C:
# two accounts of the Directive and of the regulations that carry it out (SEEN-2nd);
# pH and conductivity SEEN in a stored copy earlier. All kept by (EU) 2020/2184.
EU_98_83: tuple[Row, ...] = (
    ("ecoli", None, "0", "SEEN"),
    ("enterococci", None, "0", "SEEN"),
    ("nitrate", None, "50", "SEEN"),
    ("nitrite", None, "0.5", "SEEN"),
    ("bromate", None, "10", "SEEN"),
    ("thm", None, "100", "SEEN"),
    ("lead", None, "10", "SEEN"),
    ("arsenic", None, "10", "SEEN"),
    ("copper", None, "2.0", "SEEN"),
    ("fluoride", None, "1.5", "SEEN"),
    ("coliforms", None, "0", "SEEN-2nd"),
    ("ammonium", None, "0.50", "SEEN-2nd"),
    ("iron", None, "200", "SEEN-2nd"),
    ("manganese", None, "50", "SEEN-2nd"),
    ("chloride", None, "250", "SEEN-2nd"),
    ("sulfate", None, "250", "SEEN-2nd"),
    ("sodium", None, "200", "SEEN-2nd"),
    ("conductivity", None, "2500", "SEEN"),
    ("ph", "6.5", "9.5", "SEEN"),
)
# HSE, hse.gov.uk/legionnaires: incoming and stored water below 20 C (SEEN)
UK: tuple[Row, ...] = (*EU_98_83, ("temp", None, "20", "SEEN"))
# (EU) 2020/2184: chlorate from an account of it; the rest from memory
EU: tuple[Row, ...] = (*EU_98_83, ("legionella", None, "999", "MEMORY"))
EU_CHLORINATED: tuple[Row, ...] = (
    ("chlorate", None, "0.70", "SEEN-2nd"),
    ("chlorite", None, "0.70", "MEMORY"),
)
EU_PLAIN: tuple[Row, ...] = (
    ("chlorate", None, "0.25", "SEEN-2nd"),
    ("chlorite", None, "0.25", "MEMORY"),
)
# WHO: tables of the guidelines for E. coli, nitrate, nitrite (SEEN); chlorine and
# turbidity SEEN in a stored copy earlier
WHO: tuple[Row, ...] = (
    ("ecoli", None, "0", "SEEN"),
    ("nitrate", None, "50", "SEEN"),
    ("nitrite", None, "3", "SEEN"),
    ("chlorate", None, "0.7", "SEEN-2nd"),
    ("chlorite", None, "0.7", "MEMORY"),
    ("free", None, "5", "SEEN"),
)
WHO_CHLORINATED: tuple[Row, ...] = (
    ("free", "0.2", None, "SEEN"),
    ("turbidity", None, "1", "SEEN"),
)
# 40 CFR 143.3 (SEEN, law.cornell.edu); 141.62-141.65 from a published table of EPA's
# rules (SEEN-2nd); chlorine 4.0 SEEN earlier; 21 CFR 112.44 SEEN-2nd.
# Nitrate and nitrite as N: 10 x 4.4268 and 1 x 3.2845
US: tuple[Row, ...] = (
    ("ecoli", None, "0", "SEEN-2nd"),
    ("nitrate", None, "44.268", "SEEN-2nd"),
    ("nitrite", None, "3.2845", "SEEN-2nd"),
    ("free", None, "4.0", "SEEN"),
    ("chlorite", None, "1.0", "SEEN-2nd"),
    ("bromate", None, "10", "SEEN-2nd"),
    ("thm", None, "80", "SEEN-2nd"),
    ("arsenic", None, "10", "SEEN-2nd"),
    ("fluoride", None, "4.0", "SEEN-2nd"),
    ("iron", None, "300", "SEEN"),
    ("manganese", None, "50", "SEEN"),
    ("chloride", None, "250", "SEEN"),
    ("sulfate", None, "250", "SEEN"),
    ("ph", "6.5", "8.5", "SEEN"),
    ("tds", None, "500", "SEEN"),
)
# Beede's table "possible problems", as a feed laboratory prints it (SEEN)
LIVESTOCK: tuple[Row, ...] = (
    ("coliforms", None, "1", "SEEN"),
    ("bacteria", None, "1000000", "SEEN"),
    ("tds", None, "3000", "SEEN"),
    ("nitrate", None, "100", "SEEN"),
    ("sulfate", None, "2000", "SEEN"),
    ("copper", None, "0.6", "SEEN"),
    ("iron", None, "300", "SEEN"),
    ("manganese", None, "50", "SEEN"),
    ("ph", "5.1", "9.0", "SEEN"),
)
# FAO 29 (1985) and (EU) 2020/741 table 2, as two papers print them (SEEN-2nd); the
# nitrogen of FAO 29 is 30 mg/L as N: 30 x 4.4268
IRRIGATION: tuple[Row, ...] = (
    ("ph", "6.5", "8.4", "SEEN-2nd"),
    ("conductivity", None, "3000", "SEEN-2nd"),
    ("tds", None, "2000", "SEEN-2nd"),
    ("boron", None, "3.0", "SEEN-2nd"),
    ("nitrate", None, "132.804", "SEEN-2nd"),
    ("ecoli", None, "100", "SEEN-2nd"),
    ("legionella", None, "999", "SEEN-2nd"),
)
GROUPS: dict[tuple[str, str, bool | None], tuple[Row, ...]] = {
    ("drinking", "uk", None): UK,
    ("drinking", "eu", None): EU,
    ("drinking", "eu", True): EU_CHLORINATED,
    ("drinking", "eu", False): EU_PLAIN,
    ("drinking", "who", None): WHO,
    ("drinking", "who", True): WHO_CHLORINATED,
    ("drinking", "us", None): US,
    ("livestock", "", None): LIVESTOCK,
    ("irrigation", "", None): IRRIGATION,
}


def number(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def as_row(one: WaterLimit) -> tuple[str, Decimal | None, Decimal | None, str]:
    return one.parameter, one.limit.at_least, one.limit.at_most, one.status


@pytest.mark.parametrize("group", GROUPS, ids=lambda g: "-".join(map(str, g)))
def test_every_limit_is_the_published_figure(
    group: tuple[str, str, bool | None],
) -> None:
    """And no limit stands in the file that is not typed here."""
    use, region, chlorinated = group
    found = {
        as_row(one)
        for one in published()
        if one.use == use
        and (region in one.regions or (not region and not one.regions))
        and one.chlorinated is chlorinated
    }
    wanted = {(p, number(low), number(high), s) for p, low, high, s in GROUPS[group]}
    assert wanted == found


def test_every_group_of_the_file_is_typed_here() -> None:
    """A new region or use needs its own table above."""
    found = {
        (one.use, region, one.chlorinated)
        for one in published()
        for region in one.regions or ("",)
    }
    assert set(GROUPS) == found


def test_only_faecal_organisms_stop_sowing() -> None:
    """E. coli and enterococci; 21 CFR 112.44 asks for none of the first in sprouts."""
    assert {one.parameter for one in published() if one.holds_sowing} == {
        "ecoli",
        "enterococci",
    }


def test_nitrogen_is_counted_by_molar_masses() -> None:
    """NO3 62.005, NO2 46.006, NH4 18.039 over N 14.007 (IUPAC atomic weights)."""
    for name, mass in (("nitrate", 62.005), ("nitrite", 46.006), ("ammonium", 18.039)):
        made = read_as(parameter_of(name), "1 mg/L as N").result.value
        assert float(made or 0) == pytest.approx(mass / 14.007, rel=1e-4)
