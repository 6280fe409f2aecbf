"""``hygiene calc reading``: a residual from a diluted sample, or from a strip."""

from __future__ import annotations

import re
from typing import Annotated, Final, Literal

import typer

from hygiene.cli.calc.lists import parts
from hygiene.cli.calc.show import Json, show
from hygiene.cli.lazy import one_command
from hygiene.errors import WronglyPut
from hygiene.quantities import level_mg_per_l, volume_l
from hygiene.sanitising.cautions import cautions_for
from hygiene.water.readings import Diluted
from hygiene.water.readings import reading as work_it_out
from hygiene.water.readings import strip as read_strip

app = one_command()


class BadShown(WronglyPut):
    """Options of ``calc reading`` that do not fit together."""

    sentence = "{what}"


@app.command()
def reading(
    shown: Annotated[
        str | None, typer.Option(metavar="PPM", help="What the meter shows.")
    ] = None,
    sample: Annotated[
        str | None, typer.Option(metavar="VOLUME", help="Sample taken: '10 ml'.")
    ] = None,
    diluted_to: Annotated[
        str | None, typer.Option(metavar="VOLUME", help="Made up to: '100 ml'.")
    ] = None,
    again: Annotated[
        str | None,
        typer.Option(metavar="READING", help="A second: '0.9 of 5 ml in 100 ml'."),
    ] = None,
    strip: Annotated[
        str | None, typer.Option(metavar="STEPS", help="A strip's: 0,10,25,50,100.")
    ] = None,
    matched: Annotated[
        str | None,
        typer.Option(metavar="STEP", help="The step it matches: 50, or 25,50."),
    ] = None,
    at_least: Annotated[
        str | None, typer.Option(metavar="PPM", help="Wanted at least (strip).")
    ] = None,
    at_most: Annotated[
        str | None, typer.Option(metavar="PPM", help="Wanted at most (strip).")
    ] = None,
    as_json: Json = False,
) -> None:
    """The residual of the water itself, from a thinned sample or a strip.

    Example: hygiene calc reading --shown 1.6 --sample 10ml --diluted-to 100ml
    """
    if (shown is None) == (strip is None):
        raise BadShown(what="give --shown, or --strip with --matched")
    if strip is not None:
        answer = read_strip(
            _levels(strip),
            _levels(_need(matched, "--matched")),
            at_least_mg_per_l=None if at_least is None else level_mg_per_l(at_least),
            at_most_mg_per_l=None if at_most is None else level_mg_per_l(at_most),
        )
    else:
        first = _diluted(_need(shown, "--shown"), sample, diluted_to)
        answer = work_it_out(first, None if again is None else _again(again))
    show(answer.with_cautions(*cautions_for("chlorine", "reading")), as_json)


_AGAIN: Final = re.compile(
    r"(?P<shown>.+?)\s+of\s+(?P<sample>.+?)\s+(?:in|to)\s+(?P<whole>.+)", re.IGNORECASE
)


def _again(text: str) -> Diluted:
    found = _AGAIN.fullmatch(text.strip())
    if found is None:
        raise BadShown(what="--again is written as '0.9 of 5 ml in 100 ml'")
    return _diluted(found["shown"], found["sample"], found["whole"])


def _diluted(shown: str, sample: str | None, whole: str | None) -> Diluted:
    sign, level = _signed(shown)
    if sample is None and whole is None:
        return Diluted(level, sign=sign)
    return Diluted(
        level,
        1000 * volume_l(_need(sample, "--sample")),
        1000 * volume_l(_need(whole, "--diluted-to")),
        sign,
    )


def _signed(shown: str) -> tuple[Literal["=", "<", ">"], float]:
    text = shown.strip()
    if text[:1] == "<":
        return "<", level_mg_per_l(text[1:])
    if text[:1] == ">":
        return ">", level_mg_per_l(text[1:])
    return "=", level_mg_per_l(text, zero=True)


def _levels(text: str) -> list[float]:
    return [level_mg_per_l(part, zero=True) for part in parts(text)]


def _need(given: str | None, option: str) -> str:
    if given is None:
        raise BadShown(what=f"{option} is needed")
    return given
