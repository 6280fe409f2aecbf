"""The clauses that a farm's record must answer, read from the file of the program."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from hygiene.farm.in_force import InForce
from hygiene.inspection import clauses as room
from hygiene.inspection.clauses import Clause, ClauseMap, read_clauses
from hygiene.kinds.base import Unfit
from hygiene.toml_file import read_toml


@cache
def published() -> ClauseMap:
    """Every published clause; ``WrongKeys`` with file, line and key if it is wrong."""
    return read_map(Path(room.__file__).with_name("clauses.toml"))


def read_map(path: Path) -> ClauseMap:
    """Read a clause map from a file; raises ``WrongFile`` with file, line and key."""
    document = read_toml(path)
    try:
        return read_clauses(document.values)
    except Unfit as unfit:
        raise document.wrong(unfit.problems) from unfit


def clauses(farm: InForce) -> tuple[Clause, ...]:
    """What the record of this farm must answer; its own clauses win."""
    return published().of(farm.farm or {})
