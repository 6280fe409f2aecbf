"""``hygiene calc dilute``: what to measure for a strength that is wanted."""

from __future__ import annotations

from typing import Annotated

import typer

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
from hygiene.cli.world import World
from hygiene.quantities import level_mg_per_l, volume_l
from hygiene.sanitising.dilution import dilute as work_it_out
from hygiene.sanitising.measuring import CannotDilute, Label, read_tool
from hygiene.sanitising.strength import CHLORINE

app = calculation()


@app.command()
def dilute(
    ctx: typer.Context,
    stock: Stock,
    to: Annotated[str, typer.Option(metavar="PPM", help="The strength wanted.")],
    make: Annotated[
        str | None,
        typer.Option(metavar="VOLUME", help="Made up TO this volume: '60 L'."),
    ] = None,
    into: Annotated[
        str | None,
        typer.Option(metavar="VOLUME", help="Or: water that is in the tank already."),
    ] = None,
    density: Density = None,
    solid: Solid = False,
    active: Active = CHLORINE,
    background: Annotated[
        str, typer.Option(metavar="PPM", help="What the water already holds.")
    ] = "0",
    measure: Annotated[
        str | None,
        typer.Option(metavar="TOOL", help="Yours: '100 ml jug, 10 ml marks'."),
    ] = None,
    two_step: Annotated[
        bool, typer.Option("--two-step", help="By way of a bottle in between.")
    ] = False,
    product_min: Annotated[
        str | None, typer.Option(metavar="PPM", help="The label's minimum.")
    ] = None,
    product_max: Annotated[
        str | None, typer.Option(metavar="PPM", help="The label's maximum.")
    ] = None,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """What to measure, and the water, for a strength: made up TO the volume."""
    strength = read_stock(stock, density, solid, active)
    target = level_mg_per_l(to)
    level = level_mg_per_l(background, zero=True)
    label = read_label(product_min, product_max)
    tool = None if measure is None else read_tool(measure)
    whose = read_gallon(gallon)
    made_l = None if make is None else volume_l(make, gallon=whose)
    into_l = None if into is None else volume_l(into, gallon=whose)
    if not two_step:
        answer = work_it_out(
            strength, target, made_l=made_l, into_l=into_l,
            background_mg_per_l=level, label=label, tool=tool,
        )  # fmt: skip
        show(answer, as_json)
        return
    from hygiene.sanitising.bottle import two_step as by_a_bottle

    if made_l is None or into_l is not None:
        raise CannotDilute(why="--two-step needs --make, the volume in all")
    world: World = ctx.obj
    answer = by_a_bottle(
        strength, target, made_l, background_mg_per_l=level, label=label, tool=tool,
        mixed_at=world.now(),
    )  # fmt: skip
    show(answer, as_json)


def read_label(least: str | None, most: str | None) -> Label | None:
    """Read the two options that say what a product's label allows."""
    if least is None and most is None:
        return None
    return Label(
        None if least is None else level_mg_per_l(least),
        None if most is None else level_mg_per_l(most),
    )
