"""What a farm file would change in what is in force, and nothing else.

Trays are compared one by one and written as ranges. Nothing is ever deleted: what the
file no longer names is retired. Running the same file again changes nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import MISSING, dataclass, fields, replace
from typing import Any, Final, NamedTuple

from hygiene.farm.farm_file import SORTS, Wanted
from hygiene.farm.in_force import FARM_CODE, InForce
from hygiene.kinds.base import Kind, Problem, plain
from hygiene.kinds.checklist import Checklist
from hygiene.kinds.checks import MOST_IN_A_RANGE, RANGE, expand
from hygiene.kinds.entry import Body
from hygiene.kinds.setup import Retire, Tray

NEW: Final = "new"
CHANGED: Final = "changed"
RETIRED: Final = "retired"


class Field(NamedTuple):
    """A field that changes; None where it was not said, or is no longer said."""

    key: str
    was: Any
    now: Any


@dataclass(frozen=True, slots=True)
class Change:
    """One entry to be written: ``how`` is new, changed or retired.

    ``code`` is a range where several trays change alike, and empty for the farm.
    """

    how: str
    sort: str
    code: str
    writes: Kind
    fields: tuple[Field, ...] = ()

    @property
    def codes(self) -> tuple[str, ...]:
        """The code of each thing that changes: one, except for a range of trays."""
        return expand(self.code) if self.sort == "tray" else (self.code,)


def differences(
    now: InForce, wanted: Wanted, checklists: Iterable[Checklist] = ()
) -> list[Change]:
    """The entries that turn what is in force now into what is wanted.

    New and changed things first, sort by sort, each in the order of the file; what is
    retired last. A checklist is compared without its approver.
    """
    every: dict[str, Iterable[Kind]] = {**wanted.things, "farm": (wanted.farm,)}
    every["checklist"] = checklists
    changes: list[Change] = []
    for sort in (*SORTS, "checklist"):
        if sort == "tray":
            changes += _trays(now.trays(), every[sort])
        else:
            changes += _things(sort, now.things(sort), every[sort])
    return sorted(changes, key=lambda change: change.how == RETIRED)


def not_raised(now: InForce, checklists: Iterable[Checklist]) -> dict[str, Problem]:
    """By code, the checklists that changed without a higher version number.

    A version number that was adopted stands for what it said then, for ever; it is
    asked of the latest version, even if the task was retired since.
    """
    problems = {}
    for checklist in checklists:
        entry = now.last_described("checklist", checklist.code)
        adopted = entry.get("version") if entry else None
        if not (entry and isinstance(adopted, int) and checklist.version <= adopted):
            continue
        found = [field.key for field in _changed(entry.body, checklist)]
        if found:
            what = (
                f"version {adopted} was adopted and said otherwise "
                f"({', '.join(found)}); raise it to {adopted + 1}"
            )
            problems[checklist.code] = Problem(("version",), what)
    return problems


def _things(sort: str, now: Mapping[str, Body], wanted: Iterable[Kind]) -> list[Change]:
    things = {getattr(thing, "code", FARM_CODE): thing for thing in wanted}
    changes = []
    for code, thing in things.items():
        found = tuple(_changed(now.get(code, {}), thing))
        if code not in now:
            changes.append(Change(NEW, sort, code, thing))
        elif found:
            changes.append(Change(CHANGED, sort, code, thing, found))
    gone = [code for code in now if code not in things]
    return changes + [
        Change(RETIRED, sort, code, Retire(sort=sort, code=code)) for code in gone
    ]


def _changed(was: Body, thing: Kind) -> Iterator[Field]:
    """The fields of which the record says something else than is wanted."""
    before = _with_defaults(type(thing), was)
    after = thing.body()
    for key in dict.fromkeys((*after, *before)):
        if before.get(key) != after.get(key) and key != "approver":
            yield Field(key, before.get(key), after.get(key))


def _with_defaults(cls: type[Any], body: Body) -> Body:
    """A body with what its kind takes for granted where nothing is said.

    So a field that a later version of the program adds is no change of the farm.
    """
    given = {f.name: plain(f.default) for f in fields(cls) if f.default is not MISSING}
    said = {key: value for key, value in given.items() if value not in (None, [])}
    return {**said, **body}


class _TrayChange(NamedTuple):
    """What changes of one tray, to be joined with its neighbours."""

    code: str
    how: str
    fields: tuple[Field, ...]
    tray: Tray | None


def _trays(now: Mapping[str, Body], wanted: Iterable[Kind]) -> list[Change]:
    each = {
        code: tray
        for tray in wanted
        if isinstance(tray, Tray)
        for code in expand(tray.code)
    }
    found = list(_tray_changes(now, each))
    found.sort(key=lambda change: _natural(change.code))
    return [_joined(run) for run in _runs(found)]


def _tray_changes(
    now: Mapping[str, Body], each: Mapping[str, Tray]
) -> Iterator[_TrayChange]:
    for code, tray in each.items():
        if code not in now:
            yield _TrayChange(code, NEW, (), replace(tray, code="x"))
            continue
        said = tuple(f for f in _changed(now[code], tray) if f.key != "code")
        if said:
            yield _TrayChange(code, CHANGED, said, replace(tray, code="x"))
    for code in now:
        if code not in each:
            yield _TrayChange(code, RETIRED, (), None)


_NUMBERED: Final = re.compile(r"(.*?)(\d*)")


def _natural(code: str) -> tuple[str, int, int]:
    head, digits = _numbered(code)
    return head, int(digits or 0), len(digits)


def _numbered(code: str) -> tuple[str, str]:
    found = _NUMBERED.fullmatch(code)
    return (found[1], found[2]) if found else (code, "")


def _runs(found: Iterable[_TrayChange]) -> list[list[_TrayChange]]:
    """Neighbours that change alike, so that they can be said as a range."""
    runs: list[list[_TrayChange]] = []
    for change in found:
        if runs and _continues(runs[-1], change):
            runs[-1].append(change)
        else:
            runs.append([change])
    return runs


def _continues(run: list[_TrayChange], change: _TrayChange) -> bool:
    first = run[0]
    head, digits = _numbered(first.code)
    following = f"{head}{int(digits or 0) + len(run):0{len(digits)}d}"
    return (
        change.code == following
        and change[1:] == first[1:]
        and len(run) < MOST_IN_A_RANGE
        and RANGE.fullmatch(f"{first.code}..{change.code}") is not None
    )


def _joined(run: list[_TrayChange]) -> Change:
    first = run[0]
    code = first.code if len(run) == 1 else f"{first.code}..{run[-1].code}"
    writes: Kind = (
        Retire(sort="tray", code=code)
        if first.tray is None
        else replace(first.tray, code=code)
    )
    return Change(first.how, "tray", code, writes, first.fields)
