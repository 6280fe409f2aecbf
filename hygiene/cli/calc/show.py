"""Shows a worked answer, for a person or as JSON, and holds the shared options."""

from __future__ import annotations

import json
import textwrap
from datetime import date
from typing import Annotated

import typer

from hygiene.answers import Answer
from hygiene.errors import FOUND_SOMETHING, WronglyPut
from hygiene.quantities import Gallon, density_kg_per_l
from hygiene.sanitising.strength import CHLORINE, Strength, read_active, read_strength

__all__ = [
    "Active", "Density", "GallonOf", "Json", "Solid", "Stock", "WrongDate",
    "calculation", "read_date", "read_gallon", "read_stock", "show",
]  # fmt: skip

Json = Annotated[
    bool, typer.Option("--json", help="Print the answer as JSON, for a machine.")
]
Stock = Annotated[
    str,
    typer.Option(
        metavar="STRENGTH",
        help="The product's strength and basis: '125 g/L', '12.5 % w/v', "
        "'10.8 % w/w', '11.3 % w/w NaOCl', '65 % w/w' with --solid.",
    ),
]
Density = Annotated[
    str | None,
    typer.Option(metavar="KG_PER_L", help="A liquid's density, for a % w/w."),
]
Solid = Annotated[
    bool, typer.Option("--solid", help="It is a powder, granules or tablets.")
]
Active = Annotated[
    str,
    typer.Option(
        metavar="NAME",
        help="The active: chlorine, peracetic acid, hydrogen peroxide, quat, iodine.",
    ),
]
GallonOf = Annotated[
    str | None,
    typer.Option("--gallon", metavar="WHOSE", help="What a bare gal is: us or imp."),
]

WIDTH = 78


class WrongDate(WronglyPut):
    """A text that is not a day of the calendar."""

    sentence = "{given!r} is not a date: write it as 2026-03-01"


class WrongGallon(WronglyPut):
    """A gallon that is neither of the two."""

    sentence = "{given!r} is not a gallon: say us or imp"


def calculation() -> typer.Typer:
    """Make the Typer app that holds the one command of a calculation."""
    return typer.Typer(
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )


def read_stock(
    stock: str, density: str | None = None, solid: bool = False, active: str = CHLORINE
) -> Strength:
    """Read the four options that say how strong a product is."""
    return read_strength(
        stock,
        active=read_active(active),
        density_kg_per_l=None if density is None else density_kg_per_l(density),
        solid=solid,
    )


def read_gallon(text: str | None) -> Gallon | None:
    """Read whose gallon a bare ``gal`` is."""
    if text is None:
        return None
    for gallon in ("us", "imp"):
        if text.strip().lower() == gallon:
            return "us" if gallon == "us" else "imp"
    raise WrongGallon(given=text[:20])


def read_date(text: str) -> date:
    """Read a day, written as 2026-03-01."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError as odd:
        raise WrongDate(given=text[:20]) from odd


def show(answer: Answer, as_json: bool) -> None:
    """Print ``answer``; ends with exit code 3 where it has findings."""
    print(json_text(answer) if as_json else plain_text(answer))
    if answer.findings:
        raise typer.Exit(FOUND_SOMETHING)


def json_text(answer: Answer) -> str:
    """Write the answer as one JSON object; a number that is no number is an error."""
    return json.dumps(
        answer.as_json(), ensure_ascii=False, indent=1, allow_nan=False, default=list
    )


def plain_text(answer: Answer) -> str:
    """Write the answer for a person: what to do, the working, then the rest."""
    blocks = [[_item(line, "") for line in answer.says]]
    for title, lines in (
        ("Out of limit", answer.findings),
        ("Working", answer.steps),
        ("Note", answer.warnings),
        ("Take care", answer.cautions),
        ("Rule", tuple(filter(None, (answer.source, answer.valid)))),
    ):
        if lines:
            blocks.append([f"{title}:", *(_item(line) for line in lines)])
    return "\n\n".join("\n".join(block) for block in blocks)


def _item(line: str, margin: str = "  ") -> str:
    # a line with columns of its own (a table's row) is left as it stands
    if "  " in line or len(line) <= WIDTH - len(margin):
        return margin + line
    return textwrap.fill(
        line, WIDTH, initial_indent=margin, subsequent_indent=margin + "  ",
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip
