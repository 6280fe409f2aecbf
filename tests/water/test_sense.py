"""What readings of one sample say about each other."""

from __future__ import annotations

import pytest

from hygiene.water.parameters import parameter_of, read_as
from hygiene.water.sense import oddities


def said(chlorinated: bool = True, **readings: str) -> str:
    reads = [read_as(parameter_of(name), text) for name, text in readings.items()]
    return " ".join(oddities(reads, chlorinated=chlorinated))


def test_good_readings_say_nothing() -> None:
    """No caution that nobody needs."""
    assert said(free="0.6", total="0.8", ph="7.4", ecoli="0", coliforms="3") == ""


@pytest.mark.parametrize(
    ("readings", "part"),
    [
        ({"free": "9"}, "bleaches above 8"),
        ({"free": "0"}, "thin the sample ten times"),
        ({"free": "0.8", "total": "0.5"}, "Total chlorine reads below free"),
        ({"free": "0.5", "ph": "8.4"}, "hygiene calc active --ph 8.4 --free 0.5"),
        ({"ecoli": "5", "coliforms": "2"}, "More E. coli than coliforms"),
    ],
)
def test_a_slip_is_named_with_what_to_do(readings: dict[str, str], part: str) -> None:
    """Each in a sentence."""
    assert part in said(**readings)


def test_no_chlorine_is_no_wonder_where_none_is_dosed() -> None:
    """A borehole reads nothing."""
    assert said(chlorinated=False, free="0") == ""


def test_a_censored_result_is_not_compared() -> None:
    """<1 and 0 are no contradiction."""
    assert said(ecoli="<1", coliforms="0", free="<0.1") == ""
