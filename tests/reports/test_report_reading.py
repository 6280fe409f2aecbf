from __future__ import annotations

from datetime import date

from farm_of_reports import DAY, at, read, walked

from hygiene.kinds.action import Action, Close, Recheck
from hygiene.kinds.book import Strike
from hygiene.kinds.day import Countersign


def names(matters) -> list[str]:
    return [matter.first.name for matter in matters]


def test_a_late_sign_off_belongs_to_the_day_of_its_due(shed):
    """What was due on a day and done days later is read for that day."""
    late = shed.write(walked(at("2026-03-25")), at("2026-03-28", "09:00"))
    assert [late.name] == names(read(shed).of_kind("sign_off"))


def test_other_days_are_left_out(shed):
    """What was due and done on other days is not read."""
    shed.write(walked(at("2026-03-24")), at("2026-03-24"))
    shed.write(walked(at("2026-03-26")), at("2026-03-26"))
    assert read(shed).of_kind("sign_off") == []


def test_a_correction_brings_its_whole_history(shed):
    """Every version of a matter is there, the first one first."""
    first = shed.write(walked(at("2026-03-25"), temp="12"), at("2026-03-25"))
    then = shed.write(
        walked(at("2026-03-25"), temp="21"),
        at("2026-03-27"),
        corrects=first.name,
        reason="typing slip",
        happened_at=at("2026-03-25"),
    )
    (matter,) = read(shed).of_kind("sign_off")
    assert (first, then) == matter.history
    assert then == matter.said


def test_a_time_that_was_put_right_into_another_day_is_no_longer_of_this_one(shed):
    """Where it happened is read from the version that stands."""
    first = shed.write(Action(about="x", problem="leak"), at("2026-03-25"))
    shed.write(
        Action(about="x", problem="leak"),
        at("2026-03-26"),
        corrects=first.name,
        reason="wrong day",
        happened_at=at("2026-03-20"),
    )
    found = read(shed)
    assert not found.happened_in(found.of_kind("action")[0])


def test_a_struck_matter_stays_readable(shed):
    """What is ruled through is read, and says what it said."""
    first = shed.write(walked(at("2026-03-25")), at("2026-03-25"))
    shed.write(
        Strike(struck="sign_off"),
        at("2026-03-29"),
        corrects=first.name,
        reason="wrong farm",
    )
    (matter,) = read(shed).of_kind("sign_off")
    assert matter.struck
    assert first == matter.said
    assert read(shed).standing("sign_off") == []


def test_what_answers_it_later_belongs_to_it(shed):
    """An action, its recheck and its close are read, whenever they were written."""
    walk = shed.write(walked(at("2026-03-25"), temp="25"), at("2026-03-25"))
    action = shed.write(Action(about=walk.name, problem="hot"), at("2026-03-26"))
    look = shed.write(
        Recheck(action=action.name, seen="cool", passed=True), at("2026-03-27")
    )
    end = shed.write(
        Close(action=action.name, did="fan", recheck=look.name), at("2026-04-02")
    )
    found = read(shed)
    (matter,) = found.of_kind("sign_off")
    (told,) = found.answers(matter, "action")
    assert action == told.said
    assert [end.name] == names(found.answers(told, "close"))


def test_an_action_of_an_earlier_day_is_read_while_it_is_open(shed):
    """An action that was never closed follows the farm from day to day."""
    action = shed.write(Action(about="x", problem="leak"), at("2026-02-01"))
    assert [action.name] == names(read(shed).of_kind("action"))


def test_a_look_at_the_day_is_read_whenever_it_was_written(shed):
    """A second person may look at a day a week later."""
    look = shed.write(
        Countersign(entries=("x",), day="2026-03-25"), at("2026-04-01"), "CD"
    )
    assert [look.name] == names(read(shed).of_kind("countersign"))


def test_the_farm_is_read_as_it_was(shed):
    """A past day is told with the name that the farm bore then."""
    shed.now = at("2026-05-01")
    shed.set_up(name="Newname Farm")
    assert (read(shed).farm.farm or {})["name"] == "Thistledrift Farm"
    later = read(shed, date(2026, 6, 1), now=at("2026-06-01"))
    assert (later.farm.farm or {})["name"] == "Newname Farm"


def test_heads_count_every_entry(shed):
    """The page says how many entries the record held when it was read."""
    shed.write(walked(at("2026-03-25")), at("2026-03-25"))
    with shed.record() as record:
        assert record.count() == sum(head.seq for head in read(shed, DAY).heads)
