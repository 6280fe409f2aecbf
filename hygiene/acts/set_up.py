"""The set-up: a farm file with its checklists, and what it changes in the record.

The files are read first, with every problem of all of them; then, inside the
transaction, they are compared with what is in force, and only the differences are
written. Nothing is deleted: what the files no longer name is retired.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from hygiene.book.writing import Writing
from hygiene.errors import Refused, WrongFile
from hygiene.farm.differences import Change, differences, not_raised
from hygiene.farm.farm_file import Wanted, read_checklist, read_farm
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.base import Problem, Unfit
from hygiene.kinds.checklist import Checklist
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of
from hygiene.kinds.setup import Person
from hygiene.shipped import shipped
from hygiene.toml_file import Document, WrongKeys, read_toml, wrong_files

T = TypeVar("T")


class NotAManager(Refused):
    """Somebody who may not set the farm up, nor approve a checklist."""

    sentence = "refused: {by} is no manager, and a manager changes the set-up"


class ChangedMeanwhile(Refused):
    """Another set-up was written between showing and writing."""

    sentence = "refused: the set-up was changed while this waited"


class SaidLater(Refused):
    """A change dated before what it would replace, so that it would not stand."""

    sentence = "refused: {what} was changed on {then}, which is later than {given}"


@dataclass(frozen=True, slots=True)
class FarmFiles:
    """A farm file and the checklists that go with it, read and found whole."""

    wanted: Wanted
    checklists: tuple[tuple[Document, Checklist], ...]

    def changes(self, now: InForce) -> list[Change]:
        """What would be written; raises ``WrongKeys`` for versions not raised."""
        lists = [checklist for _, checklist in self.checklists]
        refused = not_raised(now, lists)
        if refused:
            raise wrong_files(
                (document, refused[checklist.code])
                for document, checklist in self.checklists
                if checklist.code in refused
            )
        return differences(now, self.wanted, lists)

    def people(self, now: InForce) -> dict[str, tuple[str, ...]]:
        """The roles of everybody who may write, by code: in force or in the file."""
        found = {code: now.roles(code) for code in now.people}
        for person in self.wanted.things["person"]:
            if isinstance(person, Person):
                found[person.code] = person.roles
        return found

    def managers(self, now: InForce) -> list[str]:
        """Those who are managers now; at the first set-up, those of the file."""
        standing = {code: now.roles(code) for code in now.people}
        for roles in (standing, self.people(now)):
            found = [code for code, held in roles.items() if "manager" in held]
            if found:
                return found
        return []


def read_files(path: Path) -> FarmFiles:
    """Read a farm file and its checklists; raises ``WrongFile`` with every problem.

    The checklists are those in ``checklists/`` beside the farm file, where there is
    such a folder, else the standing ones that come with the program.
    """
    beside = path.parent / "checklists"
    folder = beside if beside.is_dir() else shipped("checklists")
    told: list[str] = []
    farm = _read(path, path.name, read_farm, told)
    found = [
        _read(file, f"checklists/{file.name}", read_checklist, told)
        for file in sorted(folder.glob("*.toml"))
    ]
    lists = tuple(read for read in found if read is not None)
    told += _codes_twice(lists)
    if farm is None or told:
        raise WrongKeys(told="\n".join(told))
    return FarmFiles(farm[1], lists)


def _read(
    path: Path, name: str, reader: Callable[[Any], T], told: list[str]
) -> tuple[Document, T] | None:
    try:
        document = read_toml(path, name)
    except WrongFile as failure:
        told.append(str(failure))
        return None
    try:
        return document, reader(document.values)
    except Unfit as unfit:
        told.append(str(document.wrong(unfit.problems)))
        return None


def _codes_twice(lists: Iterable[tuple[Document, Checklist]]) -> list[str]:
    told = []
    seen: dict[str, str] = {}
    for document, checklist in lists:
        code = checklist.code.casefold()
        if code in seen:
            what = f"{checklist.code!r} is the code of {seen[code]} already"
            told.append(document.tell(Problem(("code",), what)))
        seen.setdefault(code, document.name)
    return told


def set_up(
    writing: Writing,
    files: FarmFiles,
    *,
    by: str,
    at: datetime | None = None,
    lists_now: bool = False,
    shown: list[Change] | None = None,
) -> list[Entry]:
    """Write what the files change, in force from ``at`` (now, if not given).

    ``by`` approves the checklists that are adopted; with ``lists_now`` they are in
    force from now on, so that nothing is asked of the time before. Raises
    ``ChangedMeanwhile`` where the changes are no longer those that were ``shown``,
    and what ``check`` raises.
    """
    moment = writing.clock()
    now = in_force(writing.record.setup(), moment)
    changes = files.changes(now)
    if shown is not None and shown != changes:
        raise ChangedMeanwhile(way_out="look at it again: run the same command")
    check(files, changes, now, by=by, at=at or moment)
    made = []
    for change in changes:
        since = None if lists_now and change.sort == "checklist" else at
        made.append(writing.add(_approved(change, by), by=by, happened_at=since))
    return made


def check(
    files: FarmFiles, changes: list[Change], now: InForce, *, by: str, at: datetime
) -> None:
    """Whether ``by`` may write these changes as of ``at``.

    Raises ``NotAManager`` for what another wrote or approved, and ``SaidLater`` where
    a change would lie before what it replaces, and so never stand.
    """
    managers = files.managers(now)
    if changes and by not in managers:
        raise NotAManager(
            by=by, way_out=f"give a manager's code: --by {' or '.join(managers)}"
        )
    for change in changes:
        for code in change.codes:
            last = now.last_touched(change.sort, code)
            if last is not None and moment_of(last.happened_at) > at:
                raise SaidLater(
                    what=f"{change.sort} {code}".strip(),
                    then=last.happened_at[:16].replace("T", " "),
                    given=f"{at:%Y-%m-%d %H:%M}",
                    way_out="leave --from out, or give a later day",
                )


def _approved(change: Change, by: str) -> Any:
    if isinstance(change.writes, Checklist):
        return replace(change.writes, approver=by)
    return change.writes
