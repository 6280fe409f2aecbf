"""Entries as CSV and CSV-on-the-Web metadata, and back without loss."""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.exchange.table import (
    BEYOND,
    Column,
    Table,
    bare,
    cell,
    columns_of,
    metadata,
    row_of,
    table_of,
    to_csv,
)
from hygiene.kinds import HOMES
from hygiene.kinds.entry import Entry

ROWS = Table("rows", "Some rows", (Column("a"), Column("b")))


def feed(**body: object) -> Entry:
    moment = "2026-03-05T08:00:00+00:00"
    return Entry("shed-aaaa", 7, "feed", moment, moment, "AB", body)


def read(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode(), newline="")))


def test_the_file_is_as_rfc_4180_says():
    """A line of headings, CRLF behind every line, quotes doubled, no mark in front."""
    made = to_csv(ROWS, [('say "no"', "a,b"), ("two\r\nlines", None)])
    assert made == b'a,b\r\n"say ""no""","a,b"\r\n"two\r\nlines",\r\n'


def test_numbers_keep_their_digits_and_a_list_is_json():
    """0.50 stays 0.50, alone and within a list."""
    assert cell(Decimal("0.50")) == "0.50"
    assert cell([{"lot": "L-1", "value": Decimal("0.50")}, True]) == (
        '[{"lot":"L-1","value":0.50},true]'
    )


@pytest.mark.parametrize("start", ["=1+1", "+1", "-1", "@A", "'=1", "\t=1", "＝1"])
def test_a_text_is_never_a_formula(start: str):
    """A spreadsheet shows it as text; one mark taken away gives it back."""
    assert cell(start) == "'" + start
    assert bare(cell(start)) == start


def test_a_number_below_zero_bears_no_mark():
    """Only texts do: a number is no formula."""
    assert cell(-5) == "-5"
    assert cell("=") == "="
    assert cell(Decimal("-0.5")) == "-0.5"


def test_what_stands_behind_a_semicolon_is_quoted():
    """A spreadsheet that parts at semicolons finds no formula behind one."""
    assert to_csv(ROWS, [("a;=1", "b")]).endswith(b'"a;=1",b\r\n')


@given(st.lists(st.tuples(st.text(), st.text()), max_size=5))
def test_every_text_comes_back_letter_by_letter(rows: list[tuple[str, str]]):
    """Whatever was written, quotes, ends of lines and formulas among it."""
    rows = [row for row in rows if not _half(row)]
    back = [tuple(map(bare, row)) for row in read(to_csv(ROWS, rows))[1:]]
    assert back == rows


def _half(row: tuple[str, str]) -> bool:
    # half a surrogate pair and NUL: no line of a record holds them
    return any("\ud800" <= char <= "\udfff" or char == "\0" for char in "".join(row))


@pytest.mark.parametrize("kind", HOMES)
def test_every_kind_has_its_columns_once(kind: str):
    """Envelope, fields, what lies beyond: no name twice."""
    names = [column.name for column in columns_of(kind)]
    assert len(set(names)) == len(names)


def test_a_row_has_what_the_entry_says():
    """What was not said is an empty cell; a field that is not known is kept."""
    entry = feed(batch="B-1", trays=["T1", "T2"], grams=900, odd={"x": 1})
    (head, row) = read(to_csv(table_of("feed"), [row_of("feed", entry)]))
    said = dict(zip(head, row, strict=True))
    assert said["entry"] == "shed-aaaa/7"
    assert said["trays"] == '["T1","T2"]'
    assert said["note"] == ""
    assert said[BEYOND.name] == '{"odd":{"x":1}}'


def test_the_metadata_names_each_column_and_its_datatype():
    """As CSV on the Web wants it: context, url, schema, key."""
    told = json.loads(metadata(table_of("feed")))
    assert told["@context"] == "http://www.w3.org/ns/csvw"
    assert told["url"] == "feed.csv"
    columns = {c["name"]: c["datatype"] for c in told["tableSchema"]["columns"]}
    assert list(columns) == [column.name for column in columns_of("feed")]
    assert columns["grams"] == "integer"
    assert columns["happened_at"] == "dateTimeStamp"
    assert told["tableSchema"]["primaryKey"] == ["entry"]


def test_several_tables_stand_in_one_description():
    """A table of a list field names the entry that it belongs to."""
    part = Table("feed_trays", "Trays", (Column("entry"),), ("entry",), "feed")
    told = json.loads(metadata(table_of("feed"), part, says="A farm"))
    assert [table["url"] for table in told["tables"]] == ["feed.csv", "feed_trays.csv"]
    (key,) = told["tables"][1]["tableSchema"]["foreignKeys"]
    assert key["reference"] == {"resource": "feed.csv", "columnReference": "entry"}


def test_a_day_is_written_as_a_day():
    """ISO 8601, as CSV on the Web reads a date."""
    assert cell(date(2026, 3, 5)) == "2026-03-05"
