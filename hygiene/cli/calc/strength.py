"""``hygiene calc strength``: one strength in every basis, and what age leaves of it."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.calc import options as opt
from hygiene.cli.calc.register import gallon_of
from hygiene.cli.calc.show import GallonOf, Json, show
from hygiene.cli.lazy import one_command
from hygiene.cli.world import World
from hygiene.quantities import bounded, level_mg_per_l, volume_l
from hygiene.sanitising import ageing
from hygiene.sanitising.strength import CHLORINE, Strength, strength_answer

app = one_command()

Made = Annotated[str | None, typer.Option(metavar="DATE", help="Made (or filled) on.")]
Used = Annotated[str | None, typer.Option(metavar="DATE", help="Used on; else today.")]
KeptAt = Annotated[
    str | None,
    typer.Option(metavar="TEMP", help="'21 C', or '10 d at 21 C, 30 d at 15 C'."),
]
Measured = Annotated[
    str | None,
    typer.Option(metavar="STRENGTH", help="A strength measured since: it counts."),
]
MeasuredOn = Annotated[
    str | None, typer.Option(metavar="DATE", help="The day it was measured.")
]
Safety = Annotated[
    str, typer.Option(metavar="TIMES", help="Loses so many times as fast.")
]
DoseTo = Annotated[
    str | None,
    typer.Option(metavar="PPM", help="A dose: its chlorate, and both ends."),
]
DoseMake = Annotated[
    str | None, typer.Option(metavar="VOLUME", help="The dose's volume.")
]


@app.command()
def strength(
    ctx: typer.Context,
    stock: opt.NeededStock,
    made: Made = None,
    used: Used = None,
    kept_at: KeptAt = None,
    measured: Measured = None,
    measured_on: MeasuredOn = None,
    safety: Safety = str(ageing.SAFETY_FACTOR),
    to: DoseTo = None,
    make: DoseMake = None,
    product_min: opt.ProductMin = None,
    product_max: opt.ProductMax = None,
    density: opt.Density = None,
    solid: opt.Solid = False,
    active: opt.Active = CHLORINE,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """A strength in every basis; with --made and --kept-at, what age leaves of it.

    Example: hygiene calc strength --stock "125 g/L" --made 2026-03-01
    --used 2026-05-01 --kept-at "20 C"
    """
    labelled = opt.read_stock(stock, density, solid, active)
    if made is None and used is None and kept_at is None and measured is None:
        show(strength_answer(labelled), as_json)
        return
    if made is None or kept_at is None:
        raise ageing.CannotAge(why="ageing needs --made DATE and --kept-at TEMP")
    since = None if measured is None else opt.read_stock(measured, density, False)
    can = _can(labelled, made, since, measured_on)
    world: World = ctx.obj
    used_on = world.now().date() if used is None else opt.read_date(used)
    dose = None
    if to is not None:
        volume = (
            None
            if make is None
            else volume_l(make, gallon=gallon_of(ctx, gallon, make))
        )
        label = opt.read_label(product_min, product_max)
        dose = ageing.Dose(level_mg_per_l(to), volume, label)
    answer = ageing.strength_on(
        can,
        used_on,
        ageing.read_history(kept_at, can.days_until(used_on)),
        factor=bounded(safety, "a safety factor", 1, 10),
        dose=dose,
    )
    show(answer, as_json)


def _can(
    labelled: Strength, made: str, measured: Strength | None, measured_on: str | None
) -> ageing.Can:
    since = None if measured_on is None else opt.read_date(measured_on)
    return ageing.Can(labelled, opt.read_date(made), measured, since)
