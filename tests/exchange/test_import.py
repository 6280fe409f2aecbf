"""``hygiene import``: asked first, all or nothing, each line through its act."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from binder_farm import BINDER, GOOD, BinderFarm, heading, line

from hygiene.exchange.forms import FORMS, Field
from hygiene.kinds.words import gist

VISITS = ("date;time;by;name;why;well", "3.9.2025;9:15;TO;A driver;delivery;yes")


# ---- asked, written, written once


def test_the_first_try_writes_nothing(farm: BinderFarm):
    """It says what would be written, and how to write it."""
    before = farm.heads()
    done = farm.run("import", farm.put("visitor.csv", *VISITS))
    assert done.exit_code == 0
    assert "Would be written: 1 x visitor, of 2025-09-03 to 2025-09-03" in done.stdout
    assert done.stdout.rstrip().endswith("visitor.csv --write")
    assert farm.heads() == before


def test_what_is_written_says_where_it_comes_from(farm: BinderFarm):
    """File, line, and the entry of the file, which holds its hash and its bytes."""
    path = farm.put("visitor.csv", *VISITS)
    assert farm.run("import", path, "--write").exit_code == 0
    (file,) = farm.entries("imported")
    (visit,) = farm.entries("visitor")
    assert visit.reason == f"imported from visitor.csv line 2 ({file.name})"
    assert (visit.by, visit.written_by) == ("TO", "MP")
    assert visit.happened_at == "2025-09-03T09:15:00+01:00"
    assert file.get("sha256") == file.get("attached")[0]["sha256"]
    assert "date = date" in file.get("read_as")
    assert gist(file).startswith("1 line of visitor from visitor.csv")
    assert farm.run("verify").exit_code == 0


def test_the_same_file_is_written_once(farm: BinderFarm):
    """A second time it is known by its hash, and nothing is written."""
    path = farm.put("visitor.csv", *VISITS)
    farm.run("import", path, "--write")
    before = farm.heads()
    done = farm.run("import", path, "--write")
    assert (done.exit_code, farm.heads()) == (0, before)
    assert "was imported as" in done.stderr


def test_a_file_that_grew_writes_only_what_is_new(farm: BinderFarm):
    """Each line that is recorded already is left as it is."""
    farm.run("import", farm.put("visitor.csv", *VISITS), "--write")
    more = farm.put("visitor.csv", *VISITS, "4.9.2025;9:15;TO;A vet;visit;yes")
    done = farm.run("import", more, "--write")
    assert "recorded already: 1" in done.stdout
    assert [e.get("name") for e in farm.entries("visitor")] == ["A driver", "A vet"]


def test_one_wrong_line_keeps_all_from_being_written(farm: BinderFarm):
    """All or nothing; the exit code is that of a wrong file."""
    before = farm.heads()
    path = farm.put("visitor.csv", *VISITS, "31.2.2025;;TO;x;y;maybe")
    done = farm.run("import", path, "--write")
    assert (done.exit_code, farm.heads()) == (8, before)
    assert "visitor.csv line 3, date: '31.2.2025' is no day" in done.stderr
    assert "visitor.csv line 3, well: 'maybe' is neither yes nor no" in done.stderr
    assert "nothing was written" in done.stderr


def test_lateness_of_the_writing_shows(farm: BinderFarm):
    """What happened in September was recorded in November, and says so."""
    farm.run("import", farm.put("visitor.csv", *VISITS), "--write")
    (visit,) = farm.entries("visitor")
    assert visit.recorded_at[:10] == "2025-11-20"


# ---- headings


def test_a_guess_is_not_written_without_a_word(farm: BinderFarm):
    """Headings that are called otherwise are proposed, and agreed to."""
    text = [VISITS[0].replace("by;", "Who;").replace("date", "Day"), VISITS[1]]
    path = farm.put("visitor.csv", *text)
    assert "guessed: 'Who' is read as by" in farm.run("import", path).stdout
    refused = farm.run("import", path, "--write")
    assert refused.exit_code == 2
    assert "--as-guessed" in refused.stderr
    assert farm.run("import", path, "--write", "--as-guessed").exit_code == 0


def test_a_mapping_file_says_what_headings_and_cells_mean(farm: BinderFarm):
    """Columns, what is left out, what stands in every line, what a cell means."""
    path = farm.put("book.csv", "Tag;Wer;Gast;Sonst", "3.9.2025;Tam;A driver;x")
    columns = farm.folder / "map.toml"
    columns.write_text(
        'kind = "visitor"\n[columns]\nTag = "date"\nWer = "by"\nGast = "name"\n'
        'Sonst = "-"\n[always]\nwhy = "delivery"\n[values.by]\nTam = "TO"\n'
    )
    done = farm.run("import", path, "--columns", columns, "--write")
    assert done.exit_code == 0, done.output
    (visit,) = farm.entries("visitor")
    assert (visit.by, visit.get("name"), visit.get("why")) == (
        "TO", "A driver", "delivery",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("colums = 1", "map.toml line 1, colums: there is no such key"),
        ('dates = "ddmm"', "map.toml line 1, dates: is one of dmy, mdy, ymd"),
        ("[columns]\nDay = 1", "map.toml line 2, columns.Day: a text in quotes"),
        ("[values]\nby = 1", "map.toml line 2, values.by: a table is wanted"),
        ('[columns]\nX = "date"', "names a heading 'X' that is not there"),
        ("= =", "map.toml line 1"),
    ],
)
def test_a_wrong_mapping_file_is_told(farm: BinderFarm, text: str, says: str):
    """With its line and its key."""
    columns = farm.folder / "map.toml"
    columns.write_text(text)
    path = farm.put("visitor.csv", *VISITS)
    done = farm.run("import", path, "--columns", columns)
    assert done.exit_code == 8
    assert says in done.stderr


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ("date;by;name;why;shoes", "visitor has no column 'shoes'"),
        ("date;by;name", "there is no column 'why'"),
        ("date;by;name;why;DATE", "both 'date' and 'DATE' are read as 'date'"),
    ],
)
def test_wrong_headings_are_told(farm: BinderFarm, head: str, says: str):
    """An unknown one, a missing one, one that stands twice."""
    done = farm.run("import", farm.put("visitor.csv", head, "3.9.2025;MP;x;y;1"))
    assert done.exit_code == 8
    assert says in done.stderr


# ---- every kind


@pytest.mark.parametrize("kind", FORMS)
def test_a_template_explains_itself(farm: BinderFarm, kind: str):
    """Headings in a file, an example and what each column means at the terminal."""
    path = farm.folder / "empty.csv"
    done = farm.run("import", path, "--template", kind)
    assert done.exit_code == 0
    heads = path.read_bytes().decode("utf-8-sig").strip().split(",")
    assert heads == [field.name for field in FORMS[kind].fields]
    for field in FORMS[kind].fields:
        assert field.says in done.stdout
    assert farm.run("import", "--template", kind, path).exit_code == 2


def test_every_kind_that_a_person_writes_comes_in(farm: BinderFarm):
    """Through its act: a line of each, on the farm of the demonstration."""
    for number, (kind, good) in enumerate(GOOD.items()):
        text = [heading(FORMS[kind], good), line(good, number)]
        done = farm.run("import", farm.put(f"{kind}.csv", *text), "--write")
        assert done.exit_code in (0, 3), (kind, done.output)
        (entry,) = [e for e in farm.entries(kind) if _imported(e.reason, f"{kind}.csv")]
        assert entry.happened_at.startswith("2025-09-")
    assert farm.run("verify").exit_code == 0


def _imported(reason: str | None, name: str) -> bool:
    return (reason or "").startswith(f"imported from {name} line 2")


def test_what_is_against_the_rules_is_written_marked_and_answered(farm: BinderFarm):
    """A forced sowing bears its mark; one action of the file answers for all."""
    for number, kind in enumerate(("seed", "sow")):
        good = GOOD[kind]
        text = [heading(FORMS[kind], good), line(good, number)]
        done = farm.run("import", farm.put(f"{kind}.csv", *text), "--write")
    assert done.exit_code == 3
    (sown,) = farm.entries("sow")
    assert "tray-not-cleared" in sown.get("marks")
    (action,) = farm.entries("action")
    assert "1 x tray-not-cleared" in action.get("problem")


def test_mould_of_long_ago_holds_its_batch_today(farm: BinderFarm):
    """A find is a find: batch and lot are held, and an incident is open."""
    for number, kind in enumerate(("seed", "sow", "mould")):
        good = GOOD[kind]
        text = [heading(FORMS[kind], good), line(good, number)]
        done = farm.run("import", farm.put(f"{kind}.csv", *text), "--write")
    assert "! Do not feed it, do not trim it" in done.stdout
    assert {hold.get("held") for hold in farm.entries("hold")} == {"25-101", "25-07"}
    assert any(action.get("incident") for action in farm.entries("action"))
    refused = farm.run("feed", "25-101", "EWES", "7", "--trays", "T001", "--check")
    assert refused.exit_code == 5


def test_an_old_number_is_traced_like_a_code(farm: BinderFarm):
    """25/101 stands as 25-101, and is found under either."""
    for number, kind in enumerate(("seed", "sow")):
        good = GOOD[kind]
        text = [heading(FORMS[kind], good), line(good, number)]
        farm.run("import", farm.put(f"{kind}.csv", *text), "--write")
    assert "batch 25-101" in farm.run("trace", "25-101").stdout
    assert "batch 25-101" in farm.run("trace", "25/101").stdout
    for number, tray in (("25-101", "T001"), ("25/101", "T002")):
        fed = farm.run("feed", number, "EWES", "7", "--trays", tray)
        assert f"of 25-101 (tray {tray})" in fed.stdout


def test_an_old_number_that_names_something_else_is_refused(farm: BinderFarm):
    """A batch called as a rack would be traced with it."""
    good = {**GOOD["seed"], "lot": "R1"}
    path = farm.put("seed.csv", heading(FORMS["seed"], good), line(good))
    done = farm.run("import", path)
    assert done.exit_code == 8
    assert "'R1' is the name of something else already: a rack" in done.stderr


# ---- a thousand wrong lines

BAD = {
    "when": ("31.2.2025", "1.1.2031", "x", "", "9/31/2025"),
    "clock": ("25:00", "soon"),
    "person": ("XX",),
    "grams": ("abc", "-1", "1,234", "0"),
    "code": ("NOPE-1",),
    "codes": ("T999", "T003..T001", "?"),
    "yes": ("maybe",),
    "whole": ("1.5", "x"),
    "number": ("x", "1,234"),
    "litres": ("x", "-2"),
    "amount": ("5", "x L"),
    "day": ("31.2.2025", "?"),
    "word": ("nonsense",),
}
TEN = (
    "seed", "germination", "container", "dose", "sow", "feed", "discard", "pest",
    "calibrate", "visitor",
)  # fmt: skip


def wrong_lines(kind: str, count: int) -> tuple[list[str], list[str]]:
    """So many wrong lines of a kind, and the column that is wrong in each."""
    form, good = FORMS[kind], {"date": "8.9.2025", "time": "8:30", "by": "MP"}
    good |= GOOD[kind]
    faults = [
        (field.name, bad)
        for field in form.fields
        if field.name in good
        for bad in _bad(field)
    ]
    lines, columns = [], []
    for number in range(count):
        column, bad = faults[number % len(faults)]
        lines.append(";".join({**good, column: bad}.values()))
        columns.append(column)
    return lines, columns


def _bad(field: Field) -> tuple[str, ...]:
    if field.sort == "text":
        return ("",) if field.required else ("y" * 3999 + "\x07",)
    return BAD.get(field.sort, ())


def test_a_thousand_wrong_lines_are_each_told(farm: BinderFarm):
    """Of ten kinds: each with its line, its column and what would be right."""
    sheets, wanted = [], {}
    for kind in TEN:
        lines, columns = wrong_lines(kind, 100)
        farm.put(f"{kind}.csv", heading(FORMS[kind], GOOD[kind]), *lines)
        wanted |= {(f"{kind}.csv", n): c for n, c in enumerate(columns, 2)}
        sheets.append(f'[[sheet]]\nfile = "{kind}.csv"\nkind = "{kind}"\n')
    (farm.folder / "binder.toml").write_text("".join(sheets))
    # what the lines name is there, so that nothing else is wrong with them
    for number, kind in enumerate(("seed", "container", "sow")):
        text = [heading(FORMS[kind], GOOD[kind]), line(GOOD[kind], number)]
        ready = farm.run("import", farm.put("ok.csv", *text), kind, "--write")
        assert ready.exit_code in (0, 3)
    before = farm.heads()
    done = farm.run("import", farm.folder / "binder.toml", "--write", "--json")
    assert (done.exit_code, farm.heads()) == (8, before)
    told = json.loads(done.stdout)["wrong"]
    assert len(wanted) == 1000
    found = {}
    for each in told:
        found.setdefault((each["file"], each["line"]), set()).add(each["column"])
        assert each["what"]
        assert each["remedy"]
    missed = {
        at: (column, found.get(at))
        for at, column in wanted.items()
        if column not in found.get(at, ())
    }
    assert missed == {}


# ---- the ring binder


def test_a_ring_binder_comes_in_as_one(farm: BinderFarm):
    """Four sheets with ordinary mess, in the order in which things happened."""
    done = farm.run("import", BINDER / "binder.toml", "--write")
    assert done.exit_code == 3, done.output
    assert "14 x feed, 2 x seed, 14 x sow, 7 x water" in done.stdout
    # a tray was emptied before it was sown again: nothing says otherwise
    assert "tray-in-use" not in done.stdout
    assert len(farm.entries("action")) == 1
    assert farm.run("import", BINDER / "binder.toml", "--write").exit_code == 0
    assert "fed to EWES" in farm.run("trace", "25-104").stdout


def test_a_first_pack_is_made_of_the_binder(farm: BinderFarm):
    """What was sown and fed in autumn stands on its pages, with the file's line."""
    farm.run("import", BINDER / "binder.toml", "--write")
    out = farm.folder / "pack.html"
    done = farm.run(
        "report", "pack", "--from", "2025-09-01", "--to", "2025-10-31", "--html",
        "--out", out,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    page = out.read_text("utf-8")
    assert "imported from sown-2025.csv line 5" in page
    assert "T019..T024 (6)  39.9" in page


def test_the_binder_s_unmapped_sheet_is_read_by_guesses(farm: BinderFarm):
    """UTF-16, decimal commas, parameters of water as headings."""
    path = BINDER / "water-2025.csv"
    done = farm.run("import", path, "water", "--as-guessed", "--write")
    assert done.exit_code == 3, done.output
    first = farm.entries("water")[0]
    said = {row["parameter"]: str(row["value"]) for row in first.get("results")}
    assert said == {"free": "0.42", "ph": "7.4"}


def test_a_thousand_that_could_be_one_is_asked_for(farm: BinderFarm):
    """1.000 kg with semicolons: a tonne or a kilogram? It is said, not guessed."""
    done = farm.run("import", BINDER / "seed-2025.csv", "seed")
    assert done.exit_code == 8


# ---- the rest


def test_no_file_and_no_kind_are_said(farm: BinderFarm):
    """Each with what to type next."""
    assert "which file?" in farm.run("import").stderr
    assert "No such file" in farm.run("import", "none.csv", "feed").stderr
    path = farm.put("book.csv", *VISITS)
    assert "name the kind of record" in farm.run("import", path).stderr
    unknown = farm.run("import", path, "stuff")
    assert unknown.exit_code == 4
    assert "is not read from a spreadsheet" in unknown.stderr


def test_a_folder_is_no_file(farm: BinderFarm, tmp_path: Path):
    """Said in one line."""
    assert farm.run("import", tmp_path, "feed").exit_code == 2
