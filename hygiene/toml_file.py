"""A TOML file that a person wrote: its values, and the line of every key in it.

Whatever is wrong is said with the file, the line and the key. The standard library's
parser says where a file stops being TOML, but not where a key that it has read stood;
so the lines are found by a second walk over the text, made only when there is
something to say.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal, DecimalException
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from hygiene.errors import WrongFile
from hygiene.kinds.base import Problem
from hygiene.plain_file import content_of

LARGEST_BYTES: Final = 1_000_000
DEEPEST: Final = 8
"""Levels of tables and lists; a farm file needs five."""
_TOO_DEEP: Final = "keys, tables or lists are nested too deep"
MOST_TOLD: Final = 40
"""Problems told at once; more than that is not the file that was meant."""

KeyPath = tuple[str | int, ...]
"""Keys and, in lists, places counted from zero: ``("person", 2, "roles", 0)``."""


class WrongKeys(WrongFile):
    """Everything that is wrong with a file, one line each."""

    sentence = "{told}"


@dataclass(frozen=True)
class Document:
    """A TOML file that was read; numbers with a point are ``Decimal``, as typed."""

    name: str
    text: str
    values: dict[str, Any]

    @cached_property
    def _lines(self) -> dict[KeyPath, int]:
        lines: dict[KeyPath, int] = {}
        try:
            for key, line in _Walk(self.text).places():
                lines.setdefault(key, line)
        except RecursionError:
            # nested too deep, and refused for that: the keys above it were found
            return lines
        return lines

    def line_of(self, key: KeyPath) -> int | None:
        """The line, counted from 1, where a key stands, or the nearest one above it.

        A key that is not there is looked for in its table, whose line is that of its
        header; None where not even that is written.
        """
        for end in range(len(key), 0, -1):
            if (line := self._lines.get(key[:end])) is not None:
                return line
        return None

    def wrong(self, problems: Iterable[Problem]) -> WrongKeys:
        """Make the failure that tells every problem, in the order of the lines."""
        return wrong_files([(self, problem) for problem in problems])

    def tell(self, problem: Problem) -> str:
        """One problem as a line: ``FARM.toml line 14, person[2].role: ...``.

        Places in lists are counted from 1 there: ``person[2]`` is the second one.
        """
        line = self.line_of(problem.key)
        place = "" if line is None else f" line {line}"
        key = f"{', ' if place else ' '}{shown(problem.key)}" if problem.key else ""
        return f"{self.name}{place}{key}: {shorten(problem.what)}"


def wrong_files(problems: Iterable[tuple[Document, Problem]]) -> WrongKeys:
    """Make one failure of the problems of one file or more."""
    told = [
        document.tell(problem)
        for document, problem in sorted(
            problems,
            key=lambda found: (
                found[0].name,
                found[0].line_of(found[1].key) or 0,
                shown(found[1].key),
            ),
        )
    ]
    if len(told) > MOST_TOLD:
        told[MOST_TOLD:] = [f"and {len(told) - MOST_TOLD} more"]
    return WrongKeys(told="\n".join(told))


def shorten(text: str, longest: int = 240) -> str:
    """Cut a text that quotes what a person typed, which may be a page long."""
    return text if len(text) <= longest else text[: longest - 3] + "..."


def shown(key: KeyPath) -> str:
    """A key path as a person reads it, places counted from 1."""
    said = "".join(
        f"[{part + 1}]" if isinstance(part, int) else f".{_quoted(part)}"
        for part in key
    )
    return said.removeprefix(".")


def _quoted(part: str) -> str:
    return part if re.fullmatch(r"[\w-]+", part) else repr(part)


def read_toml(path: Path, name: str | None = None) -> Document:
    """Read a TOML file; raises ``WrongFile`` with the file and, if known, the line.

    ``name`` is what it is called in messages. Refused are what is not UTF-8 or not
    TOML, files over 1 MB, and tables and lists nested more than eight deep.
    """
    name = name or path.name
    text = _text(path, name)
    if (long := _LONG_KEY.search(text)) is not None:
        raise _wrong(name, _TOO_DEEP, text.count("\n", 0, long.start()) + 1)
    try:
        values = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as failure:
        raise _not_toml(name, text, failure) from failure
    except RecursionError as failure:
        raise _wrong(name, _TOO_DEEP) from failure
    except (ValueError, DecimalException) as failure:
        # Python's own limits on digits and exponents
        raise _wrong(name, "a number in it is too long to be read") from failure
    document = Document(name, text, values)
    deep = _too_deep(values)
    if deep is not None:
        raise document.wrong([Problem(deep, _TOO_DEEP)])
    return document


def _text(path: Path, name: str) -> str:
    try:
        content = content_of(path, LARGEST_BYTES)
    except FileNotFoundError as failure:
        raise _wrong(name, "there is no such file") from failure
    except OSError as failure:
        raise _wrong(name, f"cannot be read: {failure.strerror}") from failure
    if len(content) > LARGEST_BYTES:
        raise _wrong(name, "is over 1 MB, too large for a file of this sort")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as failure:
        line = content.count(b"\n", 0, failure.start) + 1
        raise _wrong(name, "is not UTF-8 text; save it as UTF-8", line) from failure
    return text.replace("\r\n", "\n")


def _wrong(name: str, what: str, line: int | None = None) -> WrongFile:
    place = "" if line is None else f" line {line}"
    return WrongFile(file=name, place=place, what=what)


# the parser keeps every beginning of a dotted key: a long one fills the memory
_LONG_KEY: Final = re.compile(
    r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){16}"""
)

_SAID_PLAINLY: Final = {
    "Cannot overwrite a value": "this key is written twice",
    "Cannot declare .* twice": "this [table] is written twice",
    "Cannot (mutate|expand) .*": "this [table] stands there already in another form",
    "Invalid value": 'the value cannot be read: text stands in "quotes", '
    "a date is 2026-03-31",
    "Invalid statement": "a key or a [table] is wanted here",
    "Illegal character .*n'": "the closing quote is missing",
    "Expected '=' after a key .*": "a key wants = and a value",
    "Expected newline or end .*": "more stands here than one value: text stands "
    'in "quotes"',
}
"""What the standard library's parser says, by pattern, in our words."""
_WHERE: Final = re.compile(
    r"(?s)(.*) \(at (?:line (\d+), column \d+|end of document)\)"
)
_KEY_AT_START: Final = re.compile(r"\s*([\w.\"'-]+)\s*=|\s*\[+\s*([\w.\"'-]+)")


def _not_toml(name: str, text: str, failure: tomllib.TOMLDecodeError) -> WrongFile:
    found = _WHERE.fullmatch(str(failure))
    said, line = (found[1], found[2]) if found else (str(failure), None)
    rows = text.split("\n")
    number = int(line) if line else len(rows)
    key = _KEY_AT_START.match(rows[number - 1])
    place = f" line {number}" + (f", {key[1] or key[2]}" if key else "")
    return WrongFile(file=name, place=place, what=_plainly(said))


def _plainly(said: str) -> str:
    for pattern, plain in _SAID_PLAINLY.items():
        if re.fullmatch(pattern, said):
            return plain
    return said[:1].lower() + said[1:]


def _too_deep(values: dict[str, Any]) -> KeyPath | None:
    waiting: list[tuple[KeyPath, Any]] = [((), values)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, dict | list) and len(path) > DEEPEST:
            return path
        if isinstance(value, dict):
            waiting += [((*path, key), item) for key, item in value.items()]
        elif isinstance(value, list):
            waiting += [((*path, place), item) for place, item in enumerate(value)]
    return None


_BLANK: Final = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_STRING: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")'
    r"|'''.*?'{3,5}(?!')"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE: Final = re.compile(r"[^,\]}#\n]+")
_DOT: Final = re.compile(r"[ \t]*\.[ \t]*")


class _Walk:
    """A walk over a text that is known to be TOML, telling where each key stands."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.starts = [match.end() for match in re.finditer("\n", text)]
        self.rows: dict[KeyPath, int] = {}
        """How many [[tables]] each list of tables has so far."""

    def places(self) -> Iterator[tuple[KeyPath, int]]:
        table: KeyPath = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text.startswith("[", self.at):
                line = self._line()
                table = self._header()
                yield from ((table[:end], line) for end in range(len(table), 0, -1))
            else:
                yield from self._pair(table)
            self._skip(_BLANK)

    def _header(self) -> KeyPath:
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        *above, last = self._key()
        self.at = self.text.index("]", self.at) + (2 if many else 1)
        path: KeyPath = ()
        for part in above:
            path = self._latest((*path, part))
        path = (*path, last)
        if many:
            self.rows[path] = self.rows.get(path, -1) + 1
        return self._latest(path)

    def _latest(self, path: KeyPath) -> KeyPath:
        return (*path, self.rows[path]) if path in self.rows else path

    def _pair(self, table: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        line = self._line()
        path = table
        for part in self._key():
            path = (*path, part)
            yield path, line
        self.at = self.text.index("=", self.at) + 1
        yield from self._value(path)

    def _key(self) -> list[str]:
        parts = []
        while True:
            self._skip(_BLANK)
            parts.append(self._key_part())
            dot = _DOT.match(self.text, self.at)
            if dot is None:
                return parts
            self.at = dot.end()

    def _key_part(self) -> str:
        bare = self._skip(_BARE_KEY)
        if bare:
            return bare
        made = tomllib.loads(f"{self._skip(_STRING)} = 0")
        return next(iter(made))

    def _value(self, path: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        self._skip(_BLANK)
        opens = self.text[self.at]
        if opens == "[":
            yield from self._list(path)
        elif opens == "{":
            yield from self._inline(path)
        elif not self._skip(_STRING):
            self._skip(_BARE_VALUE)

    def _list(self, path: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        for place in self._items("]"):
            yield (*path, place), self._line()
            yield from self._value((*path, place))

    def _inline(self, path: KeyPath) -> Iterator[tuple[KeyPath, int]]:
        for _ in self._items("}"):
            yield from self._pair(path)

    def _items(self, closes: str) -> Iterator[int]:
        self.at += 1
        place = 0
        while True:
            self._skip(_BLANK)
            if self.text[self.at] == ",":
                self.at += 1
                self._skip(_BLANK)
            if self.text[self.at] == closes:
                self.at += 1
                return
            yield place
            place += 1

    def _skip(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            return ""
        self.at = found.end()
        return found[0]

    def _line(self) -> int:
        return bisect_right(self.starts, self.at) + 1
