"""Make a record of lines that were exported: the same bytes, the same hashes.

The lines pass the door that those of another device pass (``check_line``). The record
is built beside its place and moved there whole, so that nothing half made is left.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from hygiene.book import chain
from hygiene.book.beside import beside, put, reached
from hygiene.book.merge import FILE
from hygiene.book.record import Head, connect, translated
from hygiene.book.writing import LARGEST_FILE_BYTES, AlreadyThere, lay_out
from hygiene.errors import WrongFile, WronglyPut
from hygiene.kinds.entry import LONGEST_LINE_BYTES, Entry, check_line
from hygiene.plain_file import content_of, opened

MOST_TOLD = 40
FILES = "files"
"""The folder beside the lines in which the attached files stand, by SHA-256."""


class WrongLines(WrongFile):
    """Lines that are none of a record, each with its number."""

    sentence = "{told}"


class Replayed(NamedTuple):
    """How many lines stand in the new record, and the end of each book."""

    lines: int
    heads: tuple[Head, ...]


def replay(path: Path, target: Path, *, write: bool) -> Replayed:
    """Make a record at ``target`` of the lines in ``path``, or only look.

    Raises ``AlreadyThere``, ``WrongLines`` with every wrong line, or ``CannotUse``.
    """
    if target.exists():
        raise AlreadyThere(
            path=target,
            way_out="give a new place with --record FILE, and bring the two together "
            "with: hygiene merge FILE",
        )
    with reached(target), beside(target) as waiting:
        with translated(target), closing(connect(waiting)) as db:
            lay_out(db)
            db.execute("pragma synchronous = extra")
            heads = _fill(db, path)
            _take_files(db, path)
            db.execute("commit")
        if write:
            try:
                put(waiting, target)
            except FileExistsError:
                raise AlreadyThere(path=target) from None
    return Replayed(sum(head.seq for head in heads), heads)


def _fill(db: sqlite3.Connection, path: Path) -> tuple[Head, ...]:
    ends: dict[str, tuple[int, str]] = {}
    wrong: list[str] = []

    def rows() -> Iterator[tuple[str, int, str, str]]:
        for number, raw in _lines(path):
            what = entry = None
            try:
                entry = _read(raw)
                seq, hashed = ends.get(entry.book) or (0, chain.start(entry.book))
                if entry.seq != seq + 1:
                    what = f"{entry.name} comes after line {seq} of its book"
                elif not seq and entry.kind != "opening":
                    what = f"{entry.name} does not open its book"
            except WronglyPut as failure:
                what = str(failure)
            if what is not None or entry is None:
                wrong.append(f"{path.name} line {number}: {what}")
                if len(wrong) >= MOST_TOLD:
                    return
                continue
            hashed = chain.follow(hashed, raw)
            ends[entry.book] = entry.seq, hashed
            yield entry.book, entry.seq, raw.decode(), hashed

    db.execute("begin immediate")
    try:
        db.executemany(
            "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)", rows()
        )
    except sqlite3.IntegrityError as failure:
        wrong.append(f"{path.name}: {failure}")
    if wrong or not ends:
        raise WrongLines(
            told="\n".join(wrong) or f"{path.name} holds no line of a record",
            way_out="nothing was written; it takes what hygiene export --jsonl wrote",
        )
    return tuple(Head(book, *end) for book, end in sorted(ends.items()))


def _read(raw: bytes) -> Entry:
    try:
        return check_line(raw.decode())
    except UnicodeDecodeError as failure:
        raise WronglyPut(what="is not UTF-8") from failure


def _lines(path: Path) -> Iterator[tuple[int, bytes]]:
    """The lines one by one; one that is too long is cut, and refused for that."""
    try:
        with opened(path) as file:
            number = 0
            while raw := file.readline(2 * LONGEST_LINE_BYTES):
                number += 1
                if raw.strip():
                    yield number, raw.removesuffix(b"\n").removesuffix(b"\r")
    except OSError as failure:
        raise WronglyPut(what=f"{path}: {failure.strerror}") from failure


def _take_files(db: sqlite3.Connection, path: Path) -> None:
    """The attached files that the lines name, from the folder beside them."""
    named: set[str] = set()
    for (line,) in db.execute("select line from entry where instr(line, 'sha256')"):
        named.update(FILE.findall(line))
    missing = []
    for digest in sorted(named):
        try:
            content = content_of(path.parent / FILES / digest, LARGEST_FILE_BYTES)
        except OSError:
            content = b""
        if sha256(content).hexdigest() != digest:
            missing.append(digest)
            continue
        db.execute(
            "insert into attachment(sha256, bytes) values (?, ?)", (digest, content)
        )
    if missing:
        raise WrongLines(
            told=f"{path.name}: {len(missing)} attached files are not in "
            f"{path.parent / FILES}, such as {missing[0]}",
            way_out="export with both into one folder: hygiene export DIR --files "
            "--jsonl DIR/lines.jsonl",
        )
