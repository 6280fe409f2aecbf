"""``hygiene water``: readings at the tap, a laboratory's results, and what follows."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from typing import Annotated

import typer

from hygiene.acts import water as acts
from hygiene.acts.codes import known
from hygiene.acts.how import How
from hygiene.acts.limits import limits_of
from hygiene.acts.papers import upset
from hygiene.cli.attach import Attach, Paper, attached
from hygiene.cli.desk import (
    At,
    By,
    Desk,
    RecordPath,
    WrittenBy,
    at_work,
    note,
    reading,
    written,
)
from hygiene.cli.fields import NoSuchKey, pairs
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import InForce
from hygiene.kinds.moments import stamp
from hygiene.kinds.water import UPSETS, Disturbance
from hygiene.kinds.words import gist
from hygiene.water.limits import WaterLimit, bounds
from hygiene.water.parameters import PARAMETERS, parameter_of
from hygiene.water.sense import oddities
from hygiene.water.trend import RULE, Drift

app = one_command()

SAID_OF_ONE = ("method", "kit")
"""What may be said of one result alone: ``ecoli.method="ISO 9308-2"``."""
ALL = "all"
STATUSES = {"SEEN": "", "SEEN-2nd": " (second hand)", "MEMORY": " (from memory)"}
"""How a published limit was checked; nothing: read in the text itself."""
VERDICTS = {
    None: "no limit here",
    "within": "within ",
    "over": "OUT OF LIMIT: ",
    "under": "OUT OF LIMIT: ",
    "cannot tell": "CANNOT TELL: ",
}


class NoPoint(WronglyPut):
    """No sample point was named."""

    sentence = "at which point? name one of: {points}"


class NothingRead(WronglyPut):
    """A water test without a result."""

    sentence = "nothing was read at {point}"


class EitherOr(WronglyPut):
    """Readings and an upset are two entries."""

    sentence = (
        "write what upset the water first, and the readings in a command of its own"
    )


PointName = Annotated[
    str | None,
    typer.Argument(help="The sample point; with --after also P1,P2 or all."),
]
Results = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[NAME=RESULT]...",
        help="free=0.6 ph=7.4 ecoli='<1'; NAME.method=TEXT, NAME.kit=CODE.",
    ),
]
Kits = Annotated[
    list[str] | None,
    typer.Option("--kit", metavar="CODE", help="Read with; may be repeated."),
]
Lab = Annotated[str | None, typer.Option(help="The laboratory, by name.")]
Certificate = Annotated[
    str | None, typer.Option(metavar="NUMBER", help="Of the laboratory's paper.")
]
Received = Annotated[
    str | None, typer.Option(metavar="TIME", help="When the laboratory had it.")
]
Sampler = Annotated[
    str | None, typer.Option(help="Who took it, if nobody of the farm did.")
]
After = Annotated[
    str | None,
    typer.Option(metavar="SORT", help=f"The water was upset: {', '.join(UPSETS)}."),
]
What = Annotated[str | None, typer.Option(help="What happened to it.")]
Remark = Annotated[str | None, typer.Option("--note", help="A remark.")]
Listed = Annotated[
    bool, typer.Option("--list", help="List the names, units and limits.")
]


@app.command()
def water(
    ctx: typer.Context,
    point: PointName = None,
    results: Results = None,
    kits: Kits = None,
    lab: Lab = None,
    certificate: Certificate = None,
    received: Received = None,
    sampler: Sampler = None,
    after: After = None,
    what: What = None,
    remark: Remark = None,
    listed: Listed = False,
    attach: Attach = None,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Write a water test. --at is when the sample was taken.

    What is out of limit is written as it is and opens a corrective action (exit code
    3); E. coli or enterococci stop sowing from the line. A later sample that passes
    is the recheck. After a flood or a repair: --after flood --what TEXT.

    Example: hygiene water P1 free=0.6 ph=7.4 --kit DPD --kit PH --by AB

    Example: hygiene water P1 ecoli='<1' --lab NAME --certificate 7731 --by AB
    """
    if listed:
        with reading(ctx, record) as desk:
            _list(desk.farm, known(desk.farm, "point", point) if point else None)
        return
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        if desk.world.asks and after is None:
            point, results, kits = _asked(desk.farm, point, results, kits, lab)
        if point is None:
            raise NoPoint(points=", ".join(desk.farm.things("point")))
        if after is not None:
            _write_upset(desk, act, point, results, after, what, attach)
            return
        farm = _farm_then(desk, act, point)
        described = {
            "laboratory": lab,
            "certificate": certificate,
            "received_at": stamp(desk.moment(received)) if received else None,
            "sampler": sampler,
            "note": remark,
        }
        given = _given(point, results)
        with desk.writing() as writing:
            files = attached(writing, attach)
            done = acts.write_test(
                writing, farm, act, point=point, given=given, kits=tuple(kits or ()),
                attached=files, **described,
            )  # fmt: skip
    _tell(farm, done)
    if done.findings and not done.already:
        raise typer.Exit(3)


def _asked(
    farm: InForce,
    point: str | None,
    results: list[str] | None,
    kits: list[str] | None,
    lab: str | None,
) -> tuple[str | None, list[str] | None, list[str] | None]:
    """What a test still lacks, asked for; Enter leaves a question open."""
    from hygiene.cli.guided import offered, words_of

    if point is None:
        point = offered(f"At which point ({', '.join(farm.things('point'))})")
    if not results:
        results = words_of(offered("What was read, such as free=0.6 ph=7.4") or "")
        if not (kits or lab):
            listed = ", ".join(farm.things("kit"))
            kits = words_of(offered(f"Read with which kits ({listed})") or "")
    return point, results, kits


def _farm_then(desk: Desk, act: How, point: str) -> InForce:
    """The farm as it stood when the sample was taken, if it had the point then.

    A certificate that is older than the record is judged by what counts now.
    """
    if act.happened_at is None:
        return desk.farm
    then = desk.farm_at(act.happened_at)
    return (
        then if known(desk.farm, "point", point) in then.things("point") else desk.farm
    )


def _given(point: str, words: Iterable[str] | None) -> list[acts.Given]:
    """The results of one line, each with its own method and kit."""
    found: dict[str, acts.Given] = {}
    of_one: list[tuple[str, str, str]] = []
    for key, value in pairs(words or ()):
        name, dot, said = key.rpartition(".")
        if dot and said in SAID_OF_ONE:
            of_one.append((parameter_of(name).code, said, value))
        else:
            found[parameter_of(key).code] = acts.Given(key, value)
    for code, said, value in of_one:
        if code not in found:
            raise NoSuchKey(
                kind="this test", given=code, near="", known=", ".join(found)
            )
        found[code] = found[code]._replace(**{said: value})
    if not found:
        raise NothingRead(
            point=point,
            way_out="write NAME=RESULT, such as free=0.6; the names: "
            "hygiene water --list",
        )
    return list(found.values())


# ---- what upset the water --------------------------------------------------------


def _points(farm: InForce, given: str) -> tuple[str, ...]:
    if given.strip().lower() == ALL:
        return tuple(farm.things("point"))
    return tuple(known(farm, "point", code.strip()) for code in given.split(","))


def _write_upset(
    desk: Desk,
    act: How,
    point: str,
    results: Iterable[str] | None,
    sort: str,
    what: str | None,
    attach: Iterable[Paper] | None,
) -> None:
    if results:
        raise EitherOr()
    with desk.writing() as writing:
        thing = Disturbance(
            points=_points(desk.farm, point),
            sort=sort,
            what=what or sort,
            attached=attached(writing, attach),
        )
        done = upset(writing, desk.farm, act, thing)
    written(done.entry, gist(done.entry))
    print("A sample is due there now: ask the laboratory for bottles, then")
    print("  hygiene water POINT ecoli=RESULT ... --lab NAME --certificate NUMBER")


# ---- what is said ----------------------------------------------------------------


def _tell(farm: InForce, done: acts.WaterTest) -> None:
    if done.already:
        print(f"Already recorded as {done.water.name}: {gist(done.water)}")
        return
    written(done.water, gist(done.water))
    for line in _judgements(done):
        print(line)
    for entry in (*done.rechecks, *done.actions, *done.holds):
        written(entry, f"{entry.kind}: {gist(entry)}")
    for parameter, found in done.drifts:
        print(drift_line(parameter.name, found))
    body = farm.get("point", str(done.water.get("point"))) or {}
    chlorinated = body.get("chlorinated") is True
    for text in oddities((one.read for one in done.judged), chlorinated=chlorinated):
        note(f"! {text}")
    for line in _next(done):
        print(line)


def _judgements(done: acts.WaterTest) -> Iterator[str]:
    width = min(max(len(one.read.said) for one in done.judged), 40)
    for one in done.judged:
        against, verdict = one.held.against, one.held.verdict
        bound = bounds(against.limit) if against else ""
        yield f"  {one.read.said:<{width}}  {VERDICTS[verdict]}{bound}"
        if against is not None and not one.held.meets:
            yield f"  {'':<{width}}  {against.limit.source}"
    for mark in done.marks:
        yield f"  Marked for ever: {mark.says}."


def _next(done: acts.WaterTest) -> Iterator[str]:
    point = done.water.get("point")
    bad = [one.parameter.code for one in done.judged if not one.held.meets]
    if done.holds:
        held = ", ".join(str(hold.get("held")) for hold in done.holds)
        yield f"SOW NOTHING from {held} until that is released. Clean, sanitise, flush."
    if bad:
        lab = " --lab NAME --certificate NUMBER" if done.water.get("laboratory") else ""
        again = " ".join(f"{code}=RESULT" for code in bad)
        yield f"Take it again: hygiene water {point} {again}{lab}"
    for recheck in done.rechecks:
        if recheck.get("passed"):
            yield f"Now it can end: hygiene close {recheck.get('action')} --did TEXT"


def drift_line(name: str, found: Drift) -> str:
    """A drift that was called, with its rule and how far it goes."""
    way = "falls" if found.falls else "rises"
    said = (
        f"DRIFT: {name} {way} from {found.since:%d %b %Y} to {found.until:%d %b %Y} "
        f"(p = {found.test.p:.4f}; {RULE})."
    )
    return textwrap.fill(said, 80, subsequent_indent="  ", break_on_hyphens=False)


# ---- the list --------------------------------------------------------------------


def _list(farm: InForce, point: str | None) -> None:
    limits = limits_of(farm, point) if point else ()
    for parameter in PARAMETERS:
        unit = "" if parameter.unit == parameter.name else parameter.unit
        print(f"{parameter.code:<13}{parameter.name:<27}{unit}")
        for limit in limits:
            if limit.parameter == parameter.code:
                print(f"             {_limit_line(limit)}")
    if point is None:
        print("With a point's name it lists the limits there: hygiene water P1 --list")


def _limit_line(limit: WaterLimit) -> str:
    stops = ", stops sowing" if limit.holds_sowing else ""
    return f"{bounds(limit.limit)}{stops}{STATUSES[limit.status]}: {limit.limit.source}"
