"""``hygiene calc line``: what a water line holds, and its shock dose."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.calc import options as opt
from hygiene.cli.calc.register import Product, gallon_of, strength_and_label
from hygiene.cli.calc.show import GallonOf, Json, show
from hygiene.cli.lazy import one_command
from hygiene.quantities import flow_l_per_min, level_mg_per_l, volume_l
from hygiene.sanitising.lines import read_pipe, shock
from hygiene.sanitising.strength import CHLORINE

app = one_command()

Runs = Annotated[
    list[str] | None,
    typer.Option(
        metavar="RUN",
        help="A run or header: '25mm x 40m' (inside), '25mm SDR11 x 40m', "
        "'25x2.3mm x 40m'; give each.",
    ),
]
Tanks = Annotated[
    list[str] | None, typer.Option(metavar="VOLUME", help="A tank; give each.")
]
Flow = Annotated[
    str | None, typer.Option(metavar="FLOW", help="At the end: '8 L/min'.")
]


@app.command()
def line(
    ctx: typer.Context,
    to: opt.To,
    stock: opt.Stock = None,
    product: Product = None,
    pipe: Runs = None,
    tank: Tanks = None,
    flow: Flow = None,
    background: opt.Background = "0",
    density: opt.Density = None,
    solid: opt.Solid = False,
    active: opt.Active = CHLORINE,
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """What a line holds, its shock dose, the wait to the last nozzle, the flush.

    Example: hygiene calc line --pipe "25mm x 40m" --tank "200 L" --to 50
    --stock "125 g/L"
    """
    whose = gallon_of(ctx, gallon, flow, *(tank or ()))
    strength, label = strength_and_label(
        ctx, product, stock=stock, density=density, solid=solid, active=active
    )
    if label is not None:
        label.check(level_mg_per_l(to))
    answer = shock(
        [read_pipe(run) for run in pipe or ()],
        [volume_l(volume, gallon=whose) for volume in tank or ()],
        level_mg_per_l(to),
        strength,
        flow_l_per_min=None if flow is None else flow_l_per_min(flow, gallon=whose),
        background_mg_per_l=level_mg_per_l(background, zero=True),
    )
    show(answer, as_json)
