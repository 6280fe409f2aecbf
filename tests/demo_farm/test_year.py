"""The year itself: whole, in order, the same twice, and right for any last day."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from parts_of_a_year import DAYS, FARM, LAST, UNTIL, Part, Shown, build, year

from demo_farm.dates import QUIET, for_a_year_to, stop_in, stop_of
from demo_farm.stories import LAPSED, PLANTED
from hygiene.acts.set_up import read_files
from hygiene.book.record import Record
from hygiene.book.verify import faults
from hygiene.kinds.entry import Entry, write_line
from hygiene.kinds.moments import moment_of
from hygiene.kinds.setup import Person

A_DAY = timedelta(days=1)


def lines(path: Path) -> list[str]:
    """Every line in order, without what is drawn at random when a record is made."""
    with Record.open(path) as record:
        (head,) = record.heads()
        entries = [record.entry(f"{head.book}/{n}") for n in range(1, head.seq + 1)]
    told = (write_line(_masked(e)).replace(head.book, "BOOK") for e in entries)
    # the ends of the chain hang on the book's name
    told = (re.sub(r":[0-9a-f]{64}", ":HASH", line) for line in told)
    # minted codes bear two characters of the book, and a check character
    return [re.sub(r"([LBC])-[A-Z0-9]{2}-(\d+)-[A-Z0-9]", r"\1-\2", s) for s in told]


def _masked(entry: Entry) -> Entry:
    if entry.kind != "opening":
        return entry
    return entry._replace(body={**entry.body, "record": "RANDOM"})


def test_it_verifies_and_says_that_it_is_a_demonstration(recent: Part) -> None:
    """Made through the acts, it is a record like any other, but for that word."""
    assert faults(recent.record) == []
    assert recent.record.demonstration()


def test_the_same_last_moment_gives_the_same_year(recent: Part, tmp_path: Path) -> None:
    """Line by line, a bad batch among them; only names of book and record differ."""
    made = lines(build(tmp_path, 14, stops_before=DAYS - 14))
    assert len(made) > 250
    assert made == lines(recent.path)[: len(made)]


def test_nothing_is_recorded_out_of_order_or_before_it_happened(recent: Part) -> None:
    """The clock of the story never runs back, and never beyond the last moment."""
    (head,) = recent.record.heads()
    entries = [recent.record.entry(f"{head.book}/{n + 1}") for n in range(head.seq)]
    recorded = [moment_of(entry.recorded_at) for entry in entries]
    assert recorded == sorted(recorded)
    assert recorded[-1] <= UNTIL
    assert all(moment_of(e.happened_at) <= moment_of(e.recorded_at) for e in entries)


def test_this_morning_some_tasks_are_done_and_some_are_not(recent: Part) -> None:
    """The demonstration signed the first one that was due."""
    by_status = {s.due.code: s.status for s in recent.states(LAST)}
    assert by_status["walk"] == by_status["feedout"] == "done"
    assert by_status["wash"] == by_status["floors"] == "not yet"


def test_what_is_signed_next_is_the_first_that_is_due(shown: Shown) -> None:
    """By somebody who may, with every answer that has no default."""
    assert "$ hygiene sign feedout fodder=none --by MP " in shown.result.stdout


def test_the_shed_stops_for_two_weeks_and_its_water_does_not(summer: Part) -> None:
    """Then only what goes on all the year is due; and it is signed."""
    stop = stop_of(LAST)
    states = summer.states(stop.first, stop.last)
    assert {s.due.task.season for s in states} == {"always"}
    assert {"tankweek", "pests", "seedstore"} <= {s.due.code for s in states}
    assert {s.status for s in states} <= {"done", "failed", "missed"}
    for day in (stop.first - A_DAY, stop.last + A_DAY):
        assert "walk" in [s.due.code for s in summer.states(day)]


def test_the_stop_lies_in_summer_and_in_no_story_whatever_the_last_day() -> None:
    """For a year that ends on any day of 2026 or 2027."""
    for number in range(730):
        last = date(2026, 1, 1) + number * A_DAY
        stop = stop_of(last)
        assert (stop.last - stop.first).days == 13
        assert date(stop.first.year, 6, 1) <= stop.first <= date(stop.first.year, 8, 31)
        for day in ((last - stop.first).days, (last - stop.last).days):
            assert 0 < day < 365
            assert not any(first <= day <= end for first, end in QUIET)


def test_a_record_that_begins_in_the_stop_knows_of_none() -> None:
    """Nobody said on the evening before that it came."""
    stop = stop_of(LAST)
    assert stop_in(stop.first - A_DAY, LAST) == stop
    assert stop_in(stop.first, LAST).last < stop.first - 300 * A_DAY


def test_no_story_lies_where_the_shed_may_stop() -> None:
    """Else it would have no task to happen to."""
    for planted in PLANTED:
        assert any(first <= planted.before <= last for first, last in QUIET)


def test_the_dates_of_the_farm_move_with_the_year() -> None:
    """The worker's training ends as many days before the last one as in the file."""
    for last in (LAST, date(2027, 8, 1)):
        people = for_a_year_to(read_files(FARM), last).wanted.things["person"]
        ends = [
            training.until
            for person in people
            if isinstance(person, Person) and person.code == "TO"
            for training in person.training
            if training.topic == "chemicals"
        ]
        assert ends == [last - LAPSED * A_DAY]


@pytest.mark.parametrize(
    ("now", "wanted"),
    [
        (datetime(2026, 7, 1, 18, 0, tzinfo=UTC), "2026-07-01T08:45:00+01:00"),
        (datetime(2026, 7, 1, 4, 30, tzinfo=UTC), "2026-07-01T05:30:00+01:00"),
        (datetime(2026, 6, 30, 23, 30, tzinfo=UTC), "2026-07-01T00:30:00+01:00"),
    ],
)
def test_the_year_ends_this_morning_and_never_later_than_now(
    now: datetime, wanted: str
) -> None:
    """By the farm's clock, wherever the machine is."""
    assert year.morning_of(FARM, now).isoformat() == wanted
