"""Clearance as one pure function: what is taken away from it never clears."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import stamp
from hygiene.sanitising.clearance import Growth, Shed, of_tray, shed
from hygiene.sanitising.doses import Told, read_label, told
from hygiene.sanitising.labels import Rules

START = datetime.fromisoformat("2026-03-02T08:00:00+00:00")
NOW = START + timedelta(hours=6)
LABEL = read_label(
    {
        "code": "hypo", "name": "Shed Hypochlorite",
        "actives": [{"name": "chlorine", "strength": "125 g/L"}],
        "product_types": ["PT4"], "uses": ["tray"],
        "label_min_mg_per_l": 100, "label_max_mg_per_l": 500,
        "contact_minutes": 10, "rinse_needed": True, "lowest_temp_c": 5,
    }
)  # fmt: skip
GOOD: dict[str, Any] = {
    "product": "hypo",
    "target": "tray",
    "trays": ["T001", "T002"],
    "ended_at": stamp(START + timedelta(minutes=12)),
    "readings": [
        {"spot": "start", "value_mg_per_l": 190, "kit": "K", "temp_c": 14},
        {"spot": "end", "value_mg_per_l": 160, "kit": "K", "temp_c": 14},
    ],
    "washed_before": True,
    "rinsed": True,
    "dry": True,
}


def matter(seq: int, body: dict[str, Any], at: datetime = START) -> Told:
    return told([version(seq, body, at)])


def version(seq: int, body: dict[str, Any], at: datetime = START) -> Entry:
    return Entry("shed-1", seq, "dose", stamp(at), stamp(at), "AB", body)


def made(*doses: Told, **said: Any) -> Shed:
    return shed(Rules(), lambda code, at: LABEL, doses, **said)


def cleared(of: Shed, at: datetime = NOW) -> bool:
    return of_tray("T001", of, at).cleared


def test_the_good_dose_clears_until_its_day() -> None:
    """Three days after the contact ended; the dose that decides is named."""
    found = of_tray("T001", made(matter(1, GOOD)), NOW)
    assert found.cleared
    assert found.dose == "shed-1/1"
    assert found.until == START + timedelta(minutes=12, days=3)


@given(st.sets(st.sampled_from(sorted(GOOD)), min_size=1))
def test_what_is_not_written_never_clears(gone: set[str]) -> None:
    """Any field less of a good dose: not cleared."""
    body = {key: value for key, value in GOOD.items() if key not in gone}
    # the product's label is found by its code, and this test has one label
    if gone <= {"product", "target"}:
        return
    assert not cleared(made(matter(1, body)))


@given(
    st.lists(
        st.fixed_dictionaries(
            {},
            optional={
                "rinsed": st.sampled_from([True, False, None]),
                "dry": st.sampled_from([True, False, None]),
                "washed_before": st.sampled_from([True, False, None]),
                "readings": st.sampled_from([GOOD["readings"], [], [{}]]),
                "trays": st.sampled_from([["T001"], ["T002"], ["T001", "T002"]]),
            },
        ),
        max_size=3,
    )
)
def test_a_further_version_never_clears(changes: list[dict[str, Any]]) -> None:
    """Whatever a correction says: with it no tray is cleared that was not before."""
    first = version(1, {**GOOD, "rinsed": False})
    history = [first]
    for seq, change in enumerate(changes, 2):
        later = version(seq, {**GOOD, **change})
        history.append(later._replace(corrects="shed-1/1"))
        assert not cleared(made(told(history)))


@given(st.integers(0, 5), st.integers(0, 5))
def test_the_last_dose_decides(good: int, bad: int) -> None:
    """Whatever the order in which they were written; at one moment the bad one."""
    long = {**GOOD, "ended_at": stamp(START + timedelta(minutes=30))}
    fine = matter(1, long, START + timedelta(minutes=good))
    body = {**long, "washed_before": False}
    wrong = matter(2, body, START + timedelta(minutes=bad))
    for order in ([fine, wrong], [wrong, fine]):
        assert cleared(made(*order)) is (good > bad)


def test_a_dose_that_is_yet_to_come_says_nothing() -> None:
    """Asked about the moment before it."""
    of = made(matter(1, GOOD))
    assert not cleared(of, START - timedelta(minutes=1))


@pytest.mark.parametrize(
    ("growth", "is_clear"),
    [
        (None, True),
        (Growth("B-1", START - timedelta(days=9), START - timedelta(hours=1)), True),
        (Growth("B-1", START - timedelta(days=9), START), True),
        (Growth("B-1", START - timedelta(days=9), START + timedelta(hours=1)), False),
        (Growth("B-1", START - timedelta(days=9), None), False),
        (Growth("B-1", START, None), False),
        (Growth("B-1", START + timedelta(hours=1), NOW), False),
    ],
)
def test_what_grew_in_it(growth: Growth | None, is_clear: bool) -> None:
    """Emptied before it was dosed, and not sown since."""
    growths = {} if growth is None else {"T001": growth}
    assert cleared(made(matter(1, GOOD), growth=growths)) is is_clear


def test_mould_is_answered_by_name_not_by_the_clock() -> None:
    """A deep dose that did not know of a find does not answer it."""
    ended = stamp(START + timedelta(minutes=40))
    deep = {**GOOD, "deep": True, "ended_at": ended, "finds": ["shed-1/9"]}
    known = {"T001": frozenset({"shed-1/9"})}
    merged = {"T001": frozenset({"shed-1/9", "van-2/4"})}
    assert cleared(made(matter(1, deep), finds=known))
    assert not cleared(made(matter(1, deep), finds=merged))
    assert not cleared(made(matter(1, GOOD), finds=known))
