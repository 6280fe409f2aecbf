"""Every command's own help says what it does, with one example that works."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from typing import Any

import pytest

from hygiene.cli import command
from hygiene.cli.lazy import LazyGroup

EXAMPLE = re.compile(r"Examples?: (hygiene .*?)(?:\n\s*\n|\Z)", re.DOTALL)


def commands(group: Any, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The words of every command, those of groups too."""
    for name in group.table:
        made = group.get_command(None, name)
        words = (*before, name)
        yield from commands(made, words) if isinstance(made, LazyGroup) else [words]


def example(words: tuple[str, ...]) -> list[str]:
    """The words of the example that a command's help gives."""
    made: Any = command
    for word in words:
        made = made.get_command(None, word)
    found = EXAMPLE.search(made.help)
    assert found, f"{words} has no example"
    return shlex.split(found[1])[1:]


ALL = list(commands(command))


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_every_command_has_an_example_of_itself(words: tuple[str, ...]) -> None:
    """The example begins with the command that it is of, and its options exist."""
    given = example(words)
    assert tuple(given[: len(words)]) == words
    made: Any = command
    for word in words:
        made = made.get_command(None, word)
    known = {option for p in made.params for option in (*p.opts, *p.secondary_opts)}
    assert {word for word in given if word.startswith("--")} <= known


@pytest.mark.parametrize("words", [w for w in ALL if w[0] == "calc"], ids=" ".join)
def test_an_example_of_calc_works_as_it_stands(run, words: tuple[str, ...]) -> None:
    """Needs no record; 5 only where the answer is that two things must not meet."""
    made = run(*example(words))
    assert made.exit_code == (5 if words == ("calc", "meet") else 0), made.output
