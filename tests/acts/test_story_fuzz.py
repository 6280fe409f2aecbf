"""A few stories at random; many are told by tests/soak/fuzz_story.py."""

from __future__ import annotations

import pytest
from sprout_farm import SproutFarm
from story_acts import Story


@pytest.mark.parametrize("number", range(3))
def test_nothing_but_a_release_loosens(sprouts: SproutFarm, number: int) -> None:
    """Mouldy or held is never feedable, holds end by release, trays balance."""
    story = Story(sprouts, number)
    story.go(40)
    assert story.refused < 40
