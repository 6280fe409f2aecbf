"""The layout: what any SQLite tool finds in the file, and that it is versioned."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing

import pytest
import schema_snapshot
from shed import Shed

from hygiene.book.record import _HEADS, STANDING
from hygiene.book.schema import all_shapes, statements
from hygiene.kinds import HOMES, kind_class
from hygiene.kinds.find import Mould

WHAT_TO_DO = """the layout has changed. A record that people have keeps its old views,
trigger and mentions until they are made anew: raise VERSION in hygiene/book/record.py
(hygiene/book/upgrade.py does the rest; before the first release it may stay), then run
  python tests/book/schema_snapshot.py"""


@pytest.fixture
def layout():
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        for statement in statements():
            db.execute(statement)
        yield db


def test_the_layout_changes_only_with_its_version():
    """A changed text, a kind that was added: both need the version raised."""
    assert schema_snapshot.of_now() == schema_snapshot.TAKEN, WHAT_TO_DO


def names(db: sqlite3.Connection, sort: str) -> list[str]:
    return [
        name
        for (name,) in db.execute(
            "select name from sqlite_master where type = ? and sql not null", (sort,)
        ).fetchall()
    ]


def test_each_kind_has_a_view_of_its_name(layout):
    """So that any tool finds tables with the plain words of the trade."""
    assert set(HOMES) <= set(names(layout, "view"))


def test_every_view_and_column_is_named_without_quotes(layout):
    """No name is a reserved word, and none comes twice."""
    for view in names(layout, "view"):
        found = [c[0] for c in layout.execute(f"select * from {view}").description]
        assert all(re.fullmatch("[a-z][a-z0-9_]*", name) for name in [view, *found])
        assert len(set(found)) == len(found), view
        layout.execute(f"select {', '.join(found)} from {view}")


def test_the_entry_has_no_second_unique_index(layout):
    """Under one, INSERT OR REPLACE takes away another line, and no trigger fires."""
    unique = [
        row for row in layout.execute("pragma index_list(entry)").fetchall() if row[2]
    ]
    assert [row[3] for row in unique] == ["pk"]
    assert layout.execute("pragma table_list('entry')").fetchone()[4] == 1


def test_every_statement_is_one_statement():
    """The script is cut into statements where they end, triggers kept whole."""
    assert all(sqlite3.complete_statement(f"{each};") for each in statements())


def test_a_field_refers_in_every_kind_or_in_none():
    """So the mentions need no kinds: a name of a field is enough."""
    refers: dict[str, set[bool]] = {}
    for kind in HOMES:
        for shape in all_shapes(kind_class(kind)):
            refers.setdefault(shape.name, set()).add(shape.refers)
    both = sorted(name for name, seen in refers.items() if len(seen) > 1)
    assert not both, f"make these fields ref() in all kinds, or rename them: {both}"


PLANS = {
    "standing": f"select 1 from entry e where e.kind = 'mould' and e.happened >= 1 "
    f"and e.happened < 9 and {STANDING}",
    "a view": "select * from mould",
    "a list": "select * from mould_trays",
    "a period of a view": "select * from sign_off where happened_at > '2026-03-02'",
    "a history": "select 1 from entry where corrects = 'shed-k7q2/1'",
    "heads": _HEADS,
    "mentions": "select 1 from entry e where (e.book, e.seq) in "
    f"(select book, seq from mention where code in ('B-1', 'B-2')) and {STANDING}",
}


@pytest.mark.parametrize("sql", PLANS.values(), ids=PLANS)
def test_no_question_reads_the_whole_record(layout, sql: str):
    """Every step over ``entry`` or ``mention`` is a search in an index."""
    plan = [row[3] for row in layout.execute(f"explain query plan {sql}").fetchall()]
    assert not [step for step in plan if re.match(r"SCAN (entry|e|l|mention)\b", step)]


# what the views show


def select(shed: Shed, sql: str) -> list[tuple]:
    with shed.plain() as db:
        return db.execute(sql).fetchall()


def test_a_view_shows_what_stands(busy: Shed):
    """The correction under the first entry's name; nothing of what was struck."""
    assert select(busy, "select entry, first_entry, reason, rack from mould") == [
        (busy.name(4), busy.name(2), "misread", "R2")
    ]
    assert select(busy, "select place from pest") == [(f"bay {n}",) for n in range(4)]


def test_a_view_of_a_list_is_keyed_by_the_entry(busy: Shed):
    """One row an item, in the order in which they were written."""
    (entry,) = busy.write(Mould(rack="R1", trays=("T9", "T1")))
    assert select(busy, "select entry, place, value from mould_trays") == [
        (entry.name, 1, "T9"),
        (entry.name, 2, "T1"),
    ]


def test_a_field_with_a_unit_in_its_name_is_a_number():
    """As text it would compare as text: in SQLite '0.5' > 9 is true."""
    units = ("_mg_per_l", "_ml", "_g", "_l", "_m2", "_minutes", "_c", "_percent")
    texts = {
        f"{kind}.{shape.name}"
        for kind in HOMES
        for shape in all_shapes(kind_class(kind))
        if shape.name.endswith(units) and shape.item is str
    }
    assert not texts


def test_what_stands_is_a_view_of_its_own(busy: Shed):
    """All kinds together, each entry with the first one of its matter."""
    rows = select(busy, "select entry, first_entry, kind from standing")
    assert (busy.name(4), busy.name(2), "mould") in rows
    assert (busy.name(6), busy.name(5), "strike") in rows
    assert len(rows) == busy.head().seq - 2
