"""The parts of a pack that need no file to be made."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import cycle
from typing import NamedTuple
from xml.etree import ElementTree

import pytest
from farm_of_reports import DAY, Shed, at, read, walked

from hygiene.inspection.clauses import Clause
from hygiene.kinds.action import Action
from hygiene.kinds.batch import Place, SeedShare, Sow
from hygiene.kinds.find import Hold, Release
from hygiene.kinds.incident import Notify
from hygiene.kinds.setup import Contact, Farm
from hygiene.reports import month
from hygiene.reports.columns import Day, Line
from hygiene.reports.logs.page import Changed, Listing, Sentences, Stories
from hygiene.reports.pack import SHORT, brief
from hygiene.reports.pack.answering import answering, tally
from hygiene.reports.pack.bars import Series, bars
from hygiene.reports.pack.buckets import buckets, place_of
from hygiene.reports.pack.exceptions import MOST, exceptions
from hygiene.reports.pack.glance import glance
from hygiene.reports.pack.grids import grids
from hygiene.reports.pack.holding import holding
from hygiene.reports.pack.laboratory import laboratory
from hygiene.reports.period import Period, month_of
from hygiene.reports.reading import Matter


def period(first: str, last: str) -> Period:
    return Period(date.fromisoformat(first), date.fromisoformat(last))


# columns of months


@pytest.mark.parametrize(
    ("first", "last", "names"),
    [
        ("2026-03-05", "2026-03-09", ["Mar"]),
        ("2025-11-26", "2026-02-01", ["Nov", "Dec", "Jan", "Feb"]),
        ("2025-11-01", "2026-12-31", ["Q4", "Q1", "Q2", "Q3", "Q4"]),
        ("2021-01-01", "2025-12-31", ["2021", "2022", "2023", "2024", "2025"]),
    ],
)
def test_a_period_has_a_dozen_columns_at_most(first, last, names):
    """Months, else quarters, else years."""
    assert [bucket.name for bucket in buckets(period(first, last))] == names


def test_every_day_lies_in_one_column():
    """Also the first and the last; a day outside lies in none."""
    whole = period("2025-11-26", "2026-11-25")
    columns = buckets(whole)
    assert len(columns) == 13
    assert {place_of(columns, day) for day in whole.days} == set(range(13))
    assert place_of(columns, whole.first - timedelta(days=1)) is None


# figures


def test_a_bar_is_as_high_as_its_number():
    """The parts of a bar stand on each other, and the highest fills the room."""
    series = (Series("bad", (1.0, 0.0), 3), Series("good", (3.0, 2.0), 0))
    figure = bars("Doses", [("Mar", "2026"), ("Apr", "2026")], series, ["4", "2"])
    tree = ElementTree.fromstring(figure.svg)
    drawn = [
        (float(r.get("x")), float(r.get("y")), float(r.get("height")))
        for r in tree.iter("{http://www.w3.org/2000/svg}rect")
    ][2:]
    (left, top, bad), (same, upper, good), (_, _, other) = drawn
    assert left == same
    assert round(upper + good, 1) == top
    assert (round(good / bad, 1), round(other / bad, 1)) == (3.0, 2.0)


def test_no_month_is_told_by_colour_alone():
    """The text beside it names what is drawn; the four shades differ as greys."""
    figure = bars("Doses", [("Mar", "")], (Series("late", (1.0,), 1),), ["1"])
    assert "late" in figure.alternative
    assert "Mar" in figure.svg


# the period at a glance


def test_the_numbers_of_a_month(busy_month):
    """Each task that was due is counted once, under what became of it."""
    made = glance(busy_month, [])
    rows = {row.name: row.total for row, _ in made.lines}
    parts = [int(row.total) for row, _ in made.lines[1:6] if row.total != "–"]
    assert int(rows["Tasks that were due"]) == sum(parts)
    assert (rows["Finds of mould"], rows["Corrective actions"]) == ("1", "2")
    assert made.kept_percent.endswith(" %")


def test_not_quite_all_is_not_a_hundred_percent(shed):
    """The share that was done in time is rounded down."""
    rows = [(walked(at(f"2026-03-{day:02}")), at(f"2026-03-{day:02}"), "AB")
            for day in range(2, 25)]  # fmt: skip
    shed.write_all(rows)
    made = glance(read(shed, *month_of(DAY), now=at("2026-03-25", "05:00")), [])
    assert 0 < float(made.kept_percent.removesuffix(" %")) < 100


def test_every_line_of_the_table_is_as_long_as_the_others(busy_month):
    """They are set in letters of one width, so that columns stand under each other."""
    made = glance(busy_month, [])
    assert len({len(line) for _, line in made.lines}) == 1
    assert len(made.head.split("\n")) == 2


# exceptions


def told(reading):
    stories = (story for m in month.page(reading).months for story in m.stories)
    return exceptions(reading, stories, (), ())


def group(made, title):
    return next((g.rows for g in made.groups if g.title.startswith(title)), ())


def test_what_was_late_missed_or_out_of_limit_is_told(busy_month):
    """With every step that followed."""
    rows = group(told(busy_month), "Tasks")
    out = next(row for row in rows if "24.5" in row.told)
    assert out.sign == "▲"
    assert [step.split()[0] for step in out.steps] == [
        "Opened", "Rechecked", "Closed",
    ]  # fmt: skip
    assert any("no hot water" in row.told for row in rows)
    assert any("Nothing was written on 7, 14 and 21 March" in r.told for r in rows)


def test_an_action_that_is_open_says_so(busy_month):
    """At the end of its steps."""
    steps = [s for g in told(busy_month).groups for row in g.rows for s in row.steps]
    assert "▲ Still open when this was made" in steps


def test_a_sowing_against_the_rules_is_told_with_its_reason(shed):
    """Its marks stay for ever."""
    sow = Sow(
        batch="B1", seeds=(SeedShare(lot="L1", grams=100),),
        places=(Place(tray="T1"),), marks=("tray-in-use",),
    )  # fmt: skip
    shed.write(sow, at("2026-03-25"), reason="it was empty")
    (row,) = group(told(read(shed)), "Done although")
    assert "Against: tray in use. Reason given: it was empty" in row.told


def test_a_hold_is_told_with_how_it_ended(shed):
    """And who was told of it."""
    hold = shed.write(Hold(held="R1", sort="rack", why="mould"), at("2026-03-25"))
    told_vet = Notify(role="vet", who_told="E. Ash", what="mould", abouts=(hold.name,))
    shed.write(told_vet, at("2026-03-25", "08:00"))
    shed.write(Release(hold=hold.name, why="clean"), at("2026-03-25", "09:00"), "CD")
    held, notified, released = group(told(read(shed)), "Held")
    assert "rack R1: mould. Released 09:00 by CD" in held.told
    assert (notified.title, released.title) == ("Notify", "Release")


def test_a_correction_and_a_strike_are_told(busy_month):
    """What was, and what is."""
    changes = told(busy_month).changes
    assert any(c.what == "note" for each in changes for c in each.amended.changes)


def test_what_has_no_room_is_counted_and_travels_inside(shed):
    """The pages hold a part of each group; the attached file holds them all."""
    shed.write_all(
        (Action(about="shed/1", problem=f"fault {n}"), at("2026-03-25"), "AB")
        for n in range(MOST + 7)
    )
    made = told(read(shed))
    (rest,) = [g for g in made.groups if g.title.startswith("Other")]
    assert rest.more >= 7
    lines = made.attached[0].content.decode().splitlines()
    assert sum("fault" in line for line in lines) == MOST + 7


# whose record it is


def test_the_farm_and_whom_to_ring(shed):
    """As it stood at the end of the period."""
    vet = Contact(role="vet", name="E. Ash", telephone="01632 960001")
    farm = Farm(
        name="Thistledrift Farm", address="Lane End", time_zone="Europe/London",
        activities=("sprouting",), contacts=(vet,),
    )  # fmt: skip
    shed.write(farm, at("2026-03-24"))
    made = holding(read(shed))
    assert ("What it does", "sprouting") in made.facts
    assert made.contacts == (("Vet", "E. Ash", "01632 960001"),)
    assert [person.code for person in made.people] == ["AB", "CD"]


# the clause map


def clause(**said) -> Clause:
    given = {
        "code": "own", "clause": "Rule 1", "says": "it is done", "status": "MEMORY",
        "jurisdiction": "EU", "checked": "not looked up", **said,
    }  # fmt: skip
    return Clause(**given)


TITLES = {"months": "Month by month", "exceptions": "Exceptions in full"}


def answers(reading, *clauses):
    heaps = answering(reading, clauses, {}, TITLES)
    return [answer for heap in heaps for answer in heap.answers], heaps


def test_a_clause_leads_to_the_chapters_that_answer_it(busy_month):
    """With how many entries do, and how it was checked."""
    (made,), _ = answers(busy_month, clause(answered_by=("sign_off", "miss")))
    assert made.state == "answered"
    assert [link.chapter for link in made.links] == ["months", "exceptions"]
    assert "1 miss with its reason" in made.told
    assert made.checked == (
        "not looked up: confirm it before you rely on it (not looked up)"
    )


def test_an_unanswered_clause_is_shown_as_unanswered(busy_month):
    """It says of what nothing is written."""
    (made, other), heaps = answers(
        busy_month,
        clause(answered_by=("drill",)),
        clause(code="b", answered_by=("sign_off",)),
    )
    assert (made.state, made.links) == ("unanswered", ())
    assert "nothing is written of drill" in made.told
    assert list(tally(heaps)) == ["1 answered", "1 unanswered"]
    assert other.state == "answered"


def test_a_clause_that_the_farm_rules_out_says_why(busy_month):
    """It is no gap, and no answer."""
    (made,), _ = answers(busy_month, clause(applies=False, why="nothing is sold"))
    assert made.state == "does not apply"
    assert "nothing is sold" in made.told


# the months and the laboratories


def test_a_row_of_the_month_is_one_text(busy_month):
    """The time before, the days, and what was done behind, all of one width."""
    made = grids(month.page(busy_month))
    (one,) = made.months
    (walk,) = [days for title, days in one.rows if title == "Opening walk-round"]
    assert walk.startswith("07:00  AB")
    assert walk.endswith("25 of 25")
    (wash,) = [days for title, days in one.rows if title == "Tray wash"]
    assert [line[:5] for line in wash.split("\n")] == ["09:00", "15:00"]
    assert max(len(line) for _, days in one.rows for line in days.split("\n")) <= (
        one.width
    )


class Certificate(NamedTuple):
    when: str
    place: str
    said: tuple[str, ...]
    struck: bool
    rows: tuple


class Result(NamedTuple):
    name: str
    found: str
    limit: str
    sign: str
    said: str


def test_results_of_laboratories_stand_in_lines():
    """Those of one certificate together; what is out of limit in bold."""
    good = Result("E. coli", "<1 per 100 ml", "0 per 100 ml at most", "✔", "within")
    bad = Result("nitrate", "70 mg/L", "50 mg/L at most", "▲", "over")
    made = laboratory([Certificate("1 March", "P1, tap", ("Lab",), False, (good, bad))])
    (day,) = made.days
    assert day.day == "1 March\nP1, tap\nLab"
    assert [line.verdict for line in day.lines] == ["good", "failed"]
    assert laboratory([]) is None


# whatever stands in a body

ODD = (7, "x", [], [1], {"a": 1}, True, Decimal("1.5"), ["x", {"lot": 3}], "")


def test_an_odd_body_is_told_as_it_stands(busy_month):
    """An older, newer or odd field never raises: every other one, by turns."""
    fields = {(m.first.kind, f) for m in busy_month.matters for f in m.said.body}
    assert len(fields) > 20
    for (kind, field), value in zip(sorted(fields)[::2], cycle(ODD), strict=False):
        changed = tuple(
            Matter(tuple(
                e._replace(body={**e.body, field: value}) if e.kind == kind else e
                for e in matter.history
            ))
            for matter in busy_month.matters
        )  # fmt: skip
        odd = replace(busy_month, matters=changed, _by_name={}, _answers={})
        assert told(odd).many
        assert glance(odd, []).lines
        assert grids(month.page(odd))


# logs within a pack


class Log(NamedTuple):
    summary: tuple[str, ...]
    parts: tuple
    who: tuple
    attached: tuple = ()


def listing(lines: int) -> Listing:
    days = (Day("1 Mar", tuple(Line(f"{n}", "good") for n in range(lines))),)
    return Listing("Lots", "Day", "Head", days)


def test_a_short_log_stands_on_the_pages():
    """As it is."""
    whole = Log((), (listing(SHORT),), ())
    assert brief(whole) == whole


def test_a_long_log_travels_inside_alone():
    """Its place says how long it is."""
    (part,) = brief(Log((), (listing(SHORT + 1),), ())).parts
    assert part == Sentences("Lots", (f"{SHORT + 1} lines.",))


def test_what_the_exceptions_tell_is_not_told_twice():
    """Stories and corrections have one place."""
    parts = (Stories("Told", ()), Changed("Put right", ()), listing(1))
    assert brief(Log((), parts, ("AB",))).parts == (listing(1),)
    assert brief(Log((), parts, ("AB",))).who == ()


def test_a_shed_of_a_quiet_month_has_no_exceptions(shed: Shed):
    """Nothing is made up."""
    made = told(read(shed, DAY, now=at("2026-03-25", "05:00")))
    assert (made.many, made.attached) == (0, ())
