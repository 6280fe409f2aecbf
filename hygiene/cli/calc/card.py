"""``hygiene calc card``: a mixing card of one product for the wall."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.calc.dilute import read_label
from hygiene.cli.calc.show import (
    Active,
    Density,
    GallonOf,
    Json,
    Solid,
    Stock,
    calculation,
    read_gallon,
    read_stock,
    show,
)
from hygiene.quantities import level_mg_per_l, volume_l
from hygiene.sanitising.dilution import mixing_card
from hygiene.sanitising.measuring import read_tool
from hygiene.sanitising.strength import CHLORINE

app = calculation()


@app.command()
def card(
    stock: Stock,
    to: Annotated[
        list[str], typer.Option(metavar="PPM", help="A strength; give several.")
    ],
    make: Annotated[
        list[str], typer.Option(metavar="VOLUME", help="A volume; give several.")
    ],
    density: Density = None,
    solid: Solid = False,
    active: Active = CHLORINE,
    measure: Annotated[
        str | None,
        typer.Option(metavar="TOOL", help="Round up to its marks."),
    ] = None,
    product_min: Annotated[
        str | None, typer.Option(metavar="PPM", help="The label's minimum.")
    ] = None,
    product_max: Annotated[
        str | None, typer.Option(metavar="PPM", help="The label's maximum.")
    ] = None,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """A mixing card for the wall: several strengths in several volumes."""
    whose = read_gallon(gallon)
    answer = mixing_card(
        read_stock(stock, density, solid, active),
        [level_mg_per_l(level) for level in to],
        [volume_l(volume, gallon=whose) for volume in make],
        label=read_label(product_min, product_max),
        tool=None if measure is None else read_tool(measure),
    )
    show(answer, as_json)
