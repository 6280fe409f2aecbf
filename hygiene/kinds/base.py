"""How a kind of entry is defined once: fields, checks, references, and its JSON.

A kind is a frozen dataclass. Its constructor refuses what cannot be true, in words a
farm hand understands. Views, JSON keys, CSV headings and the reference fields are all
read off the dataclass; nothing about a kind is written down a second time.
"""

import dataclasses
import types
import typing
from collections.abc import Mapping
from dataclasses import MISSING, field, fields
from datetime import date
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from functools import cache
from typing import Any, ClassVar, NamedTuple, TypeVar

from hygiene.errors import CannotBe as CannotBe

K = TypeVar("K")


class Problem(NamedTuple):
    """Something wrong in what was handed in: the key's path, and what is wrong."""

    key: tuple[str | int, ...]
    what: str


def ref(**options: Any) -> Any:
    """A field that names something else: a tray, a lot, a line, an entry."""
    return field(metadata={"refers": True}, **options)


class Kind:
    """Base of every entry kind; gives it its name and its body."""

    __slots__ = ()
    kind: ClassVar[str]

    def body(self) -> dict[str, Any]:
        """The fields as plain values for the line; what was not said is left out."""
        made: dict[str, Any] = plain(self)
        return made


def plain(made: Any) -> Any:
    """Turn a dataclass into plain JSON values; None and empty tuples are left out."""
    names = _names(type(made))  # type: ignore[arg-type]
    if names is not None:
        pairs = [(name, plain(getattr(made, name))) for name in names]
        return {key: value for key, value in pairs if value is not None and value != []}
    if isinstance(made, tuple):
        return [plain(item) for item in made]
    if isinstance(made, date):
        return made.isoformat()
    return made


@cache
def _names(cls: Any) -> tuple[str, ...] | None:
    """The field names of a dataclass; None of anything else."""
    return tuple(f.name for f in fields(cls)) if dataclasses.is_dataclass(cls) else None


class Shape(NamedTuple):
    """What a field holds: its item type, and whether it is a list or may be absent."""

    name: str
    item: Any
    many: bool
    required: bool
    refers: bool


def shapes(cls: Any) -> tuple[Shape, ...]:
    """The fields of a dataclass, resolved; used for views, CSV and reading."""
    return _shapes(cls)


@cache
def _shapes(cls: Any) -> tuple[Shape, ...]:
    hints = typing.get_type_hints(cls)
    made = []
    for f in fields(cls):
        item, many = _unwrap(hints[f.name])
        required = f.default is MISSING and f.default_factory is MISSING
        made.append(Shape(f.name, item, many, required, bool(f.metadata.get("refers"))))
    return tuple(made)


def _unwrap(hint: Any) -> tuple[Any, bool]:
    if typing.get_origin(hint) in (types.UnionType, typing.Union):
        hint = next(a for a in typing.get_args(hint) if a is not type(None))
    if typing.get_origin(hint) is tuple:
        return typing.get_args(hint)[0], True
    return hint, False


class Unfit(Exception):
    """Carries every problem of what was handed in, from a reader to its caller."""

    def __init__(self, problems: list[Problem]) -> None:
        self.problems = problems
        super().__init__("; ".join(f"{p.key}: {p.what}" for p in problems))


def read_plain(cls: type[K], given: Any, at: tuple[str | int, ...] = ()) -> K:
    """Make ``cls`` from plain values (TOML, JSON, CSV); raises ``Unfit`` with all
    problems at once: unknown keys with the nearest, missing keys, wrong types, and
    what the constructor refuses.
    """
    if not isinstance(given, Mapping):
        raise Unfit([Problem(at, "a table of keys is wanted here")])
    known = {shape.name: shape for shape in shapes(cls)}
    problems = [
        Problem((*at, key), _unknown(key, known)) for key in given if key not in known
    ]
    values: dict[str, Any] = {}
    for name, shape in known.items():
        if name in given:
            try:
                values[name] = _read_field(shape, given[name], (*at, name))
            except Unfit as unfit:
                problems += unfit.problems
        elif shape.required:
            problems.append(Problem((*at, name), "is missing"))
    if problems:
        raise Unfit(problems)
    try:
        return cls(**values)
    except CannotBe as refused:
        key = refused.details["key"]
        raise Unfit([Problem((*at, key), refused.details["what"])]) from refused


def _unknown(key: str, known: Mapping[str, Any]) -> str:
    near = get_close_matches(key, known, 1)
    hint = f"; did you mean {near[0]!r}?" if near else ""
    return f"there is no such key here{hint}"


def _read_field(shape: Shape, given: Any, at: tuple[str | int, ...]) -> Any:
    if not shape.many:
        return _read_item(shape.item, given, at)
    if isinstance(given, str) or not isinstance(given, list | tuple):
        raise Unfit([Problem(at, "a list is wanted here, in square brackets")])
    made, problems = [], []
    for place, item in enumerate(given):
        try:
            made.append(_read_item(shape.item, item, (*at, place)))
        except Unfit as unfit:
            problems += unfit.problems
    if problems:
        raise Unfit(problems)
    return tuple(made)


_WANTED = {
    str: "text in quotes",
    int: "a whole number",
    bool: "true or false",
    Decimal: "a number",
    date: "a date such as 2026-03-31",
}


def _read_item(item: Any, given: Any, at: tuple[str | int, ...]) -> Any:
    if dataclasses.is_dataclass(item):
        return read_plain(typing.cast("type[Any]", item), given, at)
    made = _coerce(item, given)
    if made is None:
        raise Unfit([Problem(at, f"{_WANTED[item]} is wanted here, not {given!r}")])
    return made


def _coerce(item: Any, given: Any) -> Any:
    """The value as ``item``, or None. Nothing is guessed: text stays text."""
    if item is Decimal:
        if isinstance(given, bool) or not isinstance(given, int | float | Decimal):
            return None
        try:
            made = Decimal(str(given))
        except InvalidOperation:
            return None
        return made if made.is_finite() else None
    if item is date:
        if isinstance(given, str):
            try:
                return date.fromisoformat(given)
            except ValueError:
                return None
        return given if type(given) is date else None
    if item is int and isinstance(given, bool):
        return None
    return given if isinstance(given, item) else None
