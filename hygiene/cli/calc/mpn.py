"""``hygiene calc mpn``: most probable number from rows of tubes."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.calc.lists import amounts, whole_numbers
from hygiene.cli.calc.show import Json, show
from hygiene.cli.lazy import one_command
from hygiene.sanitising.cautions import cautions_for
from hygiene.water.mpn import dilutions, most_probable_number

app = one_command()


@app.command()
def mpn(
    tubes: Annotated[str, typer.Option(metavar="LIST", help="Tubes in each: 5,5,5.")],
    volumes: Annotated[
        str, typer.Option(metavar="LIST", help="Sample in each tube, ml: 10,1,0.1.")
    ],
    positive: Annotated[
        str, typer.Option(metavar="LIST", help="Tubes that grew: 5,2,0.")
    ],
    as_json: Json = False,
) -> None:
    """How many organisms in 100 ml the positive tubes speak of.

    Example: hygiene calc mpn --tubes 5,5,5 --volumes 10,1,0.1 --positive 5,2,0
    """
    rows = dilutions(
        whole_numbers(tubes),
        [volume for volume, _ in amounts(volumes, ("ml",), "10,1,0.1")],
        whole_numbers(positive, "5,2,0"),
    )
    answer = most_probable_number(rows)
    show(answer.with_cautions(*cautions_for("", "mpn")), as_json)
