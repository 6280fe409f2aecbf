"""One walk over every line: its hash, its plain form, and what it mentions.

Nearly all lines are just as this program writes them, and of those one pattern says
what SQL would be asked of each. Any other line is put aside for SQL, which knows every
way in which JSON can be written. The walk may put too much aside, never too little.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from functools import cache
from hashlib import sha256
from typing import Final, NamedTuple

from hygiene.book import chain
from hygiene.book.schema import reference_names
from hygiene.kinds.entry import LONGEST_LINE_BYTES

CONTROL: Final = bytes((*range(32), 127))
# what is no quote and no backslash is written as it is: a control character that was
# spelled out would move the cursor of whoever reads it
OTHER_ESCAPE: Final = re.compile(rb'(?:^|[^\\])(?:\\\\)*\\[^"\\]')
TEXT: Final = r'"[^"]*"'
MOMENT: Final = (
    r'"\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])T(?:[01]\d|2[0-3])(?::[0-5]\d){2}'
    r'(?:Z|[+-](?:0\d|1[0-4]):[0-5]\d)"'
)
BEGINS: Final = re.compile(
    r'{"book":"[^"]*","seq":[1-9]\d*,"v":[1-9]\d*,"kind":"([a-z_]+)",'
    f'"happened_at":{MOMENT},"recorded_at":{MOMENT},"by":{TEXT},'
    f'(?:"written_by":{TEXT},)?(?:"corrects":{TEXT},)?(?:"reason":{TEXT},)?"body":{{',
    re.ASCII,
)
# the pattern of what is mentioned knows of no space beside a quote or a bracket
SPACED: Final = re.compile(r'" | ["\[]')
MOST_ASIDE: Final = 1000
"""So many lines are asked for one by one; where there are more, all are at once."""
Mention = tuple[str, str, str, int]


class Broken(NamedTuple):
    """The first line of a book that is not as it was written, and what is wrong."""

    book: str
    seq: int
    what: str


class Walk:
    """What was seen on the way, once ``broken`` has come to its end.

    ``mentioned`` is the tally of what the plain lines name; ``aside`` are the other
    lines; ``whole`` says that each was seen and no book is broken; ``files`` that a
    file is named.
    """

    def __init__(self) -> None:
        self.mentioned = (0, 0)
        self.aside: list[tuple[str, int]] = []
        self.whole = False
        self.files = False
        self.empty = True

    def broken(self, db: sqlite3.Connection) -> Iterator[Broken]:
        """At most one fault a book: what follows a broken line is broken with it.

        One long function, since a call for each line would cost a fifth of it.
        """
        done: set[bytes] = set()
        book, shown, ahead, seq, before = b"", "", "", 0, ""
        names = _names()
        count = total = 0
        with closing(_bytes(db)) as rows:
            for name, number, line, kept in rows:
                if name in done:
                    continue
                if name != book or self.empty:
                    self.empty = False
                    book, shown, seq = name, name.decode("utf-8", "replace"), 0
                    before = chain.start(shown)
                    ahead = "?" if '"' in shown else f'{{"book":"{shown}","seq":'
                seq += 1
                inner = sha256(line).hexdigest()
                before = sha256(f"{before}\n{inner}".encode()).hexdigest()
                text = _text_of(line)
                if number != seq or before.encode() != kept or text is None:
                    done.add(name)
                    differs = before.encode() != kept
                    yield Broken(shown, seq, _told(number != seq, differs))
                    continue
                if '"sha256":' in text:
                    self.files = True
                begins = BEGINS.match(text)
                if (
                    begins is None
                    or not text.startswith(f"{ahead}{seq},")
                    or (begins[1] == "opening") is not (seq == 1)
                    or not text.endswith("}}")
                    or "\\" in text
                    or (" " in text and SPACED.search(text))
                ):
                    if len(self.aside) <= MOST_ASIDE:
                        self.aside.append((shown, seq))
                    continue
                codes = set()
                for one, several in names(text, begins.end()):
                    if several:
                        codes.update(several[:-1].split('","'))
                    else:
                        codes.add(one)
                kind = begins[1]
                for code in codes:
                    count += 1
                    total += hash((code, kind, shown, seq))
        self.mentioned, self.whole = (count, total), not done


def _bytes(db: sqlite3.Connection) -> sqlite3.Cursor:
    """Every line as its bytes: a damaged one may not even be text, or be nothing."""
    names = (
        f"coalesce(cast({name} as blob), x'')" for name in ("book", "line", "hash")
    )
    return db.execute(
        "select {}, seq, {}, {} from entry order by book, seq".format(*names)
    )


def _told(missing: bool, differs: bool) -> str:
    if missing:
        return "this line is missing"
    if differs:
        return "the line is not what was written: hash differs"
    return "the line is no line of a record: its bytes are no plain text"


def _text_of(line: bytes) -> str | None:
    """The line, if it is one: no control characters, also not spelled out."""
    if len(line) > LONGEST_LINE_BYTES or len(line.translate(None, CONTROL)) < len(line):
        return None
    if b"\\" in line and OTHER_ESCAPE.search(line):
        return None
    try:
        return line.decode()
    except UnicodeDecodeError:
        return None


@cache
def _names() -> Callable[[str, int], list[tuple[str, str]]]:
    """From a plain line and where its body begins: what it names, alone or in lists."""
    keys = any_of(reference_names())
    find = re.compile(f'"{keys}":(?:"([^"]*)"|\\["([^"]*"(?:,"[^"]*")*)\\])')
    return find.findall


def any_of(words: Iterable[str]) -> str:
    """A pattern for any of these words, letter by letter: no beginning is tried twice.

    Tried one after another they cost as much again as all the rest of a walk.
    """
    rest: dict[str, list[str]] = {}
    for word in sorted(words):
        rest.setdefault(word[:1], []).append(word[1:])
    after = [letter + any_of(rest[letter]) for letter in rest if letter]
    if not after:
        return ""
    return f"(?:{'|'.join(after)}){'?' if '' in rest else ''}"


def tally(mentions: Iterable[Mention]) -> tuple[int, int]:
    """How many they are, and the sum of their hashes, which no order changes.

    The hashes are Python's own, keyed anew in every process.
    """
    count = total = 0
    for each in map(hash, mentions):
        count += 1
        total += each
    return count, total
