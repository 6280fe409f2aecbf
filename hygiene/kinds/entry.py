"""The envelope of everything written down: one entry, and the one line that it is.

An entry is its line: one line of JSON, written once and never re-serialised. This
module makes that line and reads it back; it decides nothing about what may be said.
"""

import json
import re
from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from hygiene.errors import WronglyPut

LINE_VERSION = 1
LONGEST_LINE_BYTES = 64 * 1024
MOST_DIGITS = 18
"""Before or after the point: SQLite and every other reader still count that far."""
YEARS = range(1900, 9000)
"""Years that a person means; at the ends of the calendar a day has no day beside it."""
MOMENT = re.compile(r"\d{4}(-\d\d){2}T\d\d(:\d\d){2}(Z|[+-](0\d|1[0-4]):\d\d)", re.A)
NO_NEW_SAMPLE = "no-new-sample"
"""The mark of a recheck that says of water what no later sample shows."""

Body = Mapping[str, Any]


class Unwritable(WronglyPut):
    """A text or a number that has no place on a line of the record."""

    sentence = "{where}: {what}"


class NotALine(Exception):
    """Bytes that are no entry; whoever reads the record says where they stand."""


class Entry(NamedTuple):
    """One entry as it stands in a book.

    Times are RFC 3339 with seconds and offset. ``by`` did or saw it; ``written_by``
    typed it, where that was another. ``corrects`` names the *first* entry of the
    same matter. ``body`` holds what the kind's dataclass defines, numbers as
    ``int`` or ``Decimal`` with the digits as typed.
    """

    book: str
    seq: int
    kind: str
    happened_at: str
    recorded_at: str
    by: str
    body: Body
    written_by: str | None = None
    corrects: str | None = None
    reason: str | None = None

    @property
    def name(self) -> str:
        """The entry's name for ever, such as ``shed-k7q2/1042``."""
        return f"{self.book}/{self.seq}"

    @property
    def first(self) -> str:
        """The name of the first entry of this matter: itself, unless a correction."""
        return self.corrects or self.name

    def get(self, key: str, default: Any = None) -> Any:
        """A field of the body; an odd or older body never raises."""
        return self.body.get(key, default)


def write_line(entry: Entry) -> str:
    """Make the entry's line: UTF-8 (NFC), no spaces, keys in their fixed order.

    Raises ``Unwritable`` for control characters, numbers that are not finite or far
    beyond anything measured, moments without an offset, and lines over 64 KiB.
    """
    for key in ("happened_at", "recorded_at"):
        if not MOMENT.fullmatch(getattr(entry, key)):
            raise Unwritable(where=key, what="a moment needs its seconds and offset")
    envelope = {
        "book": entry.book,
        "seq": entry.seq,
        "v": LINE_VERSION,
        "kind": entry.kind,
        "happened_at": entry.happened_at,
        "recorded_at": entry.recorded_at,
        "by": entry.by,
        "written_by": entry.written_by,
        "corrects": entry.corrects,
        "reason": entry.reason,
        "body": entry.body,
    }
    line = _json(envelope, entry.kind)
    if len(line.encode()) > LONGEST_LINE_BYTES:
        raise Unwritable(where=entry.kind, what="too long to write: 64 KiB is the most")
    return line


def check_line(line: str) -> Entry:
    """Read a line that comes from elsewhere; ``Unwritable`` if not as we write it.

    The test is to write it again, which must give the same bytes: so repeated keys,
    NaN, exponents, spaces, escapes and unknown keys are all refused at the door.
    """
    try:
        made = read_line(line)
    except NotALine as odd:
        raise Unwritable(where="line", what="not an entry of a record") from odd
    if not _is_sound(made) or write_line(made) != line:
        raise Unwritable(where=made.name, what="not as this program writes a line")
    return made


def _is_sound(made: Entry) -> bool:
    """Texts where texts belong, a counting number, and moments of a calendar."""
    texts = (made.book, made.kind, made.by)
    others = (made.written_by, made.corrects, made.reason)
    return (
        all(isinstance(text, str) for text in texts)
        and all(text is None or isinstance(text, str) for text in others)
        and type(made.seq) is int
        and 0 < made.seq < 10**MOST_DIGITS
        and all(map(_is_a_moment, (made.happened_at, made.recorded_at)))
    )


def _is_a_moment(text: str) -> bool:
    try:
        return datetime.fromisoformat(text).year in YEARS
    except (ValueError, TypeError):
        return False


def items(said: "Entry | Mapping[str, Any]", key: str) -> tuple[Any, ...]:
    """A field that holds a list, of an entry or a body; what is none holds nothing."""
    given = said.get(key)
    return tuple(given) if isinstance(given, list | tuple) else ()


def rows_of(said: "Entry | Mapping[str, Any]", key: str) -> list[Mapping[str, Any]]:
    """A field that holds tables, of an entry or a body; what is none is left out."""
    return [row for row in items(said, key) if isinstance(row, dict)]


def texts_of(said: "Entry | Mapping[str, Any]", key: str) -> tuple[str, ...]:
    """A field that holds texts, of an entry or a body; what is none is left out."""
    return tuple(item for item in items(said, key) if isinstance(item, str))


def has_passed(look: Entry) -> bool:
    """Whether a recheck counts: it passed, and nothing wanted is missing from it."""
    return look.get("passed") is True and NO_NEW_SAMPLE not in items(look, "marks")


def read_line(line: str) -> Entry:
    """Read a line of a book; numbers keep the digits as typed.

    Raises ``NotALine`` where it is none: the record was then damaged.
    """
    try:
        return _read(line)
    except (ValueError, KeyError, TypeError, RecursionError, ArithmeticError) as odd:
        raise NotALine(line[:80]) from odd


# made once: json.loads makes a decoder anew for each line
_DECODE = json.JSONDecoder(parse_float=Decimal).decode


def _read(line: str) -> Entry:
    made = _DECODE(line)
    if not isinstance(made["body"], dict):
        raise TypeError("body")
    return Entry(
        made["book"],
        made["seq"],
        made["kind"],
        made["happened_at"],
        made["recorded_at"],
        made["by"],
        made["body"],
        made.get("written_by"),
        made.get("corrects"),
        made.get("reason"),
    )


def _json(value: Any, where: str) -> str:
    # plain types first, one look each: an import writes some millions of these
    kind = type(value)
    if kind is str:
        return _text(value, where)
    if kind is bool:
        return "true" if value else "false"
    if kind is dict:
        return _table(value)
    if kind is list or kind is tuple:
        return "[" + ",".join([_json(item, where) for item in value]) + "]"
    if isinstance(value, int | Decimal):
        return _number(Decimal(value), where)
    if isinstance(value, str):
        return _text(value, where)
    if isinstance(value, Mapping):
        return _table(value)
    if isinstance(value, list | tuple):
        return _json(list(value), where)
    raise Unwritable(where=where, what=f"{value!r} is neither text nor number")


def _table(value: Mapping[str, Any]) -> str:
    pairs = [
        f"{_key(key)}:{_json(item, key)}"
        for key, item in value.items()
        if item is not None
    ]
    return "{" + ",".join(pairs) + "}"


@lru_cache(maxsize=1024)
def _key(name: str) -> str:
    return _text(name, name)


def _number(value: Decimal, where: str) -> str:
    if not value.is_finite():
        raise Unwritable(where=where, what=f"{value} is not a number")
    if abs(value.adjusted()) >= MOST_DIGITS:
        raise Unwritable(where=where, what=f"{value:.3E} is too large or too small")
    return format(value, "f")


_escaped = json.encoder.encode_basestring


def _text(value: str, where: str) -> str:
    if not value.isprintable():
        _need_one_line(value, where)
    if value.isascii():
        return _escaped(value)
    from unicodedata import normalize  # whoever only reads needs none of it

    return _escaped(normalize("NFC", value))


def _need_one_line(value: str, where: str) -> None:
    from unicodedata import category

    for char in value:
        # Cc: control characters, Cs: half a surrogate pair, which UTF-8 cannot hold,
        # Zl and Zp: ends of a line and of a paragraph
        if category(char) in ("Cc", "Cs", "Zl", "Zp"):
            raise Unwritable(
                where=where,
                what=f"the text holds a control character (U+{ord(char):04X}); "
                "type it on one line",
            )
