"""Two walks over every line: its hash and what it says of itself; what it mentions.

Nearly all lines are just as this program writes them, and of those one pattern says
what SQL would be asked of each. Any other line is put aside for SQL, which knows every
way in which JSON can be written: too much may be put aside, never too little. (Whether
a body is JSON at all is seen by SQLite's own check, which takes each line apart for
``entry_by_kind``.)

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
from typing import Any, Final, NamedTuple

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
    (
        r'{"book":"[^"]*","seq":[1-9]\d*,"v":[1-9]\d*,"kind":"([a-z_]+)",'
        f'"happened_at":{MOMENT},"recorded_at":{MOMENT},"by":{TEXT},'
        f'(?:"written_by":{TEXT},)?(?:"corrects":{TEXT},)?(?:"reason":{TEXT},)?"body":{{'
    ).encode()
)
MOST_ASIDE: Final = 1000
"""So many lines are asked for one by one; where there are more, all are at once."""
AT_ONCE: Final = 256
"""So many lines are looked over together for what next to none of them has."""


class Broken(NamedTuple):
    """The first line of a book that is not as it was written, and what is wrong."""

    book: str
    seq: int
    what: str


class Said(NamedTuple):
    """Of each book at most one fault, since what follows a broken line is broken too.

    ``aside`` are the lines that may not say what every line says: SQL must be asked.
    """

    broken: list[Broken]
    aside: list[tuple[str, int]]


class Told(NamedTuple):
    """What the lines mention, where each of them is sound.

    ``aside`` are lines that are not plain, which SQL was asked of; ``files`` says that
    one names a file; ``listed`` that ``mention`` holds just what they mention.
    """

    aside: list[tuple[str, int]]
    files: bool
    listed: bool


def said(db: sqlite3.Connection) -> Said:
    """Hash every line, and see that it says what every line says.

    One long function, since a call for each line would cost a fifth of it.
    """
    broken: list[Broken] = []
    aside: list[tuple[str, int]] = []
    done: set[bytes] = set()
    book, shown, seq, before, ahead = None, "", 0, "", b""
    with closing(_bytes(db)) as cursor:
        for rows in _by_many(cursor):
            all_lines = _are_lines([row[2] for row in rows])
            for name, number, line, kept in rows:
                if name in done:
                    continue
                if name != book:
                    book, shown, seq = name, name.decode("utf-8", "replace"), 0
                    before = chain.start(shown)
                    ahead = b"?" if b'"' in name else b'{"book":"%s","seq":' % name
                seq += 1
                inner = sha256(line).hexdigest()
                before = sha256(f"{before}\n{inner}".encode()).hexdigest()
                differs = before.encode() != kept
                if number != seq or differs or not (all_lines or _are_lines([line])):
                    done.add(name)
                    broken.append(Broken(shown, seq, _what(number != seq, differs)))
                    continue
                begins = BEGINS.match(line)
                if (
                    begins is None
                    or not line.startswith(b"%s%d," % (ahead, seq))
                    or (begins[1] == b"opening") is not (seq == 1)
                    or not line.endswith(b"}}")
                    or b"\\" in line
                ) and len(aside) <= MOST_ASIDE:
                    aside.append((shown, seq))
    if book is None:
        broken.append(Broken("", 0, ""))
    return Said(broken, aside)


def told(db: sqlite3.Connection) -> Told:
    """Read every line for what it mentions, and the mentions beside it.

    Of a line that the other walk did not put aside the first ``"kind"`` and the first
    ``"body"`` are its own: no text before them holds a quote. One long function for
    the same reason.
    """
    names = _names()
    aside: list[tuple[str, int]] = []
    files, total = False, 0
    with closing(db.execute("select book, seq, line from entry")) as cursor:
        for rows in _by_many(cursor):
            files = files or '"sha256":' in "\n".join([row[2] for row in rows])
            for name, seq, text in rows:
                plain = _is_plain(text)
                found = names(text, text.find('"body":{')) if plain else ()
                if plain and not found:
                    continue
                codes = set()
                for one, several, odd in found:
                    if several:
                        codes.update(several[:-1].split('","'))
                    elif odd:
                        plain = False
                    else:
                        codes.add(one)
                if not plain or not _body_is_last(text):
                    if len(aside) <= MOST_ASIDE:
                        aside.append((name, seq))
                    continue
                begins = text.find('"kind":"') + 8
                kind = text[begins : text.find('"', begins)]
                for code in codes:
                    total += hash((code, kind, name, seq))
    return Told(aside, files, _listed(db, aside, total))


def _by_many(cursor: sqlite3.Cursor) -> Iterator[list[Any]]:
    while rows := cursor.fetchmany(AT_ONCE):
        yield rows


def _is_plain(text: str) -> bool:
    """Whether the pattern of what is mentioned fits: it knows of no space or escape."""
    if "\\" in text:
        return False
    return " " not in text or not (
        '" ' in text or ' "' in text or " [" in text or "} " in text
    )


def _body_is_last(text: str) -> bool:
    """Whether nothing stands after the body, which holds all that is mentioned."""
    if '},"' not in text:
        return True
    try:
        return text.count('"body":{') == 1 and [*json.loads(text)][-1] == "body"
    except (ValueError, RecursionError):
        return False


def _listed(db: sqlite3.Connection, aside: list[tuple[str, int]], total: int) -> bool:
    """Whether just those are kept whose hashes come to this sum, and those set aside.

    A sum knows no order. The hashes are Python's own, keyed anew in every process: who
    writes a mention cannot know which others would make up for it.
    """
    if len(aside) > MOST_ASIDE:
        return False
    one = f"{mentions_told()} and e.book = ? and e.seq = ?"
    for given in aside:
        total += sum(map(hash, db.execute(one, given)))
    kept = db.execute("select code, kind, book, seq from mention")
    return sum(map(hash, kept)) == total


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


def _are_lines(lines: list[bytes]) -> bool:
    """Each without control characters, also not spelled out, short enough and UTF-8."""
    joined = b" ".join(lines)
    if len(joined.translate(None, CONTROL)) < len(joined):
        return False
    if b"\\" in joined and OTHER_ESCAPE.search(joined):
        return False
    try:
        joined.decode()
    except UnicodeDecodeError:
        return False
    return max(map(len, lines)) <= LONGEST_LINE_BYTES


@cache
def _names() -> Callable[[str, int], list[tuple[str, str, str]]]:
    """From a plain line and where its body begins: what it names, alone or in lists.

    The third is where a list begins that does not hold texts alone.
    """
    keys = any_of(reference_names())
    # one look at the first letter spares most quotes a try of every branch
    first = "".join(sorted({name[0] for name in reference_names()}))
    find = re.compile(
        f'"(?=[{first}]){keys}":(?:"([^"]*)"|\\[(?:"([^"]*"(?:,"[^"]*")*)\\]|([^\\]])))'
    )
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
