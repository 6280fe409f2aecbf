"""Ask for what is missing, where a person can be asked; never in a pipe or a script."""

from __future__ import annotations

import shlex
from typing import Any

import typer

from hygiene.cli.complete import Offer, look_of, looked_up

SHOWN = 8
"""So many of the codes that would do are listed before the question."""
MEANS = {"y": True, "yes": True, "n": False, "no": False, "": None}


def ask(missing: typer.BadParameter, name: str) -> list[str]:
    """The words that answer for one missing parameter."""
    parameter: Any = missing.param
    look = look_of(name, str(parameter.name))
    offers = looked_up(missing.ctx, look) if look and missing.ctx else []
    show(offers)
    told = str(getattr(parameter, "help", "") or "")
    told = told if told.endswith("...") else told.removesuffix(".")
    wanted = parameter.metavar or str(parameter.name).replace("_", " ")
    given = ""
    while not given:
        given = input(f"{told or wanted} ({wanted}): ").strip()
    if parameter.param_type_name == "option":
        return [parameter.opts[0], given]
    return shlex.split(given) if parameter.nargs == -1 else [given]


def offered(question: str) -> str | None:
    """What a person says to a question that Enter leaves open."""
    return input(f"{question}: ").strip() or None


def yes_or_no(question: str) -> bool | None:
    """Yes, no, or nothing said: what is not written down is not known."""
    said = "?"
    while said not in MEANS:
        said = input(f"{question} (y, n, or Enter if not known): ").strip().lower()
    return MEANS[said]


def show(offers: list[Offer]) -> None:
    """The first of the codes that would do, each with what it is."""
    for offer in offers[:SHOWN]:
        print(f"  {offer.value}  {offer.help}".rstrip())
    if len(offers) > SHOWN:
        print(f"  and {len(offers) - SHOWN} more")
