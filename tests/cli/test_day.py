"""The day at the terminal: today, sign, miss, countersign, and mending."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from small_farm import FLOORS, START, WALK_LINE, SmallFarm

from hygiene.book.record import Record
from hygiene.cli.world import World
from hygiene.kinds.setup import Farm, Retire

SIGN = ("sign", "walk", *WALK_LINE, "--by", "AB")


def test_today_lists_by_urgency_with_numbers(run, shed: SmallFarm) -> None:
    """Due now, later, and how to go on."""
    shed.later(hours=2)
    page = run("today", world=shed.world()).output
    assert "Low Meadow   Monday 02 March 2026, 08:00" in page
    assert page.index("DUE NOW") < page.index("LATER TODAY")
    assert "1 to do now. Sign one: hygiene sign NUMBER" in page


def test_today_json_keys_stay_put(run, shed: SmallFarm) -> None:
    """What a program reads."""
    run(*SIGN, world=shed.world())
    made = json.loads(run("today", "--json", world=shed.world()).output)
    assert made.keys() >= {
        "farm", "at", "demonstration", "tasks", "gaps", "actions", "holds",
    }  # fmt: skip
    assert made["tasks"][0].keys() == {
        "number", "task", "title", "version", "due", "deadline", "status",
        "late_minutes", "by", "entry",
    }  # fmt: skip
    assert made["tasks"][0]["status"] == "done"


def test_a_signed_task_keeps_its_number(run, shed: SmallFarm) -> None:
    """A number means the same from morning to night."""
    before = json.loads(run("today", "--json", world=shed.world()).output)["tasks"]
    run(*SIGN, world=shed.world())
    after = json.loads(run("today", "--json", world=shed.world()).output)["tasks"]
    assert [t["task"] for t in before] == [t["task"] for t in after]


def test_sign_by_number_and_by_name(run, shed: SmallFarm) -> None:
    """``sign 1`` and ``sign floo`` both work."""
    assert run("sign", "1", *WALK_LINE, "--by", "AB", world=shed.world()).exit_code == 0
    assert run("sign", "floo", "--by", "AB", world=shed.world()).exit_code == 0


def test_a_wrong_task_names_the_nearest(run, shed: SmallFarm) -> None:
    """Exit code 4, one line and the way out."""
    made = run("sign", "wolk", "--by", "AB", world=shed.world())
    assert made.exit_code == 4
    assert "did you mean walk?" in made.stderr


def test_an_unknown_person_is_refused(run, shed: SmallFarm) -> None:
    """Exit code 4, and who there is."""
    made = run("sign", "walk", *WALK_LINE, "--by", "ZZ", world=shed.world())
    assert made.exit_code == 4
    assert "AB" in made.stderr


def test_nobody_given_says_how(run, shed: SmallFarm) -> None:
    """Exit code 2 and the people here."""
    made = run("sign", "walk", *WALK_LINE, world=shed.world())
    assert made.exit_code == 2
    assert "--by CODE" in made.stderr


def test_the_code_is_read_in_any_case(run, shed: SmallFarm) -> None:
    """Wet gloves do not find the shift key."""
    made = run("sign", "walk", *WALK_LINE, "--by", "ab", world=shed.world())
    assert made.exit_code == 0
    found = json.loads(run("log", "sign_off", "--json", world=shed.world()).output)
    assert found[0]["by"] == "AB"


def test_out_of_limit_exits_3_and_says_what_next(run, shed: SmallFarm) -> None:
    """It is recorded, and the recheck is named."""
    line = ("temp=27.5", *WALK_LINE[1:])
    made = run("sign", "walk", *line, "--by", "AB", world=shed.world())
    assert made.exit_code == 3
    assert "hygiene recheck" in made.output
    assert "TO PUT RIGHT" in run("today", world=shed.world()).output


def test_mould_shows_its_cautions_and_the_hold(run, shed: SmallFarm) -> None:
    """Do not feed, trim, dilute or sniff; the page says what is held."""
    line = ("temp=21", "mould.R1=2", "mould.R2=0", "pests=none")
    made = run("sign", "walk", *line, "--by", "AB", world=shed.world())
    assert made.exit_code == 3
    for word in ("do not feed", "trim", "dilute", "mask", "vet"):
        assert word in made.output.lower()
    assert "HELD" in run("today", world=shed.world()).output


def test_a_terminal_is_asked_step_by_step(run, shed: SmallFarm) -> None:
    """Enter accepts; a reading is asked for; a failed step asks what was done."""
    typed = "27\nopened the vents\n0\n0\n\n\nnone\n"
    world = shed.world(asks=True)
    made = run("sign", "walk", "--by", "AB", world=world, given=typed)
    assert made.exit_code == 3
    assert "OUT OF LIMIT" in made.output
    (action,) = json.loads(run("log", "action", "--json", world=world).output)
    assert action["body"]["did"] == "opened the vents"


def test_enter_does_not_answer_a_safety_step(run, shed: SmallFarm) -> None:
    """It is asked again until a number is typed."""
    typed = "21\n\n\n0\n0\n\n\nnone\n"
    made = run("sign", "walk", "--by", "AB", world=shed.world(asks=True), given=typed)
    assert made.exit_code == 0
    assert made.output.count("is not a whole number") == 2


def test_without_a_terminal_nothing_is_asked(run, shed: SmallFarm) -> None:
    """A script gets what is missing, in one line."""
    made = run("sign", "walk", "--by", "AB", world=shed.world(), given="21\n")
    assert made.exit_code == 2
    assert "still wanted: temp=" in made.stderr


def test_miss_with_its_reason(run, shed: SmallFarm) -> None:
    """Not done, or not needed: each has its own heading."""
    run("miss", "floors", "--reason", "pump down", "--by", "AB", world=shed.world())
    run("miss", "walk", "--reason", "shed empty", "--not-needed", "--by", "AB",
        world=shed.world())  # fmt: skip
    page = run("today", world=shed.world()).output
    assert "pump down" in page.split("NOT DONE")[1]
    assert "shed empty" in page.split("NOT NEEDED")[1]


def test_a_past_day_is_signed_late_with_a_reason(run, shed: SmallFarm) -> None:
    """``--on`` names the day; the lateness is written for ever."""
    shed.later(days=2)
    words = ("sign", "floors", "--on", "2026-03-02", "--by", "AB")
    assert run(*words, world=shed.world()).exit_code == 2
    made = run(*words, "--reason", "book was locked", world=shed.world())
    assert made.exit_code == 3
    assert "late" in made.output


def test_a_day_is_countersigned_by_another(run, shed: SmallFarm) -> None:
    """Never by the doer (5); the second person is told how many entries."""
    run(*SIGN, world=shed.world())
    assert run("countersign", "--by", "AB", world=shed.world()).exit_code == 5
    made = run("countersign", "--by", "CD", world=shed.world())
    assert made.exit_code == 0
    assert "countersigned 2026-03-02 (1 entry)" in made.output


def test_a_future_time_is_refused(run, shed: SmallFarm) -> None:
    """What has not come has not happened."""
    made = run(*SIGN, "--at", "18:00", world=shed.world())
    assert made.exit_code == 2
    assert "has not come yet" in made.stderr


def test_correct_and_show(run, shed: SmallFarm) -> None:
    """The first version stays readable beside its correction."""
    name = run(*SIGN, world=shed.world()).output.split()[2].rstrip(":")
    made = run("correct", name, "temp=20.5", "--reason", "misread", "--by", "AB",
               world=shed.world())  # fmt: skip
    assert made.exit_code == 0
    page = run("show", name, world=shed.world()).output
    assert "As it was first written (no longer stands)" in page
    assert "temp 21.3 C" in page
    assert "temp 20.5 C" in page
    assert "reason    misread" in page


def test_strike_and_log_all(run, shed: SmallFarm) -> None:
    """Ruled through: gone from the log, there with --all, marked."""
    name = run(*SIGN, world=shed.world()).output.split()[2].rstrip(":")
    run("strike", name, "--reason", "wrong day", "--by", "AB", world=shed.world())
    assert "walk done" not in run("log", "sign_off", world=shed.world()).output
    page = run("log", "sign_off", "--all", world=shed.world()).output
    assert "no longer stands" in page
    assert "wrong day" in page


def test_log_json_keys_stay_put(run, shed: SmallFarm) -> None:
    """The keys of the line, the entry's name, and whether it stands."""
    run(*SIGN, world=shed.world())
    (made,) = json.loads(run("log", "sign_off", "--json", world=shed.world()).output)
    assert made.keys() == {
        "entry", "book", "seq", "kind", "happened_at", "recorded_at", "by", "body",
        "stands",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("typed", "said"), [("21,3", "write it with a point: temp=21.3"), ("2,100", None)]
)
def test_a_comma_in_a_reading_is_answered_with_what_to_type(
    run, shed: SmallFarm, typed: str, said: str | None
) -> None:
    """Three digits after it may be thousands: then nothing is proposed."""
    words = ("sign", "walk", f"temp={typed}", *WALK_LINE[1:], "--by", "AB")
    made = run(*words, world=shed.world())
    assert made.exit_code == 2
    assert (said or "is not a number") in made.stderr
    assert ("with a point" in made.stderr) is (said is not None)


def test_where_nothing_was_due_yet_nothing_is_said_to_be_signed(
    run, shed: SmallFarm
) -> None:
    """Before the first task of the day there is nothing that could be."""
    assert run("today", world=shed.world()).stdout.endswith("\nNothing is due yet.\n")


def test_verify_says_count_head_and_what_it_cannot_see(run, shed: SmallFarm) -> None:
    """And compares with a head printed earlier; a cut tail is seen only so."""
    made = run("verify", world=shed.world())
    assert made.exit_code == 0
    assert "cannot see a tail that was cut off" in made.output
    head = made.output.split("head ")[1].split()[0]
    assert run("verify", "--head", head, world=shed.world()).exit_code == 0
    name, digest = head.split(":")
    book, seq = name.split("/")
    later = f"{book}/{int(seq) + 1}:{digest}"
    assert run("verify", "--head", later, world=shed.world()).exit_code == 6
    assert run("verify", "--head", "nonsense", world=shed.world()).exit_code == 2


def test_an_earlier_layout_is_no_damage(run, shed: SmallFarm) -> None:
    """The entries are verified; what was not compared is said, with code 3."""
    with sqlite3.connect(shed.path) as db:
        db.execute("pragma user_version = 1")
    made = run("verify", world=shed.world())
    assert made.exit_code == 3
    assert made.stdout.startswith("Verified: ")
    assert "of an earlier version of this program: it was not compared" in made.stderr
    told = json.loads(run("verify", "--json", world=shed.world()).stdout)
    assert (told["verified"], told["earlier_layout"]) == (True, True)


def test_verify_counts_the_entries_of_a_damaged_record(run, shed: SmallFarm) -> None:
    """A fault is no reason to say that there are none; no head is vouched for."""
    words = ("verify", "--json")
    sound = json.loads(run(*words, world=shed.world()).output)
    with closing(sqlite3.connect(shed.path)) as db:
        db.execute("drop trigger entry_is_never_changed")
        db.commit()
    made = run(*words, world=shed.world())
    told = json.loads(made.output)
    assert (made.exit_code, told["verified"], told["heads"]) == (6, False, [])
    assert told["entries"] == sound["entries"] > 0


def test_no_record_says_what_to_type(run, world) -> None:
    """Exit code 7 and the next command."""
    made = run("today", world=world)
    assert made.exit_code == 7
    assert "hygiene set-up FARM.toml" in made.stderr


def test_a_task_of_another_day_says_when(run, shed: SmallFarm) -> None:
    """Refused with the day on which it is due next, and how to sign a past one."""
    made = run("sign", "review", "--by", "AB", world=shed.world())
    assert made.exit_code == 5
    assert "due next on 03 March 2026" in made.stderr
    assert "--on DATE" in made.stderr


def test_marks_are_not_put_right(run, shed: SmallFarm) -> None:
    """Late stays late, whatever is corrected."""
    name = run(*SIGN, world=shed.world()).output.split()[2].rstrip(":")
    made = run("correct", name, "marks=", "--reason", "no", "--by", "AB",
               world=shed.world())  # fmt: skip
    assert made.exit_code == 2
    assert "marks are the program's own" in made.stderr


def test_what_a_step_finds_is_not_put_in_by_a_correction(run, shed: SmallFarm) -> None:
    """A pest is an entry of its own; its text is not thrown away."""
    name = run(*SIGN, world=shed.world()).output.split()[2].rstrip(":")
    made = run("correct", name, "pests=mouse, door", "--reason", "seen after all",
               "--by", "AB", world=shed.world())  # fmt: skip
    assert made.exit_code == 2
    assert "write it: hygiene pest" in made.stderr


def test_a_correction_to_mould_says_what_must_not_be_done(run, shed: SmallFarm) -> None:
    """The same cautions as for a find; exit code 3."""
    name = run(*SIGN, world=shed.world()).output.split()[2].rstrip(":")
    made = run("correct", name, "mould.R1=2", "--reason", "missed", "--by", "AB",
               world=shed.world())  # fmt: skip
    assert made.exit_code == 3
    assert "Do not feed it" in made.output


def test_several_tasks_on_one_line(run, shed: SmallFarm) -> None:
    """``sign 1-2``: each answer goes to the task that asks for it, or that it names."""
    line = ("walk.temp=21.3", *WALK_LINE[1:], "FLOORS.swept=no")
    made = run("sign", "1-2", *line, "--by", "AB", world=shed.world())
    assert made.exit_code == 3
    assert "walk done" in made.output
    assert "floors done; failed: swept no" in made.output


def test_of_several_those_signed_are_left_out(run, shed: SmallFarm) -> None:
    """Said on stderr, so that nobody types for nothing; twice is no harm."""
    run(*SIGN, world=shed.world())
    made = run("sign", "1-2", "--by", "AB", world=shed.world())
    assert made.exit_code == 0
    assert "Left out, by AB: walk done" in made.stderr
    assert run("sign", "1-2", "--by", "AB", world=shed.world()).exit_code == 0


def test_an_answer_said_twice_is_refused(run, shed: SmallFarm) -> None:
    """Which of two readings counts is not guessed."""
    made = run(*SIGN, "temp=22", world=shed.world())
    assert made.exit_code == 2
    assert "'temp' is answered twice" in made.stderr


def test_a_wrong_step_of_a_named_task(run, shed: SmallFarm) -> None:
    """The task's own steps are listed."""
    made = run("sign", "1-2", "floors.zork=1", "--by", "AB", world=shed.world())
    assert made.exit_code == 2
    assert "floors has no step 'zork'; it has: swept" in made.stderr


def test_at_a_terminal_a_signed_task_is_refused_before_it_is_asked(
    run, shed: SmallFarm
) -> None:
    """Nobody walks fourteen steps to be told that it was done."""
    run(*SIGN, world=shed.world())
    made = run("sign", "walk", "--by", "CD", world=shed.world(asks=True), given="21\n")
    assert made.exit_code == 5
    assert "Room temperature" not in made.output


def test_at_a_terminal_a_late_task_asks_why_first(run, shed: SmallFarm) -> None:
    """And asks again until something is said."""
    shed.later(days=1)
    made = run("sign", "floors", "--on", "2026-03-02", "--by", "AB",
               world=shed.world(asks=True), given="\nno signal\n\n")  # fmt: skip
    assert made.exit_code == 3
    assert made.output.index("Why is it written only now?") < made.output.index("Swept")
    (entry,) = json.loads(run("log", "sign_off", "--json", world=shed.world()).output)
    assert entry["reason"] == "no signal"


def test_at_a_terminal_a_choice_shows_every_option(run, shed: SmallFarm) -> None:
    """The bad ones too: who does not see them cannot say them."""
    made = run("sign", "walk", "--by", "AB", world=shed.world(asks=True),
               given="21\n0\n0\nmusty\naired\n\nnone\n")  # fmt: skip
    assert made.exit_code == 3
    assert "(fresh or musty, Enter for fresh)" in made.output
    assert "done: aired" in made.output


def test_stopped_at_a_question_nothing_is_written(run, shed: SmallFarm) -> None:
    """The end of the input says so, in words."""
    made = run("sign", "walk", "--by", "AB", world=shed.world(asks=True), given="21\n")
    assert made.exit_code == 1
    assert "nothing was written about walk" in made.stderr
    assert "Nothing was written" in run("log", "sign_off", world=shed.world()).output


def test_a_task_due_twice_on_a_past_day(run, shed: SmallFarm) -> None:
    """``--on`` means the first due of that day that nobody signed."""
    twice = replace(FLOORS, code="spray", title="Spray", at=("07:30", "15:00"))
    shed.write(lambda w: w.add(twice, by="AB"))
    shed.later(days=1)
    words = ("sign", "spray", "--on", "2026-03-02", "--by", "AB", "--reason", "late")
    dues = []
    for note in ("first", "second"):
        run(*words, "--note", note, world=shed.world())
        log = json.loads(run("log", "sign_off", "--json", world=shed.world()).output)
        dues = [entry["body"]["due"][11:16] for entry in log]
    assert dues == ["07:30", "15:00"]


def test_a_self_review_is_for_one_person_and_for_later(run, shed: SmallFarm) -> None:
    """Others who can look are named; alone, a day lies between."""
    run(*SIGN, world=shed.world())
    words = ("countersign", "--on", "2026-03-02", "--self-review", "--by", "AB")
    made = run(*words, world=shed.world())
    assert made.exit_code == 5
    assert "others who can look: CD" in made.stderr
    shed.write(lambda w: w.add(Retire(sort="person", code="CD"), by="AB"))
    assert "look at it again tomorrow" in run(*words, world=shed.world()).stderr
    shed.later(days=1)
    made = run(*words, world=shed.world())
    assert made.exit_code == 0
    assert "self-reviewed 2026-03-02" in made.output


def test_the_doer_looks_at_what_another_typed(run, shed: SmallFarm) -> None:
    """Two people have seen it then, so no day lies between, and others may be there."""
    run(*SIGN, "--written-by", "CD", world=shed.world())
    words = ("countersign", "--on", "2026-03-02", "--self-review", "--by")
    assert run(*words, "CD", world=shed.world()).exit_code == 5
    made = run(*words, "AB", world=shed.world())
    assert made.exit_code == 0
    assert "self-reviewed 2026-03-02" in made.output


def test_a_page_is_folded_between_words_at_a_narrow_terminal(
    run, shed: SmallFarm
) -> None:
    """Fifty columns: no line is wider, no word is broken; a pipe gets whole lines."""
    run("sign", "walk", "temp=27.5", *WALK_LINE[1:], "--by", "AB", world=shed.world())
    whole = run("today", world=shed.world()).output
    folded = run("today", world=shed.world(asks=True, width=50)).output
    assert max(len(line) for line in folded.splitlines()) <= 50
    assert folded.split() == whole.split()


def test_a_recheck_says_how_it_went(run, shed: SmallFarm) -> None:
    """Neither --passed nor --failed: both are named, and nothing is written."""
    run("sign", "walk", "temp=27.5", *WALK_LINE[1:], "--by", "AB", world=shed.world())
    (action,) = json.loads(run("log", "action", "--json", world=shed.world()).output)
    words = ("recheck", action["entry"], "--seen", "21 C", "--by", "AB")
    made = run(*words, world=shed.world())
    assert made.exit_code == 2
    assert "--passed or --failed" in made.stderr
    assert run(*words, "--passed", world=shed.world()).exit_code == 0
    assert "Already recorded" in run(*words, "--passed", world=shed.world()).output


def test_what_was_written_before_says_so(run, shed: SmallFarm) -> None:
    """An identical retry is "already recorded", exit 0."""
    for words in (("miss", "floors", "--reason", "dry"), ("countersign", "walk")):
        by = "CD" if words[0] == "countersign" else "AB"
        run(*SIGN, world=shed.world())
        assert "Written as" in run(*words, "--by", by, world=shed.world()).output
        again = run(*words, "--by", by, world=shed.world())
        assert again.exit_code == 0
        assert "Already recorded as" in again.output


def test_log_reads_a_kind_as_it_is_said(run, shed: SmallFarm) -> None:
    """``sign-off`` and ``"sign off"`` are sign_off; a wrong one gets the nearest."""
    run(*SIGN, world=shed.world())
    for kind in ("sign-off", "Sign off"):
        assert "walk done" in run("log", kind, world=shed.world()).output
    made = run("log", "signof", world=shed.world())
    assert made.exit_code == 4
    assert "did you mean sign_off?" in made.stderr


def test_log_of_a_period_that_runs_backwards(run, shed: SmallFarm) -> None:
    """Refused, not shown as empty."""
    made = run("log", "--from", "2026-03-02", "--to", "2026-03-01", world=shed.world())
    assert made.exit_code == 2
    assert "lies before" in made.stderr


def test_a_time_long_before_it_was_due_is_refused(run, shed: SmallFarm) -> None:
    """The list would never find it, and the task would be asked for again."""
    made = run(*SIGN, "--at", "2026-02-28 07:00", world=shed.world())
    assert made.exit_code == 2
    assert "was not done as early as 28 February 2026" in made.stderr
    words = ("miss", "walk", "--reason", "x", "--by", "AB", "--at", "2026-02-28 07:00")
    assert run(*words, world=shed.world()).exit_code == 2


@pytest.mark.parametrize(
    "words",
    [
        ("report", "day", "--html", "--on", "0001-01-01"),
        ("report", "month", "--html", "--month", "9999-12"),
        ("log", "--to", "9999-12-31"),
        ("sign", "walk", "--at", "0001-01-01 00:00", "--by", "AB"),
    ],
)
def test_the_ends_of_the_calendar_are_no_days(
    run, shed: SmallFarm, words: tuple[str, ...]
) -> None:
    """Refused like any other day that nobody means."""
    made = run(*words, world=shed.world())
    assert made.exit_code == 2
    assert made.exception is None or isinstance(made.exception, SystemExit)


def test_what_the_system_refuses_is_one_line(run, shed: SmallFarm) -> None:
    """A name that no file system takes, say."""
    made = run("today", "--record", "x" * 300, world=shed.world())
    assert made.exit_code == 7
    assert len(made.stderr.splitlines()) == 1


@pytest.mark.parametrize("words", [("show", "\udcff"), ("trace", "\udcff")])
def test_bytes_that_are_no_text_are_refused(
    run, shed: SmallFarm, words: tuple[str, ...]
) -> None:
    """As a shell hands over a name that is not UTF-8: no traceback."""
    made = run(*words, world=shed.world())
    assert made.exit_code in (2, 4)
    assert isinstance(made.exception, SystemExit)


def test_a_page_of_letters_is_not_said_back(run, shed: SmallFarm) -> None:
    """The failure stays a line or two on the screen."""
    made = run("sign", "x" * 10_000, "--by", "AB", world=shed.world())
    assert made.exit_code == 4
    assert len(made.stderr) < 1000


def test_a_demonstration_is_never_opened_by_default(
    run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Standing in its folder is not asking for it; its name is."""
    keys = tmp_path / "keys"
    path = tmp_path / "farm.db"
    farm = Farm(name="Shown", address="x", time_zone="UTC")
    with (
        Record.create(path, lambda: START, keys, demonstration=True) as record,
        record.writing(lambda: START, keys) as writing,
    ):
        writing.add(farm, by="AB")
    monkeypatch.chdir(tmp_path)
    world = World(now=lambda: START, environ={"HYGIENE_KEYS": str(keys)})
    made = run("today", world=world)
    assert made.exit_code == 7
    assert "--record farm.db" in made.stderr
    assert run("today", "--record", "farm.db", world=world).exit_code == 0
