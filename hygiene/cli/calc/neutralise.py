"""``hygiene calc neutralise``: chlorine out of waste water before it leaves."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.calc.register import gallon_of
from hygiene.cli.calc.show import GallonOf, Json, show
from hygiene.cli.lazy import one_command
from hygiene.quantities import level_mg_per_l, volume_l
from hygiene.sanitising.neutralise import neutralise as work_it_out
from hygiene.sanitising.neutralise import read_agent

app = one_command()


@app.command()
def neutralise(
    ctx: typer.Context,
    volume: Annotated[str, typer.Option(metavar="VOLUME", help="How much waste.")],
    free: Annotated[str, typer.Option(metavar="PPM", help="Free chlorine in it.")],
    agent: Annotated[
        str,
        typer.Option(
            "--with",
            metavar="AGENT",
            help="thiosulfate, ascorbic acid, bisulfite, metabisulfite, sulfite.",
        ),
    ],
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """How much agent: where to start, and the cap. Never into slurry.

    Example: hygiene calc neutralise --volume "250 L" --free 20
    --with thiosulfate
    """
    answer = work_it_out(
        volume_l(volume, gallon=gallon_of(ctx, gallon, volume)),
        level_mg_per_l(free),
        read_agent(agent),
    )
    show(answer, as_json)
