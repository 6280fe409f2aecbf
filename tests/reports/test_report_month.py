from __future__ import annotations

from datetime import date

from farm_of_reports import DEEP, WALK, at, read, sign, walked

from hygiene.kinds.action import Action
from hygiene.kinds.book import Strike
from hygiene.kinds.day import Answer, Countersign, Miss
from hygiene.kinds.moments import stamp
from hygiene.reports import month

MARCH = (date(2026, 3, 1), date(2026, 3, 31))


def page(shed, first=MARCH[0], last=MARCH[1], now="2026-04-01"):
    return month.page(read(shed, first, last, now=at(now)))


def row(shed, title):
    (made,) = page(shed).months
    return next(row for row in made.rows if row.title == title)


def days(text: str, wide: int = 4) -> list[str]:
    """The signs of a line of the grid, day by day."""
    return [text[n : n + wide].strip() for n in range(0, len(text), wide)]


def test_every_day_has_one_sign(shed):
    """A row reads in order: the n-th sign is the n-th day's."""
    shed.write(walked(at("2026-03-03")), at("2026-03-03"), "CD")
    signs = days(row(shed, WALK.title).days)
    assert len(signs) == 31
    assert signs[:4] == ["□", "□", "CD", "□"]


def test_days_stand_under_each_other(busy_month):
    """Every line of the grid is as wide as the numbers at its head."""
    (made,) = month.page(busy_month).months
    lines = [line for row in made.rows for line in row.days.split("\n")]
    lines += [made.letters, made.numbers, made.looks]
    assert {made.width} == {len(line) for line in lines}


def test_each_status_has_its_own_sign(shed):
    """Done, late, failed, missed, not needed and never written all look different."""
    shed.write(walked(at("2026-03-01")), at("2026-03-01"))
    shed.write(walked(at("2026-03-02")), at("2026-03-02", "21:00"))
    shed.write(walked(at("2026-03-03"), temp="30"), at("2026-03-03"))
    for day, needed in ((4, True), (5, False)):
        due = at(f"2026-03-0{day}")
        shed.write(Miss(task="walk", due=stamp(due), why="x", needed=needed), due)
    shed.write(
        walked(at("2026-03-07")),
        at("2026-03-08", "12:00"),
        happened_at=at("2026-03-07"),
    )
    signs = days(row(shed, WALK.title).days)[:7]
    assert signs == ["AB", "AB+", "AB▲", "✖", "○", "□", "AB~"]


def test_a_task_that_is_not_due_has_a_quiet_sign(shed):
    """A weekly task leaves its other days as not due."""
    signs = days(row(shed, DEEP.title).days)
    assert signs[:3] == ["·", "□", "·"]


def test_a_task_of_two_times_has_two_lines(shed):
    """Each time of day has its own line, beside its time."""
    wash = row(shed, "Tray wash")
    assert wash.times == "09:00\n15:00"
    assert len(wash.days.split("\n")) == 2


def test_the_row_counts_what_was_done(shed):
    """A row says how many were done, of those that had to be by now."""
    shed.write(walked(at("2026-03-01")), at("2026-03-01"))
    shed.write(
        Miss(task="walk", due=stamp(at("2026-03-02")), why="x", needed=False),
        at("2026-03-02"),
    )
    assert row(shed, WALK.title).done == "1 of 30"


def test_weekends_lie_under_their_days(busy_month):
    """Saturdays and Sundays are shaded where they stand; March 2026 begins on one."""
    (made,) = month.page(busy_month).months
    assert made.weekends[:3] == ((0, 4), (24, 28), (28, 32))


def test_exceptions_are_written_out_with_their_actions(busy_month):
    """Beneath the grid each exception is told with what was done about it."""
    (made,) = month.page(busy_month).months
    (failed,) = (s for s in made.stories if s.status == "failed")
    assert failed.when == "Wed 25 March, 07:00"
    assert failed.actions[0].closed


def test_what_was_never_written_is_told_once_for_all_its_days(busy_month):
    """A task forgotten on six occasions makes one line, which names its days."""
    (made,) = month.page(busy_month).months
    (gap,) = (s for s in made.stories if s.status == "gap")
    assert (
        gap.when,
        gap.told,
    ) == ("6 times", ("Nothing was written on 7, 14 and 21 March",))


def test_countersigned_days_are_marked(shed):
    """A day that a second person looked at bears their initials; own work a star."""
    entry = shed.write(walked(at("2026-03-02")), at("2026-03-02"))
    for day, by, how in ((2, "CD", "countersigned"), (3, "AB", "self-reviewed")):
        on = f"2026-03-0{day}"
        shed.write(
            Countersign(entries=(entry.name,), day=on, how=how), at(on, "18:00"), by
        )
    (made,) = page(shed).months
    assert days(made.looks)[:4] == ["·", "CD", "AB*", "·"]


def test_corrections_and_strikes_are_told(shed):
    """What was put right or ruled through in the month stands beneath, old and new."""
    first = shed.write(walked(at("2026-03-05"), temp="12.5"), at("2026-03-05"))
    shed.write(
        walked(at("2026-03-05"), temp="20.5"),
        at("2026-03-06"),
        corrects=first.name,
        reason="slip",
        happened_at=at("2026-03-05"),
    )
    second = shed.write(walked(at("2026-03-09")), at("2026-03-09"))
    shed.write(
        Strike(struck="sign_off"),
        at("2026-03-10"),
        corrects=second.name,
        reason="wrong farm",
    )
    (made,) = page(shed).months
    (put_right, struck) = made.amended
    assert put_right[0] == "Thu 5 March, 07:00 Opening walk-round"
    assert put_right[1].changes[0][1:] == ("12.5 °C", "20.5 °C")
    assert struck[1].how.startswith("Ruled through 10 March, 07:00 by AB: wrong farm")


def test_actions_about_other_things_are_told(shed):
    """An action that no task is the cause of is not lost from the month."""
    shed.write(Action(about="x", problem="tap drips"), at("2026-03-10"))
    assert [action.problem for action in page(shed).actions] == ["tap drips"]


def test_a_longer_period_has_a_grid_for_each_month(shed):
    """Grids never mix two months."""
    made = page(shed, date(2026, 2, 20), date(2026, 3, 10)).months
    assert [m.title for m in made] == ["20 to 28 February 2026", "1 to 10 March 2026"]


def test_days_to_come_are_still_to_do(shed):
    """What is not yet due is neither done nor forgotten."""
    (made,) = page(shed, now="2026-03-20").months
    walk = next(row for row in made.rows if row.title == WALK.title)
    assert days(walk.days)[30] == "_"
    assert walk.done == "0 of 19"


def test_long_codes_are_cut_and_stay_apart():
    """Initials that do not fit are cut to three, and never look alike."""
    labels = month.labels_of(["AB", "ANNA", "ANNB", "ÅSE"])
    assert {k: labels[k] for k in ("AB", "ANNA")} == {"AB": "AB", "ANNA": "ANN"}
    assert len(set(labels.values())) == 4
    assert all(label.isascii() and len(label) <= 3 for label in labels.values())


def test_short_codes_keep_the_grid_wide():
    """Codes of two letters leave room for bigger letters."""
    assert month.width_of(month.labels_of(["AB", "CD"])) == 4
    assert month.width_of(month.labels_of(["AB", "JWB"])) == 5


def test_an_unsafe_code_cannot_move_the_days():
    """A code that holds a space, a tab or a sign is numbered."""
    labels = month.labels_of(["A\tB", "A B", "▲"])
    assert all(label.isdigit() for label in labels.values())


def test_a_month_with_nothing_due_has_no_grid(tmp_path):
    """A farm without a rota has a page that says so, not an error."""
    from farm_of_reports import Shed

    shed = Shed(tmp_path)
    shed.set_up()
    (made,) = page(shed).months
    assert (made.rows, made.stories, made.looks) == ((), (), "")


def test_failing_answers_are_told_in_full(shed):
    """A step that was not done fails like a reading out of limit."""
    answer = Answer(step="floor", done=False, passed=False)
    shed.write(sign(DEEP, at("2026-03-02"), answer), at("2026-03-02"))
    (made,) = page(shed).months
    (failed,) = (s for s in made.stories if s.status == "failed")
    assert failed.told == ("Floor and drains cleaned: not done",)
