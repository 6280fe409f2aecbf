"""Shows a worked answer, for a person or as JSON."""

from __future__ import annotations

import json
import textwrap
from typing import Annotated

import typer

from hygiene.answers import Answer
from hygiene.errors import FOUND_SOMETHING, WronglyPut
from hygiene.quantities import Gallon

Json = Annotated[
    bool, typer.Option("--json", help="Print the answer as JSON, for a machine.")
]
GallonOf = Annotated[
    str | None,
    typer.Option("--gallon", metavar="WHOSE", help="What a bare gal is: us or imp."),
]

WIDTH = 78


class WrongGallon(WronglyPut):
    """A gallon that is neither of the two."""

    sentence = "{given!r} is not a gallon: say us or imp"


def read_gallon(text: str | None) -> Gallon | None:
    """Read whose gallon a bare ``gal`` is."""
    if text is None:
        return None
    for gallon in ("us", "imp"):
        if text.strip().lower() == gallon:
            return "us" if gallon == "us" else "imp"
    raise WrongGallon(given=text[:20])


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
