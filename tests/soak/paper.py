"""Many odd photos, many grids of labels: run by hand, prints what it did.

    python tests/soak/paper.py [PHOTOS] [GRIDS] [SEED]

A photo whose bytes were changed at random is shown, or it is said why not. Labels on a
grid at random are refused, or each of them is read back from the page in grey at 150
dots to the inch (ZXing).
"""

from __future__ import annotations

import io
import random
import sys
import warnings
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import pypdfium2
import zxingcpp
from PIL import Image, ImageDraw

sys.path.insert(0, str(Path(__file__).parents[1]))

from small_farm import build

from hygiene.acts.labelled import Labelled
from hygiene.book.record import Record
from hygiene.kinds.codes import minted, scannable
from hygiene.reports import labels, paper
from hygiene.reports.period import Period
from hygiene.reports.pictures import photo
from hygiene.reports.reading import Reading, read_only

MOMENT = datetime(2026, 3, 2, 7, tzinfo=UTC)
KINDS = ("JPEG", "PNG", "GIF", "TIFF", "WEBP", "BMP")


def whole(chance: random.Random) -> list[bytes]:
    """A picture of each format and of several sorts of points."""
    made = []
    for kind in KINDS:
        for mode in ("RGB", "L", "1"):
            image = Image.effect_noise((90, 60), 40).convert(mode)
            ImageDraw.Draw(image).ellipse((10, 10, 50, 50), fill=0)
            exif = Image.Exif()
            exif[0x0112] = chance.randint(1, 8)
            held = io.BytesIO()
            image.save(held, kind, exif=exif) if kind in (
                "JPEG", "PNG", "WEBP", "TIFF",
            ) and mode != "1" else image.convert("RGB").save(held, kind)  # fmt: skip
            made.append(held.getvalue())
    return made


def photos(many: int, chance: random.Random) -> Counter[str]:
    """How many were shown, and why the others were not."""
    found: Counter[str] = Counter()
    sources = whole(chance)
    for _ in range(many):
        content = bytearray(chance.choice(sources))
        for _ in range(chance.randint(1, 20)):
            content[chance.randrange(len(content))] = chance.randrange(256)
        if chance.random() < 0.2:
            del content[chance.randrange(len(content)) :]
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            made = photo(bytes(content), "x", 300)
        if bool(made.content) == bool(made.why):
            raise AssertionError("neither shown nor said", made.why)
        found[made.why or "shown"] += 1
    return found


def grids(many: int, chance: random.Random, reading: Reading) -> Counter[str]:
    """How many grids were refused; of the others every label was read."""
    found: Counter[str] = Counter()
    for _ in range(many):
        grid = labels.Grid(
            chance.choice(list(labels.PAPERS)),
            chance.randint(1, 8),
            chance.randint(1, 24),
            (chance.uniform(0, 15), chance.uniform(0, 15)),
            (chance.uniform(0, 5), chance.uniform(0, 5)),
        )
        if min(grid.size) <= 0:
            continue
        things = [
            Labelled(code, "tray", "tray")
            for n in range(1, 1 + min(grid.columns * grid.rows, 20))
            for code in [
                chance.choice(
                    (f"T{n:03}", f"BAY-{n:02}.LEFT", minted("lot", "a-k7", n))
                )
            ]
        ]
        try:
            page = labels.page(reading, things, grid)
        except labels.CannotFit:
            found["refused"] += 1
            continue
        made = pypdfium2.PdfDocument(paper.pdf(paper.html("labels", page), MOMENT))
        seen = sorted(
            each.text
            for sheet in made
            for each in zxingcpp.read_barcodes(
                sheet.render(scale=150 / 72).to_pil().convert("L")
            )
        )
        made.close()
        if seen != sorted(scannable(thing.code) for thing in things):
            raise AssertionError(f"not read: {grid}", grid.size, len(seen))
        found["read"] += 1
        found["labels read"] += len(seen)
    return found


def main() -> None:
    """Photos, then grids."""
    many, sheets, seed = (
        int(given)
        for given in [*sys.argv[1:], *("20000", "300", "8")[len(sys.argv) - 1 :]]
    )
    chance = random.Random(seed)
    print(f"{many} photos: {dict(photos(many, chance))}")
    with TemporaryDirectory() as folder:
        farm = build(Path(folder))
        with Record.open(farm.path) as record:
            day = MOMENT.date()
            reading = read_only(record, Period(day, day), MOMENT)
    print(f"{sheets} grids: {dict(grids(sheets, chance, reading))}")


if __name__ == "__main__":
    main()
