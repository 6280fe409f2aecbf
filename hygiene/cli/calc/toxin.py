"""``hygiene calc toxin``: a mould toxin at 12 % moisture, against its limits."""

from __future__ import annotations

from typing import Annotated, Final, Literal

import typer

from hygiene.cli.calc.show import Json, show
from hygiene.cli.lazy import one_command
from hygiene.errors import WronglyPut
from hygiene.quantities import number
from hygiene.sanitising.cautions import cautions_for
from hygiene.water.toxins import toxin as work_it_out

app = one_command()

_UG_PER_KG: Final = {
    "ug/kg": 1.0, "ppb": 1.0, "ng/g": 1.0, "mg/kg": 1000.0, "ppm": 1000.0,
    "ug/g": 1000.0,
}  # fmt: skip


class BadShare(WronglyPut):
    """A result or share that cannot be read."""

    sentence = "{given!r} {fault}"


@app.command()
def toxin(
    measured: Annotated[
        str,
        typer.Option(metavar="RESULT", help="As the laboratory writes it: '1 ug/kg'."),
    ],
    dry_matter: Annotated[
        str | None, typer.Option(metavar="PERCENT", help="Of that sample: '15%'.")
    ] = None,
    moisture: Annotated[
        str | None, typer.Option(metavar="PERCENT", help="Or its moisture: '85%'.")
    ] = None,
    name: Annotated[
        str | None,
        typer.Option("--toxin", metavar="NAME", help="aflatoxin B1, DON or ZEA."),
    ] = None,
    as_json: Json = False,
) -> None:
    """A wet result as it would be at 12 % moisture, where the limits stand.

    Example: hygiene calc toxin --measured "1 ug/kg" --dry-matter 15%
    """
    sign, value = _result(measured)
    answer = work_it_out(value, _dry_matter(dry_matter, moisture), sign=sign, name=name)
    show(answer.with_cautions(*cautions_for("", "toxin")), as_json)


def _result(text: str) -> tuple[Literal["=", "<", ">"], float]:
    written = text.strip()
    sign: Literal["=", "<", ">"] = "="
    if written[:1] == "<":
        sign = "<"
    elif written[:1] == ">":
        sign = ">"
    value, unit = number(written.lstrip("<>"), "a result: write it as 1 ug/kg")
    factor = _UG_PER_KG.get(unit.lower().replace(" ", ""))
    if factor is None:
        raise BadShare(given=written[:40], fault="needs its unit: write it as 1 ug/kg")
    if value < 0:
        raise BadShare(given=written[:40], fault="cannot be below zero")
    return sign, value * factor


def _dry_matter(dry_matter: str | None, moisture: str | None) -> float:
    if (dry_matter is None) == (moisture is None):
        raise BadShare(
            given="calc toxin", fault="needs --dry-matter 15%, or --moisture 85%"
        )
    if dry_matter is not None:
        return _percent(dry_matter)
    return 100.0 - _percent(moisture or "")


def _percent(text: str) -> float:
    value, unit = number(text, "a share: write it as 15%")
    if unit != "%":
        raise BadShare(given=text.strip()[:40], fault="needs its %: write it as 15%")
    if not 0 < value < 100:
        raise BadShare(
            given=text.strip()[:40], fault="cannot be: it lies between 0 and 100 %"
        )
    return value
