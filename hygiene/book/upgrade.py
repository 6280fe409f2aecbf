"""Bring the layout of an older record up to this version. Entries never change.

A verified copy is put beside the record first. Then, in one transaction, the steps are
taken that lie between the two versions, and views, triggers and indexes are made anew
and the mentions filled again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from hygiene.book.backup import copy_to
from hygiene.book.beside import free
from hygiene.book.record import VERSION, Record
from hygiene.book.schema import mentions_told, statements


def _from_0(_db: sqlite3.Connection) -> None:
    """Version 1 has the tables of what was there before it; a missing one is made."""


def _from_1(db: sqlite3.Connection) -> None:
    """What version 2 tells from a line has the type ``any``.

    In the way of SQLite's manual (ALTER TABLE, section 7): no row is touched. Only
    these words change: whatever else of the table was altered, ``verify`` names.
    """
    (text,) = db.execute(
        "select sql from sqlite_master where name = 'entry'"
    ).fetchone()
    for name in ("kind", "happened_at", "recorded_at", "corrects"):
        text = text.replace(f"\n  {name} text gen", f"\n  {name} any gen")
    for name in ("happened", "recorded"):
        text = text.replace(f"\n  {name} integer\n", f"\n  {name} any\n")
    db.execute("pragma writable_schema = on")
    db.execute("update sqlite_master set sql = ? where name = 'entry'", (text,))
    db.execute("pragma writable_schema = reset")


STEPS: tuple[Callable[[sqlite3.Connection], None], ...] = (_from_0, _from_1)
"""Step n leads from version n to n + 1; it changes tables only, and never a line.

Never by a tool that copies a table into a new one: that drops its triggers."""


def bring_up(record: Record) -> None:
    """Copy the record and upgrade it, unless another command has done it meanwhile.

    Raises what ``copy_to`` raises, where no good copy can be made first: then the
    record stays as it was.
    """
    record.db.execute("begin immediate")
    try:
        if record.version() < VERSION:
            _keep_a_copy(record)
            _take_steps(record.db)
        record.db.execute("commit")
    except BaseException:
        record.db.execute("rollback")
        raise


def upgrade(db: sqlite3.Connection) -> None:
    """Upgrade what is a copy itself."""
    db.execute("begin immediate")
    _take_steps(db)
    db.execute("commit")


def _keep_a_copy(record: Record) -> None:
    name = f"{record.path.stem}-before-version-{VERSION}"
    place = free(record.path.parent, name, record.path.suffix)
    with Record.open(record.path) as reader:  # the write lock does not keep it out
        copy_to(reader, place, f"before it was brought up to version {VERSION}")


def _take_steps(db: sqlite3.Connection) -> None:
    (found,) = db.execute("pragma user_version").fetchone()
    for step in STEPS[found:]:
        step(db)
    _make_anew(db)
    db.execute(f"pragma user_version = {VERSION}")


def _make_anew(db: sqlite3.Connection) -> None:
    made = db.execute(
        "select type, name from sqlite_master where sql is not null"
    ).fetchall()
    for sort, name in made:
        if sort != "table":
            db.execute(f'drop {sort} "{name}"')
    tables = tuple(f"create table {name}(" for sort, name in made if sort == "table")
    for statement in statements():
        if not statement.startswith(tables):
            db.execute(statement)
    db.execute("delete from mention")
    db.execute(f"insert into mention(code, kind, book, seq) {mentions_told()}")
