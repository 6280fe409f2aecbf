"""``hygiene calc active``: the share of free chlorine that works as HOCl."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.calc.show import Json, show
from hygiene.cli.lazy import one_command
from hygiene.quantities import bounded, level_mg_per_l, temperature_c
from hygiene.sanitising.active import active_chlorine

app = one_command()


@app.command()
def active(
    ph: Annotated[str, typer.Option(metavar="PH", help="The water's pH.")],
    temp: Annotated[str, typer.Option(metavar="TEMP", help="The water's: '15 C'.")],
    free: Annotated[
        str | None, typer.Option(metavar="PPM", help="Free chlorine measured.")
    ] = None,
    cyanurate: Annotated[
        bool,
        typer.Option("--cyanurate", help="It holds cyanuric acid (NaDCC, trichlor)."),
    ] = False,
    as_json: Json = False,
) -> None:
    """How much of the free chlorine is the strong form, and what pH costs.

    Example: hygiene calc active --ph 7.2 --temp "12 C" --free 1.5
    """
    answer = active_chlorine(
        bounded(ph, "a pH", 0, 14),
        temperature_c(temp),
        free_mg_per_l=None if free is None else level_mg_per_l(free, zero=True),
        cyanurate=cyanurate,
    )
    show(answer, as_json)
