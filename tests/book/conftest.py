from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from shed import Shed, rat

from hygiene.kinds.book import Strike
from hygiene.kinds.find import Hold, Mould


@pytest.fixture
def shed(tmp_path: Path, _new: Shed) -> Shed:
    """A new record: its first line opens the book."""
    return _copy(_new, tmp_path)


@pytest.fixture
def busy(tmp_path: Path, _busy: Shed) -> Shed:
    """Ten lines: the opening, finds, a hold, a correction, a strike, a file."""
    return _copy(_busy, tmp_path)


def _copy(made: Shed, folder: Path) -> Shed:
    shutil.copytree(made.path.parent, folder, dirs_exist_ok=True)
    shed = Shed(folder / "farm.db", folder / "keys")
    shed.clock.moment = made.clock.moment
    return shed


@pytest.fixture(scope="session")
def _new(tmp_path_factory: pytest.TempPathFactory) -> Shed:
    return Shed.create(tmp_path_factory.mktemp("new"))


@pytest.fixture(scope="session")
def new_record(_new: Shed) -> Path:
    """The file of a record in which nothing was written yet."""
    return _new.path


@pytest.fixture(scope="session")
def _busy(tmp_path_factory: pytest.TempPathFactory) -> Shed:
    shed = Shed.create(tmp_path_factory.mktemp("busy"))
    (found,) = shed.write(Mould(batch="B-1", rack="R1", trays=("T1", "T2"), colour="é"))
    shed.write(Hold(held="B-1", sort="batch", why="mould", because=found.name))
    shed.write(Mould(batch="B-1", rack="R2"), corrects=found.name, reason="misread")
    (gone,) = shed.write(rat("seed store"))
    shed.write(Strike(struck="pest"), corrects=gone.name, reason="it was a mouse")
    shed.write(*(rat(f"bay {n}") for n in range(4)))
    picture = shed.path.with_name("photo.jpg")
    picture.write_bytes(b"\xff\xd8 a picture" * 40)
    with shed.to_write() as record, record.writing(shed.clock, shed.keys) as book:
        book.attach(picture)
    picture.unlink()
    return shed
