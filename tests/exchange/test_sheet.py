"""A spreadsheet saved as CSV, with what spreadsheets do to one."""

from __future__ import annotations

import pytest

from hygiene.exchange.sheet import (
    LARGEST_BYTES,
    LONGEST_CELL,
    NotReadable,
    Row,
    Sheet,
    Wrong,
    open_sheet,
)


def sheet(text: str | bytes, **how: object) -> Sheet:
    content = text.encode() if isinstance(text, str) else text
    return open_sheet(content, "f.csv", **how)


def cells(text: str | bytes, **how: object) -> list[list[str]]:
    return [row.cells for row in sheet(text, **how).rows() if isinstance(row, Row)]


def wrong(text: str) -> list[tuple[int, str]]:
    return [
        (row.line, row.what) for row in sheet(text).rows() if isinstance(row, Wrong)
    ]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_spreadsheet_s_own_encodings_are_read(encoding: str):
    """UTF-8 with or without its mark, and UTF-16."""
    assert sheet("a;b\r\né;1\r\n".encode(encoding)).heads == ("a", "b")
    assert cells("a;b\r\né;1\r\n".encode(encoding)) == [["é", "1"]]


def test_utf_16_without_its_mark_is_read():
    """Every second byte of plain text is NUL."""
    assert cells("a;b\r\n1;2\r\n".encode("utf-16-le")) == [["1", "2"]]


def test_another_encoding_is_asked_for():
    """A byte that is not UTF-8 is said with its line; --encoding says what it is."""
    content = "a,b\nGruß,1\n".encode("cp1252")
    with pytest.raises(NotReadable, match=r"line 2: is not UTF-8 \(byte 0xdf\)"):
        sheet(content)
    assert cells(content, encoding="cp1252") == [["Gruß", "1"]]


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_the_delimiter_is_that_of_the_headings(mark: str):
    """Comma, semicolon, tab or bar."""
    assert cells(f"a{mark}b\n1{mark}2\n") == [["1", "2"]]


def test_the_line_that_says_the_delimiter_is_obeyed():
    """Some spreadsheets write sep=; above the headings."""
    made = sheet("sep=;\na;b\n1;2\n")
    assert made.heads == ("a", "b")
    assert [row.line for row in made.rows()] == [3]


def test_empty_lines_and_empty_columns_are_passed_over():
    """Lines keep their numbers in the file."""
    rows = list(sheet("a;b;;\n\n;;;\n1;2;;\n").rows())
    assert rows == [Row(4, ["1", "2"], 4)]


def test_a_cell_over_two_lines_is_one_text():
    """Its line end becomes a space; what comes after keeps its number."""
    rows = list(sheet('a,b\n"x\ny",1\n2,3\n').rows())
    assert rows == [Row(2, ["x y", "1"], 3), Row(4, ["2", "3"], 4)]


def test_a_quote_that_is_never_closed_spoils_its_own_line_only():
    """The lines that it ran into are read by themselves."""
    text = 'a,b\n"x,1\n2,3\n4,5\n'
    assert wrong(text) == [(2, "a quote is opened and never closed")]
    assert cells(text) == [["2", "3"], ["4", "5"]]


def test_an_inch_is_no_quote():
    """A quote within a bare text is a letter like any other."""
    assert cells('a,b\n5" pipe,1\n3" hose,2\n') == [['5" pipe', "1"], ['3" hose', "2"]]


def test_a_quote_where_none_can_stand_is_told():
    """Text behind a closing quote."""
    assert wrong('a,b\n"x"y,1\n') == [(2, "a quote stands where none can")]


def test_more_cells_than_headings_are_told():
    """As a rule a comma within a text that has no quotes."""
    assert wrong("a,b\n1,2,3\n1,2,,\n") == [(2, "has 3 cells, the headings are 2")]


def test_a_line_that_is_too_short_is_filled():
    """Spreadsheets leave the empty cells at its end away."""
    assert cells("a,b,c\n1\n") == [["1", "", ""]]


@pytest.mark.parametrize("length", [LONGEST_CELL + 1, 200_000])
def test_a_huge_cell_is_told(length: int):
    """No text of a record is that long."""
    assert wrong(f"a,b\n{'x' * length},1\n") == [
        (2, "a cell is longer than 4,000 letters")
    ]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"PK\x03\x04\x14\x00", "is a spreadsheet's own file"),
        (b"\r\n ;;\r\n", "is empty"),
        (b"a,b\n1,\x002\n", "line 2: holds a NUL character"),
        (b"x" * (LARGEST_BYTES + 1), "larger than 20 MB"),
        (b",".join([b"x"] * 201) + b"\n", "has 201 columns"),
        (b'"a,b\n1,2\n', "a quote is opened and never closed"),
    ],
)
def test_what_is_no_table_is_refused_in_one_line(content: bytes, says: str):
    """With the line, where there is one."""
    with pytest.raises(NotReadable, match=says):
        sheet(content)


def test_a_title_above_the_headings_is_passed_over_when_it_is_said():
    """head_line says where the headings stand."""
    assert cells("Fed 2025,,\n,,\na,b\n1,2\n", head_line=3) == [["1", "2"]]
