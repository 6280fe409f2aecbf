"""Ask for what is missing, where a person can be asked; never in a pipe or a script."""

from __future__ import annotations

import shlex
import sys
from typing import Any

import typer

from hygiene.cli.complete import Offer, look_of, looked_up
from hygiene.cli.screen import folded, width_of

SHOWN = 8
"""So many of the codes that would do are listed before the question."""
MEANS = {"y": True, "yes": True, "n": False, "no": False}


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
        given = _put(f"{told or wanted} ({wanted})")
    if parameter.param_type_name == "option":
        return [parameter.opts[0], given]
    return words_of(given) if parameter.nargs == -1 else [given]


def words_of(given: str) -> list[str]:
    """What was typed as words; a quote that never ends is a letter like any other."""
    try:
        return shlex.split(given)
    except ValueError:
        return given.split()


def offered(question: str) -> str | None:
    """What a person says to a question that Enter leaves open."""
    return _put(question) or None


def yes_or_no(question: str) -> bool:
    """Yes or no: Enter alone answers neither, since what is written stands."""
    answer = None
    while answer is None:
        answer = MEANS.get(_put(f"{question} (y or n)").lower())
    return answer


def if_known(question: str) -> bool | None:
    """Yes, no, or nothing said: what is not written down is not known."""
    said = "?"
    while said and said not in MEANS:
        said = _put(f"{question} (y, n, or Enter if not known)").lower()
    return MEANS.get(said)


def _put(question: str) -> str:
    return input(f"{folded(question, width_of(sys.stdout) or 80)}: ").strip()


def show(offers: list[Offer]) -> None:
    """The first of the codes that would do, each with what it is."""
    for offer in offers[:SHOWN]:
        print(f"  {offer.value}  {offer.help}".rstrip())
    if len(offers) > SHOWN:
        print(f"  and {len(offers) - SHOWN} more")
