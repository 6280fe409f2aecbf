"""Tables: a kind of entry, or any rows, as CSV (RFC 4180) and its CSV-on-the-Web
metadata (W3C Recommendation of 17 December 2015: tabular data model and metadata).

Lines end in CRLF, the text is UTF-8 without a mark, the first line names the columns.
What was not said is an empty cell; a list is JSON in its cell, numbers with the digits
as typed. A spreadsheet takes a text that begins with ``= + - @`` for a formula: such a
text, and one that begins with ``'``, bears one ``'`` in front, and only text columns
do. Whoever reads the file back takes exactly one ``'`` away (``bare``), so that every
text comes back letter by letter.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import is_dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final, NamedTuple

from hygiene.kinds import kind_class
from hygiene.kinds.base import Shape, shapes
from hygiene.kinds.entry import Entry

CONTEXT: Final = "http://www.w3.org/ns/csvw"
DATATYPES: Final = {
    str: "string",
    int: "integer",
    bool: "boolean",
    Decimal: "decimal",
    date: "date",
}
FORMULA: Final = tuple("=+-@'\t\r\n＝＋－＠")
"""What a spreadsheet reads as the start of a formula, and the mark against it."""
SIGNS: Final = ("=", "+", "-")
"""Alone they are no formula; the sign of a result is one."""
# a spreadsheet that parts at ; or at a tab must not find a formula behind one
_QUOTED: Final = re.compile(r'[",;\t\r\n]')


class Column(NamedTuple):
    """One column: ``datatype`` is a built-in datatype of CSV on the Web."""

    name: str
    datatype: str = "string"
    says: str = ""
    required: bool = False


class Table(NamedTuple):
    """What a file holds: ``name`` without ``.csv``, ``key`` names what tells two rows
    apart, ``of`` is the table whose ``entry`` its own column ``entry`` names.
    """

    name: str
    says: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    of: str | None = None

    @property
    def file(self) -> str:
        """The file's name."""
        return f"{self.name}.csv"


ENVELOPE: Final = (
    Column("entry", "string", "the entry's name for ever", required=True),
    Column("happened_at", "dateTimeStamp", "when it was done or seen", required=True),
    Column("recorded_at", "dateTimeStamp", "when it was written down", required=True),
    Column("by", "string", "who did or saw it", required=True),
    Column("written_by", "string", "who typed it, if another"),
    Column("corrects", "string", "the first entry of the matter that it corrects"),
    Column("reason", "string", "why it was corrected or struck"),
)
BEYOND: Final = Column("beyond", "json", "fields that this version does not know")


def columns_of(kind: str) -> tuple[Column, ...]:
    """The columns of a kind: its envelope, its fields, and what lies beyond those."""
    fields = (field_column(shape) for shape in shapes(kind_class(kind)))
    return (*ENVELOPE, *fields, BEYOND)


def field_column(shape: Shape) -> Column:
    """The column of one field; a list, or a table of fields, is JSON.

    None is required: an older entry may lack what is wanted today.
    """
    inside = shape.many or is_dataclass(shape.item)
    datatype = "json" if inside else DATATYPES[shape.item]
    return Column(shape.name, datatype)


def table_of(kind: str, says: str = "") -> Table:
    """The table of a kind of entry, a row for each entry."""
    return Table(kind, says or f"entries: {kind}", columns_of(kind), ("entry",))


def row_of(kind: str, entry: Entry) -> list[Any]:
    """The values of an entry in the order of ``columns_of``; never raises.

    What does not fit its column, in an older or an odd entry, lies beyond.
    """
    values, beyond = [], dict(entry.body)
    for shape in shapes(kind_class(kind)):
        value = entry.body.get(shape.name)
        fitting = value is not None and _fits(shape, value)
        values.append(beyond.pop(shape.name) if fitting else None)
    return [
        entry.name,
        entry.happened_at,
        entry.recorded_at,
        entry.by,
        entry.written_by,
        entry.corrects,
        entry.reason,
        *values,
        beyond or None,
    ]


def _fits(shape: Shape, value: Any) -> bool:
    if shape.many or is_dataclass(shape.item):
        return isinstance(value, list if shape.many else Mapping)
    if shape.item is date:
        return isinstance(value, str) and _is_day(value)
    if isinstance(value, bool):
        return shape.item is bool
    return isinstance(value, int if shape.item is Decimal else shape.item) or (
        shape.item is Decimal and isinstance(value, Decimal)
    )


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


class Part(NamedTuple):
    """The table of one list field of a kind: a row for each item of each entry."""

    table: Table
    shape: Shape

    def rows(self, entry: Entry) -> Iterator[list[Any]]:
        """The rows of an entry: its name, the place in the list, what stands there."""
        items = entry.body.get(self.shape.name)
        for place, item in enumerate(items if isinstance(items, list) else (), 1):
            yield [entry.name, place, *self._values(item)]

    def _values(self, item: Any) -> Iterator[Any]:
        if not is_dataclass(self.shape.item):
            yield item if isinstance(item, str) else json_text(item)
            return
        row = item if isinstance(item, Mapping) else {}
        for shape in shapes(self.shape.item):
            value = row.get(shape.name)
            yield value if value is not None and _fits(shape, value) else None


def parts_of(kind: str) -> tuple[Part, ...]:
    """The tables of a kind's list fields, named as the record's own views."""
    lists = (shape for shape in shapes(kind_class(kind)) if shape.many)
    return tuple(Part(_part_table(kind, shape), shape) for shape in lists)


def _part_table(kind: str, shape: Shape) -> Table:
    inner = (
        tuple(map(field_column, shapes(shape.item)))
        if is_dataclass(shape.item)
        else (Column("value"),)
    )
    head = (
        Column("entry", "string", "the entry that says it", required=True),
        Column("place", "integer", "its place in the list", required=True),
    )
    says = f"{kind}: {shape.name}, a row for each"
    name = f"{kind}_{shape.name}"
    return Table(name, says, (*head, *inner), ("entry", "place"), kind)


def to_csv(table: Table, rows: Iterable[Sequence[Any]]) -> bytes:
    """The whole file: the line of headings, then a line for each row."""
    return "".join(csv_lines(table, rows)).encode()


def csv_lines(table: Table, rows: Iterable[Sequence[Any]]) -> Iterator[str]:
    """The file's lines one by one, each with its CRLF, for what is too long to hold."""
    yield _line(column.name for column in table.columns)
    for row in rows:
        yield _line(cell(value) for value in row)


def _line(cells: Iterable[str]) -> str:
    return ",".join(map(_quoted, cells)) + "\r\n"


def _quoted(text: str) -> str:
    if _QUOTED.search(text) is None:
        return text
    return '"' + text.replace('"', '""') + '"'


def cell(value: Any) -> str:
    """A value of a body as the text of its cell, before quoting."""
    match value:
        case None:
            return ""
        case str():
            marked = value.startswith(FORMULA) and value not in SIGNS
            return f"'{value}" if marked else value
        case list() | tuple() | Mapping():
            return json_text(value)
        case date():
            return value.isoformat()
    return _plain(value)


def bare(text: str) -> str:
    """The text of a cell of ours as it was before the mark against formulas."""
    return text[1:] if text.startswith("'") else text


def json_text(value: Any) -> str:
    """Plain values as JSON without spaces, numbers with the digits as typed."""
    match value:
        case str():
            return _string(value)
        case Mapping():
            pairs = (f"{_string(key)}:{json_text(item)}" for key, item in value.items())
            return "{" + ",".join(pairs) + "}"
        case list() | tuple():
            return "[" + ",".join(map(json_text, value)) + "]"
        case None:
            return "null"
        case date():
            return _string(value.isoformat())
    return _plain(value)


_string = json.JSONEncoder(ensure_ascii=False).encode


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


def metadata(*tables: Table, says: str = "") -> bytes:
    """The CSV-on-the-Web metadata of one file, or of several that stand together."""
    described = [_described(table) for table in tables]
    if len(described) == 1:
        made = {"@context": CONTEXT, **described[0], "dialect": _DIALECT}
    else:
        made = {"@context": CONTEXT, "dc:title": says, "dialect": _DIALECT}
        made["tables"] = described
    return (json.dumps(made, ensure_ascii=False, indent=1) + "\n").encode()


_DIALECT: Final = {"encoding": "utf-8", "lineTerminators": ["\r\n"], "header": True}
_MARK: Final = (
    "In a column of text, one ' in front of = + - @ or ' keeps a spreadsheet from "
    "running the text as a formula and is no part of it."
)


def _described(table: Table) -> dict[str, Any]:
    schema: dict[str, Any] = {"columns": [_column(each) for each in table.columns]}
    if table.key:
        schema["primaryKey"] = list(table.key)
    if table.of:
        schema["foreignKeys"] = [
            {
                "columnReference": "entry",
                "reference": {
                    "resource": f"{table.of}.csv",
                    "columnReference": "entry",
                },
            }
        ]
    return {
        "url": table.file,
        "dc:title": table.says,
        "dc:description": _MARK,
        "tableSchema": schema,
    }


def _column(column: Column) -> dict[str, Any]:
    made: dict[str, Any] = {"name": column.name, "titles": column.name}
    if column.says:
        made["dc:description"] = column.says
    made["datatype"] = column.datatype
    if column.required:
        made["required"] = True
    return made
