"""Rows as lines of one width: what a log of hundreds of rows is printed with."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.reports.columns import MOST, NARROWEST, Day, Line, by_day, laid_out

HEADS = ("At", "What", "By")


def test_columns_stand_under_their_heads():
    """Every column begins at the same letter in the head and in each row."""
    head, lines = laid_out(HEADS, [("07:00", "a", "AB"), ("15:30", "bcd", "CD")], 80)
    assert head == "At     What  By"
    assert lines == ["07:00  a     AB", "15:30  bcd   CD"]


def test_an_empty_column_is_left_out():
    """What no row says takes no room."""
    head, lines = laid_out(HEADS, [("07:00", "", "AB")], 80)
    assert (head, lines) == ("At     By", ["07:00  AB"])


def test_no_rows_have_no_head():
    """A log of nothing is empty, not an error."""
    assert laid_out(HEADS, [], 80) == ("", [])


def test_what_is_too_long_goes_on_beneath_itself():
    """The widest column is made narrower, and wraps in its own place."""
    _, (text,) = laid_out(HEADS, [("07:00", "one two three four", "AB")], 22)
    assert text.split("\n") == ["07:00  one two      AB", "       three four"]


cells = st.text(st.sampled_from("ab ,"), max_size=60)


@settings(max_examples=40)
@given(st.lists(st.tuples(cells, cells, cells), min_size=1, max_size=6))
def test_no_line_is_wider_than_the_room(rows):
    """As long as each column can have its least width, no line runs off the page."""
    room = 3 * NARROWEST + 2 * 2
    head, lines = laid_out(HEADS, rows, room)
    assert max(map(len, [head, *"\n".join(lines).split("\n")])) <= room


@settings(max_examples=40)
@given(st.lists(st.tuples(cells, cells, cells), min_size=1, max_size=6))
def test_no_word_is_lost(rows):
    """Whatever stood in the cells stands in the lines, letter by letter."""
    _, lines = laid_out(HEADS, rows, 34)
    for row, text in zip(rows, lines, strict=True):
        assert sorted("".join(row).replace(" ", "")) == sorted("".join(text.split()))


def test_rows_of_one_day_stand_together():
    """A day is named once for all its lines."""
    rows = [("Mon", "07:00", "good", "a"), ("Mon", "08:00", "failed", "b")]
    days = by_day([*rows, ("Tue", "07:00", "good", "c")])
    assert days[0] == Day("Mon", (Line("a", "good"), Line("b", "failed")))
    assert [day.day for day in days] == ["Mon", "Tue"]


def test_a_long_day_is_parted_under_its_date():
    """No line stands on a page without its day."""
    days = by_day(("Mon", "07:00", "good", str(n)) for n in range(MOST + 1))
    assert [day.day for day in days] == ["Mon", "Mon"]
    assert [len(day.lines) for day in days] == [MOST, 1]
