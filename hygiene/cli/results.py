"""One result of a water test put right, judged anew by what counted then."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hygiene.acts.water import Given, judge_all, result_of
from hygiene.book.record import Record
from hygiene.cli.fields import WrongValue
from hygiene.farm.in_force import in_force
from hygiene.kinds.base import plain
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of
from hygiene.water.parameters import parameter_of


def put_result(
    test: Entry, results: Any, key: str, value: str, record: Record
) -> list[dict[str, Any]]:
    """The results with ``NAME``, ``NAME.method`` or ``NAME.kit`` put right.

    A name that was not there is added, an empty value leaves the result out.
    """
    rows = [dict(row) for row in results or () if isinstance(row, Mapping)]
    name, _, said = key.partition(".")
    code = parameter_of(name).code
    place = next((n for n, r in enumerate(rows) if r.get("parameter") == code), None)
    if said:
        if place is None or said not in ("method", "kit"):
            raise WrongValue(key=key, given=value, wanted="of a result that is there")
        rows[place] = {**rows[place], said: value}
        return rows
    if not value:
        return [row for row in rows if row.get("parameter") != code]
    kept = {} if place is None else {k: rows[place].get(k) for k in ("method", "kit")}
    made = _judged(test, Given(code, value, **kept), record)
    return (
        [*rows[:place], made, *rows[place + 1 :]]
        if place is not None
        else [*rows, made]
    )


def _judged(test: Entry, given: Given, record: Record) -> dict[str, Any]:
    farm = in_force(record.setup(), moment_of(test.happened_at))
    (judged,) = judge_all(farm, str(test.get("point")), [given])
    made: dict[str, Any] = plain(result_of(judged))
    return made
