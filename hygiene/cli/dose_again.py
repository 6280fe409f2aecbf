"""A reading of a dose, or what it drew of a container, put right on one line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hygiene.cli.containers import smallest
from hygiene.cli.fields import WrongValue, decimal
from hygiene.errors import Unknown
from hygiene.kinds.entry import rows_of


class NotInTheDose(Unknown):
    """A spot that was not read, or a container from which nothing was drawn."""

    sentence = (
        "nothing was read at {given!r}, and nothing drawn from it; there are: {known}"
    )


def put_measured(body: Mapping[str, Any], key: str, value: str) -> dict[str, Any]:
    """``end=140`` or ``C-K7-3-X=98ml`` in the body of a dose or a rinse.

    An empty value leaves the reading out. Raises ``NotInTheDose``.
    """
    readings = [dict(row) for row in rows_of(body, "readings")]
    drawn = [dict(row) for row in rows_of(body, "drawn")]
    spots = [row for row in readings if row.get("spot") == key.lower()]
    taken = [row for row in drawn if _same(row.get("container"), key)]
    if spots and not value:
        return {"readings": [row for row in readings if row not in spots]}
    if spots:
        for row in spots:
            row["sign"] = value[0] if value[0] in "<>" else None
            row["value_mg_per_l"] = decimal(key, value.lstrip("<>").strip())
        return {"readings": [_said(row) for row in readings]}
    if not taken:
        names = [*(r.get("spot") for r in readings), *(r["container"] for r in drawn)]
        raise NotInTheDose(given=key, known=", ".join(map(str, names)) or "none")
    amount = smallest(value, solid="mg" in taken[0])
    if not value:
        raise WrongValue(key=key, given=value, wanted="an amount such as 98ml")
    taken[0].update(amount)
    return {"drawn": drawn}


def _same(code: object, given: str) -> bool:
    return str(code).replace("-", "").lower() == given.replace("-", "").lower()


def _said(row: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in row.items() if value is not None}
