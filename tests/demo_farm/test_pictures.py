"""The README's pictures: each is made by one command, from pages of the farm's year."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path
from shutil import copytree

import pytest
from parts_of_a_year import Shown
from PIL import Image, ImageChops, ImageStat

pictures = import_module("demo_farm.pictures")

ROOT = Path(__file__).parents[2]
KEPT = {path.stem: path for path in (ROOT / "demo_farm" / "pictures").glob("*.png")}
MOST_BYTES = 80_000


@pytest.fixture(scope="module")
def drawn(shown: Shown, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """What the command draws, of the last weeks instead of the year."""
    home = tmp_path_factory.mktemp("pictures")
    pages = copytree(shown.folder, home / "out")
    made = pictures.draw(pages, home / "pictures")
    return {path.stem: path for path in made}


def test_the_readme_shows_every_picture_and_no_other() -> None:
    """What it names is there, and what is there is named."""
    named = re.findall(r"\]\((\S+\.png)\)", (ROOT / "README.md").read_text("utf-8"))
    assert {ROOT / path for path in named} == set(KEPT.values())
    assert set(KEPT) == {picture.name for picture in pictures.PICTURES}


def test_the_command_makes_them(drawn: dict[str, Path]) -> None:
    """Every one as large as the kept one, small, and with something on it."""
    assert set(drawn) == set(KEPT)
    for name, path in drawn.items():
        with Image.open(path) as made, Image.open(KEPT[name]) as kept:
            assert (made.format, made.mode, made.size) == ("PNG", "P", kept.size)
            assert len(made.getcolors() or ()) > 8
        assert max(path.stat().st_size, KEPT[name].stat().st_size) < MOST_BYTES


def test_the_kept_ones_were_made_by_it(drawn: dict[str, Path]) -> None:
    """The labels hang on no day and no chance: only the fonts may differ."""
    with Image.open(drawn["labels"]) as made, Image.open(KEPT["labels"]) as kept:
        apart = ImageChops.difference(made.convert("L"), kept.convert("L"))
    assert ImageStat.Stat(apart).mean[0] < 10
