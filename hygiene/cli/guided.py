"""Ask for what is missing, where a person can be asked; never in a pipe or a script."""

from __future__ import annotations

import shlex
from typing import Any

import typer

from hygiene.cli.complete import Offer, look_of, looked_up

SHOWN = 8
"""So many of the codes that would do are listed before the question."""


def ask(missing: typer.BadParameter, name: str) -> list[str]:
    """The words that answer for one missing parameter."""
    parameter: Any = missing.param
    look = look_of(name, str(parameter.name))
    offers = looked_up(missing.ctx, look) if look and missing.ctx else []
    _show(offers)
    told = str(getattr(parameter, "help", "") or "")
    told = told if told.endswith("...") else told.removesuffix(".")
    wanted = parameter.metavar or str(parameter.name).replace("_", " ")
    given = ""
    while not given:
        given = input(f"{told or wanted} ({wanted}): ").strip()
    if parameter.param_type_name == "option":
        return [parameter.opts[0], given]
    return shlex.split(given) if parameter.nargs == -1 else [given]


def _show(offers: list[Offer]) -> None:
    for offer in offers[:SHOWN]:
        print(f"  {offer.value}  {offer.help}".rstrip())
    if len(offers) > SHOWN:
        print(f"  and {len(offers) - SHOWN} more")
