"""One answer of a sign-off put right, judged by the version that was signed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hygiene.acts.mending import signed_steps
from hygiene.book.record import Record
from hygiene.cli.fields import WrongValue
from hygiene.errors import WronglyPut
from hygiene.kinds.base import plain
from hygiene.kinds.entry import Entry
from hygiene.rota.signing import Ask, NoSuchStep, read_answer


class WrittenByItself(WronglyPut):
    """What a step finds is an entry of its own, and a correction writes one entry."""

    sentence = (
        "{name}: what was found is an entry of its own; write it: hygiene {writes}"
    )


def put_answer(
    sign_off: Entry, answers: Any, key: str, value: str, record: Record
) -> list[dict[str, Any]]:
    """The answers with ``STEP``, ``STEP.OF`` or its ``.did`` put right.

    The step is judged again; what it wrote stays named. Raises ``NoSuchStep``.
    """
    rows = [dict(row) for row in answers or () if isinstance(row, Mapping)]
    name, did_only = key.removesuffix(".did"), key.endswith(".did")
    steps = signed_steps(record, sign_off)
    for place, row in enumerate(rows):
        ask = Ask(steps.get(str(row.get("step")), {}), row.get("of"))
        if name != ask.name:
            continue
        if did_only:
            rows[place] = {**row, "did": value}
        elif not ask.step:
            raise WrongValue(key=key, given=value, wanted="known: its version is gone")
        else:
            answered = read_answer(ask, value, row.get("did"))
            if answered.detail is not None:
                raise WrittenByItself(name=name, writes=ask.step.get("writes"))
            made = plain(answered.answer)
            kept = {"wrote": row["wrote"]} if row.get("wrote") else {}
            rows[place] = {**made, **kept}
        return rows
    names = [Ask(steps.get(str(r.get("step")), r), r.get("of")).name for r in rows]
    raise NoSuchStep(task=sign_off.get("task"), given=name, known=", ".join(names))
