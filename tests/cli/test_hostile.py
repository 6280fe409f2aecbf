"""Hostile input as a hand would type it: tricks in names, files that are none, words
that another program would take for its own.

A seeded share of tests/soak/fuzz_doors.py stands at the end.
"""

from __future__ import annotations

import json
import os
import random
import sqlite3
from hashlib import sha256
from pathlib import Path

import pytest
from doors import DOORS, fuzz
from dose_farm import DoseFarm
from faulting import typed

from hygiene.book import chain
from hygiene.book.record import Record
from hygiene.book.verify import faults

AB = {"HYGIENE_BY": "AB"}


@pytest.fixture
def hygiene(run, doses: DoseFarm, monkeypatch: pytest.MonkeyPatch):
    """The program typed in the farm's folder, by AB."""
    monkeypatch.chdir(doses.folder)
    world = doses.world()
    world = world._replace(environ={**world.environ, **AB})
    return lambda *words: run(*words, world=world)


def newest(farm: DoseFarm, kind: str):
    with Record.open(farm.path) as record:
        return record.newest(kind)


# ---- files that are attached or read ---------------------------------------------


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names")
@pytest.mark.parametrize(
    "words",
    [
        ("pest", "rat", "--place", "bay", "--attach", "odd"),
        ("import", "odd", "visitor"),
        ("import", "odd.jsonl"),
        ("import", "odd.toml"),
        ("set-up", "odd"),
        ("verify", "odd"),
        ("today", "--record", "odd"),
        ("merge", "odd"),
        ("restore", "odd"),
        ("report", "day", "--html", "--out", "odd"),
        ("calendar", "--out", "odd"),
        ("export", "--jsonl", "odd"),
    ],
    ids=" ".join,
)
def test_a_pipe_that_nobody_writes_to_is_not_waited_for(
    hygiene, doses: DoseFarm, words: tuple[str, ...]
) -> None:
    """Nor is it written over."""
    for name in ("odd", "odd.jsonl", "odd.toml"):
        os.mkfifo(doses.folder / name)
    before = doses.path.read_bytes()
    done = hygiene(*words)
    assert done.exit_code in (2, 6, 7, 8), done.output
    assert done.stderr.strip()
    assert doses.path.read_bytes() == before
    assert (doses.folder / words[-1]).is_fifo() or words[-1] == "visitor"


@pytest.mark.parametrize("name", ["/dev/zero", ".", "..", "/", "gone/x", "a" * 300])
def test_what_is_no_file_is_not_attached(hygiene, doses: DoseFarm, name: str) -> None:
    """A device has no end, a folder no bytes."""
    done = hygiene("pest", "rat", "--place", "bay", "--attach", name)
    assert (done.exit_code, newest(doses, "pest")) == (2, None), done.output


@pytest.mark.parametrize("given", ["stick/../stick/it.sh", "link"])
def test_an_attached_file_is_kept_by_its_bytes_and_bears_no_path(
    hygiene, doses: DoseFarm, given: str
) -> None:
    """Its last name is written; where it stood is not, and it is never run."""
    (doses.folder / "stick").mkdir()
    content = b"#!/bin/sh\ntouch ran\n"
    (doses.folder / "stick" / "it.sh").write_bytes(content)
    (doses.folder / "stick" / "it.sh").chmod(0o755)
    (doses.folder / "link").symlink_to("stick/it.sh")
    assert hygiene("pest", "rat", "--place", "bay", "--attach", given).exit_code in (
        0,
        3,
    )
    (kept,) = newest(doses, "pest").get("attached")
    assert kept["name"] == Path(given).name
    assert kept["sha256"] == sha256(content).hexdigest()
    hygiene("export", "out", "--files")
    (file,) = (doses.folder / "out" / "files").iterdir()
    assert (file.name, file.stat().st_mode & 0o111) == (kept["sha256"], 0)
    assert not (doses.folder / "ran").exists()


def test_a_file_that_is_too_large_is_not_read_to_its_end(
    hygiene, doses: DoseFarm
) -> None:
    """A terabyte of nothing, which takes no room on the disk."""
    with (doses.folder / "huge.bin").open("wb") as file:
        file.truncate(2**40)
    for words in (
        ("pest", "rat", "--place", "bay", "--attach", "huge.bin"),
        ("import", "huge.bin", "visitor"),
        ("set-up", "huge.bin"),
    ):
        done = hygiene(*words)
        assert done.exit_code in (2, 8), done.output
        assert "large" in done.stderr


def test_the_record_is_not_written_over_by_what_is_made_of_it(
    hygiene, doses: DoseFarm
) -> None:
    """Every --out and --jsonl, by mistake the record's own name."""
    before = doses.path.read_bytes()
    for words in (
        ("export", "--jsonl"),
        ("report", "day", "--html", "--out"),
        ("calendar", "--out"),
        ("sheets", "rota", "--html", "--out"),
        ("labels", "T001", "--html", "--out"),
    ):
        done = hygiene(*words, "farm.db")
        assert done.exit_code in (2, 7), done.output
        assert "not written over" in done.stderr
    assert doses.path.read_bytes() == before


# ---- words and names -------------------------------------------------------------

TEXTS = (
    "'; drop table entry; --",
    '"); delete from entry; --',
    "{{ 7*7 }}{% raw %}",
    "<script>alert(1)</script>&amp;",
    "=HYPERLINK(1)",
    "%s%n$(reboot)`id`",
    "\u202egnp.exe",
    "x" * 10_000,
)


@pytest.mark.parametrize("text", TEXTS, ids=range(len(TEXTS)))
def test_a_text_is_a_text_and_nothing_else(hygiene, doses: DoseFarm, text: str) -> None:
    """Kept letter by letter; on a page it is escaped, whatever it looks like."""
    assert hygiene("pest", "rat", "--place", text).exit_code in (0, 3)
    assert newest(doses, "pest").get("place") == text
    hygiene("miss", "walk", "--reason", text[:300])
    assert hygiene("report", "day", "--html", "--out", "d.html").exit_code in (0, 3)
    page = (doses.folder / "d.html").read_text("utf-8")
    assert "<script>alert" not in page
    assert "\u202e" not in page
    assert "{{ 7*7 }}" in page or "{{" not in text
    assert hygiene("verify").exit_code == 0


@pytest.mark.parametrize("text", ["a\nb", "a\x1b[31mb", "a\0b", "a\u2028b"])
def test_a_text_stays_on_one_line(hygiene, doses: DoseFarm, text: str) -> None:
    """What moves a cursor or ends a line is refused, and nothing is written."""
    done = hygiene("pest", "rat", "--place", text)
    assert (done.exit_code, newest(doses, "pest")) == (2, None)
    assert "control character" in done.stderr


def test_a_name_that_begins_with_a_hyphen_can_be_written(
    hygiene, doses: DoseFarm
) -> None:
    """After ``--`` no word is an option."""
    assert hygiene("pest", "--place", "-bay", "--", "-rat").exit_code in (0, 3)
    assert newest(doses, "pest").get("what") == "-rat"
    (doses.folder / "--help").write_bytes(b"x")
    assert hygiene("pest", "rat", "--place", "bay", "--attach", "--help").exit_code in (
        0,
        2,
        3,
    )


# ---- a record from elsewhere -----------------------------------------------------


def _with_line(farm: DoseFarm, change) -> None:
    """The last line changed past every door, and its hash made to fit."""
    farm.write(lambda w: w.add(_pest(), by="AB"))
    with sqlite3.connect(farm.path) as db:
        db.execute("drop trigger entry_is_never_changed")
        book, seq, line = db.execute(
            "select book, seq, line from entry order by seq desc limit 1"
        ).fetchone()
        (before,) = db.execute(
            "select hash from entry where book = ? and seq = ?", (book, seq - 1)
        ).fetchone()
        line = change(line)
        db.execute(
            "update entry set line = ?, hash = ? where book = ? and seq = ?",
            (line, chain.follow(before, line.encode()), book, seq),
        )
    db.close()


def _pest():
    from hygiene.kinds.find import Pest

    return Pest(what="rat", place="bay")


LOGS = (
    ("log", "--from", "2026-03-01"),
    ("log", "--from", "2026-03-01", "--json"),
)


@pytest.mark.parametrize("spelled", ["\\u001b[31m", "\\u0007", "\\r\\n", "\\u202e"])
def test_a_line_that_spells_out_what_moves_a_cursor_is_shown_and_named(
    doses: DoseFarm, spelled: str
) -> None:
    """Nothing of it reaches the screen, in JSON it is spelled; ``verify`` names it."""
    _with_line(doses, lambda line: line.replace('"bay"', f'"b{spelled}y"'))
    environ = {"HYGIENE_RECORD": str(doses.path), "HYGIENE_KEYS": str(doses.keys)}
    for words in (*LOGS, ("today",)):
        said = typed(words, doses.folder, environ)
        assert said.code in (0, 3), said
        assert not {"\x1b", "\x07", "\r", "\u202e"} & {*said.out, *said.err}
        if "--json" in words:
            places = [row["body"].get("place") for row in json.loads(said.out)]
            assert json.loads(f'"b{spelled}y"') in places
    with Record.open(doses.path) as record:
        assert any("no line of a record" in fault.what for fault in faults(record))


ODD_TABLES = (
    "create view {0} as with recursive r(n) as (select 1 union all select n + 1 from r)"
    " select 'x' as book, n as seq, '' as line, '' as hash from r",
    "create virtual table {0} using fts5(book, seq, line, hash)",
)


@pytest.mark.parametrize("name", ["entry", "mention", "attachment"])
@pytest.mark.parametrize("sql", ODD_TABLES, ids=["a view without end", "virtual"])
def test_a_table_that_is_none_is_not_read(
    hygiene, doses: DoseFarm, name: str, sql: str
) -> None:
    """Opened, verified, merged, restored: refused before anything is asked of it."""
    odd = doses.folder / "odd.db"
    odd.write_bytes(doses.path.read_bytes())
    with sqlite3.connect(odd) as db:
        for (trigger,) in db.execute(
            "select name from sqlite_master where type = 'trigger'"
        ).fetchall():
            db.execute(f"drop trigger {trigger}")
        db.execute(f"drop table {name}")
        db.execute(sql.format(name))
    db.close()
    for words in (
        ("today", "--record", odd),
        ("verify", "--record", odd),
        ("merge", odd),
        ("restore", odd),
    ):
        done = hygiene(*words)
        assert done.exit_code == 6, done.output
        assert f"{name} in it is no table of ours" in done.stderr


# ---- a share of the soak ---------------------------------------------------------

SHARE = {
    "farm files and checklists": 60,
    "spreadsheets and mappings": 25,
    "bodies of JSON lines": 15,
    "SQLite files": 5,
}


@pytest.mark.parametrize("name", SHARE)
def test_no_hostile_input_gives_a_traceback_or_changes_the_record(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Most of it gets past the parser; arguments and PDFs have tests of their own."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "farm").mkdir()
    door = DOORS[name](tmp_path / "farm", random.Random(5))
    found, wrong = fuzz(name, door, SHARE[name])
    assert wrong == []
    assert found["past the parser"] > SHARE[name] / 3


def test_a_zero_byte_in_an_argument_is_refused(run) -> None:
    """No file bears such a name; no shell hands one over, but a program may."""
    made = run("import", "\0", "--template")
    assert made.exit_code == 2
    assert made.exception is None or isinstance(made.exception, SystemExit)
