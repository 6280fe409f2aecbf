"""An entry's body put right from KEY=VALUE words, by what each kind can say.

Most keys are the fields of the kind; an answer of a sign-off, a result of a water test
and what was measured of a dose are put right by their own names, and judged anew.
"""

from __future__ import annotations

from typing import Any

from hygiene.book.record import Record
from hygiene.cli.fields import no_such_key, pairs, read
from hygiene.errors import WronglyPut
from hygiene.kinds import kind_class
from hygiene.kinds.base import shapes
from hygiene.kinds.entry import Entry


class MarksStay(WronglyPut):
    """What stands against an entry for ever."""

    sentence = "marks are the program's own: what was late or against a rule stays so"


def put(entry: Entry, words: list[str], record: Record) -> dict[str, Any]:
    """The whole body with these fields put right; an empty value leaves one out."""
    body = dict(entry.body)
    known = {shape.name: shape for shape in shapes(kind_class(entry.kind))}
    for key, value in pairs(words):
        if entry.kind == "sign_off" and key not in known:
            from hygiene.cli.answers import put_answer

            body["answers"] = put_answer(entry, body.get("answers"), key, value, record)
            continue
        if entry.kind == "water" and key not in known:
            from hygiene.cli.results import put_result

            body["results"] = put_result(entry, body.get("results"), key, value, record)
            continue
        if entry.kind in ("dose", "rinse") and key not in known:
            from hygiene.cli.dose_again import put_measured

            body |= put_measured(body, key, value)
            continue
        if key == "marks":
            raise MarksStay()
        if key not in known:
            raise no_such_key(entry.kind, key, list(known))
        if value == "":
            body.pop(key, None)
        elif key in ("trays", "places", "seeds", "batch", "lot"):
            from hygiene.cli.typed import put_again

            body[key] = put_again(record, key, value)
        else:
            body[key] = read(known[key], value)
    return body
