"""Bring the layout of an older record up to this version. Entries never change.

Views, triggers and indexes are made anew and the mentions are filled again, all in one
transaction. The tables have been the same since version 1: a version that changes one
of them adds its own step here.
"""

from __future__ import annotations

import sqlite3

from hygiene.book.record import VERSION
from hygiene.book.schema import mentions_told, statements


def bring_up(db: sqlite3.Connection) -> None:
    """Do it, or do nothing where another command has done it meanwhile."""
    db.execute("begin immediate")
    try:
        (found,) = db.execute("pragma user_version").fetchone()
        if found < VERSION:
            _make_anew(db)
        db.execute("commit")
    except BaseException:
        db.execute("rollback")
        raise


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
    db.execute(f"pragma user_version = {VERSION}")
