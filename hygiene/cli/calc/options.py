"""The options that several calculations share, and how they are read."""

from __future__ import annotations

from datetime import date
from typing import Annotated

import typer

from hygiene.errors import WronglyPut
from hygiene.quantities import density_kg_per_l, level_mg_per_l
from hygiene.sanitising.measuring import Label
from hygiene.sanitising.strength import CHLORINE, Strength, read_active, read_strength

_STOCK = typer.Option(
    "--stock",
    metavar="STRENGTH",
    help="The product's strength and basis: '125 g/L', '12.5 % w/v', "
    "'10.8 % w/w', '11.3 % w/w NaOCl', '65 % w/w' with --solid.",
)
Stock = Annotated[str | None, _STOCK]
NeededStock = Annotated[str, _STOCK]
Density = Annotated[
    str | None,
    typer.Option(metavar="KG_PER_L", help="A liquid's density, for a % w/w."),
]
Solid = Annotated[
    bool, typer.Option("--solid", help="It is a powder, granules or tablets.")
]
Active = Annotated[
    str,
    typer.Option(
        metavar="NAME",
        help="The active: chlorine, peracetic acid, hydrogen peroxide, quat, iodine.",
    ),
]
To = Annotated[str, typer.Option(metavar="PPM", help="The strength wanted.")]
Background = Annotated[
    str, typer.Option(metavar="PPM", help="What the water already holds.")
]
Measure = Annotated[
    str | None,
    typer.Option(metavar="TOOL", help="Yours: '100 ml jug, 10 ml marks'."),
]
ProductMin = Annotated[
    str | None, typer.Option(metavar="PPM", help="The label's minimum.")
]
ProductMax = Annotated[
    str | None, typer.Option(metavar="PPM", help="The label's maximum.")
]


class WrongDate(WronglyPut):
    """A text that is not a day of the calendar."""

    sentence = "{given!r} is not a date: write it as 2026-03-01"


def read_stock(
    stock: str, density: str | None = None, solid: bool = False, active: str = CHLORINE
) -> Strength:
    """Read the four options that say how strong a product is."""
    return read_strength(
        stock,
        active=read_active(active),
        density_kg_per_l=None if density is None else density_kg_per_l(density),
        solid=solid,
    )


def read_label(least: str | None, most: str | None) -> Label | None:
    """Read the two options that say what a product's label allows."""
    if least is None and most is None:
        return None
    return Label(
        None if least is None else level_mg_per_l(least),
        None if most is None else level_mg_per_l(most),
    )


def read_date(text: str) -> date:
    """Read a day, written as 2026-03-01."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError as odd:
        raise WrongDate(given=text[:20]) from odd
