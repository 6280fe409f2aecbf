"""``hygiene calc contact``: how long a residual must stand, and whether it did."""

from __future__ import annotations

import re
from typing import Annotated, Final

import typer

from hygiene.answers import Answer
from hygiene.cli.calc.register import gallon_of
from hygiene.cli.calc.show import GallonOf, Json, show
from hygiene.cli.lazy import one_command
from hygiene.errors import WronglyPut
from hygiene.quantities import (
    Gallon,
    bounded,
    duration_min,
    flow_l_per_min,
    level_mg_per_l,
    temperature_c,
    volume_l,
)
from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.contact import (
    Agent,
    Organism,
    Water,
    falling_contact,
    label_time,
)
from hygiene.sanitising.contact import (
    contact as steady_contact,
)
from hygiene.sanitising.residual import BAFFLING, Reading, t10_minutes

app = one_command()


class BadContact(WronglyPut):
    """Options of ``calc contact`` that do not fit together."""

    sentence = "{what}"


Text = str | None
Against = Annotated[Text, typer.Option(metavar="WHAT", help="giardia or virus.")]
Log = Annotated[
    Text, typer.Option(metavar="N", help="Tenfolds to kill: 3 leaves 1 in 1000.")
]
Free = Annotated[
    Text, typer.Option(metavar="PPM", help="A residual that holds steady.")
]
Ph = Annotated[Text, typer.Option(metavar="PH", help="The water's pH.")]
Temp = Annotated[Text, typer.Option(metavar="TEMP", help="The water's: '10 C'.")]
With = Annotated[
    str, typer.Option("--with", metavar="AGENT", help="chlorine or chlorine-dioxide.")
]
Readings = Annotated[
    Text,
    typer.Option(metavar="LIST", help="One that falls: '2 at 0 min, 1.4 at 30 min'."),
]
Done = Annotated[Text, typer.Option(metavar="TIME", help="The time kept: '30 min'.")]
LabelTime = Annotated[
    Text, typer.Option(metavar="TIME", help="The label's time, to hold --done against.")
]
Tank = Annotated[
    Text, typer.Option(metavar="VOLUME", help="A tank that flows through.")
]
Runs = Annotated[
    list[str] | None,
    typer.Option(metavar="RUN", help="A run it flows through; counts whole."),
]
Flow = Annotated[Text, typer.Option(metavar="FLOW", help="Through tank or pipe.")]
Baffling = Annotated[
    str, typer.Option(metavar="HOW", help="unbaffled, poor, average, superior.")
]


@app.command()
def contact(
    ctx: typer.Context,
    against: Against = None,
    log: Log = None,
    free: Free = None,
    ph: Ph = None,
    temp: Temp = None,
    agent: With = "chlorine",
    readings: Readings = None,
    done: Done = None,
    label: LabelTime = None,
    tank: Tank = None,
    pipe: Runs = None,
    flow: Flow = None,
    baffling: Baffling = "unbaffled",
    gallon: GallonOf = None,
    as_json: Json = False,
) -> None:
    """How long a residual must stand in clear water, and whether it did.

    With --label and --done: whether the label's contact time was kept.

    Example: hygiene calc contact --against giardia --log 3 --free 1 --ph 7.5
    --temp "10 C"
    """
    if label is not None:
        answer = label_time(duration_min(label), duration_min(_need(done, "--done")))
        show(answer.with_cautions(*cautions_for("", "contact")), as_json)
        return
    organism, with_agent = _organism(against), _agent(agent)
    log_wanted = bounded(_need(log, "--log"), "a log", 0, 10)
    water = Water(
        bounded(_need(ph, "--ph"), "a pH", 0, 14), temperature_c(_need(temp, "--temp"))
    )
    if readings is not None:
        _alone(free, done, tank, pipe)
        answer = falling_contact(
            organism, with_agent, log_wanted, read_readings(readings), water
        )
    else:
        level = level_mg_per_l(_need(free, "--free"))
        whose = gallon_of(ctx, gallon, tank, flow)
        kept, steps = _kept(done, tank, pipe or [], flow, baffling, whose)
        answer = steady_contact(
            organism, with_agent, log_wanted, level, water, done_min=kept
        )
        answer = _first(answer, steps)
    show(answer.with_cautions(*cautions_for(with_agent, "contact")), as_json)


_READING: Final = re.compile(r"(?P<level>.+?)\s+at\s+(?P<time>.+)", re.IGNORECASE)


def read_readings(text: str) -> tuple[Reading, ...]:
    """Read ``2 at 0 min, 1.4 at 30 min``: a residual and when it was read."""
    made = []
    for part in re.split(r"[,;]", text):
        found = _READING.fullmatch(part.strip())
        if found is None:
            raise BadContact(
                what=f"{part.strip()[:40]!r} is no reading: write '2 at 0 min, 1.4 at"
                " 30 min'"
            )
        started = re.fullmatch(r"0+(\.0*)?\s*[a-z]*", found["time"], re.ASCII)
        minute = 0.0 if started else duration_min(found["time"])
        made.append(Reading(minute, level_mg_per_l(found["level"], zero=True)))
    return tuple(made)


def _kept(
    done: str | None,
    tank: str | None,
    pipes: list[str],
    flow: str | None,
    baffling: str,
    whose: Gallon | None,
) -> tuple[float | None, list[str]]:
    """Return the minutes of contact that were kept, and how they come about."""
    if done is not None:
        if tank or pipes:
            raise BadContact(what="give --done, or --tank and --pipe with --flow")
        return duration_min(done), []
    if not (tank or pipes):
        return None, []
    litres = flow_l_per_min(_need(flow, "--flow"), gallon=whose)
    factor = BAFFLING.get(baffling.strip().lower())
    if factor is None:
        raise BadContact(what=f"--baffling is one of {', '.join(BAFFLING)}")
    kept, steps = 0.0, []
    if tank:
        volume = volume_l(tank, gallon=whose)
        kept += t10_minutes(volume, litres, factor)
        steps.append(f"Tank: {volume:g} L / {litres:g} L/min x {factor:g} (T10)")
    for run in pipes:
        from hygiene.sanitising.lines import read_pipe

        held = read_pipe(run)
        kept += held.volume_l / litres
        steps += [held.step, f"Pipe, whole: {held.volume_l:.4g} L / {litres:g} L/min"]
    return kept, [*steps, f"Contact: {kept:.4g} min"]


def _first(answer: Answer, steps: list[str]) -> Answer:
    from dataclasses import replace

    return replace(answer, steps=(*steps, *answer.steps)) if steps else answer


def _need(given: str | None, option: str) -> str:
    if given is None:
        raise BadContact(what=f"{option} is needed", way_out=_EXAMPLE)
    return given


_EXAMPLE: Final = (
    "hygiene calc contact --against giardia --log 3 --free 1 --ph 7.5 --temp 10C"
)


def _alone(*others: object) -> None:
    if any(others):
        raise BadContact(what="--readings says both level and time: give it alone")


def _organism(given: str | None) -> Organism:
    name = _need(given, "--against").strip().lower()
    if name in ("giardia", "virus", "viruses"):
        return "giardia" if name == "giardia" else "virus"
    raise BadContact(what=f"no table against {name[:30]!r}: giardia or virus")


def _agent(given: str) -> Agent:
    name = re.sub(r"[\s_-]+", "-", given.strip().lower())
    if name in ("chlorine", "chlorine-dioxide"):
        return "chlorine" if name == "chlorine" else "chlorine-dioxide"
    raise BadContact(what=f"no table with {name[:30]!r}: chlorine or chlorine-dioxide")
