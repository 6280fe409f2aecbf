"""What is due on a day, and which version of a checklist says so."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rota_makers import (
    ZONES,
    changes,
    checklist,
    days,
    entry,
    farm,
    histories,
    moment,
    moments,
    retire,
    season,
)

from hygiene.kinds.base import CannotBe, shapes
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of, stamp
from hygiene.kinds.setup import Farm, Retire
from hygiene.rota.schedule import (
    Due,
    Grace,
    Hours,
    Rota,
    check_adoptable,
    read_grace,
    read_rota,
)

DAY = timedelta(days=1)
FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)


def seen(dues: Sequence[Due]) -> list[tuple[str, int, str]]:
    return [(due.code, due.task.version, stamp(due.at)) for due in dues]


def rota_of(*entries: Entry) -> Rota:
    return read_rota(entries)


@pytest.mark.parametrize("zone", ZONES)
def test_a_task_due_at_seven_stays_at_seven_across_a_clock_change(zone):
    """One due a day all through the year, at 07:00 by the farm's own clock."""
    dues = rota_of(farm(time_zone=zone), checklist()).dues(FIRST, LAST)
    local = [due.at.astimezone(ZoneInfo(zone)) for due in dues]
    assert [at.date() for at in local] == [FIRST + n * DAY for n in range(365)]
    assert {at.time() for at in local} == {time(7)}


@pytest.mark.parametrize(
    ("zone", "day", "clock", "expected"),
    [
        ("Europe/London", "2026-03-29", "01:30", "2026-03-29T02:30:00+01:00"),
        ("Europe/London", "2026-10-25", "01:30", "2026-10-25T01:30:00+01:00"),
        ("Australia/Sydney", "2026-10-04", "02:30", "2026-10-04T03:30:00+11:00"),
        ("Australia/Sydney", "2026-04-05", "02:30", "2026-04-05T02:30:00+11:00"),
        ("Australia/Lord_Howe", "2026-10-04", "02:15", "2026-10-04T02:45:00+11:00"),
        ("Australia/Lord_Howe", "2026-04-05", "01:45", "2026-04-05T01:45:00+11:00"),
    ],
)
def test_a_time_skipped_or_doubled_by_the_clock_change(zone, day, clock, expected):
    """RFC 5545 3.3.5: a skipped time moves on by the change; of two the first one."""
    rota = rota_of(farm(time_zone=zone), checklist(clock=(clock,)))
    on = date.fromisoformat(day)
    assert [stamp(due.at) for due in rota.dues(on, on)] == [expected]


def test_two_clock_times_moved_onto_one_moment_are_one_due():
    """01:30 does not exist that night and becomes 02:30, where one due is already."""
    rota = rota_of(farm(), checklist(clock=("01:30", "02:30")))
    on = date(2026, 3, 29)
    assert [stamp(due.at) for due in rota.dues(on, on)] == ["2026-03-29T02:30:00+01:00"]


@pytest.mark.parametrize("zone", ZONES)
def test_a_due_read_back_from_its_text_is_the_same_moment(zone):
    """A sign-off names its due by a text; it must find it again, in every hour."""
    clocks = tuple(f"{hour:02d}:30" for hour in range(24))
    rota = rota_of(farm(time_zone=zone), checklist(clock=clocks))
    for due in rota.dues(FIRST, LAST):
        assert moment_of(stamp(due.at)) == due.at
        assert moment_of(stamp(due.at)).timestamp() == due.key[1]


@given(histories, days, days, days)
@settings(max_examples=60, deadline=None)
def test_two_stretches_make_the_whole(history, one, two, three):
    """Dues in [a, b) and in [b, c) are the dues in [a, c), whatever was adopted."""
    a, b, c = sorted([one, two, three])
    rota = rota_of(history[0], *history[1])
    split = rota.dues(a, b - DAY) + rota.dues(b, c - DAY)
    whole = rota.dues(a, c - DAY)
    assert sorted(seen(whole)) == sorted(seen(split))
    assert len({due.key for due in whole}) == len(whole)


@given(histories, st.data())
@settings(max_examples=60, deadline=None)
def test_a_changed_rota_leaves_past_days_as_they_were(history, data):
    """What was due before a change stays due, by the version and until the hour that
    held then; a change shows on its own day at the earliest.
    """
    at = data.draw(moments())
    # what stood when the change was made
    stood = [history[0], *(e for e in history[1] if e.happened_at <= at)]
    task_changed = data.draw(changes(st.just(at)))
    hours_changed = farm(at, time_zone="Asia/Kolkata", day_ends="12:00")
    was, now = rota_of(*stood), rota_of(*stood, task_changed, hours_changed)
    past = (date(2025, 12, 1), was.day_of(moment(at)) - 2 * DAY)
    assert _rows(was, *past) == _rows(now, *past)


def _rows(rota: Rota, first: date, last: date) -> list[tuple[object, ...]]:
    dues = rota.dues(first, last)
    return [(*row, due.deadline) for due, row in zip(dues, seen(dues), strict=True)]


def test_each_due_has_the_version_in_force_at_its_moment():
    """A version adopted at noon does not touch that morning, and holds from then on."""
    rota = rota_of(
        farm(),
        checklist(version=1, clock=("07:00", "16:00")),
        checklist(at="2026-03-03T12:00:00+00:00", version=2, clock=("07:00", "16:00")),
    )
    assert seen(rota.dues(date(2026, 3, 3), date(2026, 3, 4))) == [
        ("walk", 1, "2026-03-03T07:00:00+00:00"),
        ("walk", 2, "2026-03-03T16:00:00+00:00"),
        ("walk", 2, "2026-03-04T07:00:00+00:00"),
        ("walk", 2, "2026-03-04T16:00:00+00:00"),
    ]


def test_at_the_very_moment_of_a_change_the_new_version_holds():
    """One moment is one due, of one version."""
    rota = rota_of(
        farm(),
        checklist(version=1),
        checklist(at="2026-03-03T07:00:00+00:00", version=2),
    )
    assert seen(rota.dues(date(2026, 3, 3), date(2026, 3, 3))) == [
        ("walk", 2, "2026-03-03T07:00:00+00:00")
    ]


def test_the_order_in_which_entries_arrive_does_not_matter():
    """After a merge the entries of two books stand in another order."""
    entries = [
        farm(),
        checklist(version=1),
        checklist(at="2026-03-03T12:00:00+00:00", version=2),
        farm("2026-04-01T00:00:00+00:00", day_ends="17:00"),
        retire("walk", "2026-05-01T00:00:00+00:00"),
    ]
    forwards, backwards = rota_of(*entries), rota_of(*reversed(entries))
    assert _rows(forwards, FIRST, LAST) == _rows(backwards, FIRST, LAST)


def test_a_retired_task_is_no_longer_due_and_can_be_adopted_again():
    """Due until the retirement, not due between, due again from the new adoption."""
    rota = rota_of(
        farm(),
        checklist(),
        retire("walk", "2026-01-03T12:00:00+00:00"),
        checklist(at="2026-01-06T12:00:00+00:00", version=2),
    )
    assert [due.day.day for due in rota.dues(FIRST, date(2026, 1, 8))] == [
        1,
        2,
        3,
        7,
        8,
    ]


def test_a_retirement_of_something_else_retires_no_task():
    """A rack and a checklist may bear the same code."""
    rota = rota_of(
        farm(), checklist(), retire("walk", "2026-01-03T12:00:00+00:00", sort="rack")
    )
    assert len(rota.dues(FIRST, date(2026, 1, 8))) == 8


def test_a_new_farm_has_a_list_on_its_first_morning():
    """Adopted at nine, the task of seven is due that day: its grace still runs."""
    rota = rota_of(farm(), checklist(at="2026-03-03T09:00:00+00:00"))
    assert [due.day.day for due in rota.dues(FIRST, date(2026, 3, 4))] == [3, 4]


def test_a_first_version_asks_for_nothing_that_was_too_late_when_it_was_adopted():
    """Adopted at nine, what had to be done by half past eight is not asked for."""
    rota = rota_of(farm(), checklist(at="2026-03-03T09:00:00+00:00", grace="90 min"))
    assert [due.day.day for due in rota.dues(FIRST, date(2026, 3, 4))] == [4]


def test_a_running_task_is_due_only_while_the_shed_runs():
    """Both ends of a stretch are included; an ``always`` task takes no notice."""
    rota = rota_of(
        farm(season=season(("2026-01-02", "2026-01-03"), ("2026-01-06", None))),
        checklist("walk", season="running"),
        checklist("pests", season="always"),
    )
    dues = rota.dues(FIRST, date(2026, 1, 7))
    assert [due.day.day for due in dues if due.code == "walk"] == [2, 3, 6, 7]
    assert [due.day.day for due in dues if due.code == "pests"] == [1, 2, 3, 4, 5, 6, 7]


def test_without_a_season_the_shed_always_runs():
    """A farm that says nothing of seasons grows all the year."""
    rota = rota_of(farm(), checklist(season="running"))
    assert len(rota.dues(FIRST, LAST)) == 365


def test_a_past_day_is_read_with_the_farms_hours_of_then():
    """A working day that ends earlier from March on does not make January late."""
    rota = rota_of(
        farm(day_ends="20:00"),
        farm("2026-03-03T12:00:00+00:00", day_ends="17:00"),
        checklist(),
    )
    ends = [
        due.deadline.time() for due in rota.dues(date(2026, 3, 1), date(2026, 3, 4))
    ]
    assert ends == [time(20), time(20), time(17), time(17)]


@pytest.mark.parametrize(
    ("grace", "clock", "deadline"),
    [
        ("day", "07:00", "2026-03-28T20:00:00+00:00"),
        ("day", "21:00", "2026-03-29T20:00:00+01:00"),
        ("90 min", "07:00", "2026-03-28T08:30:00+00:00"),
        ("24 h", "07:00", "2026-03-29T08:00:00+01:00"),
        ("3 d", "07:00", "2026-03-31T20:00:00+01:00"),
    ],
)
def test_the_grace_of_a_task(grace, clock, deadline):
    """Days end with the working day; hours are hours, across the clock change too."""
    rota = rota_of(farm(), checklist(clock=(clock,), grace=grace))
    on = date(2026, 3, 28)
    assert [stamp(due.deadline) for due in rota.dues(on, on)] == [deadline]


@pytest.mark.parametrize(
    "text", ["", "soon", "0 h", "73 h", "32 d", "4321 min", "-1 d"]
)
def test_a_wrong_grace_is_refused(text):
    """It has a number within bounds and one of three units."""
    with pytest.raises(CannotBe) as refused:
        read_grace(text)
    assert refused.value.details["key"] == "grace"


def test_a_working_day_may_end_after_midnight():
    """A day that ends at two in the night lasts until two of the next morning."""
    hours = Hours(ZoneInfo("Europe/London"), time(2))
    on = date(2026, 1, 5)
    at = hours.at(on, time(7))
    assert stamp(Grace().deadline(at, on, hours)) == "2026-01-06T02:00:00+00:00"


def test_the_next_due_of_a_task():
    """What to answer when a task is signed on a day on which it is not due."""
    rota = rota_of(farm(), checklist(rule="FREQ=YEARLY;BYMONTH=11;BYMONTHDAY=2"))
    found = rota.next_due("walk", date(2026, 11, 2))
    assert found is not None
    assert found.day == date(2027, 11, 2)
    assert rota.next_due("nothing", FIRST) is None


def _superseded(rota: Rota, day: str) -> str | None:
    on = date.fromisoformat(day)
    found = rota.superseded_at(rota.dues(on, on)[0])
    return stamp(found) if found else None


def test_a_task_is_superseded_when_it_comes_round_again():
    """This week's deep clean can be done until next week's falls due."""
    rota = rota_of(farm(), checklist(rule="FREQ=WEEKLY;BYDAY=MO"))
    assert _superseded(rota, "2026-03-23") == "2026-03-30T07:00:00+01:00"


def test_a_task_of_the_morning_is_superseded_by_that_of_the_afternoon():
    """Two times a day are two dues."""
    rota = rota_of(farm(), checklist(clock=("07:00", "16:00")))
    assert _superseded(rota, "2026-03-03") == "2026-03-03T16:00:00+00:00"


def test_a_task_is_superseded_by_a_later_version_or_by_its_retirement():
    """The first of: the rule's next time, the new version's, the retirement."""
    old = checklist(rule="FREQ=MONTHLY;BYMONTHDAY=1")
    new = checklist(
        rule="FREQ=MONTHLY;BYMONTHDAY=15", at="2026-03-10T12:00:00+00:00", version=2
    )
    gone = retire("walk", "2026-03-12T09:00:00+00:00")
    assert (
        _superseded(rota_of(farm(), old), "2026-03-01") == "2026-04-01T07:00:00+01:00"
    )
    assert (
        _superseded(rota_of(farm(), old, new), "2026-03-01")
        == "2026-03-15T07:00:00+00:00"
    )
    assert (
        _superseded(rota_of(farm(), old, gone), "2026-03-01")
        == "2026-03-12T09:00:00+00:00"
    )


def test_a_rule_that_has_ended_is_never_superseded():
    """The last of ten can be done late for as long as one likes."""
    rota = rota_of(farm(), checklist(rule="FREQ=DAILY;UNTIL=20260303"))
    assert _superseded(rota, "2026-03-03") is None


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=6,
)
fields_of = [shape.name for kind in (Checklist, Farm, Retire) for shape in shapes(kind)]
keys = st.sampled_from(sorted(set(fields_of)))


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["checklist", "retire", "farm", "mould"]),
            st.dictionaries(keys, json_values),
            st.sampled_from(["", "yesterday", "2026-01-01", "2026-01-01T00:00:00Z"]),
        ),
        max_size=4,
    )
)
@settings(max_examples=150, deadline=None)
def test_reading_never_raises(odd):
    """An old, newer or odd body is read as far as it goes; the sound task stays due."""
    entries = [
        Entry("shed-odd", n, kind, at, at, "AB", body)
        for n, (kind, body, at) in enumerate(odd, 1)
    ]
    sound = checklist("sound", clock=("12:00",))
    rota = rota_of(*entries, sound)
    dues = rota.dues(FIRST, FIRST + 40 * DAY)
    assert sum(due.code == "sound" for due in dues) == 41
    rota.still_open_before(FIRST + 30 * DAY)


def test_a_task_whose_rule_cannot_be_read_says_so():
    """It is kept, with no dues, so that it can be shown and mended."""
    odd = checklist()._replace(body={"code": "odd", "title": "Odd", "rule": "weekly"})
    (task,) = rota_of(farm(), odd).tasks
    assert task.problem is not None
    assert "weekly" in task.problem
    assert rota_of(farm(), odd).dues(FIRST, LAST) == []


def _checklist(**fields: object) -> Checklist:
    given: dict[str, object] = {
        "code": "walk",
        "title": "Walk",
        "version": 1,
        "dated": FIRST,
        "rule": "FREQ=DAILY",
        "starts": FIRST,
        "steps": (Step(code="look", text="Look"),),
    }
    return Checklist(**(given | fields))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("fields", "key"),
    [
        ({"rule": "FREQ=HOURLY"}, "rule"),
        ({"grace": "a while"}, "grace"),
        ({"at": ("7:00",)}, "at"),
        ({"at": ("24:00",)}, "at"),
        ({"at": ()}, "at"),
        ({"may_sign": ("boss",)}, "may_sign"),
    ],
)
def test_a_checklist_that_could_not_be_followed_is_not_adopted(fields, key):
    """The door refuses it and names the key."""
    with pytest.raises(CannotBe) as refused:
        check_adoptable(_checklist(**fields))
    assert refused.value.details["key"] == key


def test_a_checklist_that_is_adopted_shows_the_rule_that_will_be_followed():
    """A rule for the 31st is shown as it was rewritten."""
    rule = check_adoptable(_checklist(rule="FREQ=MONTHLY;BYMONTHDAY=31"))
    assert rule.text == "FREQ=MONTHLY;BYMONTHDAY=28,29,30,31;BYSETPOS=-1"


def test_what_the_kind_writes_is_what_the_rota_reads():
    """A checklist with every field said comes back whole."""
    made = _checklist(
        area="grow",
        at=("16:00", "07:00"),
        grace="4 h",
        training="hygiene",
        gear=("gloves",),
        cautions=("wet floor",),
        minutes=20,
    )
    (task,) = rota_of(farm(), entry(made, "2026-01-01T00:00:00+00:00")).tasks
    assert (task.area, task.training, task.minutes) == ("grow", "hygiene", 20)
    assert task.at == (time(7), time(16))
    assert task.grace == Grace(span=timedelta(hours=4))
    assert (task.gear, task.cautions) == (("gloves",), ("wet floor",))
    assert task.steps[0]["text"] == "Look"


def test_the_version_in_force_at_a_moment():
    """Who is trained for it, and which steps it has, is asked of that version."""
    rota = rota_of(
        farm(),
        checklist(version=1),
        checklist(at="2026-03-03T12:00:00+00:00", version=2),
    )
    at = datetime.fromisoformat
    assert rota.in_force(at("2026-03-03T11:59:59+00:00"))["walk"].version == 1
    assert rota.in_force(at("2026-03-03T12:00:00+00:00"))["walk"].version == 2
