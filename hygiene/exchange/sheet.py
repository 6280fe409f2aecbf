"""A spreadsheet saved as CSV: its text, its lines, its cells. Nothing is guessed twice.

It takes what spreadsheets write: UTF-8 with or without their mark, UTF-16, commas,
semicolons or tabs, cells in quotes over several lines, empty lines. What cannot be
read is a ``Wrong`` with its line and what would be right; the other lines are read.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from hygiene.errors import WrongFile

LARGEST_BYTES: Final = 20_000_000
MOST_COLUMNS: Final = 200
LONGEST_CELL: Final = 4_000
LONGEST_RECORD_LINES: Final = 50
"""A cell in quotes that runs on for longer was never closed."""
DELIMITERS: Final = (",", ";", "\t", "|")
OWN_FILES: Final = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")
"""How .xlsx and .ods begin, and .xls, and a page that was printed of one."""
_SAID: Final = re.compile(r'"?sep=(.)"?', re.IGNORECASE)
_ENDS: Final = re.compile(r"\r\n|\n|\r")
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


class NotReadable(WrongFile):
    """A file that is no table of text."""

    sentence = "{file}{place}: {what}"


class Wrong(NamedTuple):
    """What is wrong in a line: which column, what stands there, what would be right."""

    line: int
    column: str | None
    given: str
    what: str
    remedy: str

    def told(self, file: str) -> str:
        """The problem on one line."""
        column = f", {self.column}" if self.column else ""
        return f"{file} line {self.line}{column}: {self.what}; {self.remedy}"


class Row(NamedTuple):
    """The cells of one line, where it stands in the file, and where it ends."""

    line: int
    cells: list[str]
    end: int


class Sheet(NamedTuple):
    """A table of text: the headings, and what is needed to read its lines."""

    name: str
    heads: tuple[str, ...]
    begin: int
    delimiter: str
    lines: list[str]

    def rows(self) -> Iterator[Row | Wrong]:
        """Every line below the headings that says anything."""
        for found in _records(self.lines, self.begin, self.delimiter):
            if isinstance(found, Wrong):
                yield found
            elif any(cell.strip() for cell in found.cells):
                yield _fitted(found, len(self.heads), self.delimiter)


def open_sheet(
    content: bytes, name: str, *, encoding: str | None = None, head_line: int = 1
) -> Sheet:
    """Read the text and its headings; raises ``NotReadable`` with the way out."""
    if len(content) > LARGEST_BYTES:
        raise _not(name, "is larger than 20 MB", "split it in parts")
    if content.startswith(OWN_FILES):
        raise _not(name, "is a spreadsheet's own file", "save it there as 'CSV UTF-8'")
    lines = _ENDS.split(_text(content, name, encoding))
    said = _SAID.fullmatch(lines[0].strip())
    if said and head_line == 1:
        head_line = 2
    delimiter = said[1] if said else None
    while head_line <= len(lines) and not lines[head_line - 1].strip(",;\t| "):
        head_line += 1
    if head_line > len(lines):
        raise _not(name, "is empty", "begin with: hygiene import --template KIND")
    delimiter = delimiter or _delimiter(lines[head_line - 1])
    found = next(_records(lines, head_line - 1, delimiter))
    if isinstance(found, Wrong):
        raise _not(name, found.what, found.remedy, head_line)
    heads = [" ".join(cell.split()) for cell in found.cells]
    while heads and not heads[-1]:
        heads.pop()
    if len(heads) > MOST_COLUMNS:
        raise _not(name, f"has {len(heads)} columns", "200 are the most", head_line)
    return Sheet(name, tuple(heads), found.end, delimiter, lines)


def _text(content: bytes, name: str, encoding: str | None) -> str:
    mark, found = next(
        ((mark, code) for mark, code in _MARKS if content.startswith(mark)), (b"", None)
    )
    code = found or encoding or _utf16(content) or "utf-8"
    try:
        text = content[len(mark) :].decode(code)
    except UnicodeDecodeError as failure:
        line = content.count(b"\n", 0, failure.start) + 1
        raise _not(
            name,
            f"is not {code.upper()} (byte {content[failure.start]:#04x})",
            "save it as 'CSV UTF-8', or say --encoding cp1252 if Windows wrote it",
            line,
        ) from failure
    except LookupError as failure:
        raise _not(
            name, f"there is no encoding {code!r}", "say utf-8 or cp1252"
        ) from failure
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise _not(name, "holds a NUL character", "save it as CSV again", line)
    return text


def _utf16(content: bytes) -> str | None:
    """UTF-16 without its mark: every second byte of plain text is NUL."""
    head = content[:400]
    if len(head) < 4 or b"\0" not in head:
        return None
    odd, even = head[1::2].count(0), head[::2].count(0)
    if odd > 0.4 * len(head) and not even:
        return "utf-16-le"
    return "utf-16-be" if even > 0.4 * len(head) and not odd else None


def _delimiter(line: str) -> str:
    bare = re.sub(r'"[^"]*"', "", line)
    return max(DELIMITERS, key=bare.count)


def _records(lines: Sequence[str], begin: int, delimiter: str) -> Iterator[Row | Wrong]:
    """The records from line ``begin`` (from 0) on; a wrong one is passed over."""
    at = begin
    while at < len(lines):
        end = _end(lines, at, delimiter)
        found = None
        if end is not None:
            found = _parted("\n".join(lines[at:end]), at + 1, end, delimiter)
        if end is None or (isinstance(found, Wrong) and end > at + 1):
            # the lines that it ran into are read by themselves
            end = at + 1
            found = Wrong(
                end, None, lines[at][:40], "a quote is opened and never closed",
                'close it with ", or double it within a text',
            )  # fmt: skip
        if found is not None:
            yield found
        at = end


def _end(lines: Sequence[str], begin: int, delimiter: str) -> int | None:
    """The line after which every cell in quotes is closed, or None."""
    inside = False
    for at in range(begin, min(begin + LONGEST_RECORD_LINES, len(lines))):
        inside = _left_open(lines[at], delimiter, inside)
        if not inside:
            return at + 1
    return None


def _left_open(line: str, delimiter: str, inside: bool) -> bool:
    """Whether a line ends within quotes; a quote within a bare text opens none."""
    if '"' not in line:
        return inside
    opens = not inside
    for char in line:
        if char == '"':
            # a second one, right after, is a quote within the text
            inside, opens = not inside and opens, inside
        else:
            opens = char == delimiter and not inside
    return inside


def _parted(text: str, line: int, end: int, delimiter: str) -> Row | Wrong:
    try:
        cells = (
            next(csv.reader([text], delimiter=delimiter, strict=True), [])
            if '"' in text
            else text.split(delimiter)
        )
    except csv.Error:
        cells = []
        if len(text) < csv.field_size_limit():
            return Wrong(
                line, None, text[:40], "a quote stands where none can",
                "put the whole cell in quotes, and double those within it",
            )  # fmt: skip
    if (not cells and text) or any(len(cell) > LONGEST_CELL for cell in cells):
        return Wrong(
            line, None, text[:40], "a cell is longer than 4,000 letters",
            "shorten it; a long paper is attached to its entry",
        )  # fmt: skip
    return Row(line, cells, end)


def _fitted(row: Row, width: int, delimiter: str) -> Row | Wrong:
    cells = row.cells
    if any(cell.strip() for cell in cells[width:]):
        count = max(place for place, cell in enumerate(cells, 1) if cell.strip())
        return Wrong(
            row.line, None, delimiter.join(cells)[:40],
            f"has {count} cells, the headings are {width}",
            f"put a text that holds {_word(delimiter)} in quotes",
        )  # fmt: skip
    clean = [c if c.isalnum() else " ".join(c.split()) for c in cells[:width]]
    return Row(row.line, clean + [""] * (width - len(clean)), row.end)


def _word(delimiter: str) -> str:
    return {",": "a comma", ";": "a semicolon", "\t": "a tab"}.get(delimiter, delimiter)


def _not(name: str, what: str, remedy: str, line: int | None = None) -> NotReadable:
    place = f" line {line}" if line else ""
    return NotReadable(file=name, place=place, what=what, way_out=remedy)
