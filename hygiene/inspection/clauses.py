"""What the record must answer: the clauses of a profile, and the farm's own.

The published ones stand in ``clauses.toml``, each with how it was checked. The farm's
own win: one with the same code takes the place of a published one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, NamedTuple, TypeVar

from hygiene.kinds import HOMES
from hygiene.kinds.base import CannotBe, Problem, Unfit, read_plain
from hygiene.kinds.checks import need_code, need_one_of, need_text
from hygiene.kinds.setup import PROFILES

STATUSES: Final = ("SEEN", "SEEN-2nd", "MEMORY")
IN_WORDS: Final = {
    "SEEN": "read in the text itself",
    "SEEN-2nd": "read in an account of it",
    "MEMORY": "not looked up: confirm it before you rely on it",
    "OWN": "the farm's own rule",
}
"""How a clause was checked, in words."""
PRACTICE: Final = "practice"
"""The jurisdiction of what no law asks for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clause:
    """One clause: ``code`` is ours, ``clause`` the citation, ``says`` a paraphrase.

    ``status`` is one of ``STATUSES``, or ``OWN``; ``checked`` says where it was read,
    ``checked_on`` when, if that was noted down. ``answered_by`` names kinds, and
    ``reports`` pages. A farm may say that a clause does not apply to it, and ``why``.
    """

    code: str
    clause: str
    says: str
    jurisdiction: str
    status: str
    checked: str
    checked_on: date | None = None
    profiles: tuple[str, ...] = ()
    answered_by: tuple[str, ...] = ()
    reports: tuple[str, ...] = ()
    applies: bool = True
    why: str | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "clause", "says", "jurisdiction", "checked", "why")
        need_one_of(self, "status", *STATUSES, "OWN")
        for key, known in (("profiles", PROFILES), ("answered_by", tuple(HOMES))):
            for given in getattr(self, key):
                if given not in known:
                    raise CannotBe(
                        key=key, what=f"{given!r} is not one of {', '.join(known)}"
                    )

    @property
    def own(self) -> bool:
        """Whether the farm said it."""
        return self.status == "OWN"

    @property
    def practice(self) -> bool:
        """Whether it is common practice, and no law."""
        return self.jurisdiction == PRACTICE

    @property
    def cited(self) -> str:
        """The citation; one from memory says that it is to be confirmed."""
        if self.status == "MEMORY" and any(char.isdigit() for char in self.clause):
            return f"{self.clause} (to be confirmed)"
        return self.clause

    @property
    def how_checked(self) -> str:
        """How it was checked and when, in a sentence."""
        when = f", on {self.checked_on}" if self.checked_on else ""
        return f"{IN_WORDS[self.status]} ({self.checked}{when})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """Whose rules a farm goes by, in words."""

    code: str
    name: str
    says: str

    def __post_init__(self) -> None:
        need_one_of(self, "code", *PROFILES)
        need_text(self, "name", "says")


class ClauseMap(NamedTuple):
    """Every published clause, and every profile."""

    profiles: tuple[Profile, ...]
    clauses: tuple[Clause, ...]

    def profile(self, farm: Mapping[str, Any]) -> Profile:
        """The profile that a farm has chosen; ``local`` where it names no known one."""
        by_code = {profile.code: profile for profile in self.profiles}
        return by_code.get(str(farm.get("profile"))) or by_code["local"]

    def of(self, farm: Mapping[str, Any]) -> tuple[Clause, ...]:
        """The clauses of a farm: its profile's, with its own on top and at the end.

        ``farm`` is the body of the farm's set-up entry. One of its own with a
        published code stands in that one's place.
        """
        profile = self.profile(farm).code
        published = {c.code: c for c in self.clauses}
        made = {c.code: c for c in self.clauses if profile in c.profiles}
        for own in _own(farm, published):
            made[own.code] = own
        return tuple(made.values())


T = TypeVar("T", Clause, Profile)


def read_clauses(values: Mapping[str, Any]) -> ClauseMap:
    """Read the values of ``clauses.toml``; raises ``Unfit`` with every problem."""
    problems = [
        Problem((key,), "there is no such table in a clause map")
        for key in values
        if key not in ("profile", "clause")
    ]
    profiles = _rows(Profile, values, "profile", problems)
    clauses = _rows(Clause, values, "clause", problems)
    problems += [
        Problem(("profile",), f"lacks {code!r}")
        for code in PROFILES
        if code not in {p.code for p in profiles} and not problems
    ]
    if problems:
        raise Unfit(problems)
    return ClauseMap(profiles, clauses)


def _rows(
    cls: type[T], values: Mapping[str, Any], key: str, problems: list[Problem]
) -> tuple[T, ...]:
    given = values.get(key)
    if not isinstance(given, list):
        problems.append(Problem((key,), f"stands in double brackets: [[{key}]]"))
        return ()
    made: dict[str, T] = {}
    for place, row in enumerate(given):
        try:
            one = read_plain(cls, row, (key, place))
        except Unfit as unfit:
            problems += unfit.problems
            continue
        if one.code in made:
            problems.append(Problem((key, place, "code"), f"{one.code!r} stands twice"))
        made[one.code] = one
    return tuple(made.values())


def _own(farm: Mapping[str, Any], published: Mapping[str, Clause]) -> Iterator[Clause]:
    """The farm's own clauses; what it leaves out is that of the one it replaces."""
    given = farm.get("clauses")
    for row in given if isinstance(given, list | tuple) else ():
        if not isinstance(row, Mapping) or not isinstance(row.get("code"), str):
            continue
        with suppress(CannotBe):  # an odd one, written elsewhere, is passed over
            yield _made_own(row, published.get(row["code"]))


def _made_own(row: Mapping[str, Any], before: Clause | None) -> Clause:
    return Clause(
        code=row["code"],
        clause=str(row.get("clause") or (before.clause if before else "own rule")),
        says=str(row.get("says") or (before.says if before else row["code"])),
        jurisdiction="this farm",
        status="OWN",
        checked="in the farm file",
        answered_by=_known(row, "answered_by", before.answered_by if before else ()),
        reports=_known(row, "reports", before.reports if before else ()),
        applies=row.get("applies") is not False,
        why=str(row["why"]) if row.get("why") else None,
    )


def _known(
    row: Mapping[str, Any], key: str, otherwise: tuple[str, ...]
) -> tuple[str, ...]:
    given = row.get(key)
    said: Iterable[Any] = given if isinstance(given, list | tuple) else otherwise
    names = tuple(str(name) for name in said)
    return tuple(n for n in names if n in HOMES) if key == "answered_by" else names
