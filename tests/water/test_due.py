"""When the next sample is due: by the point's months, after an upset, to take again."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from hygiene.kinds.moments import months_after
from hygiene.water.due import Failed, Sampled, SampleDue, Upset, samples_due

TODAY = date(2026, 6, 1)
POINTS = {"P1": {"sample_every_months": 6}}


def at(day: str) -> datetime:
    return datetime.fromisoformat(f"{day}T09:00:00").replace(tzinfo=UTC)


def sampled(day: str, point: str = "P1") -> Sampled:
    return Sampled(point, at(day), "shed/1")


def due(
    samples: list[Sampled] | None = None,
    upsets: list[Upset] | None = None,
    failures: list[Failed] | None = None,
) -> list[SampleDue]:
    return samples_due(POINTS, samples or [], upsets or [], failures or [], TODAY)


def test_a_point_that_was_never_sampled_is_due_now() -> None:
    """It has a rule and no sample."""
    (made,) = due()
    assert (made.day, made.rule) == (TODAY, "never")


def test_months_are_counted_from_the_last_sample() -> None:
    """Not from the one before it."""
    (made,) = due([sampled("2026-02-10"), sampled("2025-08-10")])
    assert (made.day, made.rule) == (date(2026, 8, 10), "routine")


def test_a_month_that_is_too_short_has_its_last_day() -> None:
    """Six months after 31 August is the end of February."""
    assert months_after(date(2025, 8, 31), 6) == date(2026, 2, 28)
    assert months_after(date(2023, 8, 31), 6) == date(2024, 2, 29)
    assert months_after(date(2025, 12, 15), 1) == date(2026, 1, 15)


def test_a_point_without_a_rule_or_reason_has_no_due() -> None:
    """Nothing is made up for it."""
    assert samples_due({"P9": {}}, [], [], [], TODAY) == []
    odd = {"P9": {"sample_every_months": "often"}}
    assert samples_due(odd, [], [], [], TODAY) == []


def test_after_a_flood_a_sample_is_due_at_once() -> None:
    """Whatever the months say."""
    flood = Upset(("P1",), at("2026-05-20"), "flood", "shed/7")
    (made,) = due([sampled("2026-05-01")], [flood])
    assert (made.day, made.rule, made.entry) == (date(2026, 5, 20), "upset", "shed/7")


def test_a_sample_since_the_flood_answers_it() -> None:
    """An hour later on the same day is later."""
    flood = Upset(("P1",), at("2026-05-20"), "flood", "shed/7")
    after = Sampled("P1", at("2026-05-20") + timedelta(hours=1), "shed/8")
    (made,) = due([after], [flood])
    assert made.rule == "routine"
    before = Sampled("P1", at("2026-05-20") - timedelta(hours=1), "shed/6")
    (made,) = due([before], [flood])
    assert made.rule == "upset"


def test_a_flood_elsewhere_is_none_here() -> None:
    """It names its points."""
    flood = Upset(("P2",), at("2026-05-20"), "flood", "shed/7")
    (made,) = due([sampled("2026-05-01")], [flood])
    assert made.rule == "routine"


def test_what_failed_is_to_be_taken_again() -> None:
    """From the day on which it failed."""
    failed = Failed("P1", date(2026, 5, 25), "E. coli 5 is over 0", "shed/9")
    (made,) = due([sampled("2026-05-25")], [], [failed])
    assert (made.day, made.rule) == (date(2026, 5, 25), "resample")
    assert "not taken again" in made.why


def test_the_first_due_comes_first() -> None:
    """Over all points."""
    points = {**POINTS, "P2": {"sample_every_months": 1}}
    samples = [sampled("2026-05-20"), sampled("2026-05-20", "P2")]
    made = samples_due(points, samples, [], [], TODAY)
    assert [one.point for one in made] == ["P2", "P1"]
