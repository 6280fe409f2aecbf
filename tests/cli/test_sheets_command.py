"""Paper: printed blank, filled in by hand, typed in with its lateness."""

from __future__ import annotations

import io
import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from pdf_checks import faults, texts
from PIL import Image
from small_farm import START, THINGS, SmallFarm

from hygiene.book.record import Record
from hygiene.rota.sheet import farm_of, lines, month_of, week_of

NEXT = date(2026, 3, 9)
MONDAY = (
    "mo=CD@07:10", "mo.temp=21.3", "mo.mould.R1=0", "mo.mould.R2=0", "mo.pests=none",
)  # fmt: skip


def code_of(shed: SmallFarm, task: str, day: date | None = None, month=False) -> str:
    with shed.open() as record:
        setup = record.setup()
    days = (month_of if month else week_of)(day or shed.now.date())
    found = lines(shed.rota(), farm_of(setup), days)
    return next(line.code for line in found if line.task.code == task)


def typed(run, shed: SmallFarm, code: str, *words: str, by: str = "AB"):
    return run("sign", "--from-sheet", code, *words, "--by", by, world=shed.world())


def written(shed: SmallFarm, kind: str = "sign_off"):
    with shed.open() as record:
        return record.entries([kind])


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    held = io.BytesIO()
    Image.new("L", (20, 20), 255).save(held, "PNG")
    path = tmp_path / "scan.png"
    path.write_bytes(held.getvalue())
    return path


@pytest.fixture
def later(shed: SmallFarm) -> SmallFarm:
    """The Thursday after the week began."""
    shed.later(days=3, hours=4)
    return shed


# typing in


def test_a_day_of_a_sheet_is_signed_as_it_stands_there(run, later, scan) -> None:
    """By whom, when, typed by whom, from which paper, with the scan."""
    code = code_of(later, "walk")
    made = typed(run, later, code, *MONDAY, "--attach", str(scan))
    assert made.exit_code == 0, made.output
    (entry,) = written(later)
    assert (entry.by, entry.written_by) == ("CD", "AB")
    assert entry.happened_at == "2026-03-02T07:10:00+00:00"
    assert entry.get("due") == "2026-03-02T07:00:00+00:00"
    assert entry.get("marks") == ["late", "paper"]
    assert entry.get("sheet") == code
    assert [row["name"] for row in entry.get("attached")] == ["scan.png"]
    assert entry.reason == f"typed in from the sheet {code}"


def test_a_kept_sheet_that_was_in_time_opens_no_action(run, later, scan) -> None:
    """It was done in time by a paper that can be looked at; it is late in typing."""
    typed(run, later, code_of(later, "walk"), *MONDAY, "--attach", str(scan))
    assert written(later, "action") == []


def test_without_its_sheet_a_late_typing_opens_an_action(run, later) -> None:
    """As any late entry does; and it says what would have helped."""
    made = typed(run, later, code_of(later, "walk"), *MONDAY)
    assert made.exit_code == 3
    (action,) = written(later, "action")
    assert "late" in action.get("problem")
    assert "--attach SCAN" in made.stderr


def test_what_was_done_late_by_the_sheet_opens_an_action(run, later, scan) -> None:
    """Paper does not make late work punctual."""
    words = [word.replace("07:10", "23:30") for word in MONDAY]
    made = typed(run, later, code_of(later, "walk"), *words, "--attach", str(scan))
    assert made.exit_code == 3
    assert len(written(later, "action")) == 1


def test_several_days_are_one_act(run, later, scan) -> None:
    """All of them, or none."""
    code = code_of(later, "floors")
    made = typed(
        run, later, code, "mo=AB@16:05", "tu=AB@16:10", "we=ab", "--attach", str(scan)
    )
    assert made.exit_code == 0, made.output
    assert [entry.happened_at[:10] for entry in written(later)] == [
        "2026-03-02", "2026-03-03", "2026-03-04",
    ]  # fmt: skip


def test_a_wrong_day_leaves_nothing_half_written(run, later) -> None:
    """The good days before it are not written either."""
    code = code_of(later, "floors")
    made = typed(run, later, code, "mo=AB@16:05", "tu=XX@16:10")
    assert made.exit_code == 4
    assert "XX" in made.stderr
    assert written(later) == []


def test_without_a_time_on_the_sheet_that_is_said_for_ever(run, later) -> None:
    """It is taken as done when it was due, and the entry says that nobody knows."""
    typed(run, later, code_of(later, "floors"), "we=AB")
    (entry,) = written(later)
    assert entry.happened_at == "2026-03-04T16:00:00+00:00"
    assert entry.get("note") == "no time stands on the sheet"


def test_typed_twice_it_is_written_once(run, later, scan) -> None:
    """An identical line is already recorded, exit code 0."""
    words = (*MONDAY, "--attach", str(scan))
    typed(run, later, code_of(later, "walk"), *words)
    again = typed(run, later, code_of(later, "walk"), *words)
    assert again.exit_code == 0
    assert "Already recorded" in again.output
    assert len(written(later)) == 1


def test_mould_on_paper_holds_as_mould_at_the_terminal(run, later, scan) -> None:
    """The same act, the same cautions, exit code 3."""
    words = [word.replace("mould.R1=0", "mould.R1=2") for word in MONDAY]
    made = typed(run, later, code_of(later, "walk"), *words, "--attach", str(scan))
    assert made.exit_code == 3
    assert "Do not feed it" in made.output
    assert [entry.get("rack") for entry in written(later, "mould")] == ["R1"]


def test_a_safety_step_must_stand_on_the_sheet(run, later) -> None:
    """Initials alone do not say that there was no mould."""
    made = typed(run, later, code_of(later, "walk"), "mo=CD@07:10", "mo.temp=21.3")
    assert made.exit_code == 2
    assert "mould.R1=" in made.stderr
    assert "Monday 2 March" in made.stderr


def test_somebody_without_the_right_is_marked(run, later, scan) -> None:
    """Paper gives nobody a right; the review is the manager's."""
    typed(
        run, later, code_of(later, "review"), "tu=CD@08:00", "--attach", str(scan),
        by="CD",
    )  # fmt: skip
    (entry,) = written(later)
    assert "not-allowed" in entry.get("marks")
    assert len(written(later, "action")) == 1


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("fr=AB@07:00",), 2, "has not come"),
        (("xx=AB",), 2, "is no day of"),
        (("mo.swept=yes",), 2, "whose initials"),
        (("mo=AB", "mo=CD"), 2, "twice"),
        (("mo=AB@25:00",), 2, "not a time"),
        (("mo",), 2, "KEY=VALUE"),
        ((), 2, "nothing was given to type in"),
    ],
)
def test_what_cannot_be_typed_is_said(run, later, words, code, said) -> None:
    """In one line, with what to type instead; nothing is written."""
    made = typed(run, later, code_of(later, "floors"), *words)
    assert made.exit_code == code
    assert said in made.stderr
    assert written(later) == []


def test_a_misread_code_names_the_right_one(run, later) -> None:
    """Exit code 2, and nothing written."""
    code = code_of(later, "floors")
    wrong = code[:-1] + ("2" if code[-1] != "2" else "3")
    made = typed(run, later, wrong, "mo=AB")
    assert made.exit_code == 2
    assert f"did you mean {code}?" in made.stderr


def test_days_of_which_nothing_is_written_are_named(run, later) -> None:
    """With the command that writes why."""
    made = typed(run, later, code_of(later, "floors"), "mo=AB@16:00")
    assert "hygiene miss floors --on 2026-03-03 --reason TEXT" in made.stderr
    assert "--on 2026-03-02" not in made.stderr


def test_a_month_is_typed_by_the_numbers_of_its_days(run, later) -> None:
    """A weekday would mean several."""
    code = code_of(later, "floors", month=True)
    assert typed(run, later, code, "mo=AB").exit_code == 2
    typed(run, later, code, "2=AB@16:00", "03=AB@16:00")
    assert len(written(later)) == 2


def test_at_a_terminal_it_asks_day_by_day(run, later) -> None:
    """Enter leaves a day out; what stands already is not asked again."""
    code = code_of(later, "floors")
    typed(run, later, code, "mo=AB@16:00")
    made = run(
        "sign", "--from-sheet", code, "--by", "AB",
        world=later.world(asks=True), given="AB@16:20\n\n\n",
    )  # fmt: skip
    assert "Monday 2 March" not in made.output.split("initials@time")[0]
    assert [entry.happened_at[:10] for entry in written(later)] == [
        "2026-03-02",
        "2026-03-03",
    ]


def test_sign_alone_asks_which_task(run, shed) -> None:
    """In a pipe it says how; the exit code is that of a command wrongly put."""
    made = run("sign", "--by", "AB", world=shed.world())
    assert made.exit_code == 2
    assert "hygiene today" in made.stderr


def test_on_its_first_day_a_farm_stands_as_it_was_set_up(run, tmp_path) -> None:
    """Set up at eight for a list of seven: who signs has the right to."""
    farm = SmallFarm(tmp_path, START + timedelta(hours=2))
    with (
        Record.create(farm.path, farm.clock, farm.keys) as record,
        record.writing(farm.clock, farm.keys) as writing,
    ):
        for thing in THINGS:
            writing.add(thing, by="AB")
    made = typed(run, farm, code_of(farm, "walk"), *MONDAY)
    assert made.exit_code == 0, made.output
    assert [entry.get("marks") for entry in written(farm)] == [["paper"]]


def test_a_photo_may_be_kept_with_any_signature(run, shed, scan) -> None:
    """``--attach``, as on every command that writes."""
    shed.later(hours=2)
    run("sign", "floors", "--attach", scan, "--by", "AB", world=shed.world())
    assert [row["name"] for row in written(shed)[0].get("attached")] == ["scan.png"]


# printing


def printed(run, shed: SmallFarm, *words: str, folder: Path) -> tuple[dict, bytes]:
    made = run("sheets", *words, "--out", folder, "--json", world=shed.world())
    assert made.exit_code == 0, made.output
    told = json.loads(made.output)
    return told, Path(told["file"]).read_bytes()


def test_the_rota_of_next_week_is_an_archive_file(run, shed, tmp_path) -> None:
    """It passes PDF/A-3a and PDF/UA-1, and bears a code for each line."""
    told, made = printed(run, shed, folder=tmp_path)
    assert (told["from"], told["to"]) == ("2026-03-09", "2026-03-15")
    assert faults(made) == []
    text = "\n".join(texts(made))
    assert [row["task"] for row in told["lines"]] == ["review", "walk", "floors"]
    for row in told["lines"]:
        assert row["code"] in text
        assert row["code"] == code_of(shed, row["task"], NEXT)
    for name in ("temp", "mould.R1", "mould.R2", "right: 18 to 24 °C", "Mon 9"):
        assert name in text


def test_printed_twice_it_is_the_same_file(run, shed, tmp_path) -> None:
    """The same record and moment give the same bytes; nothing was written by it."""
    with shed.open() as record:
        before = record.count()
    words = ("--task", "floors", "--printed-at", "2026-03-02 06:00", "--html")
    _, one = printed(run, shed, *words, folder=tmp_path)
    _, two = printed(run, shed, *words, folder=tmp_path)
    with shed.open() as record:
        assert record.count() == before
    assert one == two


def test_a_month_has_a_part_for_each_week(run, shed, tmp_path) -> None:
    """Seven days across at most, under one code."""
    words = ("--month", "2026-04", "--task", "floors")
    told, made = printed(run, shed, *words, "--html", folder=tmp_path)
    page = made.decode()
    assert page.count(told["lines"][0]["code"]) >= 5
    assert "part 5 of 5" in page


@pytest.mark.parametrize("sheet", ["mould", "emergency", "visitors"])
def test_what_hangs_on_the_wall_is_one_page(run, sprouts, tmp_path, sheet) -> None:
    """And an archive file that can be read aloud."""
    made = run("sheets", sheet, "--out", tmp_path, "--json", world=sprouts.world())
    content = Path(json.loads(made.output)["file"]).read_bytes()
    assert faults(content) == []
    assert len(texts(content)) == 1


def test_the_mould_card_says_what_the_program_says(run, sprouts, tmp_path) -> None:
    """Word for word, with the vet's number from the farm file."""
    from hygiene.acts.finds import CAUTIONS

    run(
        "sheets", "mould", "--html", "--out", tmp_path / "m.html", world=sprouts.world()
    )
    page = (tmp_path / "m.html").read_text("utf-8")
    for caution in (*CAUTIONS, "01632 960001"):
        assert caution in page


def test_the_emergency_card_names_what_must_not_meet(run, doses, tmp_path) -> None:
    """The farm's own products, and what every shed has; missing numbers are lines."""
    run("sheets", "emergency", "--html", "--out", tmp_path / "e.html",
        world=doses.world())  # fmt: skip
    page = (tmp_path / "e.html").read_text("utf-8")
    assert "Bleach + acid" in page
    assert "chlorine gas" in page
    assert "Poisons line" in page
    assert "not in the farm file: write it here" in page


def test_the_wall_of_a_farm_without_contacts_has_lines(run, shed, tmp_path) -> None:
    """Nothing is invented, and nothing falls over."""
    made = run("sheets", "mould", "--html", "--out", tmp_path, world=shed.world())
    assert made.exit_code == 0
    assert "write it here" in next(tmp_path.glob("mould-*.html")).read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("posters",), 2, "there are: rota"),
        (("--week", "soon"), 2, "not a day"),
        (("--month", "march"), 2, "not a month"),
        (("--month", "2026-04", "--week", "2026-04-01"), 2, "not both"),
        (("mould", "--month", "2026-04"), 2, "are for the rota"),
        (("--task", "wolk"), 4, "did you mean walk?"),
        (("--week", "2025-01-01"), 4, "nothing is due"),
    ],
)
def test_a_sheet_that_cannot_be_made_is_said(run, shed, tmp_path, words, code, said):
    """With the way out; no file is left."""
    made = run("sheets", *words, "--out", tmp_path / "x.pdf", world=shed.world())
    assert made.exit_code == code
    assert said in made.stderr
    assert not (tmp_path / "x.pdf").exists()


def test_no_record_is_written_over(run, shed) -> None:
    """Only a page gives way to a page."""
    before = shed.path.read_bytes()
    made = run("sheets", "mould", "--out", shed.path, world=shed.world())
    assert made.exit_code == 2
    assert shed.path.read_bytes() == before
