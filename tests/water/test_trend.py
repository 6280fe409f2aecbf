"""A point's history: in order, censored results as such, and a drift called rightly."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

import pytest

from hygiene.kinds.entry import Entry
from hygiene.water.trend import (
    CALLED_BELOW,
    Bound,
    Changed,
    Reading,
    Trend,
    drift,
    in_words,
    parameters_read,
    ranks,
    readings,
    sanitiser_changes,
)

START = datetime(2026, 1, 5, 8, tzinfo=UTC)


def reading(
    week: int, value: float | None, sign: str = "=", *, trusted: bool = True
) -> Reading:
    mark = "" if sign == "=" else sign
    written = sign if value is None else f"{mark}{value:g}"
    at = START + timedelta(weeks=week)
    return Reading(at, value, sign, written, "mg/L", None, trusted, f"shed/{week}")


def row(*values: float) -> list[Reading]:
    return [reading(week, value) for week, value in enumerate(values)]


FALLING = row(0.9, 0.8, 0.85, 0.7, 0.6, 0.5, 0.45, 0.3)


def entry(kind: str, seq: int, day: int, **body: object) -> Entry:
    at = f"2026-01-{day:02d}T08:00:00+00:00"
    return Entry("shed-a2b3", seq, kind, at, at, "AB", body)


def test_readings_stand_in_the_order_of_the_samples() -> None:
    """Not in that in which they were written."""
    made = readings(
        [
            entry("water", 2, 9, results=[{"parameter": "free", "value": 0.5}]),
            entry("water", 3, 2, results=[{"parameter": "free", "value": 0.7},
                                          {"parameter": "ph", "value": 7}]),
            entry("dose", 4, 3, results=[{"parameter": "free", "value": 9}]),
        ],
        "free",
    )  # fmt: skip
    assert [r.value for r in made] == [0.7, 0.5]


@pytest.mark.parametrize("odd", [None, 7, "x", [None], [{"value": 1}]])
def test_an_odd_body_is_passed_over(odd: object) -> None:
    """Reading never raises."""
    assert readings([entry("water", 1, 2, results=odd)], "free") == []


def test_a_marked_test_is_not_relied_on() -> None:
    """It is shown, and left out where a drift is looked for."""
    body = {"results": [{"parameter": "free", "value": 0.5}], "marks": ["no-kit"]}
    (made,) = readings([entry("water", 1, 2, **body)], "free")
    assert not made.trusted


def test_parameters_are_listed_by_how_often_they_were_read() -> None:
    """The daily one first."""
    once = entry("water", 1, 2, results=[{"parameter": "ecoli"}, {"parameter": "ph"}])
    again = entry("water", 2, 3, results=[{"parameter": "ph"}])
    assert parameters_read([once, again]) == ["ph", "ecoli"]


def test_a_residual_that_falls_over_eight_readings_is_called() -> None:
    """It names the test, its chance, and how far it goes."""
    found = drift(FALLING)
    assert found is not None
    assert found.falls
    assert found.test.p < CALLED_BELOW
    assert found.per_30_days == pytest.approx(-0.37, abs=0.05)
    assert (found.since, found.until) == (FALLING[0].at, FALLING[-1].at)


def test_seven_readings_are_too_few() -> None:
    """Nothing is called before there are eight."""
    assert drift(FALLING[1:]) is None


def test_only_the_last_eight_count() -> None:
    """An old fall that has ended is no drift."""
    flat = [reading(8 + n, 0.5 + 0.01 * (n % 2)) for n in range(8)]
    assert drift([*FALLING, *flat]) is None


def test_a_reading_that_is_not_relied_on_proves_nothing() -> None:
    """Seven good ones and a marked one are seven."""
    marked = FALLING[3]._replace(trusted=False)
    assert drift([*FALLING[:3], marked, *FALLING[4:]]) is None


def test_below_the_highest_level_that_a_test_could_not_see_all_is_equal() -> None:
    """Helsel 2012: <10 and 3 and <1 cannot be put in order."""
    given = [reading(0, 1, "<"), reading(1, 3), reading(2, 10, "<"), reading(3, 12)]
    low, also, third, high = ranks(given)
    assert low == also == third < high


def test_above_the_lowest_level_that_a_test_could_not_count_all_is_equal() -> None:
    """>200 and >2419.6 cannot be put in order either."""
    given = [reading(0, 200, ">"), reading(1, 2419.6, ">"), reading(2, 300)]
    assert len(set(ranks(given))) == 1


def test_not_detected_and_too_many_have_their_place() -> None:
    """Below and above every number."""
    given = [
        reading(0, None, "not detected"),
        reading(1, 5),
        reading(2, None, "too many"),
    ]
    assert ranks(given) == sorted(ranks(given))
    assert len(set(ranks(given))) == 3


def test_clean_results_below_different_levels_are_no_drift() -> None:
    """<10, <5, <1 fall on paper alone: the laboratory changed its method."""
    levels = (50, 40, 30, 20, 10, 5, 2, 1)
    assert drift([reading(n, v, "<") for n, v in enumerate(levels)]) is None


def test_a_slope_is_said_of_plain_numbers_alone() -> None:
    """A level that was not seen has no number."""
    given = [*FALLING[:7], reading(7, 0.4, "<")]
    found = drift(given)
    assert found is not None
    assert found.per_30_days is None


def test_a_steady_point_is_seldom_called() -> None:
    """At most one look in a hundred; a seeded share of tests/soak/drifts.py."""
    rng = Random(7)
    looks = 400
    called = sum(drift(row(*(rng.gauss(5, 1) for _ in range(8)))) is not None
                 for _ in range(looks))  # fmt: skip
    assert called <= 0.025 * looks


def test_changes_of_the_sanitiser_are_found_in_the_doses() -> None:
    """From one product to the next, where it changed."""
    doses = [
        entry("dose", 1, 2, product="hypo"),
        entry("dose", 3, 9, product="peracid"),
        entry("dose", 2, 5, product="hypo"),
        entry("dose", 4, 12, product=7),
        entry("water", 5, 13, product="x"),
    ]
    assert sanitiser_changes(doses) == [
        Changed(datetime(2026, 1, 9, 8, tzinfo=UTC), "hypo", "peracid", "shed-a2b3/3")
    ]


def trend(*history: Reading, **more: object) -> Trend:
    made = Trend("P1", "Last nozzle", "free", "free chlorine", "mg/L", False, history,
                 (Bound(0.2, False, "a source"),), (), None)  # fmt: skip
    return made._replace(**more)


def test_the_words_say_what_the_picture_shows() -> None:
    """Counts, span, limits, what is out, what is censored, the drift."""
    out = reading(9, 0.1)._replace(verdict="under")
    words = in_words(trend(*FALLING, reading(8, 0.2, "<"), out, drift=drift(FALLING)))
    for part in (
        "10 readings from 5 Jan 2026 to 9 Mar 2026",
        "the last one 0.1 mg/L",
        "from 0.1 to 0.9 mg/L",
        "1 out of limit, the last: 0.1 mg/L on 9 Mar 2026",
        "1 below what the test sees",
        "limit 0.2 mg/L at least",
        "it falls over the last eight readings (Mann-Kendall test)",
    ):
        assert part in words


def test_nothing_read_is_said() -> None:
    """No picture of nothing."""
    assert in_words(trend()) == "free chlorine at P1: nothing was read."
