"""What the recipes of an import share: fields of a line, codes in their columns."""

from __future__ import annotations

from typing import Any

from hygiene.acts.codes import known
from hygiene.acts.import_scene import Said, Scene, of_column
from hygiene.errors import HygieneError
from hygiene.farm.in_force import InForce
from hygiene.kinds.base import shapes
from hygiene.kinds.entry import Entry


def fields_of(cls: Any, said: Said, **more: Any) -> dict[str, Any]:
    """The fields of a dataclass that the line says, and those that are given."""
    named = {shape.name: said.get(shape.name) for shape in shapes(cls)}
    return {key: value for key, value in {**named, **more}.items() if value is not None}


def done(made: Any) -> tuple[Entry, bool]:
    """The entry that an act wrote, and whether it was there already."""
    return made[0], bool(made.already)


def known_in(farm: InForce, sort: str, said: Said, column: str) -> str:
    """A code of the set-up from its column; what is wrong names the column."""
    try:
        return known(farm, sort, str(said.get(column)))
    except HygieneError as failure:
        raise of_column(column, failure) from failure


def meant_in(scene: Scene, sort: str, said: Said, column: str) -> str:
    """A lot, batch or container from its column, by code or old number."""
    try:
        return scene.meant(sort, str(said.get(column)))
    except HygieneError as failure:
        raise of_column(column, failure) from failure


def all_known(
    farm: InForce, sort: str, said: Said, column: str, given: tuple[str, ...]
) -> tuple[str, ...]:
    """Several codes of the set-up from one column."""
    try:
        return tuple(known(farm, sort, code) for code in given)
    except HygieneError as failure:
        raise of_column(column, failure) from failure


def trays_of(farm: InForce, said: Said) -> tuple[str, ...]:
    """The trays of a line; none where its cell is empty."""
    return all_known(farm, "tray", said, "trays", said.get("trays") or ())
