"""The days of a rule, checked against plain calendar arithmetic."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime, timedelta
from itertools import islice

import pytest
from dateutil.rrule import rrulestr
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from hygiene.kinds.base import CannotBe
from hygiene.rota.recurrence import WEEKDAYS, read_rule

DAY = timedelta(days=1)
starts = st.dates(date(2023, 1, 1), date(2032, 12, 31))
intervals = st.integers(1, 5)
months = st.sets(st.integers(1, 12), max_size=4)
weekdays = st.sampled_from(WEEKDAYS)


def every_day(first: date, last: date) -> list[date]:
    return [first + n * DAY for n in range((last - first).days + 1)]


def numbers(given: set[int]) -> str:
    return ",".join(map(str, sorted(given)))


@st.composite
def rules(draw: st.DrawFn) -> tuple[str, date]:
    """A rule of any frequency, with its start."""
    start, step = draw(starts), draw(intervals)
    text = f"INTERVAL={step};FREQ="
    match draw(st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "NTH", "YEARLY"])):
        case "DAILY":
            text += "DAILY"
        case "WEEKLY":
            days = draw(st.sets(st.sampled_from(WEEKDAYS)))
            text += f"WEEKLY;WKST={draw(st.sampled_from(WEEKDAYS))}"
            text += f";BYDAY={','.join(days)}" if days else ""
        case "MONTHLY":
            days = draw(st.sets(st.integers(1, 31), min_size=1, max_size=5))
            text += f"MONTHLY;BYMONTHDAY={numbers(days)}"
        case "NTH":
            which = draw(st.sampled_from([-4, -3, -2, -1, 1, 2, 3, 4]))
            text += f"MONTHLY;BYDAY={which}{draw(st.sampled_from(WEEKDAYS))}"
        case _:
            text += "YEARLY"
    return text, start


@given(starts, intervals, months)
@settings(max_examples=60, deadline=None)
def test_a_daily_rule_counts_days_from_its_start(start, step, limit):
    """Every so many days from the start, in the months named."""
    text = f"FREQ=DAILY;INTERVAL={step}" + (
        f";BYMONTH={numbers(limit)}" if limit else ""
    )
    last = start + 800 * DAY
    expected = [
        day
        for day in every_day(start, last)
        if (day - start).days % step == 0 and (not limit or day.month in limit)
    ]
    assert expected == read_rule(text, start).between(start, last)


@given(
    starts, intervals, st.sets(st.integers(0, 6), min_size=1), st.sampled_from(WEEKDAYS)
)
@settings(max_examples=60, deadline=None)
def test_a_weekly_rule_counts_weeks_from_the_week_of_its_start(start, step, days, wkst):
    """Every so many weeks, each beginning on WKST, the week of the start being one."""
    text = f"FREQ=WEEKLY;INTERVAL={step};WKST={wkst};BYDAY=" + ",".join(
        WEEKDAYS[day] for day in days
    )
    offset = (start.weekday() - WEEKDAYS.index(wkst)) % 7
    week = start - offset * DAY
    last = start + 400 * DAY
    expected = [
        day
        for day in every_day(start, last)
        if (day - week).days // 7 % step == 0 and day.weekday() in days
    ]
    assert expected == read_rule(text, start).between(start, last)


@given(starts, intervals, st.sets(st.integers(1, 31), min_size=1, max_size=6))
@example(date(2024, 1, 1), 1, {28, 31})
@example(date(2023, 1, 1), 1, {1, 28, 29, 30})
@example(date(2024, 1, 31), 2, {27, 30, 31})
@settings(max_examples=100, deadline=None)
def test_a_monthly_rule_has_each_of_its_days_in_every_month(start, step, days):
    """Days that a short month does not have fall on its last day, once."""
    last = start + 1600 * DAY
    expected = []
    for day in every_day(start, last):
        apart = (day.year - start.year) * 12 + day.month - start.month
        length = monthrange(day.year, day.month)[1]
        if apart % step == 0 and day.day in {min(wanted, length) for wanted in days}:
            expected.append(day)
    text = f"FREQ=MONTHLY;INTERVAL={step};BYMONTHDAY={numbers(days)}"
    assert expected == read_rule(text, start).between(start, last)


@st.composite
def parts_together(draw: st.DrawFn) -> str:
    """A rule of months, days of the month and weekdays, in any mixture."""
    freq = draw(st.sampled_from(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"]))
    text = f"FREQ={freq};INTERVAL={draw(intervals)};WKST={draw(weekdays)}"
    named, days = draw(months), draw(st.sets(st.integers(-28, 28), max_size=5)) - {0}
    of_week = draw(st.sets(weekdays, max_size=3))
    text += f";BYMONTH={numbers(named)}" if named else ""
    if freq != "WEEKLY" and days:
        text += f";BYMONTHDAY={numbers(days)}"
    if of_week:
        nth = freq in ("MONTHLY", "YEARLY") and draw(st.sampled_from(["", 1, 4, -1]))
        text += ";BYDAY=" + ",".join(f"{nth or ''}{day}" for day in sorted(of_week))
    return text


@given(starts, parts_together())
@example(date(2024, 2, 29), "FREQ=YEARLY;INTERVAL=3;BYMONTH=2,12;BYDAY=-1TH")
@example(date(2024, 5, 30), "FREQ=WEEKLY;INTERVAL=5;WKST=WE;BYDAY=TU,WE;BYMONTH=6")
@settings(max_examples=100, deadline=None)
def test_the_days_are_those_of_dateutil(start, text):
    """Which knows the whole of RFC 5545, and is asked with the rule's own text."""
    try:
        rule = read_rule(text, start)
    except CannotBe:
        assume(False)
    noon = datetime(start.year, start.month, start.day)
    wanted = rrulestr(rule.text, dtstart=noon).xafter(noon, count=12, inc=True)
    assert [day.date() for day in wanted] == list(islice(rule.days(start), 12))


@given(starts, intervals)
@settings(max_examples=60, deadline=None)
def test_a_bare_monthly_rule_keeps_the_day_of_its_start(start, step):
    """Started on the 29th to 31st it falls on the last day of shorter months."""
    text = f"FREQ=MONTHLY;INTERVAL={step}"
    found = read_rule(text, start).between(start, start + 1600 * DAY)
    expected = []
    month = start.year * 12 + start.month - 1
    while not expected or expected[-1] <= start + 1600 * DAY:
        year, number = divmod(month, 12)
        length = monthrange(year, number + 1)[1]
        expected.append(date(year, number + 1, min(start.day, length)))
        month += step
    assert expected[:-1] == found


@given(starts, st.integers(1, 3), months)
@settings(max_examples=60, deadline=None)
def test_a_yearly_rule_never_skips_a_year(start, step, named):
    """The day of the start in each month named, or its last day where it is short."""
    if start.day > 28 and len(named) > 1:
        step = 1
    text = f"FREQ=YEARLY;INTERVAL={step}" + (
        f";BYMONTH={numbers(named)}" if named else ""
    )
    last = start + 4000 * DAY
    expected = [
        day
        for day in every_day(start, last)
        if (day.year - start.year) % step == 0
        and day.month in (named or {start.month})
        and day.day == min(start.day, monthrange(day.year, day.month)[1])
    ]
    assert expected == read_rule(text, start).between(start, last)


@given(
    starts,
    intervals,
    st.sampled_from([-4, -3, -2, -1, 1, 2, 3, 4]),
    st.integers(0, 6),
)
@settings(max_examples=60, deadline=None)
def test_the_nth_weekday_of_a_month_is_counted_from_its_end_or_start(
    start, step, which, weekday
):
    """The second Tuesday, the last Friday: one in every month."""
    last = start + 1200 * DAY
    expected = []
    for day in every_day(start, last):
        apart = (day.year - start.year) * 12 + day.month - start.month
        length = monthrange(day.year, day.month)[1]
        from_start = (day.day - 1) // 7 + 1
        from_end = -((length - day.day) // 7 + 1)
        wanted = day.weekday() == weekday and which in (from_start, from_end)
        if apart % step == 0 and wanted:
            expected.append(day)
    text = f"FREQ=MONTHLY;INTERVAL={step};BYDAY={which}{WEEKDAYS[weekday]}"
    assert expected == read_rule(text, start).between(start, last)


@given(rules(), st.data())
@settings(max_examples=100, deadline=None)
def test_two_stretches_make_the_whole(made, data):
    """Days in [a, b) and in [b, c) are the days in [a, c), near and far."""
    rule = read_rule(*made)
    a, b, c = sorted(
        data.draw(st.dates(rule.starts - 40 * DAY, rule.starts + 9000 * DAY))
        for _ in range(3)
    )
    split = rule.between(a, b - DAY) + rule.between(b, c - DAY)
    assert rule.between(a, c - DAY) == split


@given(rules(), st.integers(0, 12_000))
@settings(max_examples=100, deadline=None)
def test_the_next_and_the_last_day_are_days_of_the_rule(made, offset):
    """``next`` is later and ``last`` earlier, with no day of the rule between."""
    rule = read_rule(*made)
    day = rule.starts + offset * DAY
    following, previous = rule.next(day), rule.last(day)
    assert following is not None
    assert rule.between(day + DAY, following) == [following]
    if previous is None:
        assert rule.between(day - 1600 * DAY, day - DAY) == []
    else:
        assert rule.between(previous, day - DAY) == [previous]


@given(rules())
@settings(max_examples=60, deadline=None)
def test_a_rule_read_back_from_its_own_text_is_the_same(made):
    """What is shown and handed to a calendar is the rule that is followed."""
    text, start = made
    rule = read_rule(text, start)
    assert rule == read_rule(rule.text, start)


def test_the_31st_is_rewritten_as_another_rule_of_the_standard():
    """The way round the short months is itself RFC 5545."""
    rule = read_rule("FREQ=MONTHLY;BYMONTHDAY=31", date(2026, 1, 1))
    assert rule.text == "FREQ=MONTHLY;BYMONTHDAY=28,29,30,31;BYSETPOS=-1"


def test_29_february_comes_every_year():
    """A yearly rule from a leap day falls on the last of February in other years."""
    rule = read_rule("FREQ=YEARLY", date(2024, 2, 29))
    assert rule.between(date(2024, 1, 1), date(2028, 12, 31)) == [
        date(2024, 2, 29),
        date(2025, 2, 28),
        date(2026, 2, 28),
        date(2027, 2, 28),
        date(2028, 2, 29),
    ]


def test_a_weekday_on_a_day_of_the_month_stays_a_limit():
    """Friday the 31st is no Friday the 30th: a weekday beside the day narrows it."""
    rule = read_rule("FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=31", date(2026, 1, 1))
    found = rule.between(date(2026, 1, 1), date(2027, 12, 31))
    assert found == [date(2026, 7, 31), date(2027, 12, 31)]


def test_a_week_of_the_year_alone_keeps_the_weekday_of_the_start():
    """RFC 5545 3.3.10: what a rule leaves open is taken from its start."""
    rule = read_rule("FREQ=YEARLY;BYWEEKNO=20", date(2026, 1, 6))
    assert rule.between(date(2026, 1, 1), date(2027, 12, 31)) == [
        date.fromisocalendar(2026, 20, 2),
        date.fromisocalendar(2027, 20, 2),
    ]


def test_the_last_day_of_until_still_counts():
    """UNTIL is the last day, not the day after it."""
    rule = read_rule("FREQ=DAILY;UNTIL=20260103", date(2026, 1, 1))
    assert rule.between(date(2025, 1, 1), date(2027, 1, 1))[-1] == date(2026, 1, 3)
    assert rule.next(date(2026, 1, 3)) is None


def test_a_count_is_counted_from_the_start_wherever_one_looks():
    """The tenth is the tenth, also when only its month is asked for."""
    rule = read_rule("FREQ=WEEKLY;COUNT=10", date(2026, 1, 5))
    assert rule.between(date(2026, 3, 1), date(2026, 12, 31)) == [
        date(2026, 3, 2),
        date(2026, 3, 9),
    ]


def test_the_word_rrule_and_small_letters_are_allowed():
    """What is copied out of a calendar is read."""
    rule = read_rule("rrule:freq=weekly;byday=mo", date(2026, 1, 1))
    assert rule.text == "FREQ=WEEKLY;BYDAY=MO"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "is no rule"),
        ("every Monday", "is no rule"),
        ("BYDAY=MO", "FREQ is one of"),
        ("FREQ=HOURLY", "FREQ is one of"),
        ("FREQ=DAILY;FREQ=DAILY", "said twice"),
        ("FREQ=DAILY;INTERVAL=0", "INTERVAL runs from 1"),
        ("FREQ=DAILY;INTERVAL=²", "INTERVAL runs from 1"),
        ("FREQ=DAILY;COUNT=3;UNTIL=20300101", "cannot both"),
        ("FREQ=DAILY;UNTIL=20300101T000000Z", "UNTIL is a day"),
        ("FREQ=DAILY;UNTIL=20300231", "UNTIL is a day"),
        ("FREQ=DAILY;BYHOUR=7", "under 'at'"),
        ("FREQ=DAILY;BYEASTER=0", "no part of a rule"),
        ("FREQ=DAILY;BYSETPOS=1", "another BY part"),
        ("FREQ=WEEKLY;BYMONTHDAY=1", "does not go with"),
        ("FREQ=MONTHLY;BYYEARDAY=1", "does not go with"),
        ("FREQ=WEEKLY;BYDAY=1MO", "goes only with"),
        ("FREQ=WEEKLY;BYDAY=MON", "none of MO"),
        ("FREQ=MONTHLY;BYMONTHDAY=0", "no number 0"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", "runs from -28 to 31"),
        ("FREQ=MONTHLY;BYMONTHDAY=-31", "runs from -28 to 31"),
        ("FREQ=MONTHLY;BYMONTHDAY=31,-1", "write 31 as -1"),
        ("FREQ=MONTHLY;BYMONTHDAY=31;BYSETPOS=1", "list every day"),
        ("FREQ=DAILY;BYMONTHDAY=31", "FREQ=MONTHLY"),
        ("FREQ=YEARLY;INTERVAL=2;BYMONTH=1,2;BYMONTHDAY=31", "leave INTERVAL out"),
        ("FREQ=MONTHLY;BYDAY=5FR", "write -1FR"),
        ("FREQ=YEARLY;BYDAY=53FR", "write -1FR"),
        ("FREQ=YEARLY;BYYEARDAY=366", "runs from -365"),
        ("FREQ=YEARLY;BYWEEKNO=53", "runs from -52"),
    ],
)
def test_a_wrong_rule_is_refused_in_words(text, said):
    """What RFC 5545 forbids, and what would drop out of some months or years."""
    with pytest.raises(CannotBe, match=said) as refused:
        read_rule(text, date(2026, 1, 5))
    assert refused.value.details["key"] == "rule"


@pytest.mark.parametrize(
    "text",
    [
        "FREQ=DAILY;INTERVAL=7;BYDAY=TU",
        "FREQ=MONTHLY;INTERVAL=12;BYMONTH=3",
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30;BYDAY=MO",
        "FREQ=DAILY;UNTIL=20251231",
        "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=6",
    ],
)
def test_a_rule_that_never_comes_is_refused(text):
    """From Monday 5 January 2026 none of these has a first day."""
    with pytest.raises(CannotBe, match="never comes"):
        read_rule(text, date(2026, 1, 5))


@pytest.mark.parametrize("year", [1999, 2399, 2400, 9000])
def test_whether_a_rule_ever_comes_is_asked_with_years_to_spare(year):
    """A rule that comes every four years is not taken for one that never does."""
    rule = read_rule("FREQ=YEARLY;INTERVAL=4;BYMONTH=1;BYDAY=1MO", date(year, 6, 1))
    assert rule.next(date(year, 6, 1)) is not None
