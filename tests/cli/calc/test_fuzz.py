"""A seeded share of the random arguments: no traceback, no number with a refusal."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from typing import Any

from calc_arguments import fault, got_past_the_parser, lines, unknown_metavars

HOW_MANY = 600


def test_every_sort_of_value_has_a_pool():
    """A new option whose values are never plausible would not be tried in earnest."""
    assert unknown_metavars() == set()


def test_random_arguments_end_in_an_answer_or_a_plain_refusal(
    run: Callable[..., Any],
):
    """Whatever is typed: a known exit code, JSON where asked, never a traceback."""
    reached = 0
    for words in lines(7, HOW_MANY):
        result = run("calc", *words)
        assert fault(words, result) is None, shlex.join(words)
        reached += got_past_the_parser(result)
    assert reached > 0.9 * HOW_MANY
