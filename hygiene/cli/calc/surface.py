"""``hygiene calc surface``: a solution against the Food Code and no-rinse ceilings."""

from __future__ import annotations

from typing import Annotated, Final

import typer

from hygiene.cli.calc.show import Json, show
from hygiene.cli.lazy import one_command
from hygiene.errors import WronglyPut
from hygiene.quantities import bounded, duration_min, level_mg_per_l, temperature_c
from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.food_code import Region, Solution, sanitiser_of
from hygiene.sanitising.food_code import surface as work_it_out

app = one_command()


class BadRegion(WronglyPut):
    """A region of which nothing is known here."""

    sentence = "{given!r} is not a region: us, uk or eu"


@app.command()
def surface(
    at: Annotated[str, typer.Option(metavar="PPM", help="The solution's strength.")],
    temp: Annotated[
        str, typer.Option(metavar="TEMP", help="The SOLUTION's, not the room's.")
    ],
    active: Annotated[
        str, typer.Option(metavar="NAME", help="chlorine, iodine, quat, peracetic.")
    ] = "chlorine",
    ph: Annotated[
        str | None, typer.Option(metavar="PH", help="The solution's pH.")
    ] = None,
    hardness: Annotated[
        str | None, typer.Option(metavar="PPM", help="The water's, for quats.")
    ] = None,
    done: Annotated[
        str | None, typer.Option(metavar="TIME", help="The contact kept: '30 s'.")
    ] = None,
    region: Annotated[
        str | None, typer.Option(metavar="WHERE", help="us, uk or eu, for rinsing.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Whether a solution meets the Food Code's row, and whether to rinse.

    Example: hygiene calc surface --at 100 --temp "24 C" --ph 7.4 --done "30 s"
    """
    solution = Solution(
        sanitiser_of(active),
        level_mg_per_l(at),
        temperature_c(temp),
        None if ph is None else bounded(ph, "a pH", 0, 14),
        None if hardness is None else level_mg_per_l(hardness, zero=True),
    )
    answer = work_it_out(
        solution,
        done_seconds=None if done is None else 60 * duration_min(done),
        region=None if region is None else _region(region),
    )
    show(answer.with_cautions(*cautions_for(active, "surface")), as_json)


_REGIONS: Final[dict[str, Region]] = {"us": "us", "uk": "uk", "eu": "eu"}


def _region(given: str) -> Region:
    found = _REGIONS.get(given.strip().lower())
    if found is None:
        raise BadRegion(given=given[:20])
    return found
