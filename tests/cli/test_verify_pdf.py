"""``hygiene verify FILE.pdf``: what was changed, by whom ever, is said and named."""

from __future__ import annotations

import json
import shlex
import shutil
import sqlite3
from contextlib import closing
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import pytest
from small_farm import build
from sprout_farm import SproutFarm
from tampering import (
    CHAIN,
    ENTRIES,
    MANIFEST,
    files,
    re_hashed,
    saved_again,
    with_files,
    with_lines,
    with_page,
)

from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.kinds.find import Pest
from hygiene.reports import proof
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.period import Period


@dataclass(frozen=True)
class Issue:
    """A farm's folder, and the report of a day that was made from it."""

    folder: Path
    content: bytes
    heads: list[str]

    @property
    def record(self) -> Path:
        return self.folder / "farm.db"

    def pdf(self, content: bytes | None = None) -> Path:
        path = self.folder / "day.pdf"
        path.write_bytes(self.content if content is None else content)
        return path


@pytest.fixture(scope="module")
def built(built_sprouts: SproutFarm, tmp_path_factory) -> Issue:
    folder = tmp_path_factory.mktemp("issue")
    shutil.copytree(built_sprouts.folder, folder, dirs_exist_ok=True)
    farm = SproutFarm(folder, built_sprouts.now)

    def live(writing: Writing) -> None:
        writing.add(Pest(what="of the day before", place="door"), by="AB")
        farm.later(hours=24)
        for n in range(3):
            writing.add(Pest(what=f"rat {n}", place="store"), by="AB")

    farm.write(live)
    farm.later(minutes=5)
    with farm.open() as record:
        day = farm.now.date()
        now = farm.now.astimezone(farm.in_force().zone)
        made = proof.take(record, REPORTS["day"], Period(day, day), now)
        heads = [str(head) for head in record.heads()]
    return Issue(folder, proof.make(made).content, heads)


@pytest.fixture
def issue(built: Issue, tmp_path: Path) -> Issue:
    shutil.copytree(built.folder, tmp_path, dirs_exist_ok=True)
    return Issue(tmp_path, built.content, built.heads)


@pytest.fixture
def verify(run):
    """Exit code, the faults' places, and the answer of ``verify ... --json``."""

    def ask(path: Path, *words: object):
        made = run("verify", path, *words, "--json")
        assert made.stderr == ""
        told = json.loads(made.stdout)
        assert told["verified"] == (made.exit_code != 6)
        return made.exit_code, [f["where"] for f in told["faults"]], told

    return ask


def seq(where: str) -> str:
    return where.rpartition("/")[2]


def a_rat(lines: list[str]) -> int:
    """The place of the second rat among the lines."""
    return next(n for n, line in enumerate(lines) if '"rat 1"' in line)


def changed(lines: list[str]) -> list[str]:
    return [line.replace('"rat 1"', '"cat 1"') for line in lines]


def dropped(lines: list[str]) -> list[str]:
    return [line for line in lines if '"rat 1"' not in line]


def tampered(issue: Issue, statement: str) -> None:
    """The record changed behind its guards, which are put back."""
    with closing(sqlite3.connect(issue.record, isolation_level=None)) as db:
        guards = db.execute(
            "select name, sql from sqlite_master where type = 'trigger'"
        ).fetchall()
        for name, _ in guards:
            db.execute(f"drop trigger {name}")
        db.execute(statement)
        for _, sql in guards:
            db.execute(sql)


# a report that nobody touched


def test_by_itself_it_says_what_it_shows_and_what_it_does_not(run, issue: Issue):
    """No record is at hand; nothing but the file is needed."""
    issue.record.unlink()
    made = run("verify", issue.pdf())
    assert made.exit_code == 0
    shown, _, untold = " ".join(made.stdout.split()).partition("Not shown:")
    assert "day.pdf agrees with itself: report day, " in shown
    assert "entries inside are, byte for byte, those that lead to the heads" in shown
    for way in ("--record FILE", "--rebuild", "--head BOOK/SEQ:HASH", "is true"):
        assert way in untold
    assert issue.heads[0] in made.stdout
    long = [line for line in made.stdout.splitlines() if len(line) > 80]
    assert long == [f"  head {issue.heads[0]}"]


def test_with_its_record_it_says_that_it_has_only_grown(verify, run, issue: Issue):
    """Also when more was written since."""
    code, _, told = verify(issue.pdf(), "--record", issue.record)
    assert code == 0
    assert "has only grown since, by 0" in told["shown"][1]
    farm = SproutFarm(issue.folder)
    farm.write(lambda w: w.add(Pest(what="later", place="store"), by="AB"))
    code, _, told = verify(issue.pdf(), "--record", issue.record)
    assert code == 0
    assert "has only grown since, by 1" in told["shown"][1]


def test_the_command_that_makes_it_again_is_told(run, issue: Issue):
    """It is typed as it stands, whatever was written since."""
    SproutFarm(issue.folder).write(
        lambda w: w.add(Pest(what="later", place="store"), by="AB")
    )
    made = run("verify", issue.pdf(), "--record", issue.record)
    (typed,) = (x for x in made.stdout.splitlines() if x.startswith("  hygiene report"))
    again = run(*shlex.split(typed)[1:], "--out", issue.folder / "again.pdf")
    assert again.exit_code == 0
    assert (issue.folder / "again.pdf").read_bytes() == issue.content


def test_made_again_from_its_own_entries_it_is_the_same(verify, issue: Issue):
    """To the byte, with no record at hand."""
    issue.record.unlink()
    code, _, told = verify(issue.pdf(), "--rebuild")
    assert code == 0
    assert "the same to the byte" in told["shown"][1]
    assert told["carried"] == len(files(issue.content)[ENTRIES].splitlines())


def test_a_head_that_was_sent_earlier_is_compared(verify, issue: Issue):
    """The right one is shown; a wrong one is a fault; a later one is not told."""
    head, book = issue.heads[0], issue.heads[0].partition("/")[0]
    code, _, told = verify(issue.pdf(), "--head", head[:-40])
    assert (code, told["shown"][1]) == (
        0, "the heads that you gave are those of the file's own chain",
    )  # fmt: skip
    wrong = head.rpartition(":")[0] + ":" + "0" * 12
    assert verify(issue.pdf(), "--head", wrong)[:2] == (6, [wrong.partition(":")[0]])
    code, _, told = verify(issue.pdf(), "--head", f"{book}/9999:00000000")
    assert code == 3
    assert any("later than this file" in each for each in told["not_shown"])


# the entries inside


def test_a_changed_entry_in_the_file_is_named(verify, issue: Issue):
    """The attachment alone was edited."""
    code, faults, _ = verify(issue.pdf(with_lines(issue.content, changed)))
    lines = files(issue.content)[ENTRIES].decode().splitlines()
    name = json.loads(lines[a_rat(lines)])["seq"]
    assert code == 6
    assert seq(faults[0]) == str(name)


def test_a_dropped_entry_in_the_file_is_named(verify, issue: Issue):
    """Its link says that it was carried."""
    lines = files(issue.content)[ENTRIES].decode().splitlines()
    code, faults, _ = verify(issue.pdf(with_lines(issue.content, dropped)))
    assert code == 6
    assert seq(faults[0]) == str(json.loads(lines[a_rat(lines)])["seq"])


def test_an_added_entry_in_the_file_is_named(verify, issue: Issue):
    """Beyond the head, or in the place of one that was left out."""

    def added(lines: list[str]) -> list[str]:
        last = json.loads(lines[-1])["seq"]
        return [*lines, lines[-1].replace(f'"seq":{last}', f'"seq":{last + 1}')]

    code, faults, told = verify(issue.pdf(with_lines(issue.content, added)))
    assert code == 6
    assert told["faults"][0]["what"].startswith("was added to the file")
    assert int(seq(faults[0])) > 3


def test_who_re_hashes_all_of_it_is_caught_by_the_pages(verify, issue: Issue):
    """The head that the pages print is no longer the one that comes out."""
    code, faults, _ = verify(issue.pdf(re_hashed(issue.content, changed)))
    assert (code, set(faults)) == (6, {"pages"})


def test_who_re_hashes_all_of_it_is_caught_by_the_record(verify, issue: Issue):
    """And there the entry is named."""
    lines = files(issue.content)[ENTRIES].decode().splitlines()
    path = issue.pdf(re_hashed(issue.content, changed))
    code, faults, _ = verify(path, "--record", issue.record)
    assert code == 6
    assert str(json.loads(lines[a_rat(lines)])["seq"]) in map(seq, faults)


def test_who_re_hashes_all_of_it_is_caught_by_a_head(verify, issue: Issue):
    """That somebody else had: the vet, the adviser, an older page."""
    path = issue.pdf(re_hashed(issue.content, changed))
    code, faults, _ = verify(path, "--head", issue.heads[0])
    assert code == 6
    assert issue.heads[0].partition(":")[0] in faults


def test_an_entry_left_out_with_its_hash_left_in_is_named_by_the_record(
    verify, issue: Issue
):
    """The chain still comes out: only who reads the report anew sees what is missing.

    Without the record, the pages print another SHA-256 of the entries.
    """
    lines = files(issue.content)[ENTRIES].decode().splitlines()
    path = issue.pdf(re_hashed(issue.content, dropped))
    code, faults, told = verify(path)
    assert (code, faults) == (6, ["pages"])
    assert "another SHA-256" in told["faults"][0]["what"]
    code, faults, told = verify(path, "--record", issue.record)
    name = str(json.loads(lines[a_rat(lines)])["seq"])
    assert code == 6
    assert [name, "is left out of the file"] in [
        [seq(f["where"]), f["what"].partition(";")[0]] for f in told["faults"]
    ]
    code, _, told = verify(path, "--rebuild")
    assert code == 6
    assert "these entries give other pages" in [f["what"] for f in told["faults"]]


def test_what_another_version_read_is_not_judged(verify, issue: Issue):
    """It may have read more, or less: only where it did is that said."""
    told = json.loads(files(issue.content)[MANIFEST])["made_with"]
    older = {"made_with": told | {"hygiene": "0.0.9"}}
    code, _, _ = verify(
        issue.pdf(_said(issue.content, **older)), "--record", issue.record
    )
    assert code == 0
    fewer = _said(re_hashed(issue.content, dropped), **older)
    code, faults, answer = verify(issue.pdf(fewer), "--record", issue.record)
    assert any("made by hygiene 0.0.9" in each for each in answer["not_shown"])
    assert (code, faults) == (6, ["pages"])  # which print another SHA-256


def test_an_entry_of_the_record_that_does_not_belong_is_named(verify, issue: Issue):
    """Added with the right line and hash: the report is not made from it."""
    with Record.open(issue.record) as record:
        rows = record.db.execute("select line from entry order by seq").fetchall()
    there = set(files(issue.content)[ENTRIES].decode().splitlines())
    other = next(line for (line,) in rows if line not in there)

    def added(lines: list[str]) -> list[str]:
        return sorted([*lines, other], key=lambda line: json.loads(line)["seq"])

    path = issue.pdf(re_hashed(issue.content, added))
    for words in (("--record", issue.record), ("--rebuild",)):
        code, faults, told = verify(path, *words)
        assert code == 6
        assert str(json.loads(other)["seq"]) in map(seq, faults)
        assert any("the report is not of it" in f["what"] for f in told["faults"])


@pytest.mark.parametrize("name", [ENTRIES, CHAIN, MANIFEST])
def test_a_file_that_was_taken_out_is_named(run, issue: Issue, name: str):
    """Without it nothing can be checked."""
    made = run("verify", issue.pdf(with_files(issue.content, {name: None})))
    assert made.exit_code == 6
    assert made.stderr.splitlines() == [
        f"hygiene: {issue.folder / 'day.pdf'} cannot be checked: {name} was taken out "
        "of it"
    ]


@pytest.mark.parametrize("name", [ENTRIES, CHAIN, MANIFEST])
@pytest.mark.parametrize("content", [b"\xff\xfe\n", b"[" * 100_000 + b"\n", b"{}\n"])
def test_a_file_that_says_nothing_is_told(run, issue: Issue, name, content: bytes):
    """Names as ours, and no sense in them: one sentence, or the faults."""
    made = run("verify", issue.pdf(with_files(issue.content, {name: content})))
    assert made.exit_code == 6
    if made.stdout:
        assert made.stdout.startswith("NOT as it was made")
    else:
        assert len(made.stderr.splitlines()) == 1


def test_an_added_file_is_named(verify, issue: Issue):
    """What the report does not list was not put there by it."""
    path = issue.pdf(with_files(issue.content, {}, **{"letter.txt": b"all was well"}))
    assert verify(path)[:2] == (6, ["letter.txt"])


# the pages


def test_a_page_that_was_edited_is_named(verify, issue: Issue):
    """The entries and the chain are as they were; the page says something else."""
    path = issue.pdf(with_page(issue.content, 0, lambda drawn: drawn + b"\n0 0 m\n"))
    assert verify(path)[0] == 0
    code, faults, _ = verify(path, "--rebuild")
    assert (code, faults) == (6, ["page 1"])


def test_a_file_that_was_saved_again_is_told(verify, issue: Issue):
    """Its pages draw the same, and its bytes are others."""
    code, faults, told = verify(issue.pdf(saved_again(issue.content)), "--rebuild")
    assert (code, faults) == (6, ["bytes"])
    assert "saved it again" in told["faults"][0]["what"]


def _said(content: bytes, **changes: object) -> bytes:
    told = json.loads(files(content)[MANIFEST]) | changes
    return with_files(content, {MANIFEST: json.dumps(told).encode()})


def test_another_engine_is_no_false_alarm(verify, issue: Issue):
    """Bytes that cannot be compared are said to be so, and the HTML is compared."""
    told = json.loads(files(issue.content)[MANIFEST])["made_with"]
    path = issue.pdf(_said(issue.content, made_with=told | {"pango": "1.2.3"}))
    code, faults, answer = verify(path, "--rebuild")
    assert (code, faults) == (3, [])
    assert any("laid out by pango 1.2.3" in each for each in answer["not_shown"])
    assert any(
        "comes out the same; each page is drawn the same" in x
        for x in answer["not_shown"]
    )


def test_an_edited_page_is_told_though_the_engine_is_another(verify, issue: Issue):
    """Its bytes cannot be compared: nothing is said to agree that was not compared."""
    told = json.loads(files(issue.content)[MANIFEST])["made_with"]
    other = _said(issue.content, made_with=told | {"pango": "1.2.3"})
    path = issue.pdf(with_page(other, 0, lambda drawn: drawn + b"\n0 0 m\n"))
    code, faults, answer = verify(path, "--rebuild")
    assert (code, faults) == (3, [])
    (left,) = (x for x in answer["not_shown"] if "pages say" in x)
    assert left.endswith("pages are drawn otherwise, first page 1")


def test_another_program_that_gives_other_pages_is_no_false_alarm(verify, issue: Issue):
    """An older version may have laid a page out otherwise: that is said, not judged."""
    told = json.loads(files(issue.content)[MANIFEST])["made_with"]
    path = issue.pdf(
        _said(
            issue.content,
            made_with=told | {"hygiene": "0.0.9"},
            html_sha256=sha256(b"other").hexdigest(),
        )
    )
    code, faults, answer = verify(path, "--rebuild")
    assert (code, faults) == (3, [])
    assert any("made by hygiene 0.0.9" in each for each in answer["not_shown"])


@pytest.mark.parametrize(
    "changes",
    [
        {"form": 2},
        {"report": "no such", "html_sha256": "0" * 64},
        {"time_zone": "../../etc/passwd"},
        {"time_zone": "Nowhere/At_All"},
        {"printed_at": "yesterday"},
        {"from": "2026-02-31"},
        {"heads": ["x"]},
        {"heads": 7},
        {"files": ["a"]},
        {"subject": {"a": 1}},
    ],
)
def test_an_odd_manifest_is_one_clear_line(run, issue: Issue, changes: dict):
    """Whatever it says, nothing crashes and nothing is believed."""
    made = run("verify", issue.pdf(_said(issue.content, **changes)), "--rebuild")
    assert made.exit_code == 6
    assert "Traceback" not in made.stdout + made.stderr


def test_what_a_file_says_does_nothing_to_the_terminal(run, issue: Issue):
    """Control characters in its names are shown as what they are: odd."""
    content = with_files(issue.content, {}, **{"a\x1b[2J.txt": b"x"})
    made = run("verify", issue.pdf(content))
    assert made.exit_code == 6
    assert "a\ufffd[2J.txt" in made.stdout
    assert "\x1b" not in made.stdout


# the record


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("update entry set line = replace(line, 'rat 1', 'cat 1')", 1),
        ("delete from entry where line like '%rat 1%'", 1),
        ("delete from entry where line like '%rat 2%'", 2),
    ],
)
def test_a_changed_or_dropped_entry_in_the_record_is_named(
    verify, issue: Issue, statement: str, named: int
):
    """Changed, dropped from the midst, or cut off the end."""
    lines = files(issue.content)[ENTRIES].decode().splitlines()
    rat = next(json.loads(x)["seq"] for x in lines if f'"rat {named}"' in x)
    tampered(issue, statement)
    code, faults, _ = verify(issue.pdf(), "--record", issue.record)
    assert code == 6
    assert seq(faults[0]) == str(rat)


def test_the_record_of_another_farm_is_told(verify, issue: Issue):
    """The report is not of this record."""
    (issue.folder / "other").mkdir()
    other = build(issue.folder / "other")
    code, _, told = verify(issue.pdf(), "--record", other.path)
    assert code == 6
    assert "is it another's?" in told["faults"][0]["what"]


def test_the_words_name_the_first_fault(run, issue: Issue):
    """One line says it, for a person."""
    tampered(issue, "delete from entry where line like '%rat 1%'")
    made = run("verify", issue.pdf(), "--record", issue.record)
    assert made.exit_code == 6
    assert made.stdout.startswith("NOT as it was made. First: ")
    said = " ".join(made.stdout.split())
    assert "is gone from the record; the file carries it" in said


def test_rebuild_needs_a_file(run):
    """The record itself has no pages."""
    made = run("verify", "--rebuild")
    assert made.exit_code == 2
    assert "needs a PDF" in made.stderr
