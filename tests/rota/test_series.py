"""The rota as series of RFC 5545: read back by another library, day by day."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import icalendar
import pytest
import recurring_ical_events
from hypothesis import given, settings
from hypothesis import strategies as st
from rota_makers import ZONES, checklist, clocks, farm, retire, season, some_rules

from hygiene.rota.schedule import Rota, read_rota
from hygiene.rota.series import series

FIRST, LAST = date(2026, 1, 1), date(2027, 3, 31)
"""With the clock changes of spring and autumn, and a second spring."""


def read_back(rota: Rota) -> list[tuple[str, datetime]]:
    """Every moment that a calendar shows, by recurring-ical-events."""
    zone = rota.hours[-1].zone
    made = icalendar.Calendar()
    made.add("version", "2.0")
    for number, each in enumerate(series(rota)):
        event = icalendar.Event()
        event.add("uid", str(number))
        event.add("summary", each.task.code)
        day = each.first.astimezone(zone).date()
        event.add("dtstart", datetime.combine(day, each.at, zone))
        event.add("rrule", icalendar.vRecur.from_ical(each.text))
        made.add_component(event)
    whole = icalendar.Calendar.from_ical(made.to_ical())
    found = recurring_ical_events.of(whole).between(FIRST, LAST + timedelta(days=1))
    return sorted((str(e["summary"]), e["dtstart"].dt) for e in found)


def by_rota(rota: Rota) -> list[tuple[str, datetime]]:
    return sorted((due.code, due.at) for due in rota.dues(FIRST, LAST))


def test_seven_in_the_morning_stays_seven_over_both_clock_changes() -> None:
    """The same days and moments as the rota's own, over fifteen months."""
    rota = read_rota([farm(), checklist("walk")])
    assert read_back(rota) == by_rota(rota)
    assert len(by_rota(rota)) == 455


def test_a_season_has_its_own_series() -> None:
    """What stands still in summer is not asked for in summer."""
    stretches = season(("2026-01-05", "2026-05-31"), ("2026-09-01", None))
    rota = read_rota([farm(season=stretches), checklist("walk", season="running")])
    made = series(rota)
    assert [each.stretch for each in made] == [date(2026, 1, 5), date(2026, 9, 1)]
    assert made[1].last is None
    assert read_back(rota) == by_rota(rota)


def test_the_end_of_a_month_is_kept() -> None:
    """The 31st falls on the last day of a shorter month."""
    rota = read_rota([farm(), checklist("deep", rule="FREQ=MONTHLY;BYMONTHDAY=31")])
    assert date(2026, 2, 28) in [moment.date() for _, moment in read_back(rota)]
    assert read_back(rota) == by_rota(rota)


def test_a_rule_with_a_count_ends_where_it_ends() -> None:
    """It is not counted anew from the first day in force."""
    rota = read_rota([farm(), checklist("few", rule="FREQ=DAILY;COUNT=40")])
    assert read_back(rota) == by_rota(rota)
    assert len(by_rota(rota)) == 9


def test_every_second_week_stays_in_step() -> None:
    """Counted from the rule's own start, however late it was adopted."""
    rule = "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,FR"
    rota = read_rota([farm(), checklist("two", rule, starts=date(2025, 3, 5))])
    assert read_back(rota) == by_rota(rota)


def test_a_retired_task_ends() -> None:
    """Its last day is the one before, or the very one, by the hour."""
    rota = read_rota(
        [farm(), checklist("walk"), retire("walk", "2026-06-10T12:00:00+00:00")]
    )
    assert read_back(rota) == by_rota(rota)
    assert read_back(rota)[-1][1].date() == date(2026, 6, 10)


def test_a_later_version_stands_in_the_place_of_the_first() -> None:
    """One series, not two: from the change on its days are the new ones."""
    rota = read_rota(
        [
            farm(),
            checklist("walk"),
            checklist(
                "walk",
                rule="FREQ=WEEKLY;BYDAY=TU",
                at="2026-04-02T00:00:00+00:00",
                version=2,
            ),
        ]
    )
    assert len(series(rota)) == 1
    later = [pair for pair in by_rota(rota) if pair[1].date() >= date(2026, 4, 2)]
    assert read_back(rota) == later


def test_a_time_of_day_that_is_no_more_ends() -> None:
    """The morning stays, the evening ends with the version that had it."""
    rota = read_rota(
        [
            farm(),
            checklist("walk", clock=("07:00", "18:00")),
            checklist("walk", at="2026-04-02T00:00:00+00:00", version=2),
        ]
    )
    evening = next(each for each in series(rota) if each.at.hour == 18)
    assert evening.last is not None
    assert evening.last.date() == date(2026, 4, 1)


def test_a_rule_that_cannot_be_read_has_no_series() -> None:
    """It is said elsewhere; the calendar is made all the same."""
    from rota_makers import entry

    odd = checklist("odd")
    body = {**odd.body, "rule": "FREQ=NEVER"}
    assert entry is not None
    assert series(read_rota([farm(), odd._replace(body=body)])) == []


@given(
    rule=some_rules,
    at=clocks,
    zone=st.sampled_from(ZONES),
    ends=st.none() | st.dates(date(2026, 2, 1), date(2026, 12, 31)),
    seasonal=st.booleans(),
)
@settings(max_examples=12, deadline=None)
def test_any_rule_in_any_zone_has_the_days_of_the_rota(
    rule, at, zone, ends, seasonal
) -> None:
    """Where no time of day is skipped or doubled the moments are the same, too."""
    stretches = season(("2026-01-20", "2026-05-11"), ("2026-08-03", None))
    written = [
        farm(time_zone=zone, season=stretches if seasonal else ()),
        checklist("walk", rule, clock=at, season="running" if seasonal else "always"),
    ]
    if ends:
        written.append(retire("walk", f"{ends}T12:00:00+00:00"))
    rota = read_rota(written)
    found, wanted = read_back(rota), by_rota(rota)
    assert {m.date() for _, m in found} == {m.date() for _, m in wanted}
    if all("03:00" < clock < "23:00" for clock in at):
        assert found == wanted


def test_the_comparison_can_fail() -> None:
    """A series of another rota is not taken for this one's."""
    one = read_rota([farm(), checklist("walk")])
    other = read_rota([farm(), checklist("walk", clock=("08:00",))])
    assert read_back(one) != by_rota(other)
    with pytest.raises(AssertionError):
        assert read_back(one) == by_rota(other)
