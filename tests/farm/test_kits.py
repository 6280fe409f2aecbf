"""A kit is relied on only while its last check and its expiry allow it."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from hygiene.farm.kits import checks, fault, last_day
from hygiene.kinds.entry import Entry

STRIPS = {"code": "K1", "name": "strips", "sort": "strip", "expires_on": "2026-06-30"}
METER = {"code": "K1", "name": "meter", "sort": "meter", "check_every_months": 1}
NOON = datetime(2026, 3, 20, 12, tzinfo=UTC)


def check(
    seq: int,
    day: str,
    corrects: str | None = None,
    kind: str = "calibrate",
    **body: object,
) -> Entry:
    at = f"{day}T08:00:00+00:00"
    said = {"kit": "K1", "against": "buffer 7", "passed": True, **body}
    return Entry(
        "shed-a2b3", seq, kind, at, at, "AB",
        {"struck": "calibrate"} if kind == "strike" else said, None, corrects,
    )  # fmt: skip


def why(body: dict[str, object], *entries: Entry, at: datetime = NOON) -> str | None:
    return fault(body, checks(entries, "K1", UTC), at)


def test_strips_are_good_up_to_their_last_day() -> None:
    """The day that is printed on them still counts."""
    assert why(STRIPS, at=datetime(2026, 6, 30, 23, tzinfo=UTC)) is None
    assert why(STRIPS, at=datetime(2026, 7, 1, 0, tzinfo=UTC)) == (
        "was in date up to 2026-06-30 only"
    )


def test_a_new_tub_brings_its_own_last_day() -> None:
    """Strips are replaced without a new farm file."""
    tub = check(1, "2026-06-20", expires_on="2027-05-31", against="new tub")
    assert why(STRIPS, tub, at=datetime(2026, 8, 1, tzinfo=UTC)) is None


def test_a_meter_that_was_never_checked_proves_nothing() -> None:
    """Where checks are asked for, none at all is not enough."""
    assert why(METER) == "was never checked"


def test_a_check_counts_for_as_long_as_the_farm_says() -> None:
    """A month from 20 February ends on 20 March."""
    made = check(1, "2026-02-20")
    assert why(METER, made) is None
    assert why(METER, made, at=datetime(2026, 3, 21, tzinfo=UTC)) == (
        "was in date up to 2026-03-20 only"
    )


def test_the_check_itself_may_say_how_long() -> None:
    """A certificate names its own next date."""
    made = check(1, "2026-02-01", next_on="2026-12-31")
    assert why(METER, made) is None


def test_a_failed_check_counts_until_one_passes() -> None:
    """And a check that passed afterwards puts it back into use."""
    bad, good = check(1, "2026-03-01", passed=False), check(2, "2026-03-05")
    assert why(METER, bad) == "failed its check on 2026-03-01"
    assert why(METER, bad, good) is None


def test_correcting_a_failed_check_clears_nothing() -> None:
    """The strictest of all versions counts."""
    bad = check(1, "2026-03-01", passed=False)
    mended = check(2, "2026-03-01", corrects="shed-a2b3/1")
    assert why(METER, bad, mended) == "failed its check on 2026-03-01"


def test_striking_a_failed_check_clears_nothing() -> None:
    """Nor does ruling it through."""
    bad = check(1, "2026-03-01", passed=False)
    struck = check(2, "2026-03-02", corrects="shed-a2b3/1", kind="strike")
    assert why(METER, bad, struck) == "failed its check on 2026-03-01"


def test_a_struck_check_proves_nothing() -> None:
    """A check that was ruled through is none."""
    good = check(1, "2026-03-01")
    struck = check(2, "2026-03-02", corrects="shed-a2b3/1", kind="strike")
    assert why(METER, good, struck) == "was never checked"


def test_a_later_check_says_nothing_of_an_earlier_reading() -> None:
    """A past moment is read with what was known then."""
    assert why(METER, check(1, "2026-03-25")) == "was never checked"


def test_checks_of_another_kit_are_passed_over() -> None:
    """Each stands for itself."""
    assert why(METER, check(1, "2026-03-01", kit="K2")) == "was never checked"


@pytest.mark.parametrize("odd", ["soon", 7, None])
def test_an_odd_date_never_raises(odd: object) -> None:
    """Reading never does."""
    assert why({**STRIPS, "expires_on": odd}) is None


def test_the_last_day_is_the_nearer_one() -> None:
    """Expiry and next check: whichever comes first."""
    found = checks([check(1, "2026-03-01", next_on="2026-12-31")], "K1", UTC)
    assert last_day(STRIPS, found) == date(2026, 6, 30)
