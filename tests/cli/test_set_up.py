from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from typer.testing import Result

from hygiene.acts.set_up import ChangedMeanwhile, read_files, set_up
from hygiene.book.record import Record
from hygiene.cli.world import World
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Entry
from hygiene.shipped import shipped

NOON = datetime(2025, 6, 2, 12, 0, tzinfo=UTC)

FARM = """\
[farm]
name = "Fold"
address = "Lane"
time_zone = "Europe/London"

[[person]]
code = "AB"
name = "A B"
roles = ["manager"]
training = [{ topic = 'water', had_on = 2025-01-01, until = 2025-12-31 }]

[[person]]
code = "CD"
name = "C D"

[[room]]
code = "grow"
name = "Growing room"

[[rack]]
code = "R1"
room = "grow"
levels = 4

[[tray]]
code = "T001..T006"
"""
WALK = """\
code = "walk"
title = "Walk round"
version = 1
dated = 2025-01-01
rule = "FREQ=DAILY"
starts = 2025-01-01

[[steps]]
code = "smell"
text = "Smells sweet"
"""
Put = Callable[..., Path]
SetUp = Callable[..., Result]


@pytest.fixture
def put(tmp_path: Path) -> Put:
    """Write the farm file, and the checklist beside it, each with a text changed."""

    def write(old: str = "", new: str = "", walk: tuple[str, str] = ("", "")) -> Path:
        lists = tmp_path / "checklists"
        lists.mkdir(exist_ok=True)
        (lists / "walk.toml").write_text(WALK.replace(*walk))
        (tmp_path / "FARM.toml").write_text(FARM.replace(old, new))
        return tmp_path / "FARM.toml"

    return write


@pytest.fixture
def setting_up(run: Any, world: World, tmp_path: Path) -> SetUp:
    """Run set-up on the farm file at noon, ``days`` later."""

    def invoke(
        *words: object, days: int = 0, asks: bool = False, given: str | None = None
    ) -> Result:
        then = world._replace(now=lambda: NOON + timedelta(days=days), asks=asks)
        return run("set-up", tmp_path / "FARM.toml", *words, world=then, given=given)

    return invoke


def entries(tmp_path: Path) -> list[Entry]:
    with Record.open(tmp_path / "farm.db") as record:
        return record.setup()


def stands(tmp_path: Path, at: datetime = NOON + timedelta(days=99)) -> InForce:
    return in_force(entries(tmp_path), at)


def test_the_first_set_up_makes_the_record(
    put: Put, setting_up: SetUp, run: Any, tmp_path: Path
) -> None:
    """From an empty folder to a record that stands, by somebody in the file."""
    put()
    done = setting_up("--by", "ab", "--yes")
    assert done.exit_code == 0, done.output
    assert "tray T001..T006: 6 trays" in done.output
    assert "by AB" in done.output
    assert "hygiene today" in done.output
    assert list(stands(tmp_path).trays())[-1] == "T006"
    assert {entry.by for entry in entries(tmp_path)} == {"AB"}
    assert run("verify").exit_code == 0


def test_running_it_again_writes_nothing(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """No writer and no yes is asked for where nothing would change."""
    put()
    setting_up("--by", "AB", "--yes")
    before = entries(tmp_path)
    again = setting_up(days=1)
    assert again.exit_code == 0
    assert again.output.startswith("Nothing to change")
    assert entries(tmp_path) == before


def test_only_what_differs_is_written(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """A change says what it was and what it becomes; a past day is read as it was."""
    put()
    setting_up("--by", "AB", "--yes")
    put("levels = 4", "levels = 5")
    done = setting_up("--by", "AB", "--yes", days=1)
    assert "rack R1: levels from 4 to 5" in done.output
    assert [e.kind for e in entries(tmp_path)].count("rack") == 2
    assert stands(tmp_path, NOON).things("rack")["R1"]["levels"] == 4
    assert stands(tmp_path).things("rack")["R1"]["levels"] == 5


def test_what_is_taken_out_is_retired_and_stays_readable(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """Nothing is deleted."""
    put()
    setting_up("--by", "AB", "--yes")
    put('[[rack]]\ncode = "R1"\nroom = "grow"\nlevels = 4\n', "")
    done = setting_up("--by", "AB", "--yes", days=1)
    assert "Retired (what was written about it stays readable)" in done.output
    assert stands(tmp_path).get("rack", "R1") is None
    assert stands(tmp_path, NOON).get("rack", "R1") is not None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "until = 2025-12-31",
            "until = 2026-12-31",
            "person AB: training water: until from 2025-12-31 to 2026-12-31",
        ),
        (
            "2025-12-31 }",
            "2025-12-31 }, { topic = 'wash', had_on = 2025-02-01 }",
            "person AB: training wash is added: had on 2025-02-01",
        ),
        ('"C D"', '"C D"\ntelephone = "07700 900001"', "telephone is 07700 900001"),
        ('["manager"]', '["manager", "worker"]', "roles from manager to manager, work"),
        ("levels = 4", "", "rack R1: levels from 4 to 1"),
        (
            "training = [{ topic = ",
            "training = [{ given_by = 'X', topic = ",
            "person AB: training water: given by is X (was not said)",
        ),
        (
            "training = [{ topic = 'water', had_on = 2025-01-01, until = 2025-12-31 }]",
            "telephone = '07700 900001'",
            "person AB: training water is left out (was: had on 2025-01-01, until",
        ),
        (
            ", until = 2025-12-31",
            "",
            "training water: until is no longer said (was 2025-12-31)",
        ),
        ("T001..T006", "T001..T004", "tray T005..T006: 2 trays"),
    ],
)
def test_a_change_is_said_in_plain_words(
    old: str, new: str, said: str, put: Put, setting_up: SetUp
) -> None:
    """Down to the row of a list, from what to what."""
    put()
    setting_up("--by", "AB", "--yes")
    put(old, new)
    done = setting_up("--by", "AB", "--yes", days=1)
    assert said in done.output
    plan, _, _ = done.output.partition("Written as")
    assert max(map(len, plan.split("\n"))) <= 80


def test_nothing_is_written_without_a_yes(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """In a pipe it shows what would change, says how to write it, and exits 2."""
    put()
    done = setting_up("--by", "AB")
    assert done.exit_code == 2
    assert "rack R1" in done.output
    assert "add --yes" in done.output
    assert not (tmp_path / "farm.db").exists()


@pytest.mark.parametrize(("answer", "code"), [("y", 0), ("n", 1), ("", 1)])
def test_on_a_terminal_it_asks(
    answer: str, code: int, put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """Enter alone writes nothing."""
    put()
    done = setting_up("--by", "AB", asks=True, given=f"{answer}\n")
    assert done.exit_code == code
    assert (tmp_path / "farm.db").exists() == (code == 0)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ((), 2, "add --by CODE; the people of this farm are: AB, CD"),
        (("--by", "AC"), 4, "nobody at this farm signs as 'AC'"),
        (("--by", "CD"), 5, "refused: CD is no manager"),
    ],
)
def test_a_manager_of_the_file_approves(
    words: tuple[str, ...],
    code: int,
    said: str,
    put: Put,
    setting_up: SetUp,
    tmp_path: Path,
) -> None:
    """Before there are people in the record, those of the file count."""
    put()
    done = setting_up("--yes", *words)
    assert done.exit_code == code
    assert said in done.output
    assert not (tmp_path / "farm.db").exists()


def test_a_worker_changes_nothing_of_the_set_up(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """Not a rack either; who may is said, and nothing was written."""
    put()
    setting_up("--by", "AB", "--yes")
    before = entries(tmp_path)
    put("levels = 4", "levels = 5")
    made = setting_up("--by", "CD", "--yes", days=1)
    assert made.exit_code == 5
    assert "--by AB" in made.stderr
    assert entries(tmp_path) == before


def test_a_worker_does_not_become_a_manager_by_the_file_that_says_so(
    put: Put, setting_up: SetUp
) -> None:
    """Who may set up is read from what is in force, not from what is proposed."""
    put()
    setting_up("--by", "AB", "--yes")
    put('name = "C D"', 'name = "C D"\nroles = ["manager"]')
    assert setting_up("--by", "CD", "--yes", days=1).exit_code == 5


def test_every_problem_of_every_file_is_told(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """File, line and key, exit 8, and no record is made."""
    put('roles = ["manager"]', 'role = "manager"', walk=("FREQ=DAILY", "DAILY"))
    (tmp_path / "checklists" / "wash.toml").write_text("code = wash\n")
    done = setting_up("--by", "AB", "--yes")
    assert done.exit_code == 8
    told = done.output.split("\n")
    assert told[0] == (
        "hygiene: FARM.toml line 6, person: nobody is a manager; "
        'somebody must approve: roles = ["manager"]'
    )
    assert told[1].startswith("FARM.toml line 9, person[1].role: there is no such key")
    assert told[2].startswith("checklists/walk.toml line 5, rule: ")
    assert told[3].startswith("checklists/wash.toml line 1, code: ")
    assert not (tmp_path / "farm.db").exists()


def test_without_a_farm_file_the_template_is_named(setting_up: SetUp) -> None:
    """Whoever begins is told which file to copy, and it is there."""
    done = setting_up("--by", "AB", "--yes")
    assert done.exit_code == 8
    _, _, template = done.output.strip().partition("begin with a copy of ")
    assert Path(template).is_file()


def test_two_checklists_of_one_code_are_refused(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """A task has one checklist."""
    put()
    (tmp_path / "checklists" / "wash.toml").write_text(WALK)
    done = setting_up("--by", "AB", "--yes")
    assert done.exit_code == 8
    assert "wash.toml line 1, code: 'walk' is the code of checklists/" in done.output


def test_an_adopted_checklist_keeps_number_date_and_approver(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """Each version stays in the record with who approved it."""
    put()
    setting_up("--by", "AB", "--yes")
    put(walk=("version = 1", "version = 2"))
    setting_up("--by", "AB", "--yes", days=1)
    adopted = [e.body for e in entries(tmp_path) if e.kind == "checklist"]
    assert [(b["version"], b["dated"], b["approver"]) for b in adopted] == [
        (1, "2025-01-01", "AB"),
        (2, "2025-01-01", "AB"),
    ]


def test_a_changed_checklist_needs_a_higher_version(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """The number that was adopted stands for what it said then."""
    put()
    setting_up("--by", "AB", "--yes")
    put(walk=("sweet", "sour"))
    done = setting_up("--by", "AB", "--yes", days=1)
    assert done.exit_code == 8
    assert "checklists/walk.toml line 3, version: " in done.output
    assert "raise it to 2" in done.output


def test_without_a_folder_of_its_own_a_farm_adopts_the_standing_ones(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """The checklists that come with the program."""
    put()
    (tmp_path / "checklists" / "walk.toml").unlink()
    (tmp_path / "checklists").rmdir()
    done = setting_up("--by", "AB", "--yes")
    assert done.exit_code == 0, done.output
    files = len(list(shipped("checklists").glob("*.toml")))
    assert len(stands(tmp_path).things("checklist")) == files


def test_from_a_day_means_from_its_start_at_the_farm(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """Midnight of British summer time is 23:00 the day before in UTC."""
    put()
    setting_up("--by", "AB", "--yes", "--from", "2025-05-01")
    start = datetime(2025, 4, 30, 23, 0, tzinfo=UTC)
    assert stands(tmp_path, start).farm is not None
    assert stands(tmp_path, start - timedelta(seconds=1)).farm is None


def test_from_a_time_means_that_very_moment(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """A day and a time, by the farm's clock."""
    put()
    setting_up("--by", "AB", "--yes", "--from", "2025-05-01 07:00")
    start = datetime(2025, 5, 1, 6, 0, tzinfo=UTC)
    assert stands(tmp_path, start).farm is not None
    assert stands(tmp_path, start - timedelta(seconds=1)).farm is None


@pytest.mark.parametrize(
    ("day", "code", "said"),
    [
        ("2025-07-01", 2, "has not come yet"),
        ("soon", 2, "'soon' is not a day"),
        ("2025-05-31", 5, "rack R1 was changed on 2025-06-02"),
    ],
)
def test_a_day_that_cannot_be_is_refused(
    day: str, code: int, said: str, put: Put, setting_up: SetUp
) -> None:
    """Nothing is set up for the future, nor before what it would replace."""
    put()
    setting_up("--by", "AB", "--yes")
    put("levels = 4", "levels = 5")
    done = setting_up("--by", "AB", "--yes", "--from", day, days=1)
    assert (done.exit_code, said in done.output) == (code, True)


def test_a_new_thing_may_have_stood_before(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """A buyer who was forgotten is written from the day he first bought."""
    put()
    setting_up("--by", "AB", "--yes")
    put("[[tray]]", '[[buyer]]\ncode = "B"\nname = "B"\naddress = "Hill"\n[[tray]]')
    done = setting_up("--by", "AB", "--yes", "--from", "2025-05-31", days=1)
    assert done.exit_code == 0
    assert stands(tmp_path, NOON - timedelta(days=1)).get("buyer", "B") is not None


def test_what_was_changed_meanwhile_is_not_written_over(
    put: Put, setting_up: SetUp, world: World, tmp_path: Path
) -> None:
    """What is written is what was shown, or nothing at all."""
    put()
    setting_up("--by", "AB", "--yes")
    files = read_files(put("levels = 4", "levels = 5"))
    shown = files.changes(stands(tmp_path))
    setting_up("--by", "AB", "--yes", days=1)
    before = entries(tmp_path)
    with (
        Record.open(tmp_path / "farm.db", to_write=True) as record,
        pytest.raises(ChangedMeanwhile),
        record.writing(lambda: NOON + timedelta(days=2), world.keys()) as writing,
    ):
        set_up(writing, files, by="AB", shown=shown)
    assert entries(tmp_path) == before


def test_another_device_opens_a_book_and_says_so(
    put: Put, setting_up: SetUp, world: World, tmp_path: Path
) -> None:
    """Set-up belongs on one device; without its key a new book is begun, and said."""
    put()
    setting_up("--by", "AB", "--yes")
    for key in world.keys().iterdir():
        key.unlink()
    put("levels = 4", "levels = 5")
    done = setting_up("--by", "AB", "--yes", days=1)
    assert done.exit_code == 0
    assert "A new book was opened" in done.output
    assert "keep it to one device" in done.output


def test_what_is_no_record_is_left_alone(
    put: Put, setting_up: SetUp, tmp_path: Path
) -> None:
    """A file of another sort under the record's name is never written over."""
    put()
    (tmp_path / "farm.db").write_text("shopping list")
    assert setting_up("--by", "AB", "--yes").exit_code == 7
    assert (tmp_path / "farm.db").read_text() == "shopping list"


def test_a_product_that_does_not_hang_together_is_said(
    put: Put, setting_up: SetUp
) -> None:
    """PT2 is for what no feed touches; a tray takes PT4. It is still written."""
    put()
    farm = (
        put().read_text()
        + """
[[product]]
code = "floorwash"
name = "Floor wash"
product_types = ["PT2"]
uses = ["floor", "tray"]
"""
    )
    put().write_text(farm)
    made = setting_up("--by", "AB", "--yes")
    assert made.exit_code == 0
    assert "LOOK AT product floorwash" in made.stderr
    assert "PT4" in made.stderr


def test_what_would_be_marked_on_the_first_day_is_said(
    run, tmp_path: Path, world: World
) -> None:
    """Who was not taught what the checklists ask for, and a product without a sheet."""
    text = (shipped("demo_farm") / "FARM.toml").read_text("utf-8")
    text = text.replace('  { topic = "water", had_on = 2024-11-05', "  # {")
    text = text.replace("sds_date = 2023-11-08\nsds_checked_on = 2026-05-12\n", "", 1)
    (tmp_path / "FARM.toml").write_text(text, "utf-8")
    words = ("set-up", str(tmp_path / "FARM.toml"), "--by", "MP", "--yes")
    # between two looks at the clock a second passes, as it may
    moments = (datetime(2026, 3, 2, 7, 0, n, tzinfo=UTC) for n in range(60))
    world = world._replace(now=lambda: next(moments))
    said = run(*words, world=world).stderr
    assert "LOOK AT person MP: no training in water" in said
    assert "LOOK AT product soap: no safety data sheet" in said
    assert "LOOK AT product hypo" not in said


def test_a_farm_of_last_year_may_take_its_checklists_from_today(
    run, tmp_path: Path
) -> None:
    """The shed stands from its old day on; of the time before, no task is missed."""
    keys = {"HYGIENE_KEYS": str(tmp_path / "k"), "HYGIENE_RECORD": str(tmp_path / "r")}
    world = World(now=lambda: NOON, environ=keys)
    (tmp_path / "FARM.toml").write_text(FARM, "utf-8")
    words = ("set-up", str(tmp_path / "FARM.toml"), "--by", "AB", "--yes")
    made = run(*words, "--from", "2025-01-01", "--lists-now", world=world)
    assert made.exit_code == 0, made.output
    with Record.open(tmp_path / "r") as record:
        begun = {e.kind: e.happened_at[:10] for e in record.setup()}
    assert (begun["farm"], begun["checklist"]) == ("2025-01-01", "2025-06-02")
    assert "NOTHING WRITTEN" not in run("today", world=world).output
