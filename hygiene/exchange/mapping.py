"""A mapping file: what a spreadsheet's headings and cells mean, written down once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple

from hygiene.kinds.base import Problem
from hygiene.toml_file import read_toml

TABLES: Final = ("columns", "always")
TEXTS: Final = ("kind", "dates", "decimal", "encoding", "file")
CHOICES: Final = {
    "dates": ("dmy", "mdy", "ymd"),
    "decimal": ("comma", "point"),
}


class Said(NamedTuple):
    """What a mapping file says; everything is empty where there is none.

    ``columns`` are headings and the columns that they are (``-``: left out), ``always``
    what stands in every line, ``values`` what is meant by a cell of a column; ``file``
    is the spreadsheet, where several are named together as [[sheet]].
    """

    columns: Mapping[str, str] = {}
    always: Mapping[str, str] = {}
    values: Mapping[str, Mapping[str, str]] = {}
    kind: str | None = None
    dates: str | None = None
    decimal: str | None = None
    encoding: str | None = None
    head_line: int = 1
    file: str | None = None


def read_mapping(path: Path) -> Said:
    """Read a mapping file; raises ``WrongFile`` with every problem, line and key."""
    document = read_toml(path)
    problems = list(_problems(document.values))
    if problems:
        raise document.wrong(problems)
    return Said(**document.values)


def read_binder(path: Path) -> list[Said]:
    """Read a file that names several spreadsheets, each with what it means."""
    document = read_toml(path)
    sheets = document.values.get("sheet")
    problems = [
        Problem((key,), "here stand only tables [[sheet]]")
        for key in document.values
        if key != "sheet"
    ]
    if not isinstance(sheets, list) or not sheets:
        problems.append(Problem(("sheet",), "name each spreadsheet under [[sheet]]"))
        sheets = []
    for place, sheet in enumerate(sheets):
        at = ("sheet", place)
        if not isinstance(sheet, Mapping):
            problems.append(Problem(at, "a table is wanted here: [[sheet]]"))
            continue
        if "file" not in sheet:
            problems.append(Problem((*at, "file"), "is missing"))
        problems += (Problem((*at, *p.key), p.what) for p in _problems(sheet))
    if problems:
        raise document.wrong(problems)
    return [Said(**sheet) for sheet in sheets]


def _problems(values: Mapping[str, Any]) -> Iterator[Problem]:
    for key, value in values.items():
        if key in TABLES:
            yield from _texts((key,), value)
        elif key == "values":
            if not isinstance(value, Mapping):
                yield Problem((key,), "a table is wanted here: [values.by]")
                continue
            for column, said in value.items():
                yield from _texts((key, column), said)
        elif key == "head_line":
            if type(value) is not int or not 1 <= value <= 1000:
                yield Problem((key,), "the number of the line with the headings")
        elif key not in TEXTS:
            known = ", ".join(Said._fields)
            yield Problem((key,), f"there is no such key here; there are: {known}")
        elif not isinstance(value, str):
            yield Problem((key,), "a text in quotes is wanted here")
        elif value not in CHOICES.get(key, (value,)):
            yield Problem((key,), f"is one of {', '.join(CHOICES[key])}")


def _texts(at: tuple[str, ...], value: Any) -> Iterator[Problem]:
    if not isinstance(value, Mapping):
        yield Problem(at, f"a table is wanted here: [{'.'.join(at)}]")
        return
    for key, text in value.items():
        if not isinstance(text, str):
            yield Problem((*at, key), "a text in quotes is wanted here")
