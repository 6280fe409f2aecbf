"""A farm file and its checklists: plain values in, things of the set-up out.

Everything that is wrong is told at once, each with the path of its key. Beyond what a
kind refuses by itself, a farm file must hang together: a rack stands in a room of the
file, no code stands twice, a strength says its basis, a checklist's rule comes round.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from itertools import pairwise
from typing import Any, Final, TypeVar, cast

from hygiene.errors import WronglyPut
from hygiene.kinds import HOMES, kind_class
from hygiene.kinds.base import CannotBe, Kind, Problem, Unfit, read_plain
from hygiene.kinds.checklist import Checklist
from hygiene.kinds.checks import expand
from hygiene.kinds.entry import MOST_DIGITS, Entry, Unwritable, write_line
from hygiene.kinds.moments import NoSuchZone, zone_of
from hygiene.kinds.setup import Farm
from hygiene.rota.schedule import check_adoptable
from hygiene.sanitising.lines import read_pipe
from hygiene.sanitising.strength import PERACETIC, read_active, read_strength
from hygiene.water.parameters import BY_CODE

SORTS: Final = tuple(
    kind for kind, home in HOMES.items() if home == "setup" and kind != "retire"
)
"""The tables of a farm file: each is named like its kind."""
MOST_TRAYS: Final = 50_000

REFERENCES: Final = (
    ("rack", "room", "room"),
    ("rack", "line", "line"),
    ("line", "room", "room"),
    ("line", "tank", "tank"),
    ("point", "line", "line"),
)
"""A sort, its key, and the sort that the key's value must name."""

K = TypeVar("K", bound=Kind)
Path = tuple[str | int, ...]
Table = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a farm file says: the farm, and the other things by sort."""

    farm: Farm
    things: Mapping[str, tuple[Kind, ...]]


def read_farm(values: Table) -> Wanted:
    """Read a farm file's values; raises ``Unfit`` with every problem at once."""
    values = _composed(values)
    tables = {sort: _tables(values, sort) for sort in SORTS}
    problems = [*_wrong_tables(values), *_odd_values(values)]
    things: dict[str, list[Kind]] = {sort: [] for sort in SORTS}
    for sort, found in tables.items():
        for at, table in found:
            made, refused = _read(kind_class(sort), table, at)
            things[sort] += made
            problems += refused
    for check in _CHECKS:
        problems += check(tables)
    if problems:
        raise Unfit(list(dict.fromkeys(problems)))
    (farm,) = things.pop("farm")
    return Wanted(
        cast("Farm", farm), {sort: tuple(made) for sort, made in things.items()}
    )


def read_checklist(values: Table) -> Checklist:
    """Read a checklist's values; raises ``Unfit`` with every problem at once."""
    values = _composed(values)
    problems = list(_odd_values(values))
    if "approver" in values:
        what = "leave this out: who approves is said when it is adopted (--by)"
        problems.append(Problem(("approver",), what))
    made, refused = _read(Checklist, values, ())
    problems += refused
    for checklist in made:
        problems += _wrong_words(checklist)
        try:
            check_adoptable(checklist)
        except CannotBe as failure:
            problems.append(_refusal(failure, ()))
    if problems:
        raise Unfit(problems)
    return made[0]


def _composed(value: Any) -> Any:
    """The same with every text in the form in which the record keeps it (NFC)."""
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, Mapping):
        return {key: _composed(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_composed(item) for item in value]
    return value


_ANY: Final = "2000-01-01T00:00:00Z"
"""A moment for a line that is written only to see whether it can be."""


def _read(cls: type[K], table: Any, at: Path) -> tuple[list[K], list[Problem]]:
    try:
        made = read_plain(cls, table, at)
        write_line(Entry("x", 1, made.kind, _ANY, _ANY, "x", made.body()))
    except Unfit as unfit:
        return [], unfit.problems
    except Unwritable as failure:
        return [], [Problem(at, failure.details["what"])]
    return [made], []


def _tables(values: Table, sort: str) -> list[tuple[Path, Any]]:
    given = values.get(sort)
    if sort == "farm":
        return [((sort,), given)] if isinstance(given, Mapping) else []
    rows = given if isinstance(given, list) else []
    return [((sort, place), row) for place, row in enumerate(rows)]


def _wrong_tables(values: Table) -> Iterator[Problem]:
    """Tables that are missing, unknown, or written with the wrong brackets."""
    for key, given in values.items():
        if key not in SORTS:
            what = "there is no such table in a farm file"
            yield Problem((key,), what + _near(key, SORTS))
        elif key == "farm" and not isinstance(given, Mapping):
            yield Problem((key,), "stands once, in single brackets: [farm]")
        elif key != "farm" and not isinstance(given, list):
            what = f"stands in double brackets, once for each: [[{key}]]"
            yield Problem((key,), what)
    if "farm" not in values:
        yield Problem(("farm",), "is missing: a farm file begins with [farm]")


# controls, half pairs, ends of lines and of paragraphs: a line holds none of them
_NOT_ON_A_LINE: Final = ("Cc", "Cs", "Zl", "Zp")


def _odd_values(value: Any, at: Path = ()) -> Iterator[Problem]:
    """Texts and numbers that have no place on a line of the record."""
    if isinstance(value, Mapping):
        for key, item in value.items():
            yield from _odd_values(item, (*at, key))
    elif isinstance(value, list):
        for place, item in enumerate(value):
            yield from _odd_values(item, (*at, place))
    elif isinstance(value, str):
        if any(unicodedata.category(char) in _NOT_ON_A_LINE for char in value):
            yield Problem(at, "stands on one line, without tabs or line breaks")
    elif isinstance(value, Decimal | int) and _too_long(Decimal(value)):
        yield Problem(at, "is too long a number")


def _too_long(number: Decimal) -> bool:
    if not number.is_finite():
        return False  # the field's own reader says that it is no number
    return len(number.as_tuple().digits) > MOST_DIGITS or (
        number != 0 and abs(number.adjusted()) >= MOST_DIGITS
    )


def _refusal(failure: CannotBe, at: Path) -> Problem:
    return Problem((*at, failure.details["key"]), failure.details["what"])


def _near(given: str, known: Iterable[str]) -> str:
    near = get_close_matches(given, list(known), 1)
    return f"; did you mean {near[0]!r}?" if near else ""


Tables = Mapping[str, list[tuple[Path, Any]]]


def _said(tables: Tables, sort: str, key: str) -> Iterator[tuple[Path, str]]:
    """The texts that stand under a key of a sort, right or wrong otherwise."""
    for at, table in tables[sort]:
        if isinstance(table, Mapping) and isinstance(table.get(key), str):
            yield (*at, key), table[key]


def _unknown_references(tables: Tables) -> Iterator[Problem]:
    for sort, key, target in REFERENCES:
        known = [code for _, code in _said(tables, target, "code")]
        for at, code in _said(tables, sort, key):
            if code not in known:
                what = f"there is no {target} {code!r} in this file"
                yield Problem(at, what + _near(code, known))


def _codes_twice(tables: Tables) -> Iterator[Problem]:
    """In wet gloves nobody tells R1 from r1: codes differ by more than their case."""
    for sort in SORTS:
        seen: dict[str, str] = {}
        for at, code in _said(tables, sort, "code"):
            if sort == "tray":
                continue
            if code.casefold() in seen:
                what = f"there is a {sort} {seen[code.casefold()]!r} already"
                yield Problem(at, what)
            seen.setdefault(code.casefold(), code)


def _trays_twice(tables: Tables) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for at, codes in _said(tables, "tray", "code"):
        try:
            trays = expand(codes)
        except CannotBe:
            continue
        twice = next((tray for tray in trays if tray.casefold() in seen), None)
        if twice is not None:
            yield Problem(at, f"{twice} is in {seen[twice.casefold()]!r} already")
        seen |= {tray.casefold(): codes for tray in trays}
        if len(seen) > MOST_TRAYS:
            yield Problem(at, f"is more than {MOST_TRAYS} trays in all")
            return


def _wrong_farm(tables: Tables) -> Iterator[Problem]:
    for at, zone in _said(tables, "farm", "time_zone"):
        try:
            zone_of(zone)
        except NoSuchZone as failure:
            yield Problem(at, str(failure))
    for at, farm in tables["farm"]:
        made, _ = _read(Farm, farm, at)
        yield from (p for f in made for p in _overlapping_seasons(f, (*at, "season")))


def _overlapping_seasons(farm: Farm, at: Path) -> Iterator[Problem]:
    for place, (before, after) in enumerate(pairwise(farm.season), 1):
        if before.last is None:
            yield Problem((*at, place - 1), "has no last day, yet another follows it")
        elif after.first <= before.last:
            yield Problem((*at, place, "first"), "lies within the stretch before it")


def _nobody_in_charge(tables: Tables) -> Iterator[Problem]:
    people = [table for _, table in tables["person"] if isinstance(table, Mapping)]
    if not any("manager" in _list(person.get("roles")) for person in people):
        what = 'nobody is a manager; somebody must approve: roles = ["manager"]'
        yield Problem(("person",), what)


def _tags_twice(tables: Tables) -> Iterator[Problem]:
    """An animal is in one group at a time, or a trace would feed it twice."""
    seen: dict[str, str] = {}
    for at, group in tables["animals"]:
        members = _list(group.get("members")) if isinstance(group, Mapping) else []
        for place, tag in enumerate(members):
            if not isinstance(tag, str):
                continue
            if tag in seen:
                what = f"{tag!r} is in {seen[tag]!r} already"
                yield Problem((*at, "members", place), what)
            seen.setdefault(tag, str(group.get("code")))


def _list(given: Any) -> list[Any]:
    return given if isinstance(given, list) else []


def _wrong_pipes(tables: Tables) -> Iterator[Problem]:
    for at, line in tables["line"]:
        runs = _list(line.get("runs")) if isinstance(line, Mapping) else []
        for place, run in enumerate(runs):
            fault = _pipe_fault(run) if isinstance(run, str) else None
            if fault is not None:
                yield Problem((*at, "runs", place), fault)


def _pipe_fault(run: str) -> str | None:
    try:
        read_pipe(run)
    except WronglyPut as failure:
        return str(failure)
    return None


def _wrong_strengths(tables: Tables) -> Iterator[Problem]:
    for at, product in tables["product"]:
        if not isinstance(product, Mapping):
            continue
        for place, active in enumerate(_list(product.get("actives"))):
            if isinstance(active, Mapping) and isinstance(active.get("strength"), str):
                fault = _strength_fault(active, product.get("solid") is True)
                if fault is not None:
                    yield Problem((*at, "actives", place, "strength"), fault)


def _strength_fault(active: Table, solid: bool) -> str | None:
    """What is wrong with a strength, in the words of a farm file."""
    density = active.get("density_kg_per_l")
    density = float(density) if isinstance(density, Decimal | int) else None
    by_weight = any(word in active["strength"].lower() for word in ("w/w", "/kg"))
    if by_weight and not solid and density is None:
        return "is by weight: add density_kg_per_l (on the data sheet), or solid = true"
    try:
        read_strength(
            active["strength"],
            active=_known_active(active.get("name")),
            density_kg_per_l=density,
            solid=solid,
        )
    except WronglyPut as failure:
        return str(failure)
    return None


def _known_active(name: Any) -> str:
    """The active to read a strength by; any without a salt of its own will do."""
    try:
        return read_active(name) if isinstance(name, str) else PERACETIC
    except WronglyPut:
        return PERACETIC


def _unknown_parameters(tables: Tables) -> Iterator[Problem]:
    """Water parameters that nothing is known by: in limits, and what kits read."""
    points = [code for _, code in _said(tables, "point", "code")]
    for at, farm in tables["farm"]:
        for place, limit in enumerate(_list(farm.get("water_limits"))):
            if isinstance(limit, Mapping):
                here = (*at, "water_limits", place)
                yield from _parameter(limit.get("parameter"), (*here, "parameter"))
                for nth, point in enumerate(_list(limit.get("at_points"))):
                    if point not in points:
                        what = f"there is no point {point!r} in this file"
                        yield Problem((*here, "at_points", nth), what)
    for at, kit in tables["kit"]:
        reads = _list(kit.get("reads")) if isinstance(kit, Mapping) else []
        for place, name in enumerate(reads):
            yield from _parameter(name, (*at, "reads", place))


def _wrong_clauses(tables: Tables) -> Iterator[Problem]:
    """The farm's own rules: each once, answered by kinds of entry that there are."""
    for at, farm in tables["farm"]:
        seen: set[str] = set()
        for place, clause in enumerate(_list(farm.get("clauses"))):
            here = (*at, "clauses", place)
            if not isinstance(clause, Mapping):
                continue
            code = clause.get("code")
            if isinstance(code, str) and code in seen:
                yield Problem((*here, "code"), f"{code!r} stands there already")
            seen.add(str(code))
            for nth, kind in enumerate(_list(clause.get("answered_by"))):
                if isinstance(kind, str) and kind not in HOMES:
                    what = f"there is no kind of entry {kind!r}"
                    yield Problem(
                        (*here, "answered_by", nth), what + _near(kind, HOMES)
                    )


def _parameter(given: Any, at: Path) -> Iterator[Problem]:
    if isinstance(given, str) and given not in BY_CODE:
        what = f"there is no water parameter {given!r}"
        yield Problem(at, what + _near(given.lower(), BY_CODE))


_CHECKS: Final = (
    _wrong_clauses,
    _unknown_parameters,
    _unknown_references,
    _codes_twice,
    _trays_twice,
    _wrong_farm,
    _nobody_in_charge,
    _tags_twice,
    _wrong_pipes,
    _wrong_strengths,
)


def _wrong_words(checklist: Checklist) -> Iterator[Problem]:
    """Words of a checklist that name something else in the program."""
    for place, step in enumerate(checklist.steps):
        if step.writes is not None and step.writes not in HOMES:
            what = f"there is no kind of entry {step.writes!r}"
            yield Problem(("steps", place, "writes"), what + _near(step.writes, HOMES))
