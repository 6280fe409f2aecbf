"""What cannot be true of water, kits, people and papers is refused when writing."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest

from hygiene.kinds.base import CannotBe, Kind
from hygiene.kinds.kits import Calibrate
from hygiene.kinds.papers import File
from hygiene.kinds.people import Accident, Visitor
from hygiene.kinds.setup import Kit, OwnLimit
from hygiene.kinds.water import Disturbance, Result, Water

FREE = Result(parameter="free", as_written="0.5", value=Decimal("0.5"), unit="mg/L")


def water(**more: object) -> Water:
    return Water(point="P1", **({"results": (FREE,)} | more))


@pytest.mark.parametrize(
    ("made", "key"),
    [
        (lambda: Result(parameter="free", as_written="1", value=Decimal(1)), "unit"),
        (lambda: Result(parameter="free", as_written="1", sign="~"), "sign"),
        (lambda: Result(parameter="free", as_written=" "), "as_written"),
        (lambda: Result(parameter="free", as_written="1", verdict="good"), "verdict"),
        (lambda: water(results=()), "results"),
        (lambda: water(results=(FREE, FREE)), "results"),
        (lambda: water(received_at="2026-03-02 07:00"), "received_at"),
        (lambda: water(received_at="2026-03-02T07:00:00"), "received_at"),
        (lambda: water(laboratory=""), "laboratory"),
        (lambda: Disturbance(points=(), sort="flood", what="x"), "points"),
        (lambda: Disturbance(points=("P1",), sort="storm", what="x"), "sort"),
        (lambda: Calibrate(kit="K", passed=True, against=""), "against"),
        (
            lambda: Calibrate(kit="K", passed=True, against="x", shown=Decimal(7)),
            "unit",
        ),
        (lambda: Kit(code="K", name="x", sort="nose"), "sort"),
        (lambda: Kit(code="K", name="x", sort="kit", check_every_months=0),
         "check_every_months"),
        (lambda: OwnLimit(parameter="ph"), "at_most"),
        (lambda: Visitor(name="J", why=""), "why"),
        (lambda: Accident(sort="gas", who="J", what="x", days_off=-1), "days_off"),
        (lambda: File(sort="other", title=""), "title"),
    ],
)  # fmt: skip
def test_it_is_refused_with_its_key(made: Callable[[], Kind], key: str) -> None:
    """In words, before anything is written."""
    with pytest.raises(CannotBe) as refused:
        made()
    assert refused.value.details["key"] == key


def test_what_was_not_said_is_left_out_of_the_body() -> None:
    """An entry holds what somebody said, and nothing else."""
    assert water().body() == {
        "point": "P1",
        "results": [
            {"parameter": "free", "value": Decimal("0.5"), "sign": "=", "unit": "mg/L",
             "as_written": "0.5"},
        ],
    }  # fmt: skip
    assert File(sort="audit", title="x", review_on=date(2026, 3, 2)).body() == {
        "sort": "audit", "title": "x", "review_on": "2026-03-02",
    }  # fmt: skip
