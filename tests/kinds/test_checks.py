"""Checks that several kinds share: what passes, what is refused, and in which words."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest

from hygiene.kinds.base import CannotBe
from hygiene.kinds.checks import (
    MOST_IN_A_RANGE,
    expand,
    grace_parts,
    need_code,
    need_one_of,
    need_order,
    need_range,
    need_text,
    ranges,
)


def of(value: object) -> SimpleNamespace:
    return SimpleNamespace(x=value)


@pytest.mark.parametrize("code", ["A", "T001", "a.b-c_d", "9", "x" * 32, None])
def test_a_code_is_short_and_plain(code):
    """Letters, digits, dot, dash and underscore, 32 at most; or not said."""
    need_code(of(code), "x")


@pytest.mark.parametrize(
    "code", ["", " ", "-a", ".a", "a b", "é", "a/b", "x" * 33, "a\n"]
)
def test_what_is_no_code_is_refused(code):
    """Under its key, with what a code is made of."""
    with pytest.raises(CannotBe, match=r"x: .*is no code") as said:
        need_code(of(code), "x")
    assert said.value.exit_code == 2


def test_a_text_says_something():
    """Blanks say nothing; what is absent was not said."""
    for good in ("a", " a ", None):
        need_text(of(good), "x")
    for blank in ("", "  ", "\t"):
        with pytest.raises(CannotBe, match="is empty"):
            need_text(of(blank), "x")


def test_a_range_holds_both_its_ends():
    """The message gives the ends and the unit."""
    for good in (0, 100, Decimal("0.0"), Decimal("100"), None):
        need_range(of(good), "x", 0, 100, "%")
    for bad in (-1, 101, Decimal("100.001"), Decimal("-0.001")):
        with pytest.raises(CannotBe, match=r"from 0 to 100 %$"):
            need_range(of(bad), "x", 0, 100, "%")


def test_a_word_is_one_of_a_list():
    """Case and all; the message gives the list."""
    need_one_of(of("red"), "x", "red", "blue")
    need_one_of(of(None), "x", "red", "blue")
    with pytest.raises(CannotBe, match="'Red' is not one of red, blue"):
        need_one_of(of("Red"), "x", "red", "blue")


def test_two_dates_are_in_their_order():
    """The same day will do; an absent one is not compared."""
    days = (date(2026, 3, 1), date(2026, 3, 2))
    for first, last in [days, (days[0], days[0]), (days[1], None), (None, days[0])]:
        need_order(SimpleNamespace(a=first, b=last), "a", "b")
    with pytest.raises(CannotBe, match="b: 2026-03-01 lies before a"):
        need_order(SimpleNamespace(a=days[1], b=days[0]), "a", "b")


@pytest.mark.parametrize(
    ("codes", "first", "last", "count"),
    [
        ("T001..T096", "T001", "T096", 96),
        ("T001..096", "T001", "T096", 96),
        ("T9..T12", "T9", "T12", 4),
        ("1..3", "1", "3", 3),
        ("T098..T101", "T098", "T101", 4),
        ("T7..T7", "T7", "T7", 1),
        ("T7", "T7", "T7", 1),
    ],
)
def test_a_range_of_codes_is_written_out(codes, first, last, count):
    """With the noughts of its first end; one code is itself."""
    made = expand(codes)
    assert (made[0], made[-1], len(made)) == (first, last, count)
    assert len(set(made)) == count


@pytest.mark.parametrize("codes", ["T9..T1", "T1..U9", "", "a b", "..T9"])
def test_a_range_from_nowhere_is_refused(codes):
    """Backwards, from one sort to another, or with its first end missing."""
    with pytest.raises(CannotBe):
        expand(codes)


def test_a_range_is_at_most_ten_thousand():
    """A slip of a digit is no million trays."""
    assert len(expand(f"T1..T{MOST_IN_A_RANGE}")) == MOST_IN_A_RANGE
    with pytest.raises(CannotBe, match="10,000"):
        expand(f"T0..T{MOST_IN_A_RANGE}")


@pytest.mark.parametrize(
    ("text", "parts"),
    [("day", (0, "d")), ("90 min", (90, "min")), ("4h", (4, "h")), ("3 d", (3, "d"))],
)
def test_a_grace_has_a_number_and_a_unit(text, parts):
    """Or it is the end of the working day."""
    assert grace_parts(text) == parts


@pytest.mark.parametrize("text", ["", "0 h", "73 h", "1.5 h", "4 hours", "-1 d", "h"])
def test_what_is_no_grace_is_refused(text):
    """Under its key."""
    with pytest.raises(CannotBe, match=r"^grace"):
        grace_parts(text)


def test_neighbours_are_ranges_in_the_order_of_their_numbers() -> None:
    """T9 stands before T10, with and without leading zeros."""
    assert ranges(["T10", "T11", "T9", "T2"]) == "T2, T9..T11"
    assert ranges(["T012", "T010", "R1", "T011"]) == "R1, T010..T012"
