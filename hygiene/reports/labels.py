"""Labels to stick on: a QR code, the code in large letters, its check character.

Any sheet of labels will do, by its ISO paper size and the grid that it has. A grid in
which a code would be too small to scan is refused with the millimetres that it wants.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from hygiene.acts.labelled import Labelled
from hygiene.errors import WronglyPut
from hygiene.kinds.codes import STAR, scannable
from hygiene.reports.frame import Frame, frame_of
from hygiene.reports.qr import LEAST_MODULE_MM, Qr, qr
from hygiene.reports.reading import Reading

PAPERS: Final = {
    "A3": (297, 420), "A4": (210, 297), "A5": (148, 210), "A6": (105, 148),
    "A7": (74, 105), "B4": (250, 353), "B5": (176, 250), "B6": (125, 176),
    "C5": (162, 229), "C6": (114, 162),
}  # fmt: skip
"""ISO 216 and ISO 269, in millimetres: across, and down."""
PAD_MM: Final = 1.0
LEAST_LETTERS_MM: Final = 3.0
"""Letters of a code are at least so high: to be read at arm's length."""
MOST_LETTERS_MM: Final = 13.0
WIDE: Final = 0.66
"""How wide a bold condensed capital is, by the height of the type: measured, rounded
up."""
SMALL_MM: Final = 2.5
HIGH: Final = 0.8
"""How much of a label's height its QR code takes, where the letters stand beside it."""


class CannotFit(WronglyPut):
    """A grid that leaves no room for what must stand on each label."""

    sentence = "{what}"


class Grid(NamedTuple):
    """A sheet of labels, in millimetres; ``margin`` and ``gap``: down, then across."""

    paper: str = "A4"
    columns: int = 3
    rows: int = 8
    margin: tuple[float, float] = (8, 8)
    gap: tuple[float, float] = (2, 2)
    skip: int = 0

    @property
    def size(self) -> tuple[float, float]:
        """One label: across, and down."""
        wide, high = PAPERS[self.paper]
        down, across = self.margin
        return (
            (wide - 2 * across - (self.columns - 1) * self.gap[1]) / self.columns,
            (high - 2 * down - (self.rows - 1) * self.gap[0]) / self.rows,
        )


class Label(NamedTuple):
    """A label where it stands on its page, in millimetres."""

    code: str
    checked: str
    words: str
    svg: str
    left: float
    top: float
    side: float
    beside: bool
    letters: float


class Page(NamedTuple):
    """The sheets as values; ``report_templates/labels.html`` lays them out."""

    frame: Frame
    paper: tuple[int, int]
    wide: float
    high: float
    pad: float
    small: float
    sheets: tuple[tuple[Label, ...], ...]


def page(reading: Reading, things: Sequence[Labelled], grid: Grid) -> Page:
    """The labels on their sheets; raises ``CannotFit``."""
    places = list(_places(grid))
    per_sheet = len(places)
    labels = [
        _label(thing, grid, places[(grid.skip + number) % per_sheet])
        for number, thing in enumerate(things)
    ]
    first = per_sheet - grid.skip % per_sheet
    parts = [labels[:first]]
    parts += [labels[n : n + per_sheet] for n in range(first, len(labels), per_sheet)]
    wide, high = grid.size
    return Page(
        frame=frame_of(reading, "Labels"),
        paper=PAPERS[grid.paper],
        wide=wide,
        high=high,
        pad=PAD_MM,
        small=SMALL_MM,
        sheets=tuple(tuple(part) for part in parts),
    )


def _places(grid: Grid) -> Iterator[tuple[float, float]]:
    wide, high = grid.size
    for row in range(grid.rows):
        for column in range(grid.columns):
            yield (
                grid.margin[1] + column * (wide + grid.gap[1]),
                grid.margin[0] + row * (high + grid.gap[0]),
            )


def _label(thing: Labelled, grid: Grid, place: tuple[float, float]) -> Label:
    code = qr(thing.code)
    side, beside, letters = _room(thing.code, code, grid)
    text = scannable(thing.code).partition(":")[2]
    return Label(
        thing.code,
        text if STAR in text else "",
        thing.words,
        code.svg,
        *place,
        side,
        beside,
        letters,
    )


def _room(code: str, drawn: Qr, grid: Grid) -> tuple[float, bool, float]:
    """The side of the QR code, whether the letters stand beside it, and their height.

    Letters beside it are easier on the eye; under it, where they would be much larger.
    """
    wide, high = (length - 2 * PAD_MM for length in grid.size)
    widest = _letters_wide(code, LEAST_LETTERS_MM)
    side = min(wide - widest - PAD_MM, max(drawn.least_mm, HIGH * high), high)
    room = (wide - side - PAD_MM) / _letters_wide(code, 1)
    beside = side, True, min(room, (high - 2 * SMALL_MM) / 1.2, MOST_LETTERS_MM)
    most = high - LEAST_LETTERS_MM * 1.2 - 1.5 * SMALL_MM
    side = min(wide, most, max(drawn.least_mm, 0.6 * high))
    room = wide / _letters_wide(code, 1)
    tall = (high - side - 1.5 * SMALL_MM) / 1.2
    under = side, False, min(room, tall, MOST_LETTERS_MM)
    ways = [
        way
        for way in (beside, under)
        if way[0] >= drawn.least_mm and way[2] >= LEAST_LETTERS_MM
    ]
    if not ways:
        raise _too_small(code, drawn, grid)
    return max(ways, key=lambda way: way[2] * (1.7 if way[1] else 1))


def _letters_wide(code: str, high: float) -> float:
    return len(code) * WIDE * high


def _too_small(code: str, drawn: Qr, grid: Grid) -> CannotFit:
    wide, high = grid.size
    least = drawn.least_mm
    letters = _letters_wide(code, LEAST_LETTERS_MM)
    return CannotFit(
        what=f"labels of {wide:.1f} by {high:.1f} mm are too small for {code}: its QR "
        f"code needs {least:.1f} mm each way ({drawn.side} modules of "
        f"{LEAST_MODULE_MM} mm, four of them white on each side), and its letters "
        f"{letters:.1f} mm beside it",
        way_out=f"a label of {least + letters + 3 * PAD_MM:.0f} by "
        f"{least + 2 * PAD_MM:.0f} mm will do: --grid COLUMNSxROWS with fewer",
    )
