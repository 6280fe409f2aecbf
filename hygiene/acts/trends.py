"""The history of a sample point, read from the record. Reading only."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from hygiene.acts.limits import limits_of
from hygiene.book.record import Record
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of
from hygiene.water.limits import WaterLimit
from hygiene.water.parameters import BY_CODE, Parameter
from hygiene.water.trend import (
    SANITISER,
    Bound,
    Trend,
    drift,
    parameters_read,
    readings,
    sanitiser_changes,
)


def trends(
    record: Record,
    farm: InForce,
    point: str,
    *,
    parameters: Sequence[str] = (),
    since: datetime | None = None,
    before: datetime | None = None,
) -> list[Trend]:
    """What stands of a point's water, parameter by parameter, the most read first.

    ``parameters`` are codes, all that were read if none is given. Limits are those
    that count by ``farm``; a sanitiser change is one of the doses on the point's line
    or its tank.
    """
    tests = _within(record.mentioning(point), "water", since, before)
    tests = [test for test in tests if test.get("point") == point]
    body = farm.get("point", point) or {}
    doses = _within(_doses(record, farm, body.get("line")), SANITISER, since, before)
    changes = sanitiser_changes(doses)
    limits = limits_of(farm, point)
    made = []
    for code in parameters or parameters_read(tests):
        parameter = BY_CODE.get(code)
        history = readings(tests, code)
        if parameter is None or not history:
            continue
        local = tuple(r._replace(at=r.at.astimezone(farm.zone)) for r in history)
        made.append(
            Trend(
                point=point,
                place=str(body.get("name", "")),
                code=code,
                name=parameter.name,
                unit="" if parameter.unit == parameter.name else parameter.unit,
                counted=parameter.counted,
                history=local,
                bounds=bounds_of(limits, parameter),
                changes=tuple(
                    c for c in changes if local[0].at <= c.at <= local[-1].at
                ),
                drift=drift(local),
            )
        )
    return made


def _doses(record: Record, farm: InForce, line: Any) -> list[Entry]:
    """What names the point's line, or the tank that feeds it."""
    if not line:
        return []
    tank = (farm.get("line", str(line)) or {}).get("tank")
    return record.mentioning(*(str(code) for code in (line, tank) if code))


def _within(
    entries: Sequence[Entry], kind: str, since: datetime | None, before: datetime | None
) -> list[Entry]:
    def inside(entry: Entry) -> bool:
        at = moment_of(entry.happened_at)
        return (since is None or at >= since) and (before is None or at < before)

    return [entry for entry in entries if entry.kind == kind and inside(entry)]


def bounds_of(limits: Sequence[WaterLimit], parameter: Parameter) -> tuple[Bound, ...]:
    """The tightest limit on each side, as lines of a picture."""
    own = [one.limit for one in limits if one.parameter == parameter.code]
    most = [limit for limit in own if limit.at_most is not None]
    least = [limit for limit in own if limit.at_least is not None]
    made = []
    if most:
        found = min(most, key=lambda limit: limit.at_most or 0)
        made.append(Bound(float(found.at_most or 0), True, found.source))
    if least:
        found = max(least, key=lambda limit: limit.at_least or 0)
        made.append(Bound(float(found.at_least or 0), False, found.source))
    return tuple(made)
