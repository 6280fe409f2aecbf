"""The calendar: read back with another library, compared with the rota's own days."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from small_farm import WALK_LINE, SmallFarm

from hygiene.kinds.papers import File, Season
from hygiene.reports.ical import _changes


def calendar(run, farm: SmallFarm, folder: Path, *words: str) -> bytes:
    path = folder / "shed.ics"
    made = run("calendar", "--out", path, *words, world=farm.world())
    assert made.exit_code == 0, made.output
    return path.read_bytes()


def events(made: bytes) -> list[icalendar.Event]:
    return icalendar.Calendar.from_ical(made).walk("VEVENT")


def test_a_year_has_the_days_of_the_rota(run, shed, tmp_path) -> None:
    """Over both clock changes, moment by moment (recurring-ical-events)."""
    first, last = date(2026, 3, 2), date(2027, 4, 10)
    whole = icalendar.Calendar.from_ical(calendar(run, shed, tmp_path))
    found = recurring_ical_events.of(whole).between(first, last + timedelta(days=1))
    timed = [e for e in found if isinstance(e["dtstart"].dt, datetime)]
    got = sorted((e["dtstart"].dt.astimezone(UTC), str(e["summary"])) for e in timed)
    dues = shed.rota().dues(first, last)
    assert got == sorted((d.at.astimezone(UTC), d.task.title) for d in dues)
    assert len(got) == len(dues) > 800


def test_made_twice_it_is_the_same_file(run, shed, tmp_path) -> None:
    """Also on another day: nothing is reckoned from the clock."""
    one = calendar(run, shed, tmp_path)
    shed.later(days=40)
    assert calendar(run, shed, tmp_path) == one


def test_a_second_import_finds_the_same_events(run, shed, tmp_path) -> None:
    """An entry more changes no UID, and no SEQUENCE goes back."""
    one = {str(e["uid"]): e for e in events(calendar(run, shed, tmp_path))}
    run("sign", "walk", *WALK_LINE, "--by", "AB", world=shed.world())
    two = {str(e["uid"]): e for e in events(calendar(run, shed, tmp_path))}
    assert one.keys() == two.keys()
    assert len(one) == len(events(calendar(run, shed, tmp_path)))
    for uid, event in one.items():
        assert two[uid]["sequence"] >= event["sequence"]


def test_a_stop_of_the_shed_ends_its_series_in_place(run, shed, tmp_path) -> None:
    """The same UID, a higher SEQUENCE, an UNTIL."""
    (before,) = [e for e in events(calendar(run, shed, tmp_path)) if _is(e, "Opening")]
    shed.later(days=1)
    stop = Season(runs=False, day=date(2026, 3, 20))
    shed.write(lambda writing: writing.add(stop, by="AB"))
    found = [e for e in events(calendar(run, shed, tmp_path)) if _is(e, "Opening")]
    assert found[0]["rrule"]["UNTIL"] == [datetime(2026, 3, 20, 7, tzinfo=UTC)]
    assert found[0]["sequence"] > before["sequence"]


def _is(event: icalendar.Event, title: str) -> bool:
    return str(event["summary"]).startswith(title)


def test_a_paper_to_review_is_a_day_with_a_reminder(run, shed, tmp_path) -> None:
    """The Legionella assessment, say: at eight, a fortnight before and on the day."""
    paper = File(sort="assessment", title="Legionella", review_on=date(2027, 3, 1))
    shed.write(lambda writing: writing.add(paper, by="AB"))
    (found,) = [
        e for e in events(calendar(run, shed, tmp_path)) if "Legionella" in e["summary"]
    ]
    assert found["dtstart"].dt == date(2027, 3, 1)
    triggers = [alarm["trigger"].dt for alarm in found.walk("VALARM")]
    assert triggers == [timedelta(hours=8) - timedelta(days=14), timedelta(hours=8)]


def test_the_last_day_of_all_calendars_is_a_day(run, shed, tmp_path) -> None:
    """A review that somebody set to the end of time; there is no day after it."""
    shed.write(
        lambda writing: writing.add(
            File(title="risk", sort="assessment", review_on=date.max), by="AB"
        )
    )
    starts = [e["dtstart"].dt for e in events(calendar(run, shed, tmp_path))]
    assert date.max in starts


def test_a_training_that_lasts_for_ever_is_no_day(run, shed, tmp_path) -> None:
    """A later one without an end takes the place of one that ends."""
    from hygiene.kinds.people import Train

    ends = Train(person="CD", topic="hygiene", had_on=date(2026, 3, 1),
                 until=date(2027, 3, 1))  # fmt: skip
    shed.write(lambda writing: writing.add(ends, by="AB"))
    titles = [str(e["summary"]) for e in events(calendar(run, shed, tmp_path))]
    assert "Training of CD in hygiene ends" in titles
    shed.later(hours=1)
    stays = Train(person="CD", topic="hygiene", had_on=date(2026, 3, 2))
    shed.write(lambda writing: writing.add(stays, by="AB"))
    titles = [str(e["summary"]) for e in events(calendar(run, shed, tmp_path))]
    assert "Training of CD in hygiene ends" not in titles


def test_samples_kits_and_store_have_their_days(run, doses, tmp_path) -> None:
    """As the page of the day would say them, without its two weeks' limit."""
    made = run("calendar", "--out", tmp_path / "w.ics", "--json", world=doses.world())
    sorts = {row["sort"] for row in json.loads(made.output)["dates"]}
    assert {"kit", "sds"} <= sorts


def test_the_zone_is_written_by_the_clock_before_the_change(run, shed, tmp_path):
    """RFC 5545 3.6.5: London goes forward at 01:00 and back at 02:00."""
    text = calendar(run, shed, tmp_path).decode().replace("\r\n ", "")
    assert "TZID:Europe/London" in text
    summer = text.partition("BEGIN:DAYLIGHT")[2].partition("END:DAYLIGHT")[0]
    assert "DTSTART:20260329T010000" in summer
    winter = text.rpartition("BEGIN:STANDARD")[2]
    assert "DTSTART:20261025T020000" in winter


@pytest.mark.parametrize(
    ("zone", "first"),
    [
        ("America/New_York", (datetime(2026, 3, 8, 2), datetime(2026, 11, 1, 2))),
        ("Australia/Lord_Howe", (datetime(2026, 4, 5, 2), datetime(2026, 10, 4, 2))),
    ],
)
def test_clock_changes_are_those_that_are_published(zone, first) -> None:
    """The United States: second Sunday of March, first of November, at two
    (15 U.S.C. 260a); Lord Howe: half an hour, on the first Sundays, at two.
    """
    found = _changes(ZoneInfo(zone), datetime(2026, 1, 1, tzinfo=UTC))
    assert tuple(next(found).wall for _ in range(2)) == first


def test_what_is_done_stands_in_the_event(run, shed, tmp_path) -> None:
    """Cautions and gear too, and what to type."""
    (walk,) = [e for e in events(calendar(run, shed, tmp_path)) if _is(e, "Opening")]
    told = str(walk["description"])
    assert "hygiene sign walk" in told
    assert "Mouldy trays" in told


def test_it_need_not_ring(run, shed, tmp_path) -> None:
    """``--no-alarms`` leaves every reminder out."""
    assert b"VALARM" in calendar(run, shed, tmp_path)
    assert b"VALARM" not in calendar(run, shed, tmp_path, "--no-alarms")


def test_lines_are_folded_and_end_as_the_standard_says(run, shed, tmp_path) -> None:
    """RFC 5545 3.1: 75 octets, CRLF."""
    made = calendar(run, shed, tmp_path)
    lines = made.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert max(map(len, lines)) <= 75


def test_another_file_is_not_written_over(run, shed) -> None:
    """Only a calendar gives way to a calendar."""
    before = shed.path.read_bytes()
    made = run("calendar", "--out", shed.path, world=shed.world())
    assert made.exit_code == 2
    assert shed.path.read_bytes() == before
