"""``hygiene demo``: from an empty folder to a record, PDFs and what to try next."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from parts_of_a_year import UNTIL, Part, Shown
from pypdf import PdfReader

from hygiene.book.record import Record
from hygiene.cli.demo import HoldsARecord, make, progress


def bad_batch(part: Part) -> str:
    (found,) = part.record.entries(["mould"])
    return str(found.get("batch"))


def test_it_makes_a_record_and_pdfs_and_says_what_to_try(
    shown: Shown, recent: Part
) -> None:
    """Exit 0; today, a signing, the reports, the trace, the check, the next steps."""
    assert shown.result.exit_code == 0, shown.result.output
    made = sorted(path.name for path in shown.folder.iterdir())
    trace = f"trace-{bad_batch(recent)}.pdf"
    pages = ["day-2026-11-25.pdf", "farm.db", "month-2026-11.pdf", "pack.pdf", trace]
    assert made == pages
    run = re.findall(r"^\$ hygiene (\w+)", shown.result.stdout, re.M)
    pages = ["report", "report", "trace", "report", "report"]
    assert run == ["today", "sign", *pages, "verify"]
    assert "feedout done" in shown.result.stdout
    assert "Verified:" in shown.result.stdout
    assert f"  {shown.folder / 'month-2026-11.pdf'}\n" in shown.result.stdout


def test_the_page_of_today_shows_the_shed(shown: Shown) -> None:
    """Batches of day 0 to 7, clean trays for tomorrow, cans that end, who is watched.

    The walk-round is done, feeding out is due.
    """
    page, _, _ = shown.result.stdout.partition("$ hygiene sign")
    days = [int(day) for day in re.findall(r"^  day +(\d+) ", page, re.M)]
    assert days == [13, *range(7, -1, -1)]
    assert re.search(r"1 of 12 trays .* PAST DAY 7", page)
    (clean,) = re.findall(r"CLEARED TRAYS: (\d+); a day's sowing takes 12\n", page)
    assert int(clean) >= 12
    assert re.search(r"peracid +by 04 December 2026: its expiry date", page)
    assert re.search(r"MILKERS ate B-\S+ .* flagged until", page)
    due, done = page.index("DUE NOW"), page.index("\nDONE\n")
    assert due < page.index("feedout") < done < page.index("walk     ")
    assert "OUT OF USE" not in page
    assert "no laboratory has tested it" not in page


def test_the_trace_says_who_ate_and_how_it_ended(shown: Shown, recent: Part) -> None:
    """Both lots, the tub that it shares, both groups, the vet, and the close."""
    _, _, told = shown.result.stdout.partition(f"$ hygiene trace {bad_batch(recent)}")
    told = re.sub(r"\n[ |`]*", " ", told)
    for words in (
        "their lot QM",
        "their lot SF/",
        "fed to MILKERS (64 goat)",
        "fed to YOUNG (3 goat)",
        "thrown away: mould",
        "wash shed-",
        "vet Sallowbeck Vets told",
        "supplier Quillmarsh Seeds told",
        "it was sampled and kept apart",
        "closed shed-",
    ):
        assert words in told


def test_every_page_says_that_it_is_a_demonstration(shown: Shown) -> None:
    """In the words that stand on each page, and on today's list."""
    for paper in shown.folder.glob("*.pdf"):
        every = list(PdfReader(paper).pages)
        # all pages of a file have one frame: a long one is read at its ends and middle
        some = every if len(every) < 12 else [*every[:3], every[9], every[-1]]
        pages = [page.extract_text() for page in some]
        assert pages
        assert all("demonstration record" in text.lower() for text in pages)
    assert "DEMONSTRATION RECORD" in shown.result.stdout


def test_what_it_offers_to_try_can_be_copied(mine: Shown, shown: Shown) -> None:
    """Each of the commands does what it says, in the book of the demonstration."""
    # nobody is there to be asked, so signing says which answers it still wants; the
    # dose is refused; what an inspector would find, and the one gap, are named
    wanted = {
        "today": 0,
        "sign": 2,
        "recheck": 0,
        "miss": 0,
        "dose": 5,
        "ready": 3,
        "balance": 3,
        "log": 0,
    }
    printed = shown.result.stdout.replace(str(shown.record), str(mine.record))
    offered = re.findall(r"^  hygiene (.*)$", printed.partition("Try next")[2], re.M)
    codes = {}
    for words in map(shlex.split, offered):
        result = mine.later(*words)
        codes[words[0]] = result.exit_code
        assert "new book" not in result.stderr
    assert codes == wanted
    with Record.open(mine.record) as record:
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
