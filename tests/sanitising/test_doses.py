"""A matter by the versions that still count, and odd bodies that never raise."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.kinds.entry import Entry
from hygiene.sanitising.doses import (
    firm,
    is_chlorine,
    kept_in_the_water,
    read_dose,
    read_label,
    read_rinse,
    told,
)

AT = "2026-03-02T08:00:00+00:00"


def entry(seq: int, kind: str, by: str = "AB", **body: Any) -> Entry:
    corrects = body.pop("corrects", None)
    return Entry("shed-1", seq, kind, AT, AT, by, body, corrects=corrects)


FIRST = entry(1, "dose", trays=["T001"])
SECOND = entry(2, "dose", trays=["T002"], corrects="shed-1/1")
STRUCK = entry(3, "strike", corrects="shed-1/1")


def look(name: str, by: str = "CD", **said: Any) -> Entry:
    return entry(9, "countersign", by, entries=[name], **said)


def test_an_entry_alone_counts_and_stands() -> None:
    """Nothing was put right."""
    made = told([FIRST])
    assert made.versions == (FIRST,)
    assert made.stands is FIRST


def test_every_version_counts() -> None:
    """The old one beside the new."""
    made = told([FIRST, SECOND])
    assert made.versions == (FIRST, SECOND)
    assert made.stands is SECOND
    assert told([FIRST, STRUCK]).versions == (FIRST,)
    assert told([FIRST, STRUCK]).stands is None


def test_a_second_look_lets_the_last_one_stand_alone() -> None:
    """Of a strike it leaves nothing."""
    assert told([FIRST, SECOND], [look("shed-1/2")]).versions == (SECOND,)
    assert told([FIRST, STRUCK], [look("shed-1/3")]).versions == ()


@pytest.mark.parametrize(
    "sight",
    [
        look("shed-1/1"),
        look("shed-1/2", by="AB"),
        look("shed-1/2", how="self-reviewed"),
        look("shed-1/2", day="2026-03-02"),
        entry(9, "sign_off", "CD", entries=["shed-1/2"]),
    ],
)
def test_what_is_no_second_look(sight: Entry) -> None:
    """At an older version, by a writer, at oneself, at a whole day, another kind."""
    assert told([FIRST, SECOND], [sight]).versions == (FIRST, SECOND)


odd = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5)
    | st.decimals(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3)
    | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip
KEYS = (
    "trays", "line", "readings", "drawn", "ended_at", "washed_before", "deep",
    "finds", "target_mg_per_l", "gear", "marks", "tub", "actives", "uses",
)  # fmt: skip


@given(st.dictionaries(st.sampled_from(KEYS), odd, max_size=6))
def test_reading_never_raises(body: dict[str, Any]) -> None:
    """An old, newer or odd body is read as far as it goes."""
    made = read_dose(entry(1, "dose", **body))
    assert made.first == "shed-1/1"
    assert made.tub
    read_rinse(entry(1, "rinse", **body))
    read_label(body)


def test_a_rinse_goes_as_far_as_all_its_versions() -> None:
    """Only what each of them rinsed; what one of them read counts."""
    wide = entry(1, "rinse", trays=["T001", "T002"], dry=True, doses=["d"])
    narrow = entry(2, "rinse", trays=["T001"], doses=["d"], corrects="shed-1/1")
    made = firm(told([wide, narrow]))
    assert made.things == {"T001"}
    assert made.rinsed
    assert not made.dry
    gone = firm(told([wide, entry(3, "strike", corrects="shed-1/1")]))
    assert not gone.rinsed
    settled = told([wide, STRUCK], [look("shed-1/3")])
    assert firm(settled).things == frozenset()


@pytest.mark.parametrize(
    ("name", "is_it"),
    [
        ("chlorine", True),
        ("Sodium  Hypochlorite", True),
        ("calcium hypochlorite", True),
        ("chlorine dioxide", False),
        ("sodium chlorite", False),
        ("peracetic acid", False),
        (None, False),
    ],
)
def test_which_actives_are_chlorine(name: str | None, is_it: bool) -> None:
    """Chlorite and chlorine dioxide are other things."""
    assert is_chlorine(name) is is_it


@pytest.mark.parametrize(
    ("body", "kept"),
    [
        ({"target": "tank", "target_mg_per_l": Decimal(1)}, True),
        ({"target": "line", "target_mg_per_l": Decimal(5)}, True),
        ({"target": "tank", "target_mg_per_l": Decimal("5.1")}, False),
        ({"target": "tank"}, False),
        ({"target": "tray", "target_mg_per_l": Decimal(1)}, False),
        (
            {
                "target": "tank",
                "target_mg_per_l": Decimal(1),
                "readings": [{"spot": "start", "value_mg_per_l": 60}],
            },
            False,
        ),
    ],
)
def test_what_stays_in_the_water(body: dict[str, Any], kept: bool) -> None:
    """Up to 5 mg/L of chlorine by all that is known; unknown is a shock."""
    dose = read_dose(entry(1, "dose", **body))
    assert kept_in_the_water(dose, "chlorine") is kept
    assert not kept_in_the_water(dose, "peracetic acid")
