"""What a cell says: days in several orders, decimal commas, weights, codes."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from hygiene.errors import HygieneError
from hygiene.exchange import cells
from hygiene.exchange.cells import BadCell, Manner

ZONE = ZoneInfo("Europe/London")
DMY = Manner("dmy", None, ZONE, datetime(2026, 11, 25, 12, tzinfo=UTC))
NONE = DMY._replace(order=None)
MDY = DMY._replace(order="mdy")


@pytest.mark.parametrize(
    "text",
    [
        "3.4.2026", "03/04/2026", "3/4/26", "3-4-2026", "2026-04-03", "2026/4/3",
        "3 Apr 2026", "3. April 2026", "3rd Apr 26", "Apr 3, 2026", "46115",
    ],
)  # fmt: skip
def test_a_day_is_read_in_the_farm_s_order(text: str):
    """Day first; by name; by ISO 8601; and by a spreadsheet's own number."""
    assert cells.day(DMY, text) == date(2026, 4, 3)


def test_the_order_may_be_month_first():
    """As --dates mdy says, or the farm's profile."""
    assert cells.day(MDY, "4/3/2026") == date(2026, 4, 3)


def test_a_day_that_could_be_two_is_asked_for():
    """Without an order nothing is guessed; what leaves no doubt is read."""
    with pytest.raises(BadCell, match=r"could be 3 Apr or 4 Mar"):
        cells.day(NONE, "3/4/2026")
    assert cells.day(NONE, "13/4/2026") == date(2026, 4, 13)
    assert cells.day(NONE, "4/13/2026") == date(2026, 4, 13)
    assert cells.day(NONE, "4/4/2026") == date(2026, 4, 4)


def test_a_day_against_the_order_names_the_other_one():
    """It is not turned round: other lines of the file would be as well."""
    with pytest.raises(BadCell) as failure:
        cells.day(DMY, "4/13/2026")
    assert "--dates mdy" in str(failure.value.way_out)


@pytest.mark.parametrize(
    "text",
    ["31.2.2026", "x", "1.1.2027", "0.0.0", "3.4", "99999", "1/2/3/4"],
)
def test_what_is_no_day_is_told(text: str):
    """Neither of the calendar, nor one that has come."""
    with pytest.raises(BadCell):
        cells.day(DMY, text)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("7:30", time(7, 30)), ("07.30", time(7, 30)), ("7h30", time(7, 30)),
        ("7:30 pm", time(19, 30)), ("12:15 am", time(0, 15)), ("0.3125", time(7, 30)),
        ("0,5", time(12)), ("07:30:15", time(7, 30, 15)),
    ],
)  # fmt: skip
def test_a_time_of_day(text: str, found: time):
    """By clock, by halves of the day, and by a spreadsheet's part of a day."""
    assert cells.clock(text) == found


@pytest.mark.parametrize("text", ["25:00", "7:61", "noon", "13:00 pm", "1.5"])
def test_what_is_no_time_is_told(text: str):
    """With how it is written."""
    with pytest.raises(BadCell):
        cells.clock(text)


@pytest.mark.parametrize(
    "text", ["3.4.2026 07:30", "2026-04-03T07:30", "46115.3125", "3 Apr 2026 7:30"]
)
def test_day_and_time_may_stand_in_one_cell(text: str):
    """As a spreadsheet writes both."""
    assert cells.day_and_time(DMY, text) == (date(2026, 4, 3), time(7, 30))


def test_a_time_that_the_clocks_skipped_is_told():
    """01:30 on 29 March 2026 was not; 01:30 on 25 October was twice."""
    with pytest.raises(BadCell, match="did not exist"):
        cells.moment(DMY, date(2026, 3, 29), time(1, 30))
    with pytest.raises(BadCell, match="happened twice"):
        cells.moment(DMY, date(2026, 10, 25), time(1, 30))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("12.5", "12.5"), ("12,5", "12.5"), ("0,123", "0.123"), ("1.250", "1.250"),
        ("1 234", "1234"), ("1.234,5", "1234.5"), ("1,234.50", "1234.50"),
        ("1,234,567", "1234567"), ("-0,5", "-0.5"), ("12", "12"),
    ],
)  # fmt: skip
def test_numbers_with_comma_or_point(text: str, found: str):
    """The digits stay as they were typed."""
    assert cells.number(DMY, text) == Decimal(found)
    assert f"{cells.number(DMY, text):f}" == found


@pytest.mark.parametrize(
    ("mark", "text", "found"),
    [
        ("comma", "1,234", "1.234"), ("point", "1,234", "1234"),
        ("comma", "1.234", "1234"), ("point", "1.234", "1.234"),
    ],
)  # fmt: skip
def test_thousands_are_read_as_the_file_says(mark, text: str, found: str):
    """--decimal says which of the two marks is the decimal one."""
    assert cells.number(DMY._replace(mark=mark), text) == Decimal(found)


def test_a_number_that_could_be_two_is_asked_for():
    """1,234 anywhere; 1.234 where semicolons part the cells."""
    with pytest.raises(BadCell, match=r"could be 1\.234 or 1234"):
        cells.number(DMY, "1,234")
    with pytest.raises(BadCell, match="could be"):
        cells.number(DMY._replace(semicolons=True), "1.234")


@pytest.mark.parametrize("text", ["x", "1e5", "nan", "1.2.3", "--1", "1,2,3", "9" * 40])
def test_what_is_no_number_is_told(text: str):
    """Nothing is made of it."""
    with pytest.raises(BadCell):
        cells.number(DMY, text)


@pytest.mark.parametrize(
    ("text", "grams"), [("84", 84000), ("12,5", 12500), ("500 g", 500), ("1 kg", 1000)]
)
def test_a_weight_is_kilograms_or_has_its_unit(text: str, grams: int):
    """In whole grams."""
    assert cells.grams(DMY, text) == grams


@pytest.mark.parametrize("text", ["0", "-1", "0.0005", "kg", "5 L"])
def test_what_is_no_weight_is_told(text: str):
    """Nothing, less than a gram, and what is no weight."""
    with pytest.raises(HygieneError):
        cells.grams(DMY, text)


def test_an_amount_is_a_liquid_or_a_solid():
    """Tenths of a millilitre, or milligrams."""
    assert cells.amount(DMY, "20 L") == {"tenth_ml": 200_000}
    assert cells.amount(DMY, "0,5 kg") == {"mg": 500_000}


@pytest.mark.parametrize(
    "text", ["T001..T003", "t001 - t003", "T001-T003", "T001,T002;T003"]
)
def test_trays_are_written_as_people_write_them(text: str):
    """Ranges with points, a dash or a hyphen; small letters."""
    assert cells.codes(DMY, text) == ("T001", "T002", "T003")


def test_an_old_number_becomes_a_code():
    """What a code cannot hold becomes a hyphen, always in the same way."""
    assert cells.own_code(" 24/117 ") == "24-117"
    assert cells.own_code("Nr. 7 (b)") == "Nr.-7-b"


@pytest.mark.parametrize(("text", "said"), [("x", True), ("OK", True), ("n", False)])
def test_yes_and_no_as_people_tick_it(text: str, said: bool):
    """A cross in a box means that it was done."""
    assert cells.yes(DMY, text) is said
