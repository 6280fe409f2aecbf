"""The demonstration's record, built once: its last weeks, and a stretch of its summer.

The last weeks are those that ``hygiene demo`` makes and shows. Both are only read; who
writes takes a copy.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from shutil import copytree

import pytest
from parts_of_a_year import DAYS, UNTIL, Part, Shown, opened, part, ran

from hygiene.cli.world import World


@pytest.fixture(scope="session")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """What the command left behind, and what it printed."""
    home = tmp_path_factory.mktemp("demo")
    world = World(now=lambda: UNTIL, environ={"HYGIENE_KEYS": str(home / "keys")})
    words = ["demo", str(home / "out"), "--days", str(DAYS)]
    return Shown(home, ran(words, world), world)


@pytest.fixture
def mine(shown: Shown, tmp_path: Path) -> Shown:
    """A copy of it, with its keys, to write in."""
    home = copytree(shown.home, tmp_path / "demo")
    keys = {"HYGIENE_KEYS": str(home / "keys")}
    return Shown(home, shown.result, shown.world._replace(environ=keys))


@pytest.fixture(scope="session")
def recent(shown: Shown) -> Iterator[Part]:
    """The last forty-five days."""
    yield from opened(shown.record)


@pytest.fixture(scope="session")
def summer(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Part]:
    """From before the worker's training ends to after the stop."""
    yield from part(tmp_path_factory.mktemp("summer"), 54, stops_before=125)
