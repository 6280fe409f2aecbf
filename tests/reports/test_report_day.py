from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from farm_of_reports import WALK, WASH, at, read, sign, walked, washed

from hygiene.kinds.action import Action
from hygiene.kinds.book import Strike
from hygiene.kinds.checklist import Step
from hygiene.kinds.day import Answer, Countersign, Miss
from hygiene.kinds.find import Hold, Release
from hygiene.kinds.moments import stamp
from hygiene.kinds.setup import Farm, Season
from hygiene.reports import day

ON = "2026-03-25"


def page(shed, now="2026-03-25T21:00"):
    return day.page(read(shed, now=at(*now.split("T"))))


def walk_row(shed, now="2026-03-25T21:00"):
    return next(t for t in page(shed, now).tasks if t.title == "Opening walk-round")


def test_a_done_task_says_when_and_by_whom(shed):
    """A sign-off in time is a row with its time and its initials."""
    shed.write(walked(at(ON)), at(ON, "07:12"))
    row = walk_row(shed)
    assert (row.due, row.done, row.by, row.status) == ("07:00", "07:12", "AB", "done")


def test_readings_are_written_out_with_their_limits(shed):
    """Actual values stand on the page, not only that they passed."""
    shed.write(walked(at(ON), temp="19.50"), at(ON))
    row = walk_row(shed)
    temp, mould = row.answers
    assert (temp.step, temp.limit) == ("Room temperature", "16 to 22 °C")
    assert temp.given == (("19.50 °C", True),)
    assert mould.given == (("R1 0 trays", True), ("R2 0 trays", True))
    assert row.ticks == ("1 of 1 step ticked", True)


def test_a_reading_out_of_limit_tells_its_story(shed):
    """What failed is told with what it should be and what was done about it."""
    shed.write(walked(at(ON), temp="24.5"), at(ON))
    (story,) = (s for s in page(shed).stories if s.status == "failed")
    told = (
        "Room temperature: 24.5 °C (should be 16 to 22 °C). "
        "Done about it: opened the louvres"
    )
    assert (told,) == story.told


def test_many_equal_answers_are_counted_and_the_odd_ones_named(shed):
    """120 trays take a line: those that failed by name, the rest by their number."""
    trays = replace(
        WALK,
        code="trays",
        title="Trays",
        steps=(
            Step(
                code="t",
                text="Mouldy share",
                sort="reading",
                unit="%",
                high=Decimal(0),
            ),
        ),
    )
    shed.write(trays, at("2026-01-02"))
    answers = [
        Answer(
            step="t",
            of=f"T{n:03d}",
            value=Decimal(5 if n == 7 else 0),
            unit="%",
            passed=n != 7,
        )
        for n in range(1, 121)
    ]
    shed.write(sign(trays, at(ON), *answers), at(ON))
    (row,) = (t for t in page(shed).tasks if t.title == "Trays")
    assert row.answers[0].given == (("T007 5 %", False), ("0 % at 119 of 120", True))


def test_a_correction_stands_beside_what_it_corrects(shed):
    """The old value stays readable, with who put it right and why."""
    first = shed.write(walked(at(ON), temp="12.5"), at(ON, "07:12"))
    shed.write(
        walked(at(ON), temp="21.5"),
        at(ON, "09:10"),
        corrects=first.name,
        reason="typing slip",
        happened_at=at(ON, "07:12"),
    )
    (amended,) = walk_row(shed).amended
    (change,) = amended.changes
    assert change == ("Room temperature", "12.5 °C", "21.5 °C")
    assert amended.how.startswith("Put right 09:10 by AB: typing slip")


def test_a_struck_sign_off_leaves_the_task_undone(shed):
    """A sign-off that is ruled through is shown, and does not count as done."""
    first = shed.write(walked(at(ON)), at(ON, "07:12"))
    shed.write(
        Strike(struck="sign_off"),
        at(ON, "09:00"),
        "CD",
        corrects=first.name,
        reason="wrong day",
    )
    row = walk_row(shed)
    assert row.status == "overdue"
    assert row.amended[0].changes[0] == ("", "Done 07:12, AB", "")
    assert row.amended[0].how.startswith("Ruled through 09:00 by CD: wrong day")


def test_a_miss_bears_its_reason(shed):
    """A task that was not done says so, and why."""
    shed.write(Miss(task="walk", due=stamp(at(ON)), why="flood"), at(ON, "08:00"))
    row = walk_row(shed)
    assert (
        row.status,
        row.result,
        row.notes,
    ) == ("missed", "not done", ("Why: flood",))


def test_a_second_sign_off_is_named(shed):
    """Where two devices both signed, the page tells of both."""
    shed.write(walked(at(ON), temp="25"), at(ON, "07:05"))
    other = shed.write(walked(at(ON)), at(ON, "07:06"), "CD")
    row = walk_row(shed)
    assert row.status == "failed"
    assert (f"Also signed by CD, 07:06 ({other.name})",) == row.notes


def test_a_late_sign_off_says_how_late(shed):
    """Lateness is computed and shown, whatever the sign-off says of itself."""
    shed.write(washed(at(ON, "09:00")), at(ON, "14:30"), "CD")
    row = next(t for t in page(shed).tasks if t.due == "09:00")
    assert (row.status, row.result) == ("late", "late, 1 h 30 min")


def test_the_second_look_stands_in_the_row(shed):
    """Who looked at a task as a second person is named beside it."""
    entry = shed.write(walked(at(ON)), at(ON))
    shed.write(Countersign(entries=(entry.name,)), at(ON, "18:00"), "CD")
    assert walk_row(shed).checked == "CD"


def test_who_looked_at_the_task_and_at_the_day_is_named_once(shed):
    """One person is one second look."""
    entry = shed.write(walked(at(ON)), at(ON))
    for on in (None, date.fromisoformat(ON)):
        look = Countersign(entries=(entry.name,), day=on)
        shed.write(look, at(ON, "18:00" if on else "17:00"), "CD")
    assert walk_row(shed).checked == "CD"


def test_a_look_at_ones_own_work_is_never_a_countersignature(shed):
    """A self-review is called own work."""
    entry = shed.write(walked(at(ON)), at(ON))
    shed.write(Countersign(entries=(entry.name,), how="self-reviewed"), at(ON, "18:00"))
    assert walk_row(shed).checked == "AB (own work)"


def test_a_look_does_not_cover_a_later_correction(shed):
    """Who looked before an entry was put right has not seen what stands now."""
    entry = shed.write(walked(at(ON)), at(ON))
    shed.write(Countersign(entries=(entry.name,)), at(ON, "18:00"), "CD")
    shed.write(
        walked(at(ON), temp="20"),
        at(ON, "19:00"),
        corrects=entry.name,
        reason="slip",
        happened_at=at(ON),
    )
    assert walk_row(shed).checked == "CD (before it changed)"


def test_an_action_is_told_to_its_close(busy_day):
    """Corrective action, recheck and close stand under the exception, in order."""
    (story,) = (s for s in day.page(busy_day).stories if s.status == "failed")
    (action,) = story.actions
    assert [step.what for step in action.steps] == ["Opened", "Rechecked", "Closed"]
    assert action.closed
    assert action.steps[1].told == "passed: cooled down (20.5 °C)"
    assert action.steps[2].told.endswith("Cause: the timer of the fan had stopped")


def test_the_summary_counts_what_is_still_open(busy_day):
    """The first lines say what became of the day, and who looked at it."""
    assert day.page(busy_day).summary == (
        "3 tasks were due: 1 done late, 1 done with something out of limit and "
        "1 not done.",
        "1 corrective action is still open when this was printed.",
        "1 hold stood when the day was over.",
        "Countersigned as a whole day by CD, 18:30: all seen.",
    )


def test_an_action_of_the_day_about_something_else_is_told(shed):
    """An action that no task is the cause of stands on the page of its day."""
    shed.write(Action(about="x", problem="tap drips"), at(ON, "10:00"))
    assert [action.problem for action in page(shed).opened] == ["tap drips"]


def test_an_open_action_of_earlier_days_is_told(shed):
    """What is open from before does not drop out of sight."""
    shed.write(Action(about="x", problem="tap drips"), at("2026-03-01"))
    found = page(shed)
    assert [action.problem for action in found.older] == ["tap drips"]
    assert found.opened == ()


def test_a_struck_action_is_still_open(shed):
    """Ruling an action through never ends it."""
    action = shed.write(Action(about="x", problem="tap drips"), at(ON, "10:00"))
    shed.write(
        Strike(struck="action"), at(ON, "11:00"), corrects=action.name, reason="no"
    )
    (told,) = page(shed).opened
    assert told.struck
    assert not told.closed


def test_a_hold_stands_until_its_release(shed):
    """A hold is listed on the days on whose end it held, and says when it ended."""
    hold = shed.write(Hold(held="R2", sort="rack", why="mould"), at("2026-03-24"))
    shed.write(Release(hold=hold.name, why="cleaned"), at("2026-03-26", "09:00"))
    (line,) = page(shed).holds
    assert line.told.startswith("rack R2: mould. Released 26 March, 09:00 by AB")
    after = day.page(read(shed, date(2026, 3, 26), now=at("2026-03-27")))
    assert after.holds == ()


def test_other_entries_of_the_day_are_listed(shed):
    """Nothing that was written on the day is left off its page."""
    shed.write(Hold(held="R2", sort="rack", why="mould"), at("2026-03-24"))
    extra = shed.write(replace(walked(at(ON)), task="old-task"), at(ON, "10:00"))
    assert [extra.name] == [line.entry for line in page(shed).others]


def test_everyone_who_signs_is_named(busy_day):
    """Initials are told with names, also of people who left since."""
    assert [(who.code, who.name) for who in day.page(busy_day).who] == [
        ("AB", "Ada Brook"),
        ("CD", "Colm Dale"),
    ]


def test_an_empty_day_has_no_rows(tmp_path):
    """A farm without a rota has a page that says so, not an error."""
    from farm_of_reports import Shed

    shed = Shed(tmp_path)
    shed.set_up()
    found = page(shed)
    assert (found.tasks, found.others, found.summary) == ((), (), ())


def test_a_day_on_which_the_shed_stands_still_says_so(tmp_path):
    """Outside the season no task of the season is due."""
    from farm_of_reports import Shed

    shed = Shed(tmp_path)
    shed.set_up(WASH)
    shed.write(
        Farm(
            name="Thistledrift Farm",
            address="Lane End",
            time_zone="Europe/London",
            season=(Season(first=date(2026, 1, 1), last=date(2026, 2, 28)),),
        ),
        at("2026-01-02"),
    )
    found = page(shed)
    assert not found.runs
    assert found.tasks == ()
