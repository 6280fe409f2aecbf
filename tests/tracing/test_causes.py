"""What mouldy sowings share: what is compared with what, and what is never claimed."""

from __future__ import annotations

import importlib.util
import random
import subprocess
import sys
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.tracing.causes import Causes, Finding, find_causes
from hygiene.tracing.comparison import (
    Seen,
    Unit,
    compared,
    compared_measures,
    fortnights,
    unit_length,
    units,
)
from hygiene.tracing.gaps import gap_chart
from hygiene.tracing.outcomes import Batch, Lot, Outcome, TrayOutcome
from hygiene.tracing.questions import UnitKind

FIRST = date(2031, 3, 3)
RACKS = ("R1", "R1", "R1", "R1", "R2", "R2", "R2", "R2", "R3", "R3", "R3", "R3")
NEVER: frozenset[int] = frozenset()


def trays(mouldy: Iterable[int] = NEVER, first: int = 0) -> tuple[TrayOutcome, ...]:
    """Twelve trays on three racks of four; numbered on from ``first``."""
    bad = set(mouldy)
    return tuple(
        TrayOutcome(
            f"T{first + at:03d}",
            Outcome.MOULD if at in bad else Outcome.NO_MOULD,
            rack=rack,
            level=f"H{at % 4 + 1}",
            position=at,
        )
        for at, rack in enumerate(RACKS)
    )


def batch(day: int, mouldy: Iterable[int] = NEVER, **said: object) -> Batch:
    """A sowing of its own trays on that day."""
    made = Batch(f"B{day:03d}", FIRST + timedelta(day), trays(mouldy, 12 * (day % 10)))
    return replace(made, **said)  # type: ignore[arg-type]


def asked(causes: Causes, name: str) -> Finding:
    return next(one for one in causes.ranked if one.name == name)


def named(causes: Causes) -> list[str]:
    return [one.name for one in causes.ranked]


def in_turn(mouldy_a: Iterable[int], days: int = 28) -> list[Batch]:
    """Lots LA and LB by turns; each third sowing of three trays mouldy as told."""
    bad = set(mouldy_a)
    return [
        batch(
            day,
            {day % 12} if day in bad else NEVER,
            lots=(Lot("LA" if day % 2 == 0 else "LB", "S1"),),
        )
        for day in range(days)
    ]


A_BAD = (0, 2, 4, 8, 10, 12, 16, 18, 20, 22, 24, 26)


# what is compared with what


def test_a_rack_is_held_against_the_others_in_its_own_sowing() -> None:
    """Rack R2 has the mould of every mouldy sowing: it is ranked first."""
    rng = random.Random(3)
    year = [
        batch(day, rng.sample(range(4, 8), 2) if day % 8 == 0 else NEVER)
        for day in range(120)
    ]
    first = find_causes(year).ranked[0]
    assert (first.factor, first.level, first.unit) == ("rack", "R2", UnitKind.TRAY)
    assert (first.found, pytest.approx(first.expected)) == (30, 10.0)
    assert first.stands_out


def test_one_bad_batch_is_never_twelve_finds() -> None:
    """Twelve mouldy trays of one sowing show nothing, whatever they share."""
    year = [batch(d, range(12) if d == 20 else NEVER) for d in range(60)]
    assert not any(one.stands_out for one in find_causes(year).ranked)


def test_one_bad_rack_in_one_sowing_is_one_find() -> None:
    """Four mouldy trays side by side: one rack of three, p 1/3, not 4 trays of 12."""
    row = [Seen(rack == "R2", rack == "R2") for rack in RACKS]
    found = compared([units(row, unit_length(row))])
    assert found is not None
    assert found.p == pytest.approx(1 / 3)


def test_what_is_common_to_a_sowing_is_judged_by_sowings() -> None:
    """A lot's mouldy sowings count once each, however many trays went mouldy."""
    year = [
        replace(one, trays=trays(range(9) if one.outcome is Outcome.MOULD else NEVER))
        for one in in_turn(A_BAD)
    ]
    lot = asked(find_causes(year), "Lot LA")
    assert (lot.found, lot.borne, lot.unit) == (12, 14, UnitKind.SOWING)


def test_what_differs_inside_sowings_is_compared_there() -> None:
    """Two lots in every sowing, six trays each: the trays are the unit."""
    la, lb = (Lot("LA"),), (Lot("LB"),)
    year = [
        batch(
            day,
            trays=tuple(
                replace(tray, lots=la if at % 2 else lb)
                for at, tray in enumerate(trays({1, 5} if day % 4 == 0 else NEVER))
            ),
        )
        for day in range(40)
    ]
    lot = asked(find_causes(year), "Lot LA")
    assert (lot.found, lot.unit) == (20, UnitKind.TRAY)
    assert lot.stands_out


def test_two_lots_sown_in_turn_are_told_apart() -> None:
    """Twelve of fourteen sowings of one lot, none of the other."""
    first = find_causes(in_turn(A_BAD)).ranked[0]
    assert (first.name, first.found) == ("Lot LA", 12)
    assert first.stands_out


def test_a_bad_time_raises_both_lots_alike() -> None:
    """Two weeks of mould in every sowing of either lot point at neither."""
    causes = find_causes(in_turn(range(7, 21)))
    assert not any(one.stands_out for one in causes.ranked)


def test_a_lot_in_long_runs_counts_its_runs() -> None:
    """Weeks by turns: the week is the unit, so one bad week is one find."""
    row = [Seen(day // 7 % 2 == 0, day < 7) for day in range(28)]
    assert unit_length(row) == 7
    assert units(row, 7)[0] == Unit(True, 7, 7)


def test_sowings_turn_by_turn_stand_alone() -> None:
    """A level that takes turns with others has units of one sowing."""
    assert unit_length([Seen(day % 2 == 0, False) for day in range(10)]) == 1


def test_uninterrupted_there_is_nothing_to_compare() -> None:
    """A row of one side only has no unit."""
    assert unit_length([Seen(True, True)] * 5) == 0


def test_strata_are_at_most_a_fortnight() -> None:
    """Thirty days are cut in three equal stretches; gaps in the days stay gaps."""
    days = [FIRST + timedelta(n) for n in (0, 1, 9, 10, 25, 29)]
    assert [slice(0, 3), slice(3, 4), slice(4, 6)] == fortnights(days)


def test_uneven_units_are_held_against_their_size() -> None:
    """A unit of three trays with one find did better than one tray with one find."""
    few = compared([[Unit(True, 1, 1), Unit(False, 1, 3), Unit(False, 0, 1)]])
    many = compared([[Unit(False, 1, 1), Unit(True, 1, 3), Unit(False, 0, 1)]])
    assert few is not None
    assert many is not None
    assert (pytest.approx(1 / 3), pytest.approx(2 / 3)) == (few.p, many.p)


def test_a_measure_is_ranked_in_its_fortnight() -> None:
    """Mould on the hottest of fourteen days, once: one turn of fourteen is as high."""
    days = [FIRST + timedelta(n) for n in range(14)]
    heat = [20.0 + n for n in range(14)]
    found = compared_measures(days, heat, [n == 13 for n in range(14)])
    assert found is not None
    assert (1, pytest.approx(1 / 14)) == (found.found, found.p)


def test_neighbouring_days_stay_neighbours() -> None:
    """Three hot days in a row with mould are one chance in fourteen, not in 364."""
    days = [FIRST + timedelta(n) for n in range(14)]
    marks = [n >= 11 for n in range(14)]
    found = compared_measures(days, [20.0 + n for n in range(14)], marks)
    assert found is not None
    assert found.p == pytest.approx(1 / 14)


def test_thick_sowing_is_shown_by_rank() -> None:
    """The thickest of each week goes mouldy for a year: shown, as a measure."""
    rng = random.Random(5)
    year = []
    for week in range(40):
        rates = rng.sample([4.0, 4.4, 4.8, 5.2, 5.6, 6.0, 6.4], 7)
        year += [
            batch(
                7 * week + day,
                {day} if rate > 6.2 else NEVER,
                seed_rate_kg_per_m2=rate,
            )
            for day, rate in enumerate(rates)
        ]
    first = find_causes(year).ranked[0]
    assert (first.factor, first.level) == ("seed rate", "")
    assert first.stands_out
    assert "the half sown thickest" in first.sentence


# what is not known is not "no mould"


def unwatched(day: int, lot: str) -> Batch:
    still = tuple(replace(tray, outcome=Outcome.NOT_KNOWN) for tray in trays())
    return batch(day, trays=still, lots=(Lot(lot, "S1"),), code=f"U{day}")


def test_still_growing_is_not_without_mould() -> None:
    """Sowings whose end is not known change no figure of the others."""
    year = in_turn(A_BAD)
    more = [*year, *(unwatched(day, "LB") for day in range(1, 28, 2))]
    alone, beside = find_causes(year), find_causes(more)
    assert alone.ranked[0].p == beside.ranked[0].p
    assert (alone.not_known, beside.not_known) == (0, 14)


def test_a_sowing_watched_to_its_end_does_count() -> None:
    """The same sowings without mould make the lot beside them look worse."""
    year = in_turn(A_BAD)
    more = [*year, *(batch(d, lots=(Lot("LB"),), code=f"C{d}") for d in range(28))]
    assert find_causes(more).ranked[0].p < find_causes(year).ranked[0].p


def test_a_tray_not_looked_at_is_left_out_of_its_batch() -> None:
    """With half of rack R1 unwatched, R2 is expected to have 4 of 10, not of 12."""
    unseen = tuple(
        replace(tray, outcome=Outcome.NOT_KNOWN) if at < 2 else tray
        for at, tray in enumerate(trays({4, 5}))
    )
    year = [batch(day, trays=unseen) for day in range(20)]
    assert asked(find_causes(year), "Rack R2").expected == pytest.approx(20 * 2 * 0.4)


@pytest.mark.parametrize(
    ("outcomes", "expected"),
    [
        ("mould, not known", Outcome.MOULD),
        ("no mould, no mould, not known", Outcome.NO_MOULD),
        ("no mould, not known", Outcome.NOT_KNOWN),
        ("not known", Outcome.NOT_KNOWN),
    ],
)
def test_a_batch_is_known_by_most_of_its_trays(
    outcomes: str, expected: Outcome
) -> None:
    """Any mould is mould; no mould needs more than half watched to the end."""
    made = tuple(TrayOutcome("T", Outcome(word)) for word in outcomes.split(", "))
    assert expected == Batch("B", FIRST, made).outcome


def test_a_lot_fed_young_is_said_to_be_judged_unevenly() -> None:
    """Where more of a lot than of the rest went unwatched, the hint says so."""
    year = [*in_turn(A_BAD), *(unwatched(day, "LA") for day in range(1, 28, 2))]
    first = find_causes(year).ranked[0]
    assert "14 of its 28 sowings were not watched" in first.changed[-1]


# what many questions cost


def test_what_could_never_be_shown_is_not_asked() -> None:
    """A wash to each sowing: no wash can be shown, and none is counted."""
    year = in_turn(A_BAD)
    washed = [
        replace(one, trays=tuple(replace(t, wash=one.code) for t in one.trays))
        for one in year
    ]
    before, after = find_causes(year), find_causes(washed)
    assert before.ranked[0].corrected_p == after.ranked[0].corrected_p
    assert [x.questions for x in after.not_asked if x.factor == "wash"] == [28]


def test_the_very_same_trays_are_asked_about_once() -> None:
    """A line to each rack: one question, both names."""
    year = [
        batch(
            day,
            trays=tuple(
                replace(tray, line=f"W{tray.rack[-1]}")
                for tray in trays({4, 6} if day % 6 == 0 else NEVER)
            ),
        )
        for day in range(90)
    ]
    causes = find_causes(year)
    assert asked(causes, "Rack R2").same == ("Water line W2",)
    assert "line" not in {one.factor for one in causes.ranked}


def test_corrected_is_never_below_p() -> None:
    """Asking more questions never makes one more telling."""
    ranked = find_causes(in_turn(A_BAD)).ranked
    assert all(one.corrected_p >= one.p for one in ranked)


def test_ranked_by_corrected_p() -> None:
    """The most telling stands first."""
    ps = [(one.corrected_p, one.p) for one in find_causes(in_turn(A_BAD)).ranked]
    assert ps == sorted(ps)


def with_person(year: Sequence[Batch]) -> list[Batch]:
    return [
        replace(one, people=("AB" if one.lots[0].code == "LA" else "CD",))
        for one in year
    ]


def test_people_are_left_out_unless_asked_for() -> None:
    """No person is ranked or named beside another cause by default."""
    causes = find_causes(with_person(in_turn(A_BAD)))
    assert "AB" not in repr(causes)


def test_people_can_be_asked_about() -> None:
    """Then one who sowed the very same sowings is named with them."""
    causes = find_causes(with_person(in_turn(A_BAD)), with_people=True)
    assert causes.ranked[0].same == ("Person AB",)


# what is said


def test_a_hint_is_called_one() -> None:
    """What stands out says how often chance does it, and that it is no proof."""
    sentence = find_causes(in_turn(A_BAD)).ranked[0].sentence
    assert sentence.startswith("Lot LA: 12 of 14 sowings mouldy; the others")
    assert sentence.endswith("This is a hint, not proof.")


def test_one_of_many_questions_is_said_to_be_one() -> None:
    """What would stand out asked alone, but not among the rest, is no hint."""
    lot = asked(find_causes(in_turn((0, 2, 4, 8, 10, 16, 18, 20, 1, 17))), "Lot LA")
    assert not lot.stands_out
    assert "Asked alone it would stand out; among " in lot.sentence


def test_what_changed_with_it_is_named() -> None:
    """A container used for one lot's sowings only stands beside the lot."""
    year = [
        replace(
            one,
            trays=tuple(
                replace(t, container="C1" if day % 2 == 0 or day == 5 else "C2")
                for t in one.trays
            ),
        )
        for day, one in enumerate(in_turn(A_BAD))
    ]
    lot = asked(find_causes(year), "Lot LA")
    assert lot.changed == ("Container C1",)


def test_a_place_that_stands_out_might_have_been_tainted() -> None:
    """A find that taints its own rack leans the rack, and the sentence says so."""
    year = [batch(day, {4, 6} if day % 6 == 0 else NEVER) for day in range(90)]
    assert "Mould left there" in find_causes(year).ranked[0].sentence


def alone(days: int = 168) -> list[Batch]:
    """One lot after another for a fortnight each; the sixth goes mouldy."""
    return [
        batch(
            day,
            {day % 12} if day // 14 == 5 and day % 3 else NEVER,
            lots=(Lot(f"L{day // 14:02d}"),),
            room_temperature_c=26 if day // 14 == 5 else 20 + day % 3,
        )
        for day in range(days)
    ]


def test_a_lot_alone_in_its_days_is_not_blamed() -> None:
    """It is not ranked: it cannot be told from the days."""
    assert not any(one.factor == "lot" for one in find_causes(alone()).ranked)


def test_a_lot_alone_in_its_days_is_named_with_all_that_changed() -> None:
    """The stretch is named, with the heat of those days, and the way out."""
    (stretch,) = find_causes(alone()).stretches
    assert (stretch.name, stretch.found, stretch.sowings) == ("Lot L05", 10, 14)
    assert stretch.changed == ("Room temperature higher",)
    assert "keep two open and use them in turn" in stretch.sentence


def test_stretches_that_overlap_are_named_together() -> None:
    """A container opened for the same days is named in the lot's stretch."""
    year = [
        replace(
            one,
            trays=tuple(replace(t, container=f"C{day // 28}") for t in one.trays),
        )
        for day, one in enumerate(alone())
    ]
    (stretch,) = find_causes(year).stretches
    assert "Container C2" in stretch.changed


def test_no_stretch_is_named_when_finds_lie_apart() -> None:
    """One find to a lot says nothing of any lot's days."""
    year = [replace(one, trays=trays()) for one in alone()]
    year = [
        replace(one, trays=trays({day % 12})) if day % 14 == 3 else one
        for day, one in enumerate(year)
    ]
    assert find_causes(year).stretches == ()


def test_nothing_found_is_not_nothing_there() -> None:
    """Silence is said to be no proof either."""
    said = find_causes([batch(day) for day in range(30)]).sentence
    assert said.endswith("That does not show that there is no cause.")


def test_an_empty_record_has_no_cause() -> None:
    """No sowing at all: nothing asked, nothing said to stand out."""
    causes = find_causes([])
    assert (causes.questions, causes.ranked, causes.stretches) == (0, (), ())


# what a year can show


def year_with(finds: int) -> list[Batch]:
    """A year of sowings with so many finds, each on another tray and rack."""
    rng = random.Random(11)
    mouldy = set(rng.sample(range(365), finds))
    return [
        batch(
            day,
            rng.sample(range(12), 3) if day in mouldy else NEVER,
            lots=(Lot(f"L{2 * (day // 28) + day % 2}"),),
        )
        for day in range(365)
    ]


def reach(causes: Causes, factor: str) -> int:
    times = next(one.times for one in causes.reach if one.factor == factor)
    return 99 if times is None else times


def test_more_finds_show_a_smaller_cause() -> None:
    """With more finds a smaller lean of a rack, or of a lot, can be shown."""
    few, many = find_causes(year_with(15)), find_causes(year_with(60))
    assert reach(many, "rack") < reach(few, "rack")
    assert reach(many, "lot") < reach(few, "lot")


def test_a_year_with_one_find_shows_no_lean() -> None:
    """With one find, not even the worst rack could be shown."""
    assert reach(find_causes(year_with(1)), "rack") == 99


def test_reach_is_said_in_words() -> None:
    """The sentence tells how much worse a rack must be, four years of five."""
    said = [one.sentence for one in find_causes(year_with(30)).reach]
    assert any(
        text.startswith("Rack: one with mould ") and "about 4 such years of 5" in text
        for text in said
    )


# the chart


def test_gaps_count_sowings_from_find_to_find() -> None:
    """Finds at the 3rd, 4th and 20th sowing: gaps of 1 and 16."""
    year = [batch(day, {0} if day in (2, 3, 19) else NEVER) for day in range(25)]
    chart = gap_chart(year)
    assert [gap.sowings for gap in chart.gaps] == [1, 16]
    assert chart.since_last == 5


def test_a_find_after_a_find_is_within_the_chart() -> None:
    """Mould that clusters does not cry wolf at every second find."""
    chart = gap_chart(year_with(30))
    assert chart.limits is not None
    assert chart.limits.low == 0
    assert not any(gap.outside == "soon" for gap in chart.gaps)


def test_a_long_quiet_time_is_outside() -> None:
    """Two hundred sowings without a find, where one in five was mouldy."""
    year = [
        batch(day, {0} if day % 5 == 0 and day < 600 else NEVER) for day in range(900)
    ]
    year[-1] = batch(899, {0})
    assert gap_chart(year).gaps[-1].outside == "late"


# as a whole


few = st.sampled_from(("", "a", "b", "c"))
any_lots = st.lists(st.builds(Lot, few, few), max_size=2).map(tuple)
measure = st.none() | st.integers(1, 4)
any_tray = st.builds(
    TrayOutcome,
    few,
    st.sampled_from(Outcome),
    rack=few,
    level=few,
    position=st.integers(0, 2),
    line=few,
    wash=few,
    container=few,
    lots=st.none() | any_lots,
)
any_batch = st.builds(
    Batch,
    few,
    st.integers(0, 60).map(lambda day: FIRST + timedelta(day)),
    st.lists(any_tray, max_size=4).map(tuple),
    any_lots,
    st.lists(few, max_size=2).map(tuple),
    measure,
    measure,
    measure,
    measure,
)


@settings(max_examples=60)
@given(st.lists(any_batch, max_size=14))
def test_any_record_gives_an_answer(year: list[Batch]) -> None:
    """However thin or odd the record: every p is a chance, and costs something."""
    causes = find_causes(year, with_people=True)
    assert all(0 < one.p <= one.corrected_p <= 1 for one in causes.ranked)
    assert all(0 <= one.found <= one.borne for one in causes.ranked)


def test_nothing_heavy_is_imported() -> None:
    """The search is plain Python: starting it costs no numeric library."""
    probe = (
        "import sys, hygiene.tracing.causes; "
        "print([m for m in ('numpy', 'scipy', 'statistics', 'sqlite3') "
        "if m in sys.modules])"
    )
    shown = subprocess.run(
        [sys.executable, "-c", probe], capture_output=True, text=True, check=True
    )
    assert shown.stdout.strip() == "[]"


@pytest.fixture(scope="module")
def benchmark() -> ModuleType:
    """The simulator of tests/benchmarks, whose big counts are run by hand."""
    path = Path(__file__).parents[1] / "benchmarks" / "causes.py"
    spec = importlib.util.spec_from_file_location("simulated_farms", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    "name",
    ["flat", "season", "three-week hot spell", "carry-over from the last find"],
)
def test_farms_without_a_cause_stay_silent(benchmark: ModuleType, name: str) -> None:
    """A seeded share of the benchmark: no alarm in two years of each sort."""
    tally, _ = benchmark.run(benchmark.BARS[name], 2, seed=40)
    assert tally.alarms == 0


def test_a_planted_rack_is_ranked_first(benchmark: ModuleType) -> None:
    """A seeded share of the benchmark: a rack at four times the rate."""
    tally, _ = benchmark.run(benchmark.Farm(planted="rack", times=4), 2, seed=41)
    assert tally.first == 2


def test_a_planted_tray_is_ranked_first(benchmark: ModuleType) -> None:
    """A seeded share of the benchmark: a tray at fifteen times the rate."""
    tally, _ = benchmark.run(benchmark.Farm(planted="tray", times=15), 2, seed=42)
    assert tally.first == 2
