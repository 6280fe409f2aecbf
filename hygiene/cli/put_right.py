"""An entry's body put right from KEY=VALUE words, by what each kind can say.

Most keys are the fields of the kind; an answer of a sign-off, a result of a water test
and what was measured of a dose are put right by their own names, and judged anew.
"""

from __future__ import annotations

from typing import Any, Final

from hygiene.acts.codes import known
from hygiene.book.record import Record
from hygiene.cli.fields import no_such_key, pairs, read
from hygiene.errors import WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds import kind_class
from hygiene.kinds.base import shapes
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of


class MarksStay(WronglyPut):
    """What stands against an entry for ever."""

    sentence = "marks are the program's own: what was late or against a rule stays so"


NAMES_OF_THE_FARM: Final = (
    *("animals", "buyer", "kit", "line", "point", "product", "rack", "supplier"),
    "tank",
)
"""The fields that name a thing of the farm file, each by the name of its kind."""


def put(entry: Entry, words: list[str], record: Record) -> dict[str, Any]:
    """The whole body with these fields put right; an empty value leaves one out."""
    body = dict(entry.body)
    fields = {shape.name: shape for shape in shapes(kind_class(entry.kind))}
    for key, value in pairs(words):
        if entry.kind == "sign_off" and key not in fields:
            from hygiene.cli.answers import put_answer

            body["answers"] = put_answer(entry, body.get("answers"), key, value, record)
            continue
        if entry.kind == "water" and key not in fields:
            from hygiene.cli.results import put_result

            body["results"] = put_result(entry, body.get("results"), key, value, record)
            continue
        if entry.kind in ("dose", "rinse") and key not in fields:
            from hygiene.cli.dose_again import put_measured

            body |= put_measured(body, key, value)
            continue
        if key == "marks":
            raise MarksStay()
        if key not in fields:
            raise no_such_key(entry.kind, key, list(fields))
        if value == "":
            body.pop(key, None)
        elif key in ("trays", "places", "seeds", "batch", "lot"):
            from hygiene.cli.typed import put_again

            body[key] = put_again(record, key, value)
        elif key in NAMES_OF_THE_FARM:
            body[key] = known(_farm(record, entry), key, value)
        else:
            body[key] = read(fields[key], value)
    return body


def _farm(record: Record, entry: Entry) -> InForce:
    """The farm as it was set up when the entry was written, or happened if later."""
    at = max(moment_of(entry.recorded_at), moment_of(entry.happened_at))
    return in_force(record.setup(), at)
