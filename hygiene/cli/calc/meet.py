"""``hygiene calc meet``: what forms where two things meet that must not."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.answers import Answer
from hygiene.cli.calc.show import Json, json_text, plain_text
from hygiene.cli.lazy import one_command
from hygiene.errors import Refused, WronglyPut
from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.incompatible import Meeting, meetings_among

app = one_command()


class NeedsTwo(WronglyPut):
    """Fewer than two things were named."""

    sentence = "name two things or more: hygiene calc meet bleach descaler"


@app.command()
def meet(
    things: Annotated[
        list[str], typer.Argument(metavar="THING THING ...", help="Plain names.")
    ],
    as_json: Json = False,
) -> None:
    """Whether things may meet: actives, cleaners, neutralisers, metals, slurry.

    Ends with exit code 5 where they must not.

    Example: hygiene calc meet bleach vinegar
    """
    if len(things) < 2:
        raise NeedsTwo()
    found = meetings_among(*things)
    answer = _answer(found, things)
    print(json_text(answer) if as_json else plain_text(answer))
    if found:
        raise typer.Exit(Refused.exit_code)


def _answer(found: tuple[Meeting, ...], things: list[str]) -> Answer:
    said = tuple(one.sentence() for one in found) or (
        "No rule here speaks of these. That is no leave to mix them: the label and"
        " the data sheet decide; rinse between.",
    )
    steps = tuple(
        f"{one.first} + {one.second}: {one.forms}. Happens in: {', '.join(one.where)}."
        f" Instead: {one.instead}"
        for one in found
    )
    sources = tuple(dict.fromkeys(one.source for one in found))
    return Answer(
        values={
            "must_not_meet": bool(found),
            "dangerous": any(one.dangerous for one in found),
            "meetings": [_as_json(one) for one in found],
        },
        says=said,
        steps=steps,
        source="; ".join(sources) or "the table of what must not meet",
        valid="Names of the shed, not every chemical: the label and data sheet come"
        " first.",
        cautions=cautions_for(things[0], "meet") if found else (),
    )


def _as_json(one: Meeting) -> dict[str, str | bool | list[str]]:
    return {
        "first": one.first,
        "second": one.second,
        "forms": one.forms,
        "where": list(one.where),
        "instead": one.instead,
        "dangerous": one.dangerous,
        "source": one.source,
    }
