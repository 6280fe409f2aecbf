"""Carrying the record as a user does: backup, restore, and two devices with a stick."""

from __future__ import annotations

import json
import secrets
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sprout_farm import SproutFarm
from typer.testing import Result

from hygiene.book.record import Record
from hygiene.kinds.setup import Person, Rack

On = Callable[..., Result]


@pytest.fixture
def on(run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> On:
    """Run a command on one of the devices, by AB, standing where the stick is."""
    monkeypatch.chdir(tmp_path)

    def invoke(farm: SproutFarm, *words: object, **more: Any) -> Result:
        world = farm.world()
        place = "office" if farm.folder.name == "office" else "shed"
        environ = {**world.environ, "HYGIENE_BY": "AB", "HYGIENE_PLACE": place}
        return run(*words, world=world._replace(environ=environ), **more)

    return invoke


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


@pytest.fixture
def office(on: On, sprouts: SproutFarm, stick: Path) -> SproutFarm:
    """A second device, begun with a copy that came on the stick."""
    on(sprouts, "backup", stick)
    made = replace(sprouts, folder=sprouts.folder / "office")
    made.folder.mkdir()
    (copy,) = stick.glob("*.db")
    assert on(made, "restore", copy).exit_code == 0
    made.later(minutes=1)
    return made


def carried(on: On, giver: SproutFarm, taker: SproutFarm, stick: Path) -> Result:
    """A copy of one device's record, put on the stick and merged on the other."""
    giver.later(minutes=1)
    taker.now = max(taker.now, giver.now)
    on(giver, "backup", stick)
    return on(taker, "merge", stick)


def only_book(farm: SproutFarm) -> str:
    (key,) = farm.keys.iterdir()
    return key.stem


def test_backup_says_what_it_copied_and_writes_that_down(
    on: On, sprouts: SproutFarm, stick: Path
) -> None:
    """The copy's place, its heads, and the entry that ready and today read."""
    made = on(sprouts, "backup", stick)
    assert made.exit_code == 0, made.output
    (copy,) = stick.glob("*.db")
    (entry,) = sprouts.entries("backup")
    assert entry.get("place") == str(copy)
    assert entry.get("bytes") == copy.stat().st_size
    assert f"head {entry.get('heads')[0]}" in made.output
    assert f"Written as {entry.name}" in made.output


def test_a_backup_from_a_timetable_is_signed_by_the_program(
    run: Any, sprouts: SproutFarm, stick: Path
) -> None:
    """Nobody stands there to be asked."""
    assert run("backup", stick, world=sprouts.world()).exit_code == 0
    assert sprouts.entries("backup")[0].by == "hygiene"


def test_today_says_when_the_last_backup_was_made(
    on: On, sprouts: SproutFarm, stick: Path
) -> None:
    """And asks for another a week later."""
    assert "BACK UP" in on(sprouts, "today").output
    on(sprouts, "backup", stick)
    page = on(sprouts, "today").output
    assert "Last backup: 02 March 2026, 06:05" in page
    assert "BACK UP" not in page
    sprouts.later(days=7)
    assert "BACK UP" in on(sprouts, "today").output
    told = json.loads(on(sprouts, "today", "--json").stdout)
    assert told["backup_due"] is True
    assert told["last_backup"]["at"].startswith("2026-03-02T06:05")


def test_another_devices_backup_is_none_of_what_was_written_here(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """A week after the line, whatever the other device copied meanwhile."""
    on(office, "hold", "R1", "--sort", "rack", "--why", "musty")
    for _ in range(4):
        sprouts.later(days=2)
        carried(on, sprouts, office, stick)
    page = on(office, "today").output
    assert "Last backup: 08 March 2026" in page
    assert "BACK UP" in page
    on(office, "backup", stick)
    assert "BACK UP" not in on(office, "today").output


def test_a_stick_that_is_not_there_is_said_in_a_line(
    on: On, sprouts: SproutFarm, tmp_path: Path
) -> None:
    """Exit 7, the way out, and no entry says that there is a copy."""
    made = on(sprouts, "backup", tmp_path / "media")
    assert made.exit_code == 7
    assert made.stderr.startswith("hygiene: there is no folder")
    assert len(made.stderr.splitlines()) == 2
    assert sprouts.entries("backup") == []


def test_a_copy_that_cannot_be_written_down_is_good_all_the_same(
    on: On, sprouts: SproutFarm, stick: Path
) -> None:
    """Of a disk that lets nothing be written any more, a copy is wanted most."""
    keys = sprouts.keys
    keys.rename(keys.with_name("away"))
    keys.write_text("in the way of the folder")
    made = on(sprouts, "backup", stick)
    assert made.exit_code == 3
    assert "The copy is good" in made.stderr
    assert len(list(stick.glob("*.db"))) == 1


def test_restore_refuses_and_moves_aside_with_the_documented_codes(
    on: On, sprouts: SproutFarm, stick: Path
) -> None:
    """5 where the record has more, 6 where the copy is bad, 7 where there is none."""
    on(sprouts, "backup", stick)
    (copy,) = stick.glob("*.db")
    assert on(sprouts, "restore", copy).exit_code == 5
    assert on(sprouts, "restore", stick / "none.db").exit_code == 7
    sprouts.path.write_bytes(b"spoilt by water" * 999)
    made = on(sprouts, "restore", copy)
    assert made.exit_code == 0, made.output
    assert "What stood there was moved to" in made.output
    assert "opened" in on(sprouts, "hold", "R1", "--sort", "rack", "--why", "x").stderr
    copy.write_bytes(copy.read_bytes()[:9000])
    assert on(sprouts, "restore", copy).exit_code == 6


def test_restore_tells_a_program_what_it_did(
    on: On, sprouts: SproutFarm, stick: Path
) -> None:
    """The same in JSON."""
    on(sprouts, "backup", stick)
    sprouts.path.unlink()
    (copy,) = stick.glob("*.db")
    told = json.loads(on(sprouts, "restore", copy, "--json").stdout)
    assert told["restored"] is True
    assert told["moved_aside"] is None
    assert len(told["heads"]) == 1


def test_one_device_is_told_nothing_of_others(on: On, sprouts: SproutFarm) -> None:
    """Only where there is another book."""
    assert "NOT KNOWN HERE" not in on(sprouts, "today").output


def test_a_page_is_read_without_keys_as_well(on: On, sprouts: SproutFarm) -> None:
    """On the machine of somebody who only looks, all of it is another's."""
    sprouts.keys.rename(sprouts.folder / "away")
    sprouts.keys.write_text("in the way of the folder")
    made = on(sprouts, "today")
    assert made.exit_code == 0
    assert "NOT KNOWN HERE" in made.output


def test_what_the_other_device_wrote_since_is_said_to_be_unknown(
    on: On, sprouts: SproutFarm, office: SproutFarm
) -> None:
    """On the page of the day, and by feed, sow and dispatch; with its age."""
    office.later(days=2)
    page = on(office, "today").output
    assert f"what {only_book(sprouts)} wrote after 02 March 2026, 06:0" in page
    assert "(2 d ago)" in page
    told = json.loads(on(office, "today", "--json").stdout)
    assert told["elsewhere"][0]["book"] == only_book(sprouts)
    for words in (
        ("feed", "T001", "EWES", "5", "--check"),
        ("dispatch", "T001", "HOLLOW", "5", "--check"),
        ("sow", "L-1=2", "--trays", "T001", "--check"),
    ):
        said = on(office, *words).stderr
        assert f"what {only_book(sprouts)} wrote after" in said


def test_lines_that_this_device_lost_in_a_restore_are_said_to_be_unknown(
    on: On, sprouts: SproutFarm, stick: Path
) -> None:
    """Its key still knows that there were more."""
    on(sprouts, "backup", stick)
    on(sprouts, "hold", "R1", "--sort", "rack", "--why", "musty")
    sprouts.path.unlink()
    on(sprouts, "restore", next(stick.glob("*.db")))
    page = on(sprouts, "today").output
    assert f"the last 2 lines that this device wrote in {only_book(sprouts)}" in page


def test_a_find_on_one_device_stops_the_other_once_it_is_carried_there(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """What was fed meanwhile is named on both, and nothing more can be planned."""
    batch = sprouts.batch()
    assert carried(on, sprouts, office, stick).exit_code == 0
    sprouts.mould(batch, trays=("T001",))
    office.later(minutes=30)
    words = ("feed", batch, "EWES", "5", "--trays", "T002", "--looks-ok", "--smells-ok")
    assert on(office, *words).exit_code == 0
    made = carried(on, sprouts, office, stick)
    assert made.exit_code == 3
    assert "HELD THERE" in made.output
    assert "USED THOUGH HELD" in made.output
    assert on(office, *words, "--check").exit_code == 5
    back = carried(on, office, sprouts, stick)
    assert "USED THOUGH HELD" in back.output
    assert "EWES" in on(sprouts, "today").output


def test_a_find_in_a_tray_of_which_the_finder_knew_no_sowing_is_told_on_both(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """All of the batch is held by it, whichever side it came from; the lot is not."""
    batch = sprouts.batch()
    office.later(hours=1)
    assert on(office, "mould", "T001", "--colour", "grey").exit_code == 3
    on(office, "mould", "T030", "--colour", "grey")
    fed = ("feed", batch, "EWES", "5", "--trays", "T002", "--looks-ok", "--smells-ok")
    sprouts.later(hours=2)
    for giver, taker in ((office, sprouts), (sprouts, office)):
        told = " ".join(carried(on, giver, taker, stick).output.split())
        assert told.count("which grew there") == 1
        assert f"write it: hygiene mould {batch} --trays T001" in told
        assert on(taker, *fed, "--check").exit_code == 5


def test_the_second_time_nothing_is_new(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """Exit 0, as often as it is done."""
    sprouts.lot()
    carried(on, sprouts, office, stick)
    again = on(office, "merge", stick)
    assert again.exit_code == 0
    assert "Nothing new in 2 records." in again.output
    assert on(office, "verify").exit_code == 0


def test_what_came_is_told_by_book_and_kind(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """On one line a book, and to a program."""
    sprouts.lot()
    sprouts.later(minutes=1)
    on(sprouts, "backup", stick)
    office.now = sprouts.now
    told = json.loads(on(office, "merge", stick, "--json").stdout)
    (one,) = [each for each in told["merged"] if each["books"]]
    assert one["books"] == [
        {"book": only_book(sprouts), "first": 22, "last": 23,
         "kinds": {"backup": 1, "seed": 1}}
    ]  # fmt: skip
    assert told["left_out"] == []


def test_a_clock_that_runs_ahead_is_told(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """Ten minutes off: the lines are taken, and the clock is named."""
    sprouts.later(hours=1)
    sprouts.lot()
    on(sprouts, "backup", stick)
    office.now = sprouts.now
    office.later(minutes=-12)
    made = on(office, "merge", stick)
    assert made.exit_code == 3
    assert "10 min ahead of this device's" in " ".join(made.output.split())


def test_clocks_that_cannot_both_be_right_are_told(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """An answer that was written before the question."""
    sprouts.later(hours=1)
    made = on(sprouts, "hold", "R1", "--sort", "rack", "--why", "musty")
    name = made.output.split()[2].rstrip(":")
    carried(on, sprouts, office, stick)
    office.later(minutes=-20)
    on(office, "release", name, "--why", "aired")
    back = carried(on, office, sprouts, stick)
    assert back.exit_code == 3
    assert "clocks of" in back.output


def test_one_code_for_two_people_is_told(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """And that the set-up is written in two books."""
    sprouts.write(lambda w: w.add(Person(code="EF", name="E. Firth"), by="AB"))
    office.write(lambda w: w.add(Person(code="EF", name="E. Fox"), by="AB"))
    made = carried(on, sprouts, office, stick)
    assert made.exit_code == 3
    said = " ".join(made.output.split())
    assert "EF signs for" in said
    assert "E. Firth" in said
    assert "E. Fox" in said
    assert "keep it to one device" in said


def test_a_thing_of_the_set_up_told_otherwise_is_told(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """Which counts is said; neither is lost."""
    sprouts.write(lambda w: w.add(Rack(code="R9", room="GROW"), by="AB"))
    office.write(lambda w: w.add(Rack(code="R9", room="DARK"), by="AB"))
    made = carried(on, sprouts, office, stick)
    assert "rack R9 is told otherwise" in " ".join(made.output.split())


def test_a_task_that_both_signed_is_told(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """Both stand, by their names."""
    walk = ("sign", "walk", "temp=21", "mould.R1=0", "mould.R2=0", "mould.R3=0",
            "pests=none")  # fmt: skip
    for farm in (sprouts, office):
        farm.now = farm.now.replace(hour=7, minute=5)
        assert on(farm, *walk).exit_code == 0
    made = carried(on, sprouts, office, stick)
    assert made.exit_code == 3
    assert "walk due 2026-03-02T07:00 stands in two books" in " ".join(
        made.output.split()
    )
    with Record.open(office.path) as record:
        assert len(record.entries(["sign_off"])) == 2


def test_minted_codes_that_agree_are_told(
    on: On,
    sprouts: SproutFarm,
    office: SproutFarm,
    stick: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two devices whose books happen to bear the same letters."""
    phone = replace(office, folder=office.folder / "phone")
    phone.folder.mkdir()
    phone.path.write_bytes(office.path.read_bytes())
    monkeypatch.setattr(secrets, "choice", lambda letters: letters[0])
    words = ("seed", "ALDER", "AF/9", "50", "--untreated-seen-by", "AB")
    assert on(office, *words).exit_code == 0
    assert on(phone, *words).exit_code == 0
    made = carried(on, phone, office, stick)
    assert made.exit_code == 3
    assert "is the code of two things" in made.output


def test_a_line_that_says_odd_things_is_taken_and_told(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path
) -> None:
    """A reader never fails on a body; whoever merges is told of it."""

    class Odd:
        kind = "mould"

        def body(self) -> dict[str, object]:
            return {"batch": 7, "trays": 5, "holds": [{"a": []}]}

    office.write(lambda w: w.add(Odd(), by="AB"))
    made = carried(on, office, sprouts, stick)
    assert made.exit_code == 3
    assert "would not write" in " ".join(made.output.split())
    assert on(sprouts, "verify").exit_code == 0
    assert on(sprouts, "today").exit_code == 0


def test_a_fork_is_told_with_both_lines(
    on: On, sprouts: SproutFarm, tmp_path: Path
) -> None:
    """Exit 6; the copy's key was copied as well."""
    copy = replace(sprouts, folder=tmp_path / "copy")
    copy.folder.mkdir()
    copy.path.write_bytes(sprouts.path.read_bytes())
    copy.keys.mkdir()
    for key in sprouts.keys.iterdir():
        (copy.keys / key.name).write_bytes(key.read_bytes())
    on(sprouts, "hold", "R1", "--sort", "rack", "--why", "musty")
    on(copy, "hold", "R2", "--sort", "rack", "--why", "wet")
    made = on(sprouts, "merge", copy.path)
    assert made.exit_code == 6
    assert "was written twice" in made.stderr
    assert "musty" in made.stderr
    assert "wet" in made.stderr


def test_of_a_folder_only_this_farms_records_are_taken(
    on: On, sprouts: SproutFarm, office: SproutFarm, stick: Path, tmp_path: Path
) -> None:
    """What is no record is passed over, a damaged one is named, the rest is taken."""
    sprouts.lot()
    (tmp_path / "other").mkdir()
    Record.create(stick / "theirs.db", sprouts.clock, tmp_path / "other").close()
    (stick / "notes.db").write_text("no database" * 999)
    bad = stick / "bad.db"
    bad.write_bytes(sprouts.path.read_bytes()[:-20_000])
    made = carried(on, sprouts, office, stick)
    assert made.exit_code == 6
    assert "1 seed" in made.output
    assert "another farm's record" in made.stderr
    assert "bad.db" in made.stderr
    assert "notes.db" not in made.stderr


def test_a_folder_without_a_record_is_said(
    on: On, sprouts: SproutFarm, tmp_path: Path
) -> None:
    """Exit 7, and what to do on the other device."""
    (tmp_path / "empty").mkdir()
    made = on(sprouts, "merge", tmp_path / "empty")
    assert made.exit_code == 7
    assert "hygiene backup FOLDER" in made.stderr


def test_a_device_without_a_record_begins_with_a_copy(
    on: On, sprouts: SproutFarm, stick: Path
) -> None:
    """Merging needs something to merge into."""
    new = replace(sprouts, folder=sprouts.folder / "new")
    made = on(new, "merge", stick)
    assert made.exit_code == 7
    assert "hygiene restore" in made.stderr
