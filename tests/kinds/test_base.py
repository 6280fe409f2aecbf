"""One definition a kind: read off the dataclass, and read from what was handed in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import pytest

from hygiene.kinds import HOMES, SETUP, UnknownKind, class_name, kind_class
from hygiene.kinds.base import (
    CannotBe,
    Kind,
    Problem,
    Shape,
    Unfit,
    plain,
    read_plain,
    ref,
    shapes,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    name: str
    length_cm: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stool(Kind):
    kind = "stool"
    code: str
    made_on: date | None = None
    legs: tuple[Leg, ...] = ()
    colours: tuple[str, ...] = ()
    seats: int = 1
    painted: bool = False
    room: str | None = ref(default=None)
    height_cm: Decimal | None = None

    def __post_init__(self) -> None:
        if self.seats < 1:
            raise CannotBe(key="seats", what="somebody must sit")


FULL = {
    "code": "S1",
    "made_on": "2026-03-31",
    "legs": [{"name": "left", "length_cm": Decimal("41.50")}, {"name": "right"}],
    "colours": ["red", "blue"],
    "seats": 2,
    "painted": True,
    "room": "R1",
    "height_cm": Decimal("45.0"),
}


def problems(given: object) -> list[Problem]:
    with pytest.raises(Unfit) as said:
        read_plain(Stool, given)
    return said.value.problems


def test_the_fields_are_read_off_the_dataclass():
    """Name, what it holds, list or not, needed or not, whether it refers."""
    found = {shape.name: shape for shape in shapes(Stool)}
    assert found["code"] == Shape("code", str, False, True, False)
    assert found["legs"] == Shape("legs", Leg, True, False, False)
    assert found["room"] == Shape("room", str, False, False, True)
    assert found["height_cm"] == Shape("height_cm", Decimal, False, False, False)
    assert list(found) == list(FULL)


def test_a_body_comes_back_as_it_was_handed_in():
    """Plain values in, dataclass, plain values out."""
    assert read_plain(Stool, FULL).body() == FULL


def test_what_was_not_said_is_left_out_of_the_body():
    """No null, no empty list; but an answer of no, and a nought, are said."""
    assert Stool(code="S1").body() == {"code": "S1", "seats": 1, "painted": False}
    assert plain(Leg(name="x", length_cm=Decimal(0))) == {
        "name": "x",
        "length_cm": Decimal(0),
    }


def test_a_date_may_come_as_text_or_as_a_date():
    """From JSON it is text, from TOML a date."""
    for given in ("2026-03-31", date(2026, 3, 31)):
        made = read_plain(Stool, {"code": "S1", "made_on": given})
        assert made.made_on == date(2026, 3, 31)


def test_a_number_keeps_its_digits():
    """As a Decimal, or typed whole."""
    for given in (Decimal("45.0"), 45):
        made = read_plain(Stool, {"code": "S1", "height_cm": given})
        assert str(made.height_cm) == str(given)


WRONG = {
    "a number for a text": ({"code": 1}, "text in quotes"),
    "a text for a number": ({"seats": "2"}, "a whole number"),
    "a fraction for a whole number": ({"seats": Decimal("2.5")}, "a whole number"),
    "yes for a whole number": ({"seats": True}, "a whole number"),
    "a number for yes": ({"painted": 1}, "true or false"),
    "a text for a decimal": ({"height_cm": "45"}, "a number"),
    "yes for a decimal": ({"height_cm": True}, "a number"),
    "not a number": ({"height_cm": Decimal("nan")}, "a number"),
    "without end": ({"height_cm": float("inf")}, "a number"),
    "no such day": ({"made_on": "2026-02-30"}, "a date such as"),
    "a text for a list": ({"colours": "red"}, "a list"),
    "a number in a list": ({"colours": [1]}, "text in quotes"),
    "a text for a table": ({"legs": ["left"]}, "a table"),
    "null": ({"code": None}, "text in quotes"),
}


@pytest.mark.parametrize(("wrong", "said"), WRONG.values(), ids=WRONG)
def test_nothing_is_guessed(wrong: dict[str, object], said: str):
    """Each wrong sort of value is named with what is wanted, under its key."""
    ((key, what),) = problems({"code": "S1", **wrong})
    assert key[0] == next(iter(wrong))
    assert said in what


@pytest.mark.parametrize("given", [None, [], "S1", 7])
def test_a_table_is_wanted(given: object):
    """Anything else is no body."""
    assert problems(given) == [Problem((), "a table of keys is wanted here")]


def test_all_problems_are_told_at_once():
    """In the order in which they stand, so that a person mends them in one go."""
    wrong = {
        "colour": "red",
        "legs": [{"name": 1}, {"nam": "x"}],
        "seats": "two",
        "zzz": 1,
    }
    assert problems(wrong) == [
        Problem(("colour",), "there is no such key here; did you mean 'colours'?"),
        Problem(("zzz",), "there is no such key here"),
        Problem(("code",), "is missing"),
        Problem(("legs", 0, "name"), "text in quotes is wanted here, not 1"),
        Problem(("legs", 1, "nam"), "there is no such key here; did you mean 'name'?"),
        Problem(("legs", 1, "name"), "is missing"),
        Problem(("seats",), "a whole number is wanted here, not 'two'"),
    ]


def test_what_cannot_be_true_is_told_under_its_key():
    """The constructor refuses it; the reader says where it stands."""
    assert problems({"code": "S1", "seats": 0}) == [
        Problem(("seats",), "somebody must sit")
    ]


# the list of kinds


@pytest.mark.parametrize("name", HOMES)
def test_each_kind_is_where_the_list_says(name: str):
    """And calls itself by the name under which it is found."""
    assert kind_class(name).kind == name
    assert kind_class(name).__name__ == class_name(name)


@pytest.mark.parametrize("name", HOMES)
def test_each_kind_is_frozen_and_slotted(name: str):
    """What was written down is not changed in passing."""
    made = kind_class(name)
    assert made.__dataclass_params__.frozen
    assert "__slots__" in vars(made)
    assert made.__doc__


def test_an_unknown_kind_is_named_with_those_there_are():
    """Exit 4."""
    with pytest.raises(UnknownKind, match=r"'yodel'.*sign_off"):
        kind_class("yodel")


def test_the_set_up_is_part_of_the_kinds():
    """What is folded into what is in force."""
    assert {"farm", "person", "checklist", "retire"} <= set(SETUP) <= set(HOMES)


def test_a_kinds_field_is_never_named_as_one_of_the_envelopes():
    """In its view both would have the same name."""
    envelope = {"entry", "first_entry", "happened_at", "recorded_at", "by", "reason"}
    envelope |= {"written_by"}
    for name in HOMES:
        assert not envelope & {shape.name for shape in shapes(kind_class(name))}
