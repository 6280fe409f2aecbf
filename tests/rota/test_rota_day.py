"""The one status of each due, the list of a day, and the grid of a month."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rota_makers import (
    checklist,
    farm,
    farms,
    histories,
    miss,
    moment,
    moments,
    retire,
    season,
    sign,
)

from hygiene.kinds.entry import Entry
from hygiene.rota.day import (
    OPEN,
    STATUSES,
    State,
    asked,
    day_list,
    grid,
    states,
    written,
)
from hygiene.rota.schedule import Due, Rota, read_rota

DAY = timedelta(days=1)


def listed_at(rota, found, now) -> list[State]:
    return day_list(rota, asked(rota, now), found, now)


MARCH_3 = date(2026, 3, 3)
DAILY = read_rota([farm(), checklist()])
(WALK,) = DAILY.dues(MARCH_3, MARCH_3)


def state(now: str, *entries: Entry, due: Due = WALK, rota: Rota = DAILY) -> State:
    (made,) = states(rota, [due], written(entries), moment(now))
    return made


@pytest.mark.parametrize(
    ("now", "status"),
    [
        ("2026-03-03T06:59:59+00:00", "not yet"),
        ("2026-03-03T07:00:00+00:00", "due"),
        ("2026-03-03T20:00:00+00:00", "due"),
        ("2026-03-03T20:00:01+00:00", "overdue"),
        ("2026-03-04T06:59:59+00:00", "overdue"),
        ("2026-03-04T07:00:00+00:00", "gap"),
    ],
)
def test_what_is_not_written_goes_from_not_yet_to_a_gap(now, status):
    """Due at its hour, overdue after its grace, a gap once it has come round again."""
    assert state(now).status == status


def test_what_is_overdue_bears_its_age():
    """Counted from the end of its grace."""
    assert state("2026-03-03T22:30:00+00:00").late_by == timedelta(hours=2.5)


def test_a_monthly_task_stays_overdue_until_the_next_month():
    """Its age grows; nobody takes it off the list."""
    rota = read_rota([farm(), checklist(rule="FREQ=MONTHLY;BYMONTHDAY=1")])
    (due,) = rota.dues(date(2026, 3, 1), MARCH_3)
    late = state("2026-03-29T20:00:00+01:00", due=due, rota=rota)
    assert (late.status, late.late_by) == ("overdue", timedelta(days=27, hours=23))
    assert state("2026-04-01T07:00:00+01:00", due=due, rota=rota).status == "gap"


def test_a_task_within_its_grace_is_due_although_it_has_come_round_again():
    """The morning's walk can be signed till evening, also after the afternoon's."""
    rota = read_rota([farm(), checklist(clock=("07:00", "16:00"))])
    morning, _ = rota.dues(MARCH_3, MARCH_3)
    assert state("2026-03-03T17:00:00+00:00", due=morning, rota=rota).status == "due"
    assert state("2026-03-03T20:30:00+00:00", due=morning, rota=rota).status == "gap"


@pytest.mark.parametrize(
    ("happened", "status", "late_by"),
    [
        ("2026-03-03T06:30:00+00:00", "done", None),
        ("2026-03-03T20:00:00+00:00", "done", None),
        ("2026-03-03T21:00:00+01:00", "done", None),
        ("2026-03-03T20:10:00+00:00", "late", timedelta(minutes=10)),
        ("2026-03-05T20:00:00+00:00", "late", timedelta(days=2)),
    ],
)
def test_what_is_done_is_late_after_its_deadline(happened, status, late_by):
    """Compared as instants, whatever the offset in which it was written."""
    made = state("2026-03-09T12:00:00+00:00", sign(WALK, happened))
    assert (made.status, made.late_by, made.initials) == (status, late_by, "AB")


def test_what_was_typed_late_shows_it_although_it_was_done_in_time():
    """Done at eight, typed next morning from paper: done, and never hidden."""
    given = sign(WALK, "2026-03-03T08:00:00+00:00", typed="2026-03-04T08:00:00+00:00")
    made = state("2026-03-09T12:00:00+00:00", given)
    assert (made.status, made.typed_late_by) == ("done", timedelta(hours=12))
    assert made.exceptional


def test_an_answer_that_did_not_pass_makes_it_failed():
    """Also where it was late: the worse of the two is the status, both are kept."""
    given = sign(WALK, "2026-03-03T21:00:00+00:00", passed=False)
    made = state("2026-03-09T12:00:00+00:00", given)
    assert (made.status, made.late_by) == ("failed", timedelta(hours=1))


@pytest.mark.parametrize(
    ("needed", "status"), [(True, "missed"), (False, "not needed")]
)
def test_a_miss_has_its_reason_and_its_own_status(needed, status):
    """Not done and not needed are two things."""
    given = miss(WALK, "2026-03-03T09:00:00+00:00", needed=needed, by="CD")
    made = state("2026-03-03T12:00:00+00:00", given)
    assert (made.status, made.initials) == (status, "CD")


def test_what_was_done_beats_a_miss():
    """Written off in the morning, done in the afternoon after all."""
    off = miss(WALK, "2026-03-03T09:00:00+00:00")
    done = sign(WALK, "2026-03-03T15:00:00+00:00")
    made = state("2026-03-03T16:00:00+00:00", off, done)
    assert (made.status, made.others) == ("done", (off,))


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_signatures_the_failed_one_stands(turned):
    """Two devices signed; the record looks no better than the worse of them."""
    good = sign(WALK, "2026-03-03T08:00:00+00:00")
    bad = sign(WALK, "2026-03-03T09:00:00+00:00", passed=False, by="CD")
    given = [bad, good] if turned else [good, bad]
    made = state("2026-03-03T12:00:00+00:00", *given)
    assert (made.status, made.entry, made.others) == ("failed", bad, (good,))


def test_a_signature_for_another_task_or_time_answers_nothing():
    """(Task, due) is what it means; the day alone is not enough."""
    rota = read_rota([farm(), checklist("walk", clock=("07:00", "16:00"))])
    morning, afternoon = rota.dues(MARCH_3, MARCH_3)
    given = sign(afternoon, "2026-03-03T16:10:00+00:00")
    made = state("2026-03-03T17:00:00+00:00", given, due=morning, rota=rota)
    assert made.status == "due"
    other = sign(
        morning._replace(task=morning.task._replace(code="wash")), given.happened_at
    )
    assert state("2026-03-03T17:00:00+00:00", other).status == "due"


def test_a_signature_finds_its_due_in_any_offset():
    """A due written as 08:00+01:00 is the one of 07:00+00:00."""
    given = sign(WALK, "2026-03-03T08:00:00+00:00")
    body = {**given.body, "due": "2026-03-03T08:00:00+01:00"}
    assert (
        state("2026-03-03T12:00:00+00:00", given._replace(body=body)).status == "done"
    )


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"task": "walk", "due": "soon"},
        {"task": "walk", "due": "2026-03-03T07:00:00"},
        {"task": ["walk"], "due": "2026-03-03T07:00:00+00:00"},
    ],
)
def test_an_odd_signature_is_passed_over(body):
    """It is shown elsewhere; it ticks nothing off, and nothing raises."""
    odd = sign(WALK, "2026-03-03T08:00:00+00:00")._replace(body=body)
    assert state("2026-03-03T12:00:00+00:00", odd).status == "due"


def test_an_odd_list_of_answers_is_read_as_far_as_it_goes():
    """A later version of the program may write answers in another shape."""
    given = sign(WALK, "2026-03-03T08:00:00+00:00")
    for answers in ("yes", [7, {"passed": "no"}], None):
        odd = given._replace(body={**given.body, "answers": answers})
        assert state("2026-03-03T12:00:00+00:00", odd).status == "done"


def chosen(data: st.DataObject, dues: list[Due]) -> list[Entry]:
    """Some of the dues signed or missed, some twice, at any hour."""
    made = []
    for due in data.draw(st.lists(st.sampled_from(dues), max_size=12)) if dues else []:
        at = data.draw(st.sampled_from([due.at, due.deadline, due.deadline + DAY]))
        text = at.isoformat()
        match data.draw(st.integers(0, 3)):
            case 0:
                made.append(miss(due, text, needed=data.draw(st.booleans())))
            case _:
                made.append(sign(due, text, passed=data.draw(st.booleans())))
    return made


@given(histories, moments(), st.data())
@settings(max_examples=60, deadline=None)
def test_each_due_has_exactly_one_status(history, at, data):
    """And it is open exactly where nothing was written and it is not too late."""
    rota = read_rota([history[0], *history[1]])
    now = moment(at)
    dues = rota.dues(rota.day_of(now) - 20 * DAY, rota.day_of(now) + 5 * DAY)
    found = written(chosen(data, dues))
    made = states(rota, dues, found, now)
    assert [state.due for state in made] == dues
    for state in made:
        assert state.status in STATUSES
        assert (state.entry is None) == (state.status in (*OPEN, "gap"))
        assert (state.entry is not None) == (state.due.key in found)


@given(histories, moments(), st.data())
@settings(max_examples=80, deadline=None)
def test_nothing_that_is_open_is_forgotten(history, at, data):
    """What the bounded look back finds open is what a look at every day finds."""
    rota = read_rota([history[0], *history[1]])
    now = moment(at)
    today = rota.day_of(now)
    every = rota.dues(date(2025, 12, 1), today - DAY)
    found = written(chosen(data, every))
    expected = [s for s in states(rota, every, found, now) if s.open]
    looked = states(rota, rota.still_open_before(today), found, now)
    assert expected == [s for s in looked if s.open]


def test_the_look_back_does_not_grow_with_the_record():
    """Ten years of days leave one due of each task to ask about, not thousands."""
    young = read_rota([farm(), checklist()])
    old = read_rota(
        [
            farm("2016-01-01T00:00:00+00:00"),
            checklist(starts=date(2016, 1, 1), at="2016-01-01T00:00:00+00:00"),
        ]
    )
    assert len(old.still_open_before(MARCH_3)) == len(young.still_open_before(MARCH_3))


def test_a_stopped_shed_carries_nothing_through_the_winter():
    """The last walk of the season can no longer be done once another would be due."""
    rota = read_rota(
        [farm(season=season(("2026-01-01", "2026-02-01"))), checklist(season="running")]
    )
    listed = listed_at(rota, {}, moment("2026-03-03T12:00:00+00:00"))
    assert listed == []


def test_a_retired_task_is_not_carried():
    """After its retirement nobody can do it any more."""
    rota = read_rota(
        [
            farm(),
            checklist(rule="FREQ=MONTHLY;BYMONTHDAY=1"),
            retire("walk", "2026-03-02T12:00:00+00:00"),
        ]
    )
    assert listed_at(rota, {}, moment("2026-03-03T12:00:00+00:00")) == []


LISTED = read_rota(
    [
        farm(),
        checklist("walk"),
        checklist("wash", clock=("16:00",)),
        checklist("deep", rule="FREQ=WEEKLY;BYDAY=MO"),
    ]
)


def _listed(now: str, *entries: Entry) -> list[tuple[str, int, str]]:
    made = listed_at(LISTED, written(entries), moment(now))
    return [(s.due.code, s.due.day.day, s.status) for s in made]


def test_the_list_of_a_day_has_what_was_carried_first():
    """Tuesday: Monday's deep clean was never done, yesterday's walk and wash were."""
    done = [
        sign(due, "2026-03-02T17:00:00+00:00")
        for due in LISTED.dues(date(2026, 3, 2), date(2026, 3, 2))
        if due.code != "deep"
    ]
    assert _listed("2026-03-03T12:00:00+00:00", *done) == [
        ("deep", 2, "overdue"),
        ("walk", 3, "due"),
        ("wash", 3, "not yet"),
    ]


def test_a_number_on_the_list_means_the_same_all_day():
    """Signing what was carried in leaves it on the list until midnight."""
    dues = LISTED.dues(date(2026, 3, 2), date(2026, 3, 2))
    done = [sign(d, "2026-03-02T17:00:00+00:00") for d in dues if d.code != "deep"]
    deep = next(d for d in dues if d.code == "deep")
    signed = sign(deep, "2026-03-03T13:00:00+00:00")
    assert _listed("2026-03-03T14:00:00+00:00", *done, signed) == [
        ("deep", 2, "late"),
        ("walk", 3, "due"),
        ("wash", 3, "not yet"),
    ]
    assert [row[0] for row in _listed("2026-03-04T08:00:00+00:00", *done, signed)] == [
        "walk",
        "wash",
        "walk",
        "wash",
    ]


@given(farms(), st.lists(st.integers(0, 23), min_size=2, max_size=2), st.data())
@settings(max_examples=40, deadline=None)
def test_the_list_never_changes_its_order_within_a_day(made, hours, data):
    """Whatever is signed meanwhile, each number keeps its task and its moment."""
    rota = read_rota(
        [
            made,
            checklist("walk", clock=("07:00", "16:00"), grace="3 d"),
            checklist("deep", rule="FREQ=WEEKLY;BYDAY=MO"),
        ]
    )
    day = data.draw(st.dates(date(2026, 2, 1), date(2026, 11, 1)))
    early, late = (rota.starts(day) + timedelta(hours=hour) for hour in sorted(hours))
    before = listed_at(rota, {}, early)
    dues = [s.due for s in before]
    signed = [
        sign(due, early.isoformat())
        for due in (data.draw(st.lists(st.sampled_from(dues))) if dues else [])
    ]
    after = listed_at(rota, written(signed), late)
    if rota.day_of(late) == day == rota.day_of(early):
        assert dues == [s.due for s in after]


def test_what_the_list_asks_about_is_known_beforehand():
    """The caller fetches the entries of these dues, and of no others."""
    now = moment("2026-03-03T12:00:00+00:00")
    known = {due.key for dues in asked(LISTED, now) for due in dues}
    assert {s.due.key for s in listed_at(LISTED, {}, now)} <= known


def test_the_grid_of_a_month():
    """Tasks down in the order of the clock, days across, exceptions numbered."""
    dues = LISTED.dues(date(2026, 3, 2), date(2026, 3, 4))
    by = {(due.code, due.day.day): due for due in dues}
    entries = [
        sign(by["walk", 2], "2026-03-02T07:30:00+00:00"),
        sign(by["walk", 3], "2026-03-03T21:00:00+00:00", by="CD"),
        sign(by["wash", 2], "2026-03-02T16:30:00+00:00", passed=False),
        miss(by["wash", 3], "2026-03-03T17:00:00+00:00", needed=False),
    ]
    made = grid(
        LISTED,
        written(entries),
        date(2026, 3, 2),
        date(2026, 3, 4),
        moment("2026-03-04T12:00:00+00:00"),
    )
    assert [day.day for day in made.days] == [2, 3, 4]
    cells = {
        row.code: [[(m.status, m.by, m.note) for m in cell] for cell in row.cells]
        for row in made.rows
    }
    assert list(cells) == ["deep", "walk", "wash"]
    assert cells["deep"] == [[("overdue", "", 1)], [], []]
    assert cells["walk"] == [
        [("done", "AB", None)],
        [("late", "CD", 3)],
        [("due", "", None)],
    ]
    assert cells["wash"] == [
        [("failed", "AB", 2)],
        [("not needed", "AB", 4)],
        [("not yet", "", None)],
    ]
    assert [s.status for s in made.exceptions] == [
        "overdue",
        "failed",
        "late",
        "not needed",
    ]


def test_a_grid_shows_a_changed_task_once_under_its_latest_title():
    """One row a code; what was due before the change stays in it."""
    rota = read_rota(
        [
            farm(),
            checklist(title="Walk"),
            checklist(at="2026-03-03T12:00:00+00:00", version=2, title="Long walk"),
        ]
    )
    made = grid(rota, {}, MARCH_3, MARCH_3 + DAY, moment("2026-03-02T12:00:00+00:00"))
    assert [(row.title, [len(cell) for cell in row.cells]) for row in made.rows] == [
        ("Long walk", [1, 1])
    ]
