"""``hygiene export``: tables that other tools read, lines that make a record again."""

from __future__ import annotations

import json
import sqlite3
import sys
from collections.abc import Callable
from pathlib import Path

import pandas
import pytest
from csvw import CSVW
from sprout_farm import SproutFarm

from hygiene.book.record import Record
from hygiene.exchange.export import METADATA
from hygiene.kinds.moments import stamp

FORMULA = "=2+5 cm left"


@pytest.fixture
def grown(sprouts: SproutFarm) -> SproutFarm:
    """A batch sown, fed, corrected; a note that a spreadsheet would take for a sum."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    sprouts.mould(batch, note=FORMULA)
    return sprouts


@pytest.fixture
def export(grown: SproutFarm, run: Callable[..., object]):
    def exported(*words: object):
        done = run("export", *words, world=grown.world())
        assert done.exit_code == 0, done.output
        return done

    return exported


def test_the_tables_hold_by_their_own_metadata(grown: SproutFarm, export):
    """csvw reads them back: datatypes, keys, and every row."""
    export(grown.folder / "out")
    read = CSVW(str(grown.folder / "out" / METADATA))
    assert read.is_valid
    by_url = {str(table.url): list(table) for table in read.tables}
    (fed,) = by_url["feed.csv"]
    assert fed["trays"] == ["T001"]
    assert (fed["grams"], fed["look_ok"]) == (7000, True)
    assert [row["value"] for row in by_url["feed_trays.csv"]] == ["T001"]
    assert {row["tray"] for row in by_url["sow_places.csv"]} == {
        "T001", "T002", "T003", "T004",
    }  # fmt: skip


def test_pandas_reads_what_the_record_says(grown: SproutFarm, export):
    """The same rows as the record's own view."""
    export(grown.folder / "out")
    frame = pandas.read_csv(grown.folder / "out" / "sow_seeds.csv")
    with sqlite3.connect(grown.path) as db:
        rows = db.execute("select entry, place, lot, grams from sow_seeds").fetchall()
    assert list(frame.itertuples(index=False, name=None)) == rows


def test_a_note_is_never_a_formula(grown: SproutFarm, export):
    """One mark in front, which a reader takes away."""
    export(grown.folder / "out")
    frame = pandas.read_csv(grown.folder / "out" / "mould.csv")
    assert frame["note"][0] == f"'{FORMULA}"


def test_the_same_record_gives_the_same_files(grown: SproutFarm, export):
    """Byte for byte."""
    export(grown.folder / "one", "--jsonl", grown.folder / "one.jsonl")
    export(grown.folder / "two", "--jsonl", grown.folder / "two.jsonl")
    for path in (grown.folder / "one").iterdir():
        assert path.read_bytes() == (grown.folder / "two" / path.name).read_bytes()
    assert (grown.folder / "one.jsonl").read_bytes() == (
        grown.folder / "two.jsonl"
    ).read_bytes()


def test_what_was_put_right_stands_once(grown: SproutFarm, export, run):
    """As in the views; --all has every version, and says which one stands."""
    (fed,) = grown.entries("feed")
    done = run("correct", fed.name, "grams=8000", "--reason", "weighed", "--by", "AB",
               world=grown.world())  # fmt: skip
    assert done.exit_code == 0, done.output
    export(grown.folder / "out")
    export(grown.folder / "all", "--all", "--kinds", "feed")
    stands = pandas.read_csv(grown.folder / "out" / "feed.csv")
    every = pandas.read_csv(grown.folder / "all" / "feed.csv")
    assert list(stands["grams"]) == [8000]
    assert list(zip(every["grams"], every["stands"], strict=True)) == [
        (7000, False), (8000, True),
    ]  # fmt: skip


def test_a_period_and_kinds_may_be_chosen(grown: SproutFarm, export):
    """By when things happened, both days included."""
    day = f"{grown.now:%Y-%m-%d}"
    export(grown.folder / "out", "--from", day, "--to", day, "--kinds", "feed,sow")
    names = {path.name for path in (grown.folder / "out").glob("*.csv")}
    assert {"feed.csv", "sow.csv"} < names
    assert "mould.csv" not in names
    export(grown.folder / "none", "--to", "2001-01-01")
    assert [path.name for path in (grown.folder / "none").iterdir()] == [METADATA]


def test_a_folder_with_something_in_it_is_left_alone(grown: SproutFarm, run):
    """Nothing is overwritten, and nothing half made is left."""
    (grown.folder / "out").mkdir()
    (grown.folder / "out" / "mine.txt").write_text("mine")
    before = sorted(path.name for path in grown.folder.iterdir())
    done = run("export", grown.folder / "out", world=grown.world())
    assert done.exit_code == 7
    assert "something is in it" in done.stderr
    assert sorted(path.name for path in grown.folder.iterdir()) == before


def test_no_place_is_said_in_a_line(grown: SproutFarm, run):
    """A folder that cannot be made; no place at all."""
    done = run("export", grown.folder / "no" / "out", world=grown.world())
    assert done.exit_code == 7
    assert "cannot be written" in done.stderr
    assert run("export", world=grown.world()).exit_code == 2


def test_parquet_holds_the_same_rows(grown: SproutFarm, export):
    """With datatypes of its own."""
    export(grown.folder / "out", "--parquet")
    frame = pandas.read_parquet(grown.folder / "out" / "feed.parquet")
    assert list(frame["grams"]) == [7000]
    assert list(frame["look_ok"]) == [True]
    (fed,) = grown.entries("feed")
    assert stamp(frame["happened_at"][0].to_pydatetime()) == fed.happened_at


def test_parquet_without_its_library_is_one_clear_line(
    grown: SproutFarm, run, monkeypatch: pytest.MonkeyPatch
):
    """What to install, or to leave out; nothing is written."""
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    done = run("export", grown.folder / "out", "--parquet", world=grown.world())
    assert done.exit_code == 9
    assert "pip install pyarrow" in done.stderr
    assert not (grown.folder / "out").exists()


def test_a_table_of_ours_is_no_spreadsheet_of_old_records(grown, export, run):
    """It is said what to bring in its place."""
    export(grown.folder / "out")
    done = run("import", grown.folder / "out" / "feed.csv", world=grown.world())
    assert done.exit_code == 8
    assert "hygiene export --jsonl" in done.stderr


# ---- lines, and back


def test_lines_make_the_same_record_again(grown: SproutFarm, export, run):
    """Byte for byte: the same heads, the same page of the day, and it verifies."""
    path, new = grown.folder / "lines.jsonl", grown.folder / "new.db"
    export("--jsonl", path)
    assert run("import", path, "--record", new, world=grown.world()).exit_code == 0
    assert not new.exists()
    done = run("import", path, "--record", new, "--write", world=grown.world())
    assert done.exit_code == 0, done.output
    with Record.open(grown.path) as one, Record.open(new) as other:
        assert one.heads() == other.heads()
    assert run("verify", "--record", new, world=grown.world()).exit_code == 0
    days = [run("today", "--record", r, world=grown.world()) for r in (grown.path, new)]
    assert days[0].stdout == days[1].stdout


def test_attached_files_come_with_their_lines(grown: SproutFarm, export, run):
    """From the folder beside; without them no record is made that would not verify."""
    photo = grown.folder / "photo.jpg"
    photo.write_bytes(b"\xff\xd8 a photo")
    words = ["pest", "droppings", "--place", "store", "--attach", photo, "--by", "AB"]
    assert run(*words, world=grown.world()).exit_code == 0
    out, new = grown.folder / "out", grown.folder / "new.db"
    export(out, "--jsonl", grown.folder / "bare.jsonl")
    bare = grown.folder / "bare.jsonl"
    lacking = run("import", bare, "--record", new, "--write", world=grown.world())
    assert lacking.exit_code == 8
    assert "1 attached files are not in" in lacking.stderr
    whole = grown.folder / "whole"
    export(whole, "--files", "--jsonl", whole / "lines.jsonl")
    made = run("import", whole / "lines.jsonl", "--record", new, "--write",
               world=grown.world())  # fmt: skip
    assert made.exit_code == 0, made.output
    assert run("verify", "--record", new, world=grown.world()).exit_code == 0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda lines: [lines[0], lines[2]], "comes after line 1 of its book"),
        (lambda lines: lines[1:], "comes after line 0 of its book"),
        (lambda lines: [*lines, lines[-1]], "comes after line"),
        (
            lambda lines: [lines[0].replace('"seq":1', '"seq": 1')],
            "not as this program",
        ),
        (lambda lines: ["{}"], "not an entry of a record"),
        (lambda lines: ["[" * 50_000], "not an entry of a record"),
        (lambda lines: [], "holds no line of a record"),
        (lambda lines: ["\udcff"], "is not UTF-8"),
    ],
)
def test_lines_that_are_none_of_ours_are_told(
    grown: SproutFarm, export, run, change, says
):
    """With their number; no record is made."""
    path, new = grown.folder / "lines.jsonl", grown.folder / "new.db"
    export("--jsonl", path)
    lines = change(path.read_text().splitlines())
    path.write_bytes("\n".join(lines).encode("utf-8", "surrogateescape"))
    done = run("import", path, "--record", new, "--write", world=grown.world())
    assert done.exit_code == 8
    assert says in done.stderr
    assert not new.exists()


def test_lines_never_overwrite_a_record(grown: SproutFarm, export, run):
    """Two records are brought together by merge."""
    path = grown.folder / "lines.jsonl"
    export("--jsonl", path)
    done = run("import", path, "--write", world=grown.world())
    assert done.exit_code == 7
    assert "hygiene merge" in done.stderr


def test_what_was_written_is_told_to_a_program(grown: SproutFarm, export):
    """Rows by table, lines, heads."""
    told = json.loads(export(grown.folder / "out", "--json").stdout)
    assert told["rows"]["feed"] == 1
    assert Path(told["folder"]).name == "out"
    assert told["heads"]
