"""``hygiene calc count``: a count from plates, with its exact interval."""

from __future__ import annotations

from typing import Annotated, Literal

import typer

from hygiene.cli.calc.lists import BadList, amounts, parts, whole_numbers
from hygiene.cli.calc.show import Json, show
from hygiene.cli.lazy import one_command
from hygiene.sanitising.cautions import cautions_for
from hygiene.water.counts import plate_count, plates

app = one_command()


@app.command()
def count(
    colonies: Annotated[
        str, typer.Option(metavar="LIST", help="On each plate: 42,38 (or tntc).")
    ],
    plated: Annotated[
        str,
        typer.Option(
            metavar="LIST", help="Undiluted sample on each: '1 ml, 0.1 ml' or '0.1 g'."
        ),
    ],
    mould: Annotated[
        bool, typer.Option("--mould", help="Moulds or yeasts: 150 at most, not 300.")
    ] = False,
    as_json: Json = False,
) -> None:
    """How many in 100 ml (or a gram) the colonies speak of.

    Example: hygiene calc count --colonies 42,38 --plated "1 ml, 1 ml"
    """
    seen = [_colonies(part) for part in parts(colonies)]
    given = amounts(plated, ("ml", "g"), "1 ml, 0.1 ml")
    if len(given) == 1:
        given *= len(seen)
    unit = _unit(plated, {name for _, name in given})
    made = plates(seen, [amount for amount, _ in given])
    answer = plate_count(made, unit=unit, mould=mould)
    task = "mould" if mould else "count"
    show(answer.with_cautions(*cautions_for("", task)), as_json)


def _colonies(text: str) -> int | None:
    if text.lower() in ("tntc", "many"):
        return None
    return whole_numbers(text, "42,38 (tntc for too many to count)")[0]


def _unit(plated: str, names: set[str]) -> Literal["ml", "g"]:
    if len(names) > 1:
        raise BadList(given=plated[:40], fault="mixes ml and g: count them apart")
    return "g" if names == {"g"} else "ml"
