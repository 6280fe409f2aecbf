"""One answer of a sign-off put right, judged by the version that was signed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hygiene.book.record import Record
from hygiene.cli.fields import WrongValue
from hygiene.kinds.base import plain
from hygiene.kinds.entry import Entry
from hygiene.rota.signing import Ask, NoSuchStep, read_answer


def put_answer(
    sign_off: Entry, answers: Any, key: str, value: str, record: Record
) -> list[dict[str, Any]]:
    """The answers with ``STEP``, ``STEP.OF`` or its ``.did`` put right.

    The step is judged again; what it wrote stays named. Raises ``NoSuchStep``.
    """
    rows = [dict(row) for row in answers or () if isinstance(row, Mapping)]
    name, did_only = key.removesuffix(".did"), key.endswith(".did")
    steps = _steps(sign_off, record)
    for place, row in enumerate(rows):
        ask = Ask(steps.get(str(row.get("step")), {}), row.get("of"))
        if name != ask.name:
            continue
        if did_only:
            rows[place] = {**row, "did": value}
        elif not ask.step:
            raise WrongValue(key=key, given=value, wanted="known: its version is gone")
        else:
            made = plain(read_answer(ask, value, row.get("did")).answer)
            kept = {"wrote": row["wrote"]} if row.get("wrote") else {}
            rows[place] = {**made, **kept}
        return rows
    names = [Ask(steps.get(str(r.get("step")), r), r.get("of")).name for r in rows]
    raise NoSuchStep(task=sign_off.get("task"), given=name, known=", ".join(names))


def _steps(sign_off: Entry, record: Record) -> dict[str, Mapping[str, Any]]:
    """The steps, by code, of the checklist version that was signed."""
    for entry in reversed(record.all_versions(["checklist"])):
        if entry.get("code") == sign_off.get("task") and entry.get(
            "version"
        ) == sign_off.get("version"):
            return {str(step.get("code")): step for step in entry.get("steps", ())}
    return {}
