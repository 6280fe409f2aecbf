"""People: a training that was had, a visitor who came in, an accident."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final, NamedTuple

from hygiene.acts.codes import known
from hygiene.acts.how import How
from hygiene.book.writing import Writing
from hygiene.farm.in_force import InForce
from hygiene.kinds.action import Action
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry
from hygiene.kinds.people import Accident, Train, Visitor

VISITOR_MARKS: Final = {
    "well": ("not-well", "came in though not well"),
    "dipped_boots": ("no-dip", "did not dip the boots"),
    "washed_hands": ("no-wash", "did not wash hands"),
}
"""What a visitor did not do, by the field that says so: its mark, and in words."""


class Written(NamedTuple):
    """What an act wrote, and the corrective action or incident that it opened."""

    entry: Entry
    action: Entry | None = None
    already: bool = False


def train(writing: Writing, farm: InForce, how: How, thing: Train) -> Written:
    """Write a training that a person of the farm has had; it counts from its day."""
    return write_once(
        writing, how, replace(thing, person=known(farm, "person", thing.person))
    )


def visit(writing: Writing, how: How, thing: Visitor) -> Written:
    """Write who came in; what was not done at the door is marked and acted upon."""
    found = list(_not_done(thing))
    if not found:
        return write_once(writing, how, thing)
    marked = replace(thing, marks=tuple(mark for mark, _ in found))
    said = " and ".join(says for _, says in found)
    where = f" ({thing.places})" if thing.places else ""
    return write_once(writing, how, marked, problem=f"{thing.name} {said}{where}")


def _not_done(thing: Visitor) -> Iterator[tuple[str, str]]:
    for key, said in VISITOR_MARKS.items():
        if getattr(thing, key) is False:
            yield said


def accident(writing: Writing, farm: InForce, how: How, thing: Accident) -> Written:
    """Write that somebody was hurt, or nearly; it opens its incident."""
    if thing.product is not None:
        thing = replace(thing, product=known(farm, "product", thing.product))
    problem = f"{thing.sort}: {thing.who}, {thing.what}"
    return write_once(
        writing, how, thing, problem=problem, concerns=thing.product, incident=True
    )


def write_once(
    writing: Writing,
    how: How,
    thing: Kind,
    *,
    problem: str | None = None,
    concerns: str | None = None,
    incident: bool = False,
) -> Written:
    """Write an entry, unless it was recorded already; ``problem`` opens its action."""
    before = how.retried(writing, thing)
    if before is not None:
        return Written(before, already=True)
    made = how.add(writing, thing)
    if problem is None:
        return Written(made)
    action = Action(
        about=made.name, problem=problem, concerns=concerns, incident=incident
    )
    return Written(made, how.add(writing, action))
