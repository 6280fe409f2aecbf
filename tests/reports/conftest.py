from __future__ import annotations

from pathlib import Path
from shutil import copytree

import pytest
from dose_farm import DoseFarm
from farm_of_reports import DAY, DEEP, WALK, WASH, Shed, eventful, read
from log_farm import LogFarm, spring
from logs_farm import HOSTILE, LONG, PLAIN, lived

from hygiene.reports.period import month_of
from hygiene.reports.reading import Reading


@pytest.fixture(autouse=True)
def quiet(caplog: pytest.LogCaptureFixture):
    """The layout engine only warns of bad styles, so a word on its log is a fault."""
    yield
    said = [r.getMessage() for r in caplog.get_records("call")]
    assert said == []


@pytest.fixture(scope="session")
def empty_shed(tmp_path_factory: pytest.TempPathFactory) -> Shed:
    made = Shed(tmp_path_factory.mktemp("shed"))
    made.set_up(WALK, WASH, DEEP)
    return made


@pytest.fixture
def shed(empty_shed: Shed, tmp_path: Path) -> Shed:
    """A farm with a walk-round, a tray wash and a weekly clean, and nothing written.

    It is a copy: making a record waits for the disk several times.
    """
    folder = tmp_path / "shed"
    copytree(empty_shed.path.parent, folder)
    return Shed(folder, there=True)


@pytest.fixture(scope="session")
def busy(tmp_path_factory: pytest.TempPathFactory) -> Shed:
    """A demonstration's March with every kind of trouble on the 25th; only read it."""
    return eventful(tmp_path_factory.mktemp("busy"))


@pytest.fixture(scope="session")
def busy_day(busy: Shed) -> Reading:
    return read(busy)


@pytest.fixture(scope="session")
def busy_month(busy: Shed) -> Reading:
    return read(busy, *month_of(DAY))


@pytest.fixture(scope="session")
def sprung(tmp_path_factory: pytest.TempPathFactory) -> LogFarm:
    """A March of dosing, water and feeding with trouble of every sort; only read it."""
    return spring(tmp_path_factory.mktemp("sprung"))


@pytest.fixture(scope="session")
def plain(tmp_path_factory: pytest.TempPathFactory, built_doses: DoseFarm) -> LogFarm:
    """A March with something for each log; only read it."""
    return lived(tmp_path_factory.mktemp("plain"), built_doses, PLAIN, PLAIN)


@pytest.fixture(scope="session")
def hostile(tmp_path_factory: pytest.TempPathFactory, built_doses: DoseFarm) -> LogFarm:
    """The same March with markup, turns of direction, addresses and 10,000 letters."""
    return lived(tmp_path_factory.mktemp("hostile"), built_doses, HOSTILE, LONG)
