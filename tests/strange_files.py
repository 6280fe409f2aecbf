"""Strange files handed to ``merge`` and ``restore``: never a traceback, never a change.

Each is a record that was spoilt in one of many ways, by its bytes or by SQLite with the
guards taken off. It is refused with a documented code and the record keeps every byte;
or it is taken, and then the record verifies.
"""

from __future__ import annotations

import io
import shutil
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import (
    closing,
    contextmanager,
    redirect_stderr,
    redirect_stdout,
    suppress,
)
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

from small_farm import SmallFarm

from hygiene.book import chain
from hygiene.book.record import Record
from hygiene.book.verify import damage
from hygiene.cli import command
from hygiene.kinds.find import Pest

CODES = {0, 3, 5, 6, 7}
PAGE = 4096
SQL = (
    "delete from entry where seq = 5",
    "delete from mention",
    "update entry set hash = '{junk}' where seq = 3",
    "update entry set line = '{junk}' where seq = 4",
    "update entry set book = 'evil-aaaa' where seq = 2",
    "update entry set seq = 9007199254740993 where seq = 6",
    "update entry set line = cast(x'fffe00' as text) where seq = 3",
    "drop view farm",
    "drop table attachment",
    "drop trigger entry_is_the_next",
    "create table more(x)",
    "create trigger evil after insert on mention begin delete from mention; end",
    "create view evil as select load_extension('{junk}')",
    "create index evil on entry(unixepoch(hash))",
    "pragma user_version = 99",
    "pragma user_version = 0",
    "pragma user_version = -1",
    "pragma application_id = 7",
    "pragma journal_mode = wal",
    "pragma encoding = 'UTF-16'",
    "insert into attachment values ('{hash}', zeroblob(10))",
)


def another(farm: SmallFarm) -> Path:
    """The record of a second device of that farm, with lines of its own."""
    office = replace(farm, folder=farm.folder / "office")
    office.folder.mkdir()
    shutil.copy(farm.path, office.path)
    for n in range(3):
        thing = Pest(what="rat", place=f"bay {n}")
        office.write(lambda w, thing=thing: w.add(thing, by="AB"))
    return office.path


def bytes_changed(path: Path, dice: Random) -> None:
    content = bytearray(path.read_bytes())
    for _ in range(dice.choice((1, 3, 30, 300))):
        content[dice.randrange(len(content))] = dice.randrange(256)
    path.write_bytes(content)


def cut(path: Path, dice: Random) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: dice.randrange(len(content))])


def pages_swapped(path: Path, dice: Random) -> None:
    content = path.read_bytes()
    pages = [content[n : n + PAGE] for n in range(0, len(content), PAGE)]
    one, other = dice.randrange(len(pages)), dice.randrange(len(pages))
    pages[one], pages[other] = pages[other], pages[one]
    path.write_bytes(b"".join(pages))


def head_kept(path: Path, dice: Random) -> None:
    content = path.read_bytes()
    path.write_bytes(content[:100] + dice.randbytes(len(content) - 100))


def altered(path: Path, dice: Random) -> None:
    """One statement that another tool might run."""
    junk = "' || hex(randomblob(9)) || '"
    sql = dice.choice(SQL).replace("{junk}", junk).replace("{hash}", "0" * 64)
    with _unguarded(path) as db, suppress(sqlite3.Error):
        db.execute(sql)


def lines_made_well(path: Path, dice: Random) -> None:
    """One line changed, and every hash after it made to fit."""
    with _unguarded(path) as db, suppress(sqlite3.Error):  # no JSON: no index of it
        rows = db.execute("select book, seq, line from entry").fetchall()
        victim = dice.randrange(len(rows))
        hashed = {book: chain.start(book) for book, _, _ in rows}
        for place, (book, seq, line) in enumerate(rows):
            text = _changed(line, dice) if place == victim else line
            hashed[book] = chain.follow(hashed[book], text.encode("utf-8", "replace"))
            db.execute(
                "update entry set line = ?, hash = ? where book = ? and seq = ?",
                (text, hashed[book], book, seq),
            )


@contextmanager
def _unguarded(path: Path) -> Iterator[sqlite3.Connection]:
    """The triggers and checks taken off, and the triggers put back."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        guards = db.execute(
            "select name, sql from sqlite_master where type = 'trigger'"
        ).fetchall()
        db.execute("pragma ignore_check_constraints = on")
        for name, _ in guards:
            db.execute(f"drop trigger {name}")
        yield db
        for _, text in guards:
            with suppress(sqlite3.Error):  # its table may be gone
                db.execute(text)


def _changed(line: str, dice: Random) -> str:
    place = dice.randrange(1, len(line))
    piece = dice.choice(
        ('"', "{", "null", ",", "NaN", "1e999", "é", "\\u0000", " ", "[[[[", "\x7f",
         '","by":"XX', "999999999999999999999", "-", "2026-02-30")
    )  # fmt: skip
    return line[:place] + piece + line[place + dice.choice((0, 1, 9)) :]


WAYS: tuple[Callable[[Path, Random], None], ...] = (
    bytes_changed,
    cut,
    pages_swapped,
    head_kept,
    altered,
    lines_made_well,
)


def offered(farm: SmallFarm, other: Path, count: int, seed: int) -> Counter[Any]:
    """Offer ``count`` spoilt copies of ``other`` to the farm; the exit codes."""
    dice, codes = Random(seed), Counter[Any]()
    path = farm.folder / "strange.db"
    good = farm.path.read_bytes()
    for _ in range(count):
        shutil.copy(other, path)
        dice.choice(WAYS)(path, dice)
        word = dice.choice(("merge", "restore"))
        codes[word, _run(farm, word, str(path))] += 1
        if farm.path.read_bytes() != good:
            with Record.open(farm.path) as record:
                assert damage(record) == [], (word, codes)
            farm.path.write_bytes(good)
        for left in farm.folder.glob("*replaced*"):
            left.unlink()
        for end in ("-wal", "-shm", "-journal"):
            Path(f"{path}{end}").unlink(missing_ok=True)
    strange = {code for _, code in codes} - CODES
    assert not strange, codes
    return codes


def _run(farm: SmallFarm, *words: str) -> int:
    """A failure of our own would come out of this as the exception that it is."""
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
        made = command.main(args=list(words), obj=farm.world(), standalone_mode=False)
    return made if isinstance(made, int) else 0
