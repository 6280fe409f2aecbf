from __future__ import annotations

import json

import pytest

from hygiene.cli.screen import shown, spelled

MOVES = ("\x1b[31m", "\x07", "\x7f", "\x9b", "\u202e", "\u2066", "\0")


@pytest.mark.parametrize("text", MOVES)
def test_what_moves_a_cursor_or_turns_a_line_is_not_shown(text: str) -> None:
    """A sign stands in its place; the letters beside it stay."""
    assert shown(f"a{text}b").startswith("a\ufffd")
    assert shown(f"a{text}b").endswith("b")


@pytest.mark.parametrize("text", ["ü 🐐 £", "شعير", "a\tb\nc", "x" * 10_000])
def test_what_can_be_read_is_shown_as_it_is(text: str) -> None:
    """Every script, in its own direction."""
    assert shown(text) == text


@pytest.mark.parametrize("text", [*MOVES, "ü 🐐", "شعير"])
def test_json_loses_nothing(text: str) -> None:
    """Such a character is spelled out, and read back as itself."""
    told = spelled(json.dumps(text, ensure_ascii=False))
    assert json.loads(told) == text
    assert shown(told) == told
