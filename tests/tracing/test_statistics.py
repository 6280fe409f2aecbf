"""Exact chances, and the price of asking many questions."""

from __future__ import annotations

import math
from collections import Counter
from itertools import chain, combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.tracing.statistics import (
    Chances,
    Posed,
    added,
    at_least,
    corrected,
    critical,
    doubled_ranks,
    drawn_sum,
    geometric_limits,
    groups_asked,
    hypergeometric_tail,
    leaned,
    reachable,
    turned_sum,
)

small = st.lists(st.integers(-3, 5), min_size=1, max_size=7)


def as_chances(sums: list[int]) -> Chances:
    return {key: many / len(sums) for key, many in Counter(sums).items()}


def same(left: Chances, right: Chances) -> bool:
    return left.keys() == right.keys() and all(
        left[key] == pytest.approx(right[key]) for key in left
    )


@settings(max_examples=60)
@given(small, st.data())
def test_every_choice_is_as_likely(values: list[int], data: st.DataObject) -> None:
    """The sum of drawn values has the chances of all choices counted one by one."""
    drawn = data.draw(st.integers(0, len(values)))
    counted = [sum(choice) for choice in combinations(values, drawn)]
    assert same(as_chances(counted), drawn_sum(values, drawn))


@settings(max_examples=60)
@given(small, st.data())
def test_every_turn_is_as_likely(scores: list[int], data: st.DataObject) -> None:
    """The marks are turned round the ring; each turn counts once."""
    size = len(scores)
    marks = data.draw(st.lists(st.booleans(), min_size=size, max_size=size))
    counted = [
        sum(scores[(at + turn) % size] for at in range(size) if marks[at])
        for turn in range(size)
    ]
    assert same(as_chances(counted), turned_sum(scores, marks))


@settings(max_examples=40)
@given(st.lists(small, min_size=1, max_size=3))
def test_independent_parts_add(rows: list[list[int]]) -> None:
    """The sum of one value from each row, every combination as likely."""
    counted = [sum(combination) for combination in product(*rows)]
    assert same(as_chances(counted), added(as_chances(row) for row in rows))


def test_nothing_added_is_nought() -> None:
    """No part at all leaves the sum at nought, for certain."""
    assert added([]) == {0: 1.0}


def test_tail_holds_the_value_itself() -> None:
    """The one-sided p is the chance of the value found or more, not of more only."""
    assert at_least({0: 0.5, 1: 0.3, 2: 0.2}, 1) == pytest.approx(0.5)


@given(st.lists(st.integers(0, 12), min_size=1, max_size=30), st.floats(0.001, 0.9))
def test_critical_is_the_first_sum_within_the_level(
    sums: list[int], level: float
) -> None:
    """At the critical sum p is within the level; one sum lower it is not."""
    chances = as_chances(sums)
    bar = critical(chances, level)
    within = [key for key in chances if at_least(chances, key) <= level * (1 - 1e-9)]
    if within:
        assert bar is not None
        assert bar <= min(within)
    if bar is not None:
        assert at_least(chances, bar) <= level * (1 + 1e-9)


def test_hypergeometric_tail_of_eight_in_one_lot() -> None:
    """All of 8 mouldy among 14 and 14: C(14,8) of C(28,8) = 3003 of 3108105."""
    assert hypergeometric_tail(8, 14, 8, 28) == pytest.approx(3003 / 3_108_105)


def test_no_lean_changes_nothing() -> None:
    """Once as likely is as likely."""
    chances = drawn_sum([1, 1, 0, 0, 0], 2)
    assert same(chances, leaned(chances, 1, 1))


def test_ties_share_their_middle_rank() -> None:
    """Twice the rank: 10, 20, 20, 30 rank 1, 2.5, 2.5, 4."""
    assert doubled_ranks([20, 10, 30, 20]) == [5, 2, 8, 5]


def posed(
    group: str, chances: Chances, value: int | None = None, share: float = 1
) -> Posed:
    value = max(chances) if value is None else value
    return Posed(group, share, at_least(chances, value), reachable(chances))


EIGHT = drawn_sum([1, 1, 1, 1, 0, 0, 0, 0], 4)
SIX = drawn_sum([1, 1, 1, 0, 0, 0], 3)
HOPELESS: Chances = {0: 0.5, 1: 0.5}


def test_one_question_costs_nothing() -> None:
    """Asked alone, a question keeps its p."""
    one = posed("lot", EIGHT)
    assert corrected([one]) == pytest.approx([1 / 70])


def test_two_groups_share_the_level() -> None:
    """A question of its own group doubles p; once shown, it leaves the other alone."""
    low, high = posed("lot", EIGHT), posed("rack", SIX)
    assert corrected([low, high]) == pytest.approx([2 / 70, 1 / 20])


def test_a_question_costs_only_what_it_could_reach() -> None:
    """Inside a group, one that cannot get as low as this p adds nothing to it."""
    one, other = posed("lot", EIGHT), posed("lot", HOPELESS)
    assert corrected([one, other])[0] == pytest.approx(1 / 70)


def test_a_larger_share_costs_less() -> None:
    """With three parts of four, p is multiplied by four thirds."""
    lot, rack = posed("lot", EIGHT, share=3), posed("rack", HOPELESS, 0)
    assert corrected([lot, rack])[0] == pytest.approx(4 / 3 / 70)


def test_a_group_that_could_never_reach_significance_is_not_asked() -> None:
    """Tarone: what cannot come below the level, whatever it shows, costs nothing."""
    asked = groups_asked([posed("lot", EIGHT), posed("wash", HOPELESS)], 0.05)
    assert asked == {"lot": 0.05}


def test_groups_that_could_share_the_level() -> None:
    """Two that both could reach half the level get half each."""
    asked = groups_asked([posed("lot", EIGHT), posed("rack", EIGHT)], 0.05)
    assert asked == {"lot": 0.025, "rack": 0.025}


def closed_test(questions: list[Posed]) -> list[float]:
    """The closure principle itself: a question is shown once every set that holds it
    is, and a set by the cheapest of its members, as the sets' members cost then."""
    ps = [0.0] * len(questions)
    every = range(len(questions))
    subsets = chain.from_iterable(combinations(every, n + 1) for n in every)
    for subset in subsets:
        shares = {questions[i].group: questions[i].share for i in subset}
        cheapest = min(
            sum(
                questions[j].chance_within(questions[i].p)
                for j in subset
                if questions[j].group == questions[i].group
            )
            * sum(shares.values())
            / questions[i].share
            for i in subset
        )
        for i in subset:
            ps[i] = max(ps[i], min(1.0, cheapest))
    return ps


tables = st.builds(
    drawn_sum, st.lists(st.integers(0, 1), min_size=4, max_size=12), st.integers(1, 4)
)


@settings(max_examples=80)
@given(
    st.lists(st.tuples(st.sampled_from("ab"), tables, st.randoms()), max_size=5),
    st.sampled_from([1, 3]),
)
def test_correction_is_the_closure_of_its_sets(
    asked: list[tuple[str, Chances, object]], share: float
) -> None:
    """Stepping down gives what testing every set of questions gives."""
    questions = [
        posed(
            group, chances, draw.choice(sorted(chances)), share if group == "a" else 1
        )
        for group, chances, draw in asked
    ]
    assert closed_test(questions) == pytest.approx(corrected(questions))


def test_false_alarms_stay_within_the_level() -> None:
    """Every outcome of four questions without cause, weighed: at most 5 % alarm."""
    asked = [
        ("lot", EIGHT, 3),
        ("lot", SIX, 3),
        ("rack", EIGHT, 1),
        ("rack", drawn_sum([1, 1, 0, 0, 0, 0, 0, 0], 4), 1),
    ]
    alarm = 0.0
    for values in product(*(chances for _, chances, _ in asked)):
        chance = math.prod(c[v] for (_, c, _), v in zip(asked, values, strict=True))
        questions = [
            posed(group, chances, value, share)
            for (group, chances, share), value in zip(asked, values, strict=True)
        ]
        kept = groups_asked(questions, 0.05)
        questions = [one for one in questions if one.group in kept]
        alarm += chance if min(corrected(questions)) <= 0.05 else 0.0
    assert 0.0 < alarm <= 0.05


@pytest.mark.parametrize("rate", [0.004, 0.02, 0.08, 0.3])
def test_a_gap_beyond_a_limit_is_as_rare_as_said(rate: float) -> None:
    """Beyond each limit at most the tail; one step inside, more than it."""
    low, _, high = geometric_limits(rate, tail=0.01)
    assert (1 - rate) ** high <= 0.01 < (1 - rate) ** (high - 1)
    assert 1 - (1 - rate) ** max(low - 1, 0) <= 0.01 < 1 - (1 - rate) ** max(low, 1)


def test_at_the_usual_rate_no_gap_is_too_short() -> None:
    """At 8 % two finds in a row are no signal, so there is no lower limit."""
    assert geometric_limits(0.08).low == 0


def test_half_the_gaps_are_within_the_centre() -> None:
    """At 50 % the middle gap is the first sowing itself."""
    assert geometric_limits(0.5).centre == 1
