"""Whatever was written and merged where, in whatever order: the same is read.

A seeded share; the full count is run by hand from tests/soak.
"""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from merging import WORK, Forks, forked, worked


@settings(max_examples=3, derandomize=True)
@given(WORK)
def test_merge_is_idempotent_commutative_and_associative(
    new_record: Path, work: list[tuple[int, int, int]]
) -> None:
    """Of three devices that wrote and merged at will; every record verifies."""
    worked(new_record, work)


@settings(max_examples=3, derandomize=True)
@given(Forks)
def test_a_fork_is_always_found(new_record: Path, fork: tuple[int, int, int]) -> None:
    """However long the two branches are, from either side, and nothing is taken."""
    forked(new_record, *fork)
