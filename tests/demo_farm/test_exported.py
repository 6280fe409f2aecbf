"""The demonstration's record as tables: each row is the whole of its entry."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from parts_of_a_year import Part

from hygiene.exchange.export import METADATA, Wanted, to_tables
from hygiene.exchange.table import bare
from hygiene.kinds.entry import Entry, write_line

READ: dict[str, Callable[[str], Any]] = {
    "string": bare,
    "integer": int,
    "decimal": Decimal,
    "boolean": lambda text: text == "true",
    "json": lambda text: json.loads(text, parse_float=Decimal),
    "date": str,
    "dateTimeStamp": str,
}
ENVELOPE = ("happened_at", "recorded_at", "by", "written_by", "corrects", "reason")


@pytest.fixture(scope="module")
def folder(recent: Part, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("exported") / "out"
    to_tables(recent.record, made, Wanted(every_version=True))
    return made


def entries(folder: Path) -> Iterator[Entry]:
    """Every entry, made again of nothing but the tables and their metadata."""
    for table in json.loads((folder / METADATA).read_text())["tables"]:
        types = {c["name"]: c["datatype"] for c in table["tableSchema"]["columns"]}
        if "happened_at" not in types:
            continue
        with (folder / table["url"]).open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                said = {k: READ[types[k]](text) for k, text in row.items() if text}
                yield entry(table["url"].removesuffix(".csv"), said)


def entry(kind: str, said: dict[str, Any]) -> Entry:
    book, _, seq = said.pop("entry").rpartition("/")
    said.pop("stands")
    envelope = {key: said.pop(key, None) for key in ENVELOPE}
    body = {**said, **said.pop("beyond", {})}
    return Entry(book, int(seq), kind, body=body, **envelope)


def test_every_line_can_be_made_again_of_its_row(recent: Part, folder: Path):
    """Byte for byte: no digit, no letter and no entry is lost in a spreadsheet."""
    made = {entry.name: write_line(entry) for entry in entries(folder)}
    db = recent.record.db
    rows = db.execute("select book || '/' || seq, line from entry").fetchall()
    assert made == dict(rows)
