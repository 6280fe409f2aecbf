"""``hygiene calc card``: a mixing card of one product for the wall."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.calc import options as opt
from hygiene.cli.calc.register import Product, gallon_of, strength_and_label
from hygiene.cli.calc.show import GallonOf, Json, show
from hygiene.cli.lazy import one_command
from hygiene.quantities import level_mg_per_l, volume_l
from hygiene.sanitising.dilution import mixing_card
from hygiene.sanitising.measuring import read_tool
from hygiene.sanitising.strength import CHLORINE

app = one_command()

Levels = Annotated[
    list[str], typer.Option(metavar="PPM", help="A strength; give several.")
]
Volumes = Annotated[
    list[str], typer.Option(metavar="VOLUME", help="A volume; give several.")
]


@app.command()
def card(
    ctx: typer.Context,
    to: Levels,
    make: Volumes,
    stock: opt.Stock = None,
    product: Product = None,
    density: opt.Density = None,
    solid: opt.Solid = False,
    active: opt.Active = CHLORINE,
    measure: opt.Measure = None,
    product_min: opt.ProductMin = None,
    product_max: opt.ProductMax = None,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """A mixing card for the wall: several strengths in several volumes.

    Example: hygiene calc card --stock "125 g/L" --to 200 --to 500 --make "10 L"
    """
    whose = gallon_of(ctx, gallon, *make)
    strength, label = strength_and_label(
        ctx, product, stock=stock, density=density, solid=solid, active=active,
        least=product_min, most=product_max,
    )  # fmt: skip
    answer = mixing_card(
        strength,
        [level_mg_per_l(level) for level in to],
        [volume_l(volume, gallon=whose) for volume in make],
        label=label,
        tool=None if measure is None else read_tool(measure),
    )
    show(answer, as_json)
