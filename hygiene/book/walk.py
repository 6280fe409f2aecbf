"""Two walks over every line: its hash, and what it says of itself and mentions.

Nearly all lines are just as this program writes them, and of those one pattern says
what SQL would be asked of each. Any other line is put aside for SQL, which knows every
way in which JSON can be written: too much may be put aside, never too little.

Of a long record another process makes the second walk: ``python -m hygiene.book.walk``.
"""

from __future__ import annotations

import json
import re
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final, NamedTuple

from hygiene.book import chain
from hygiene.book.schema import mentions_told, reference_names
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


def broken(db: sqlite3.Connection) -> Iterator[Broken]:
    """At most one fault a book: what follows a broken line is broken with it."""
    done: set[bytes] = set()
    book, shown, seq, before = None, "", 0, ""
    with closing(_bytes(db)) as rows:
        for name, number, line, kept in rows:
            if name in done:
                continue
            if name != book:
                book, shown, seq = name, name.decode("utf-8", "replace"), 0
                before = chain.start(shown)
            seq += 1
            inner = sha256(line).hexdigest()
            before = sha256(f"{before}\n{inner}".encode()).hexdigest()
            differs = before.encode() != kept
            if number != seq or differs or not _is_a_line(line):
                done.add(name)
                yield Broken(shown, seq, _what(number != seq, differs))
    if book is None:
        yield Broken("", 0, "")


class Told(NamedTuple):
    """What the lines say of themselves, where each of them is sound.

    ``aside`` are lines that are not plain, which SQL must be asked of; ``files`` says
    that one names a file; ``listed`` that ``mention`` holds just what they mention.
    """

    aside: list[tuple[str, int]]
    files: bool
    listed: bool


def told(db: sqlite3.Connection) -> Told:
    """Read every line for what it says, and the mentions beside it.

    One long function, since a call for each line would cost a fifth of it.
    """
    names, book, ahead = _names(), None, ""
    aside: list[tuple[str, int]] = []
    files, count, total = False, 0, 0
    with closing(db.execute("select book, seq, line from entry")) as rows:
        for name, seq, text in rows:
            if name != book:
                book = name
                ahead = "?" if '"' in name else f'{{"book":"{name}","seq":'
            if '"sha256":' in text:
                files = True
            begins = BEGINS.match(text)
            if (
                begins is None
                or not text.startswith(f"{ahead}{seq},")
                or (begins[1] == "opening") is not (seq == 1)
                or not text.endswith("}}")
                or "\\" in text
                or (" " in text and SPACED.search(text))
            ):
                if len(aside) <= MOST_ASIDE:
                    aside.append((name, seq))
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
                total += hash((code, kind, name, seq))
    return Told(aside, files, _listed(db, aside, count, total))


def _listed(
    db: sqlite3.Connection, aside: list[tuple[str, int]], count: int, total: int
) -> bool:
    """Whether as many are kept as must be, and each of those."""
    if len(aside) > MOST_ASIDE:
        return False
    one = f"{mentions_told()} and e.book = ? and e.seq = ?"
    for given in aside:
        more, hashed = tally(db.execute(one, given))
        count, total = count + more, total + hashed
    kept = db.execute("select code, kind, book, seq from mention")
    return tally(kept) == (count, total)


def _bytes(db: sqlite3.Connection) -> sqlite3.Cursor:
    """Every line as its bytes: a damaged one may not even be text, or be nothing."""
    names = (
        f"coalesce(cast({name} as blob), x'')" for name in ("book", "line", "hash")
    )
    return db.execute(
        "select {}, seq, {}, {} from entry order by book, seq".format(*names)
    )


def _what(missing: bool, differs: bool) -> str:
    if missing:
        return "this line is missing"
    if differs:
        return "the line is not what was written: hash differs"
    return "the line is no line of a record: its bytes are no plain text"


def _is_a_line(line: bytes) -> bool:
    """No control characters, also not spelled out, and UTF-8."""
    if len(line) > LONGEST_LINE_BYTES or len(line.translate(None, CONTROL)) < len(line):
        return False
    if b"\\" in line and OTHER_ESCAPE.search(line):
        return False
    try:
        line.decode()
    except UnicodeDecodeError:
        return False
    return True


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


def told_by_another(path: Path) -> Told | None:
    """The second walk, made by a process of its own; None where that cannot be."""
    words = [sys.executable, "-I", "-m", "hygiene.book.walk", str(path.resolve())]
    done = subprocess.run(words, capture_output=True, stdin=subprocess.DEVNULL)
    try:
        aside, files, listed = json.loads(done.stdout)
    except ValueError:
        return None
    return Told([(book, seq) for book, seq in aside], files, listed)


if __name__ == "__main__":
    from hygiene.book.record import Record

    with Record.open(Path(sys.argv[1])) as opened:
        print(json.dumps(told(opened.db)))
