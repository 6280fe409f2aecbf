"""A germination count and what it shows."""

from __future__ import annotations

import pytest

from hygiene.tracing.germination import interval


@pytest.mark.parametrize(
    ("germinated", "sown", "verdict"),
    [
        (381, 400, "shown"),
        (93, 100, "unclear"),
        (90, 100, "unclear"),
        (82, 100, "not shown"),
        (0, 20, "not shown"),
        (20, 20, "unclear"),
    ],
)
def test_ninety_percent_is_shown_not_shown_or_unclear(
    germinated: int, sown: int, verdict: str
) -> None:
    """By the whole interval, not by the share: 93 of 100 shows nothing yet."""
    assert interval(germinated, sown).verdict == verdict


def test_all_or_none_have_one_sided_ends() -> None:
    """Nothing lies below no seed, or above all of them."""
    assert interval(0, 50).low_percent == 0
    assert interval(50, 50).high_percent == 100


@pytest.mark.parametrize("germinated", range(0, 51, 7))
def test_the_interval_holds_the_share_and_mirrors(germinated: int) -> None:
    """Counting what did not germinate gives the mirrored interval."""
    one, other = interval(germinated, 50), interval(50 - germinated, 50)
    assert one.low_percent <= one.percent <= one.high_percent
    assert one.low_percent == pytest.approx(100 - other.high_percent, abs=1e-9)
