"""``hygiene calc strength``: one strength in every basis, and what age leaves of it."""

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
    read_date,
    read_gallon,
    read_stock,
    show,
)
from hygiene.cli.world import World
from hygiene.quantities import bounded, level_mg_per_l, volume_l
from hygiene.sanitising.strength import CHLORINE, strength_answer

app = calculation()


@app.command()
def strength(
    ctx: typer.Context,
    stock: Stock,
    made: Annotated[
        str | None, typer.Option(metavar="DATE", help="Made (or filled) on.")
    ] = None,
    used: Annotated[
        str | None, typer.Option(metavar="DATE", help="Used on; else today.")
    ] = None,
    kept_at: Annotated[
        str | None,
        typer.Option(metavar="TEMP", help="'21 C', or '10 d at 21 C, 30 d at 15 C'."),
    ] = None,
    measured: Annotated[
        str | None,
        typer.Option(metavar="STRENGTH", help="A strength measured since: it counts."),
    ] = None,
    measured_on: Annotated[
        str | None, typer.Option(metavar="DATE", help="The day it was measured.")
    ] = None,
    safety: Annotated[
        str, typer.Option(metavar="TIMES", help="Loses so many times as fast.")
    ] = "1.6",
    to: Annotated[
        str | None,
        typer.Option(metavar="PPM", help="A dose: its chlorate, and both ends."),
    ] = None,
    make: Annotated[
        str | None, typer.Option(metavar="VOLUME", help="The dose's volume.")
    ] = None,
    product_min: Annotated[
        str | None, typer.Option(metavar="PPM", help="The label's minimum.")
    ] = None,
    product_max: Annotated[
        str | None, typer.Option(metavar="PPM", help="The label's maximum.")
    ] = None,
    density: Density = None,
    solid: Solid = False,
    active: Active = CHLORINE,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """A strength in every basis; with --made and --kept-at, what age leaves of it."""
    labelled = read_stock(stock, density, solid, active)
    if made is None and used is None and kept_at is None and measured is None:
        show(strength_answer(labelled), as_json)
        return
    from hygiene.sanitising import ageing

    if made is None or kept_at is None:
        raise ageing.CannotAge(why="ageing needs --made DATE and --kept-at TEMP")
    world: World = ctx.obj
    can = ageing.Can(
        labelled,
        read_date(made),
        None if measured is None else read_stock(measured, density, False, active),
        None if measured_on is None else read_date(measured_on),
    )
    used_on = world.now().date() if used is None else read_date(used)
    dose = None
    if to is not None:
        dose = ageing.Dose(
            level_mg_per_l(to),
            None if make is None else volume_l(make, gallon=read_gallon(gallon)),
            read_label(product_min, product_max),
        )
    answer = ageing.strength_on(
        can,
        used_on,
        ageing.read_history(kept_at, can.days_until(used_on)),
        factor=bounded(safety, "a safety factor", 1, 10),
        dose=dose,
    )
    show(answer, as_json)
