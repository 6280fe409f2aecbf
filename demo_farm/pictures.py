"""The pictures of the README, cut from pages of the invented farm's year.

    python -m demo_farm.pictures

makes the year, its pages and from these every picture in ``demo_farm/pictures``. It
takes a minute, and needs what the tests need (``pip install .[test]``). The pages are
the same every time: the year ends on a fixed morning, and its book has a fixed name.
On another machine other fonts may stand in them.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

import pypdfium2
from PIL import Image, ImageOps

from hygiene.cli import command
from hygiene.cli.world import World

HOME = Path(__file__).with_name("pictures")
MORNING = datetime(2026, 11, 25, 8, 45, tzinfo=ZoneInfo("Europe/London"))
WIDTH = 1000
"""Pixels: what a page of code hosting shows, and a little for a sharp screen."""
COLOURS = 24
LABELS = ("racks", "T001..T020", "--paper", "A4", "--grid", "3x8", "--margin", "8mm")


class Picture(NamedTuple):
    """A part of a page: the first that ``says`` it, between two heights of it."""

    name: str
    pages: str
    says: str = ""
    top: float = 0.02
    bottom: float = 1.0


PICTURES = (
    Picture("day", "day-*.pdf", bottom=0.547),
    Picture("month", "month-*.pdf", bottom=0.9),
    Picture("trace", "trace-*.pdf", bottom=0.54),
    Picture("glance", "pack.pdf", "The period at a glance\n", 0.07, 0.615),
    Picture("clauses", "pack.pdf", "Clause map\n", 0.07, 0.525),
    Picture("labels", "labels.pdf", bottom=0.38),
)


def draw(pages: Path, out: Path) -> list[Path]:
    """Cut every picture from the PDFs in the folder ``pages`` into the folder ``out``.

    ``labels.pdf`` is made there from the record beside them.
    """
    on = ("--record", str(pages / "farm.db"), "--out", str(pages / "labels.pdf"))
    _run(pages, "labels", *LABELS, *on)
    out.mkdir(exist_ok=True)
    return [_draw(picture, pages, out) for picture in PICTURES]


def _draw(picture: Picture, pages: Path, out: Path) -> Path:
    (path,) = pages.glob(picture.pages)
    page = _page(pypdfium2.PdfDocument(path), picture.says)
    drawn = page.render(scale=WIDTH / page.get_width()).to_pil().convert("RGB")
    part = drawn.crop(
        (
            0,
            round(drawn.height * picture.top),
            drawn.width,
            round(drawn.height * picture.bottom),
        )
    )
    made = out / f"{picture.name}.png"
    framed = ImageOps.expand(part, border=1, fill="#999999")
    few = framed.quantize(COLOURS, dither=Image.Dither.NONE)
    few.save(made, optimize=True)
    return made


def _page(document: Any, says: str) -> Any:
    for page in document:
        if says in page.get_textpage().get_text_bounded().replace("\r", ""):
            return page
    raise LookupError(f"no page says {says!r}")


def _run(folder: Path, *words: str) -> None:
    world = World(now=lambda: MORNING, environ={"HYGIENE_KEYS": str(folder / "keys")})
    made = command.main(
        args=list(words), prog_name="hygiene", obj=world, standalone_mode=False
    )
    if made not in (None, 0):
        raise SystemExit(made)


@contextmanager
def _same_names() -> Iterator[None]:
    """A record bears letters drawn by chance: here they are drawn alike every time."""
    chance: Any = secrets
    kept, drawn = (secrets.choice, secrets.token_hex), Random("ostrin fold")
    chance.choice = drawn.choice
    chance.token_hex = lambda count: drawn.randbytes(count).hex()
    try:
        yield
    finally:
        chance.choice, chance.token_hex = kept


def main() -> None:
    """Make the year, its pages, and the pictures."""
    with TemporaryDirectory() as place, _same_names():
        folder = Path(place)
        _run(folder, "demo", str(folder / "out"))
        for made in draw(folder / "out", HOME):
            print(f"{made} ({made.stat().st_size / 1000:.0f} kB)")


if __name__ == "__main__":
    main()
