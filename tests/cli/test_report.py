from __future__ import annotations

import hashlib
import json
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from hygiene.book.record import Record
from hygiene.cli.world import World
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.day import Answer, SignOff
from hygiene.kinds.setup import Farm, Person

NOW = datetime(2026, 3, 26, 8, tzinfo=ZoneInfo("Europe/London"))


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder that the program runs in."""
    folder = tmp_path / "desk"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def report(run, world: World, tmp_path: Path, here: Path):
    """Run ``hygiene report`` on a farm with one task, signed on 25 March 2026."""
    _fill(tmp_path, demonstration=False)
    now = world._replace(now=lambda: NOW)
    return lambda *words, world=now: run("report", *words, world=world)


def _fill(folder: Path, *, demonstration: bool) -> None:
    path, keys, now = folder / "farm.db", folder / "keys", [NOW.replace(day=1, hour=6)]

    def clock() -> datetime:
        return now[0]

    Record.create(path, clock, keys, demonstration=demonstration).close()
    walk = Checklist(
        code="walk",
        title="Opening walk-round",
        version=1,
        dated=date(2026, 1, 1),
        rule="FREQ=DAILY",
        starts=date(2026, 1, 1),
        steps=(Step(code="drains", text="Drains run free"),),
    )
    farm = Farm(name="Thistledrift Farm", address="L", time_zone="Europe/London")
    signed = SignOff(
        task="walk",
        due="2026-03-25T07:00:00+00:00",
        version=1,
        answers=(Answer(step="drains", done=True, passed=True),),
    )
    written = ((farm, Person(code="AB", name="Ada Brook"), walk), (signed,))
    for day, things in zip((1, 25), written, strict=True):
        now[0] = NOW.replace(day=day, hour=7)
        with (
            Record.open(path, to_write=True) as record,
            record.writing(clock, keys) as writing,
        ):
            for thing in things:
                writing.add(thing, by="AB")


def test_a_day_is_written_under_its_own_name(report, here):
    """The command says which file it wrote, from how many entries, and the head."""
    result = report("day", "--on", "2026-03-25")
    assert result.exit_code == 0
    first, period, count, table, *_, inside, head = result.stdout.splitlines()
    made = (here / "day-2026-03-25.pdf").read_bytes()
    assert made.startswith(b"%PDF-1.7")
    assert first == f"Written: day-2026-03-25.pdf ({len(made) / 1000:,.0f} kB)"
    assert period == "  The day's record, Wednesday 25 March 2026"
    assert count == "  from 5 entries, printed 26 March 2026, 08:00"
    assert inside == "  inside it: the 5 entries that it was made from"
    assert table == "  inside it: tasks-2026-03-25-to-2026-03-25.csv"
    assert head.startswith("  head shed-")


def test_a_month_is_written_under_its_own_name(report, here):
    """The month's file bears the month, and the words say that both ends count."""
    result = report("month", "--month", "2026-03", "--html")
    assert "1 to 31 March 2026, both days included" in result.stdout
    assert (
        (here / "month-2026-03.html").read_text("utf-8").startswith("<!doctype html>")
    )


def test_a_longer_period_is_named_by_both_ends(report, here):
    """Any days from and to, both included."""
    report("month", "--from", "2026-03-20", "--to", "2026-03-25", "--html")
    made = [p.name for p in here.glob("*.html")]
    assert made == ["month-2026-03-20-to-2026-03-25.html"]


def test_today_and_this_month_if_nothing_is_said(report, here):
    """Without a period the report is of the day or the month that it is now."""
    report("day", "--html")
    report("month", "--html")
    assert {p.name for p in here.glob("*.html")} == {
        "day-2026-03-26.html",
        "month-2026-03.html",
    }
    assert (here / "tasks-2026-03-26-to-2026-03-26.csv").is_file()


def test_the_file_goes_where_it_is_said(report, tmp_path):
    """``--out`` takes a file, or a folder for the usual name."""
    report("day", "--html", "--out", tmp_path / "mine.html")
    assert (tmp_path / "mine.html").is_file()
    report("day", "--html", "--out", tmp_path)
    assert (tmp_path / "day-2026-03-26.html").is_file()


def test_the_same_moment_gives_the_same_file(report, here, world):
    """Made again another day with --printed-at, the file is the same to the byte."""
    report("day", "--on", "2026-03-25")
    before = (here / "day-2026-03-25.pdf").read_bytes()
    later = world._replace(now=lambda: NOW.replace(month=6))
    words = ("day", "--on", "2026-03-25", "--printed-at", "2026-03-26 08:00")
    report(*words, world=later)
    assert (here / "day-2026-03-25.pdf").read_bytes() == before


def test_json_says_what_was_made(report, here):
    """For a program: file, period, entries, heads, size and hash, under fixed keys."""
    told = json.loads(report("day", "--on", "2026-03-25", "--html", "--json").stdout)
    made = (here / told["file"]).read_bytes()
    assert told["sha256"] == hashlib.sha256(made).hexdigest()
    assert told["bytes"] == len(made)
    assert (told["from"], told["to"]) == ("2026-03-25", "2026-03-25")
    assert (told["report"], told["entries"], len(told["heads"])) == ("day", 5, 1)


def test_a_page_cannot_be_dated_before_what_it_counts(report):
    """--printed-at is no way to date a page back."""
    result = report("day", "--printed-at", "2026-03-24 08:00")
    assert result.exit_code == 2
    assert "a page printed at 2026-03-24 08:00 cannot count shed-" in result.stderr


def test_a_page_cannot_be_dated_ahead(report):
    """A moment that has not come is refused."""
    result = report("day", "--printed-at", "2026-03-27 08:00")
    assert result.exit_code == 2
    assert "has not come yet" in result.stderr


def test_a_day_that_has_not_come_has_no_record(report):
    """There is nothing to report of tomorrow."""
    result = report("day", "--on", "2026-03-27")
    assert result.exit_code == 2
    assert "27 March 2026 has not come yet" in result.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("day", "--month", "2026-03"), "this report is of one day"),
        (("month", "--on", "2026-03-25"), "this report is of more than one day"),
        (("month", "--month", "March"), "'March' is not a month"),
        (("month", "--month", "2026-13"), "'2026-13' is not a month"),
        (("month", "--to", "2026-03-25"), "--to needs --from"),
        (
            ("month", "--from", "2026-03-25", "--to", "2026-03-20"),
            "--to 2026-03-20 lies before --from 2026-03-25",
        ),
        (
            ("month", "--month", "2026-03", "--from", "2026-03-20"),
            "give one of --month and --from and --to, not both",
        ),
        (("month", "--from", "1990-01-01"), "six years at most"),
        (("day", "--on", "someday"), "is not a day"),
    ],
)
def test_a_period_that_is_none_is_refused(report, here, words, said):
    """One period, or exit 2 and one clear line; nothing is written."""
    result = report(*words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert list(here.iterdir()) == []


def test_an_unknown_report_gets_the_nearest(report):
    """A name that is none: exit 4, the names there are, and the nearest."""
    result = report("dya")
    assert result.exit_code == 4
    assert "there is no report 'dya'; there are: day, month" in result.stderr
    assert "did you mean: hygiene report day" in result.stderr


def test_no_record_is_said(run, world, here):
    """Without a record: exit 7, and how to make one."""
    result = run("report", "day", world=world)
    assert result.exit_code == 7


def test_a_demonstration_may_be_printed_at_any_moment(run, world, tmp_path, here):
    """A demonstration's pages say that it is one, so its moments may be given."""
    _fill(tmp_path, demonstration=True)
    now = world._replace(now=lambda: NOW)
    words = ("report", "day", "--on", "2026-03-27", "--html", "--json")
    result = run(*words, "--printed-at", "2026-03-27 20:00", world=now)
    told = json.loads(result.stdout)
    assert told["demonstration"]
    assert told["printed_at"] == "2026-03-27T20:00:00+00:00"


@pytest.mark.parametrize("name", ["../farm.db", "FARM.toml"])
def test_only_a_page_is_written_over(report, here: Path, name: str) -> None:
    """A slip after --out never costs the record, or a farm file."""
    (here / "FARM.toml").write_text("[farm]")
    before = (here / name).read_bytes()
    made = report("day", "--html", "--out", name)
    assert made.exit_code == 2
    assert "is not written over" in made.stderr
    assert (here / name).read_bytes() == before
    assert report("day", "--html", "--out", "page.html").exit_code == 0
    assert report("day", "--html", "--out", "page.html").exit_code == 0
