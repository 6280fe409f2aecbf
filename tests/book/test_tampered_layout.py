"""``verify`` of all that is not a line: layout, mentions, files, and the disk's pages.

As in test_tampering, each test does to a good record what could be done to it.
"""

from __future__ import annotations

import random

import pytest
from shed import Shed

from hygiene.book.record import Head
from hygiene.book.verify import faults
from hygiene.kinds.attached import Attached
from hygiene.kinds.find import Mould

# the layout


def things(shed: Shed) -> list[tuple[str, str, str]]:
    with shed.plain() as db:
        return db.execute(
            "select type, name, sql from sqlite_master where sql is not null"
        ).fetchall()


def test_a_trigger_view_or_index_that_is_missing_is_named(busy: Shed):
    """Every trigger and index, and a few of the many views, one after the other."""
    good = busy.path.read_bytes()
    views = [thing for thing in things(busy) if thing[0] == "view"]
    others = [thing for thing in things(busy) if thing[0] in ("trigger", "index")]
    assert len(others) >= 8
    for sort, name, _ in [*others, *random.Random(7).sample(views, 3)]:
        with busy.plain() as db:
            db.execute(f"drop {sort} {name}")
        assert f"{sort} {name}" in busy.where()
        busy.path.write_bytes(good)


@pytest.mark.parametrize("sort", ["trigger", "view", "index"])
def test_a_trigger_view_or_index_that_was_altered_is_named(busy: Shed, sort: str):
    """By a word that changes what it does, and even by a blank that changes nothing."""
    (_, name, sql), *_ = (thing for thing in things(busy) if thing[0] == sort)
    end = " end" if sort == "trigger" else ""
    for altered in (
        sql.replace("\n", "  \n", 1) if "\n" in sql else f"{sql} ",
        {
            "trigger": f"create trigger {name} before update on entry begin "
            f"select 1;{end}",
            "view": f"create view {name} as select 1 as one",
            "index": f"create index {name} on entry(hash)",
        }[sort],
    ):
        with busy.plain() as db:
            db.execute(f"drop {sort} {name}")
            db.execute(altered)
        if things_text(busy, name) != sql:  # SQLite cuts blanks off the end
            assert f"{sort} {name}" in busy.where()


def things_text(shed: Shed, name: str) -> str:
    return next(sql for _, found, sql in things(shed) if found == name)


@pytest.mark.parametrize(
    "added",
    [
        "create trigger quiet after insert on entry begin select 1; end",
        "create view all_of_it as select * from entry",
        "create index by_hash on entry(hash)",
        "create unique index one_of_each on entry(hash)",
        "create table notes(text)",
    ],
)
def test_what_was_added_is_named(busy: Shed, added: str):
    """Above all a second unique index: under it a line could be replaced."""
    with busy.plain() as db:
        db.execute(added)
    (fault,) = busy.faults()
    assert "was added" in fault.what


def test_a_table_whose_checks_were_taken_away_is_named(busy: Shed):
    """Its text is compared word by word too."""
    with busy.plain() as db:
        db.execute("pragma writable_schema = on")
        db.execute(
            "update sqlite_master set sql = replace(sql, 'length(hash) = 64 and ', '') "
            "where name = 'entry'"
        )
    assert busy.where() == ["table entry"]


def test_a_table_that_is_gone_is_reported(busy: Shed):
    """Every check that needs it says so; the others are made."""
    for table in ("attachment", "mention", "entry"):
        with busy.plain() as db:
            db.execute(f"drop table {table}")
        assert f"table {table}" in busy.where()


def test_statistics_are_no_tampering(busy: Shed):
    """A tool that ran ANALYZE changed nothing that was written."""
    with busy.plain() as db:
        db.execute("analyze")
    assert busy.faults() == []


def test_a_record_that_was_packed_is_no_tampering(busy: Shed):
    """VACUUM moves pages and changes no line."""
    with busy.plain() as db:
        db.execute("vacuum")
    assert busy.faults() == []


# mentions and files


def test_a_mention_that_is_gone_is_found(busy: Shed):
    """A batch would be traced without one of its entries."""
    with busy.plain() as db:
        db.execute("delete from mention where code = 'B-1' and seq = 3")
    (fault,) = busy.faults()
    assert (fault.where, fault.what) == (busy.name(3), "is not listed under B-1")


def test_a_mention_that_was_added_is_found(busy: Shed):
    """An entry would turn up where it does not belong."""
    with busy.plain() as db:
        db.execute(
            "insert into mention values ('B-2', 'mould', ?, 3)", (busy.head().book,)
        )
    (fault,) = busy.faults()
    assert fault.where == busy.name(3)
    assert "B-2" in fault.what


def test_a_mention_exchanged_for_another_is_found(busy: Shed):
    """As many as before, but not the same."""
    with busy.plain() as db:
        db.execute("update mention set code = 'B-2' where code = 'B-1' and seq = 3")
    one, other = busy.faults()
    assert {"B-1" in one.what, "B-2" in other.what} == {True}


def test_a_mention_under_another_kind_is_found(busy: Shed):
    """Whoever asks for the holds of a batch would miss it."""
    with busy.plain() as db:
        db.execute("update mention set kind = 'pest' where code = 'B-1' and seq = 3")
    assert busy.where() == [busy.name(3)] * 2


def test_a_mention_of_no_entry_is_found(busy: Shed):
    """It names a line that does not exist."""
    with busy.plain() as db:
        db.execute("insert into mention values ('B-1', 'hold', 'shed-aaaa', 1)")
    assert busy.where() == ["shed-aaaa/1"]


def test_the_bytes_of_a_file_are_checked(busy: Shed):
    """One byte of the photo."""
    with busy.behind_its_back() as db:
        db.execute("update attachment set bytes = cast('?' || bytes as blob)")
    (fault,) = busy.faults()
    assert fault.where.startswith("file ")


def test_a_file_that_an_entry_names_and_that_is_gone_is_found(busy: Shed):
    """Taken out behind its back, or never brought along."""
    with busy.plain() as db:
        ((digest, size),) = db.execute(
            "select sha256, length(bytes) from attachment"
        ).fetchall()
    photo = Attached(sha256=digest, name="photo.jpg", bytes=size)
    (entry,) = busy.write(Mould(rack="R1", attached=(photo,)))
    assert busy.faults() == []
    with busy.behind_its_back() as db:
        db.execute("delete from attachment")
    (fault,) = busy.faults()
    assert fault.where == entry.name
    assert "is gone" in fault.what


def test_a_file_under_a_name_that_is_no_hash_is_reported(busy: Shed):
    """64 characters of something else, some of them not even text."""
    with busy.plain() as db:
        db.execute("insert into attachment values (?, x'00')", ("z" * 64,))
    assert busy.where() == ["file zzzzzzzzzzzz"]
    with busy.plain() as db:
        name = b"\xff" * 64
        db.execute("insert into attachment values (cast(? as text), x'00')", (name,))
    assert "files" in busy.where()


@pytest.mark.parametrize("name", ["sqlite_stat9", "sqlite_stat1"])
def test_a_trigger_that_bears_the_name_of_statistics_is_reported(busy: Shed, name: str):
    """SQLite reserves the name, but not from who writes its own table of texts."""
    text = f"create trigger {name} after insert on entry begin delete from mention; end"
    with busy.plain() as db:
        db.execute("pragma writable_schema = on")
        db.execute(
            "insert into sqlite_master values ('trigger', ?, 'entry', 0, ?)",
            (name, text),
        )
    assert busy.where() == [f"trigger {name}"]


# the disk


def root_page(shed: Shed, name: str) -> int:
    with shed.plain() as db:
        ((page,),) = db.execute(
            "select rootpage from sqlite_master where name = ?", (name,)
        ).fetchall()
    return page


@pytest.mark.parametrize("name", ["entry_by_kind", "entry_by_first"])
def test_a_damaged_page_of_an_index_is_found(busy: Shed, name: str):
    """The chain cannot see it; whoever asks for one kind would miss an entry."""
    page = root_page(busy, name)
    content = bytearray(busy.path.read_bytes())
    start, end = (page - 1) * 4096, page * 4096
    word = b"mould" if name == "entry_by_kind" else busy.head().book.encode()
    place = content.rindex(word, start, end)
    content[place] += 1
    busy.path.write_bytes(content)
    (fault, *_) = busy.faults()
    assert fault.where == "pages"
    assert name in fault.what


@pytest.mark.parametrize("name", ["entry_by_kind", "entry", "mention", "attachment"])
def test_a_page_that_reads_as_nothing_is_reported(busy: Shed, name: str):
    """A sector of noise: faults, never a traceback."""
    page = root_page(busy, name)
    content = bytearray(busy.path.read_bytes())
    noise = random.Random(page).randbytes(4096)
    content[(page - 1) * 4096 : page * 4096] = noise
    busy.path.write_bytes(content)
    head = Head("shed-aaaa", 1, "0" * 64)
    with busy.to_read() as record:
        assert faults(record, (head,))
