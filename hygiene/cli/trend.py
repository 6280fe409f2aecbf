"""``hygiene trend``: the history of a sample point, drawn at the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from typing import Annotated, Any

import typer

from hygiene.acts.codes import known
from hygiene.acts.trends import trends
from hygiene.cli.desk import AsJson, Desk, RecordPath, reading, show_json
from hygiene.cli.lazy import one_command
from hygiene.cli.plot import picture
from hygiene.cli.water import drift_line
from hygiene.errors import Unknown
from hygiene.kinds.moments import at_the_farm, typed_day
from hygiene.water.parameters import parameter_of
from hygiene.water.trend import RULE, Trend

app = one_command()

LAST = 8
"""So many readings are written out under the picture."""


class NothingRead(Unknown):
    """A point of which nothing of that sort was ever read."""

    sentence = "nothing of that was read at {point}"


@app.command()
def trend(
    ctx: typer.Context,
    point: Annotated[str, typer.Argument(help="The sample point.")],
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="[NAME]...", help="free, ph, ecoli ... (else all)."),
    ] = None,
    first: Annotated[
        str | None, typer.Option("--from", metavar="DATE", help="The first day.")
    ] = None,
    last: Annotated[
        str | None, typer.Option("--to", metavar="DATE", help="The last day.")
    ] = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Draw what was read at a point over time, with its limits; calls a drift.

    Results such as <1 are drawn as such; where the sanitiser changed is marked. A
    drift over the last eight readings is called by the Mann-Kendall test: a hint.

    Example: hygiene trend P1 free --from 2026-01-01
    """
    with reading(ctx, record) as desk:
        code = known(desk.farm, "point", point)
        found = trends(
            desk.record,
            desk.farm,
            code,
            parameters=[parameter_of(name).code for name in names or ()],
            since=_moment(desk, first, 0),
            before=_moment(desk, last, 1),
        )
    if as_json:
        show_json([_json(one) for one in found])
        return
    if not found:
        raise NothingRead(
            point=code, way_out="see what was: hygiene trend POINT; hygiene log water"
        )
    for place, one in enumerate(found):
        if place:
            print()
        for line in _page(one, desk.world.width):
            print(line)


def _moment(desk: Desk, given: str | None, days_on: int) -> datetime | None:
    if given is None:
        return None
    day = typed_day(given, desk.now.date()) + timedelta(days=days_on)
    return at_the_farm(day, time(0), desk.farm.zone)


def _page(one: Trend, width: int) -> Iterator[str]:
    unit = f", {one.unit}" if one.unit else ""
    yield f"{one.name}{unit}   {one.point}, {one.place}   readings: {len(one.history)}"
    yield from picture(one, width)
    yield ""
    for row in one.history[-LAST:]:
        doubt = "" if row.trusted else "   not to be relied on"
        verdict = {"over": "OUT OF LIMIT", "under": "OUT OF LIMIT", "within": ""}
        said = verdict.get(str(row.verdict), str(row.verdict or ""))
        yield (
            f"  {row.at:%d %b %Y %H:%M}  {row.as_written:<16}{said:<14}"
            f"({row.entry}){doubt}"
        )
    if one.drift is not None:
        yield drift_line(one.name, one.drift)
        slope = one.drift.per_30_days
        if slope is not None:
            yield f"  About {slope:+.2g} {one.unit} in 30 days (Theil-Sen)."
        yield "  A hint, not proof: look for its cause."


def _json(one: Trend) -> dict[str, Any]:
    found = one.drift
    return {
        "point": one.point,
        "parameter": one.code,
        "unit": one.unit,
        "readings": [
            {
                "at": r.at,
                "value": r.value,
                "sign": r.sign,
                "as_written": r.as_written,
                "verdict": r.verdict,
                "trusted": r.trusted,
                "entry": r.entry,
            }
            for r in one.history
        ],
        "limits": [
            {"value": b.value, "most": b.most, "source": b.source} for b in one.bounds
        ],
        "sanitiser_changes": [c._asdict() for c in one.changes],
        "drift": None
        if found is None
        else {
            "direction": "falls" if found.falls else "rises",
            "since": found.since,
            "until": found.until,
            "readings": found.test.n,
            "s": found.test.s,
            "p": found.test.p,
            "per_30_days": found.per_30_days,
            "rule": RULE,
        },
    }
