"""A report that was made is written down, and can be made again as it was."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest
from pseudo_terminal import terminal
from small_farm import SmallFarm

from hygiene.kinds.find import Pest


@pytest.fixture
def report(run, shed: SmallFarm, tmp_path: Path):
    """``hygiene report day WORD ...`` by the shed's clock; its JSON, or the result."""

    def make(*words: object, name: str = "day.pdf", **environ: str):
        world = shed.world()
        world = shed.world(environ={**world.environ, **environ})
        out = ("--out", tmp_path / name)
        return run("report", "day", *out, *words, world=world)

    return make


def told(made) -> dict:
    assert made.exit_code == 0, made.output
    return json.loads(made.stdout)


def issues(shed: SmallFarm) -> list:
    with shed.open() as record:
        return record.entries(["issued"])


def rat(shed: SmallFarm) -> None:
    shed.later(minutes=10)
    shed.write(lambda w: w.add(Pest(what="rat", place="store"), by="AB"))


# the issue entry


def test_a_report_is_written_down_by_who_made_it(report, shed: SmallFarm, tmp_path):
    """After its file: which report, of when, its hash, its heads."""
    with shed.open() as record:
        before = [str(head) for head in record.heads()]
    made = told(report("--by", "AB", "--json"))
    (found,) = issues(shed)
    assert made["issued"] == found.name
    assert found.by == "AB"
    assert dict(found.body) == {
        "report": "day",
        "first": made["from"],
        "last": made["to"],
        "file_name": "day.pdf",
        "file_sha256": sha256((tmp_path / "day.pdf").read_bytes()).hexdigest(),
        "heads": before,
    }


def test_the_writer_may_be_known_from_the_environment(report, shed: SmallFarm):
    """As for every entry."""
    made = report(HYGIENE_BY="ab")
    assert "that it was made is written as " in made.stdout
    assert [found.by for found in issues(shed)] == ["AB"]


def test_without_a_writer_it_says_that_it_was_not_written_down(report, shed):
    """On stderr; the report is made all the same."""
    made = report()
    assert made.exit_code == 0
    assert made.stderr.splitlines() == [
        "That it was made is not written down: add --by CODE, or set HYGIENE_BY."
    ]
    assert issues(shed) == []


def test_somebody_unknown_is_refused_before_anything_is_made(report, tmp_path):
    """The writer's code was mistyped: nothing is left."""
    made = report("--by", "ZZ")
    assert made.exit_code == 4
    assert not (tmp_path / "day.pdf").exists()


def test_a_record_that_cannot_be_written_still_gives_its_report(
    report, shed: SmallFarm, tmp_path
):
    """The file is in place, and that it is not written down is said with the reason."""
    (tmp_path / "no-folder").write_text("")
    made = report("--by", "AB", HYGIENE_KEYS=str(tmp_path / "no-folder" / "keys"))
    assert made.exit_code == 0
    assert (tmp_path / "day.pdf").is_file()
    assert "The file is in place. That it was made is not written down: " in made.stderr
    assert issues(shed) == []


def test_the_same_file_again_is_one_issue(report, shed: SmallFarm):
    """Made once more as of then, it is the same file and is written already."""
    first = told(report("--by", "AB", "--json"))
    shed.later(minutes=9)
    again = told(
        report(
            "--by", "AB", "--json", "--printed-at", first["printed_at"][:16],
            "--as-of", first["heads"][0],
        )
    )  # fmt: skip
    assert again["sha256"] == first["sha256"]
    assert again["issued"] == first["issued"]
    assert len(issues(shed)) == 1


def test_a_page_for_a_browser_is_not_an_issue(report, shed: SmallFarm):
    """Nothing is written, nothing is said."""
    made = report("--html", "--by", "AB", name="day.html")
    assert (made.exit_code, made.stderr) == (0, "")
    assert issues(shed) == []


# as it was


def test_as_of_a_head_it_is_what_was_made_then(report, shed: SmallFarm, tmp_path):
    """To the byte, whatever was written since, also in another book."""
    rat(shed)
    first = told(report("--json"))
    then = (tmp_path / "day.pdf").read_bytes()
    rat(shed)
    keys = str(tmp_path / "other-keys")
    told(report("--json", "--by", "AB", HYGIENE_KEYS=keys))
    assert (tmp_path / "day.pdf").read_bytes() != then
    made = report(
        "--json", "--printed-at", first["printed_at"][:16], "--as-of", first["heads"][0]
    )
    assert told(made)["sha256"] == first["sha256"]
    assert (tmp_path / "day.pdf").read_bytes() == then
    assert "is left out: no head of it was given, or it was opened later" in made.stderr


def test_as_of_a_moment_it_is_what_was_written_by_then(report, shed: SmallFarm):
    """The last lines up to that moment are its heads."""
    rat(shed)
    first = told(report("--json"))
    shed.later(minutes=1)
    then = f"{shed.now:%Y-%m-%d %H:%M}"
    rat(shed)
    made = told(report("--json", "--as-of", then))
    assert made["heads"] == first["heads"]
    assert made["entries"] == first["entries"]


@pytest.mark.parametrize(
    ("given", "code", "said"),
    [
        (["shed-none/1:00000000"], 6, "does not hold the head"),
        (["{book}/1:00000000"], 6, "its line differs"),
        (["{book}/999:00000000"], 6, "its line is gone"),
        (["{head}", "{head}"], 2, "names a book twice"),
        (["{head}", "2026-03-01"], 2, "takes heads, or one moment"),
        (["some day"], 2, ""),
        (["2001-01-01 08:00"], 2, "nothing was written yet"),
    ],
)
def test_what_is_no_head_and_no_moment_is_refused(
    report, shed: SmallFarm, tmp_path, given: list[str], code: int, said: str
):
    """With what to type instead; no file is left."""
    with shed.open() as record:
        (head,) = record.heads()
    typed = [each.format(head=head, book=head.book) for each in given]
    made = report(*(word for each in typed for word in ("--as-of", each)))
    assert (made.exit_code, made.stdout) == (code, "")
    assert said in made.stderr
    assert list(tmp_path.glob("*.pdf")) == []


# on a terminal


def _started(shed: SmallFarm, out: Path) -> tuple[subprocess.Popen[bytes], int]:
    """``hygiene report month`` with a terminal for its stderr."""
    ours, theirs = terminal()
    words = ["report", "month", "--month", f"{shed.now:%Y-%m}", "--out", str(out)]
    main = (
        f"import sys; sys.argv = ['hygiene', *{words!r}]; from hygiene.cli import main"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", f"{main}; main()"],
        env={**os.environ, **shed.world().environ, "HYGIENE_BY": ""},
        stdout=subprocess.DEVNULL,
        stderr=theirs,
    )
    os.close(theirs)
    return process, ours


def _heard(ours: int, until: bytes = b"\0") -> bytes:
    text = b""
    while until not in text:
        try:
            more = os.read(ours, 4096)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        text += more
    return text


def test_a_terminal_is_shown_how_far_it_is_and_an_interrupt_leaves_nothing(
    shed: SmallFarm, tmp_path: Path
):
    """Stopped in the midst: exit code 130, no file, no half of one."""
    process, ours = _started(shed, tmp_path / "month.pdf")
    assert b"applying css" in _heard(ours, b"applying css")
    process.send_signal(signal.SIGINT)
    _heard(ours)
    os.close(ours)
    assert process.wait() == 130
    assert [p.name for p in tmp_path.iterdir() if "month" in p.name] == []
