"""The yield that stands beside a farm's own, as it was published.

Source: the abstract of a trial in Egypt of barley green fodder in a farmer's domestic
room (natural lighting, soaking and irrigation, seeding rates of 4.01, 5.50 and 6.47
kg/m2; 28.0 C, 72.8 % relative humidity): "the conversion factor was about 5.81 times
per kg of barley grains". The abstract was read; the paper was not.
"""

from __future__ import annotations

import re
from decimal import Decimal

from hygiene.tracing.balance import PUBLISHED_KG_PER_KG, YIELD_SOURCE, Fodder


def test_the_figures_are_those_of_the_abstract() -> None:
    """5.81 at 4.01 to 6.47 kg/m2; 28 C; 72.8 rounded to 73 %."""
    numbers = [Decimal(text) for text in re.findall(r"\d+(?:\.\d+)?", YIELD_SOURCE)]
    assert numbers[0] == PUBLISHED_KG_PER_KG == Decimal("5.81")
    assert numbers[1:] == [Decimal("4.01"), Decimal("6.47"), 2, 28, 73]


def test_a_batch_as_in_the_trial_gives_that_figure() -> None:
    """Grams in and out give kilograms a kilogram."""
    assert Fodder("B", 6_000, 34_860).kg_per_kg == PUBLISHED_KG_PER_KG
