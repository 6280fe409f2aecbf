"""``hygiene demo``: from an empty folder to a record, two PDFs and what to try next."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

import pytest
import typer.testing
from parts_of_a_year import UNTIL
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from hygiene.book.record import Record
from hygiene.cli import command
from hygiene.cli.demo import HoldsARecord, make, progress
from hygiene.cli.world import World


@dataclass(frozen=True)
class Shown:
    """What ``hygiene demo DIR --days 40`` left behind, and what it printed."""

    folder: Path
    result: Result
    world: World

    @property
    def record(self) -> Path:
        return self.folder / "farm.db"

    def later(self, *words: str) -> Result:
        """Run a command an hour after the demonstration, as its user would."""
        world = replace(self.world, now=lambda: UNTIL + timedelta(hours=3))
        return CliRunner().invoke(command, list(words), obj=world)


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shown]:
    folder = tmp_path_factory.mktemp("demo")
    world = World(now=lambda: UNTIL, environ={"HYGIENE_KEYS": str(folder / "keys")})
    with pytest.MonkeyPatch.context() as patch:
        # typer's runner takes a Typer app; ours is the finished command already
        patch.setattr(typer.testing, "_get_command", lambda made: made)
        words = ["demo", str(folder / "out"), "--days", "40"]
        result = CliRunner().invoke(command, words, obj=world)
        yield Shown(folder / "out", result, world)


def test_it_makes_a_record_and_two_pdfs_and_says_what_to_try(shown: Shown) -> None:
    """Exit 0; today, a signing, both reports, the check, and the next steps."""
    assert shown.result.exit_code == 0, shown.result.output
    made = sorted(path.name for path in shown.folder.iterdir())
    assert made == ["day-2026-11-25.pdf", "farm.db", "month-2026-11.pdf"]
    run = re.findall(r"^\$ hygiene (\w+)", shown.result.stdout, re.M)
    assert run == ["today", "sign", "report", "report", "verify"]
    assert "feedout done" in shown.result.stdout
    assert "Verified:" in shown.result.stdout
    assert f"  {shown.folder / 'month-2026-11.pdf'}\n" in shown.result.stdout


def test_every_page_says_that_it_is_a_demonstration(shown: Shown) -> None:
    """In the words that stand on each page, and on today's list."""
    for paper in shown.folder.glob("*.pdf"):
        pages = [page.extract_text() for page in PdfReader(paper).pages]
        assert pages
        assert all("demonstration record" in text.lower() for text in pages)
    assert "DEMONSTRATION RECORD" in shown.result.stdout


def test_what_it_offers_to_try_can_be_copied(shown: Shown) -> None:
    """Each of the commands does what it says, in the book of the demonstration."""
    tries = re.findall(r"^  hygiene (.*)$", shown.result.stdout, re.M)
    offered = [shlex.split(line) for line in tries[-5:]]
    assert [words[0] for words in offered] == [
        "today",
        "sign",
        "recheck",
        "miss",
        "log",
    ]
    for words in offered:
        result = shown.later(*words)
        # nobody is there to be asked, so signing says which answers it still wants
        wanted = 2 if words[0] == "sign" else 0
        assert result.exit_code == wanted, result.output
        assert "new book" not in result.stderr
    with Record.open(shown.record) as record:
        assert len(record.heads()) == 1


def test_a_record_is_never_overwritten(shown: Shown) -> None:
    """A folder that holds one is refused, with a way out."""
    before = shown.record.read_bytes()
    result = shown.later("demo", str(shown.folder))
    assert result.exit_code == 7
    assert "holds a record already" in result.stderr
    assert "give another folder" in result.stderr
    assert result.stdout == ""
    assert shown.record.read_bytes() == before


def stopped(place: Path, keys: Path) -> None:
    """Somebody presses Ctrl-C while half of the record is written."""
    with Record.create(place, lambda: UNTIL, keys, demonstration=True):
        raise KeyboardInterrupt


def whole(place: Path, keys: Path) -> None:
    Record.create(place, lambda: UNTIL, keys, demonstration=True).close()


def test_what_is_stopped_leaves_nothing_behind(tmp_path: Path) -> None:
    """No half record, no folder, no key to a book that is not there."""
    path, keys = tmp_path / "out" / "farm.db", tmp_path / "keys"
    with pytest.raises(KeyboardInterrupt):
        make(path, keys, stopped)
    assert list(tmp_path.iterdir()) == []


def test_a_record_that_came_meanwhile_stays(tmp_path: Path) -> None:
    """The name is taken only where it is free."""
    path = tmp_path / "farm.db"

    def slow(place: Path, keys: Path) -> None:
        whole(place, keys)
        path.write_text("another one")

    with pytest.raises(HoldsARecord):
        make(path, tmp_path / "keys", slow)
    assert path.read_text() == "another one"


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path, run) -> None:
    """Where a file stands in its place, nothing is built."""
    (tmp_path / "out").write_text("a file")
    result = run("demo", tmp_path / "out")
    assert result.exit_code == 7
    assert "cannot be used" in result.stderr


def test_progress_in_a_pipe_is_a_few_lines(capsys: pytest.CaptureFixture[str]) -> None:
    """A log is not filled with hundreds of them."""
    show = progress(False)
    for done in range(1, 366):
        show(done, 365)
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 4
    assert lines[-1] == "Making its record: 365 of 365 days"


def test_progress_at_a_terminal_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    """It is written over, and ended when all is done."""
    show = progress(True)
    for done in range(1, 4):
        show(done, 3)
    text = capsys.readouterr().err
    assert text.count("\n") == 1
    assert text.endswith("\rMaking its record: 3 of 3 days\n")
