"""What every test may use: the program run in this process, with a clock of its own."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
import typer.testing
from dose_farm import DoseFarm, build_doses
from hypothesis import HealthCheck, settings
from small_farm import SmallFarm, build
from sprout_farm import SproutFarm, build_sprouts
from typer.testing import CliRunner, Result
from water_shed import build_watered

from hygiene.cli import command
from hygiene.cli.world import World

# no test is timed: a machine that is busy fails none (a rule of a property does)
settings.register_profile(
    "untimed",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    max_examples=25,
)
# by hand: pytest --hypothesis-profile soak
settings.register_profile("soak", settings.get_profile("untimed"), max_examples=1000)
settings.load_profile("untimed")

Run = Callable[..., Result]


@pytest.fixture
def world(tmp_path: Path) -> World:
    """No terminal, no record but ``tmp_path/farm.db``, keys in ``tmp_path/keys``."""
    return World(
        environ={
            "HYGIENE_RECORD": str(tmp_path / "farm.db"),
            "HYGIENE_KEYS": str(tmp_path / "keys"),
        }
    )


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, world: World) -> Run:
    """Run ``hygiene WORD ...``; ``world=`` gives it a clock and an environment."""
    # typer's runner takes a Typer app; ours is the finished command already
    monkeypatch.setattr(typer.testing, "_get_command", lambda made: made)

    standing = world

    def invoke(*words: object, world: World | None = None, given: str | None = None):
        return CliRunner().invoke(
            command, [str(word) for word in words], obj=world or standing, input=given
        )

    return invoke


@pytest.fixture
def shed(tmp_path: Path) -> SmallFarm:
    """A small farm's record in ``tmp_path``, with a clock that the test moves."""
    return build(tmp_path)


@pytest.fixture(scope="session")
def built_sprouts(tmp_path_factory: pytest.TempPathFactory) -> SproutFarm:
    """Built once: every line of a set-up is written through to the disk."""
    return build_sprouts(tmp_path_factory.mktemp("sprouts"))


@pytest.fixture
def sprouts(tmp_path: Path, built_sprouts: SproutFarm) -> SproutFarm:
    """A small shed that sprouts, in ``tmp_path``, with a clock that the test moves."""
    shutil.copytree(built_sprouts.folder, tmp_path, dirs_exist_ok=True)
    return replace(built_sprouts, folder=tmp_path)


@pytest.fixture(scope="session")
def built_doses(tmp_path_factory: pytest.TempPathFactory) -> DoseFarm:
    return build_doses(tmp_path_factory.mktemp("doses"))


@pytest.fixture
def doses(tmp_path: Path, built_doses: DoseFarm) -> DoseFarm:
    """The sprouting shed with its chemical store, kits and tools."""
    shutil.copytree(built_doses.folder, tmp_path, dirs_exist_ok=True)
    return replace(built_doses, folder=tmp_path)


@pytest.fixture(scope="session")
def built_water(tmp_path_factory: pytest.TempPathFactory) -> SmallFarm:
    return build_watered(tmp_path_factory.mktemp("watered"))


@pytest.fixture
def watered(tmp_path: Path, built_water: SmallFarm) -> SmallFarm:
    """The small farm with two water lines, three sample points and two kits."""
    shutil.copytree(built_water.folder, tmp_path, dirs_exist_ok=True)
    return replace(built_water, folder=tmp_path)
