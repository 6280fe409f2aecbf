"""``hygiene calc dilute``: what to measure for a strength that is wanted."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.answers import Answer
from hygiene.cli.calc import options as opt
from hygiene.cli.calc.register import Product, gallon_of, strength_and_label
from hygiene.cli.calc.show import GallonOf, Json, show
from hygiene.cli.lazy import one_command
from hygiene.cli.world import World
from hygiene.quantities import level_mg_per_l, volume_l
from hygiene.sanitising import dilution
from hygiene.sanitising.measuring import CannotDilute, Label, Tool, read_tool
from hygiene.sanitising.strength import CHLORINE, Strength

app = one_command()

Make = Annotated[
    str | None, typer.Option(metavar="VOLUME", help="Made up TO this volume: '60 L'.")
]
Into = Annotated[
    str | None,
    typer.Option(metavar="VOLUME", help="Or: water that is in the tank already."),
]
TwoStep = Annotated[
    bool, typer.Option("--two-step", help="By way of a bottle in between.")
]


@app.command()
def dilute(
    ctx: typer.Context,
    to: opt.To,
    stock: opt.Stock = None,
    product: Product = None,
    make: Make = None,
    into: Into = None,
    density: opt.Density = None,
    solid: opt.Solid = False,
    active: opt.Active = CHLORINE,
    background: opt.Background = "0",
    measure: opt.Measure = None,
    two_step: TwoStep = False,
    product_min: opt.ProductMin = None,
    product_max: opt.ProductMax = None,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """What to measure, and the water, for a strength: made up TO the volume.

    Example: hygiene calc dilute --stock "125 g/L" --to 200 --make "60 L"
    """
    strength, label = strength_and_label(
        ctx, product, stock=stock, density=density, solid=solid, active=active,
        least=product_min, most=product_max,
    )  # fmt: skip
    target, level = level_mg_per_l(to), level_mg_per_l(background, zero=True)
    tool = None if measure is None else read_tool(measure)
    whose = gallon_of(ctx, gallon, make, into)
    made_l = None if make is None else volume_l(make, gallon=whose)
    into_l = None if into is None else volume_l(into, gallon=whose)
    if two_step:
        if made_l is None or into_l is not None:
            raise CannotDilute(why="--two-step needs --make, the volume in all")
        answer = _by_a_bottle(ctx.obj, strength, target, made_l, level, label, tool)
    else:
        answer = dilution.dilute(
            strength, target, made_l=made_l, into_l=into_l,
            background_mg_per_l=level, label=label, tool=tool,
        )  # fmt: skip
    show(answer, as_json)


def _by_a_bottle(
    world: World,
    strength: Strength,
    target: float,
    made_l: float,
    level: float,
    label: Label | None,
    tool: Tool | None,
) -> Answer:
    from hygiene.sanitising.bottle import two_step

    return two_step(
        strength, target, made_l, background_mg_per_l=level, label=label, tool=tool,
        mixed_at=world.now(),
    )  # fmt: skip
