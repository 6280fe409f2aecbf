"""A lineage as a drawing for a page: material flows from left to right.

Every sign is a shape, a word or a kind of line, never a colour, so that a copy in black
and white loses nothing. The text in its place tells every link.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final, NamedTuple
from xml.sax.saxutils import escape

from hygiene.reports.figures import Figure
from hygiene.reports.words import short
from hygiene.tracing.lineage import Link, Node

COLUMNS: Final = (
    ("supplier",),
    ("container",),
    ("lot", "dose", "line"),
    ("batch",),
    ("animals", "buyer", "waste", "sample"),
    ("produce",),
)
"""What stands in which column, from the seller to the milk."""
WIDTH: Final = 176.0
"""Of the drawing, in millimetres: a page between its margins."""
BOX: Final = 8.6
GAP: Final = 3.4
HALL: Final = 11.0
"""Between two columns, where the links run."""
TOP: Final = 1.0
MOST: Final = 15
"""Boxes in a column; a lineage with more is told by the tables alone."""
INK: Final = "#1d1d1b"
QUIET: Final = "#777"
LETTER: Final = 1.18
"""How wide a letter is as a rule, in millimetres, at the smaller size."""


class Label(NamedTuple):
    """What a box says: its name, a line beneath, and how it is drawn.

    ``mark`` stands before the name where there is something to know; ``open`` is drawn
    with a broken line (it still grows); ``heavy`` with a thick one (held, or mould).
    """

    name: str
    beneath: str = ""
    mark: str = ""
    open: bool = False
    heavy: bool = False


class Step(NamedTuple):
    """All links between two boxes as one: how, and how much together."""

    source: Node
    target: Node
    how: str
    grams: int
    stands: bool


def lineage_figure(
    links: Iterable[Link], labels: Mapping[Node, Label], words: Sequence[str]
) -> Figure | None:
    """Draw links; None where there are none, or more boxes than a page can hold.

    ``words`` tell each of them, and stand in place of the drawing.
    """
    steps = _together(links)
    nodes = list(dict.fromkeys(n for step in steps for n in (step.source, step.target)))
    columns = [[n for n in nodes if n.sort in sorts] for sorts in COLUMNS]
    columns = [column for column in columns if column]
    if not columns or max(map(len, columns)) > MOST:
        return None
    drawing = _Drawing(columns, steps, labels)
    text = " ".join(words)
    return Figure(
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDTH:g}mm" '
        f'height="{drawing.height:g}mm" viewBox="0 0 {WIDTH:g} {drawing.height:g}" '
        'font-family="DejaVu Sans Condensed, DejaVu Sans, sans-serif" '
        f'fill="{INK}"><title>Lineage</title><desc>{escape(text)}</desc>'
        f"{''.join(drawing.parts())}</svg>",
        text,
    )


def _together(links: Iterable[Link]) -> list[Step]:
    made: dict[tuple[Node, Node], Step] = {}
    for link in links:
        key = (link.source, link.target)
        before = made.get(key)
        grams = (link.grams or 0) + (before.grams if before else 0)
        stands = link.stands or bool(before and before.stands)
        made[key] = Step(*key, link.how, grams, stands)
    return list(made.values())


def _placed(
    columns: Sequence[Sequence[Node]], steps: Sequence[Step]
) -> dict[Node, float]:
    """How far down each box stands: level with what it is joined to, as far as it can.

    Each column is sorted by that and pushed apart, a few times over.
    """
    joined: dict[Node, list[Node]] = {}
    for step in steps:
        joined.setdefault(step.source, []).append(step.target)
        joined.setdefault(step.target, []).append(step.source)
    down = {node: n * (BOX + GAP) for c in columns for n, node in enumerate(c)}
    for _ in range(6):
        for column in columns:
            wanted = {
                n: sum(down[m] for m in joined[n]) / len(joined[n]) for n in column
            }
            _push_apart(sorted(column, key=wanted.__getitem__), wanted, down)
    least = min(down.values())
    return {node: place - least for node, place in down.items()}


def _push_apart(
    column: Sequence[Node], wanted: Mapping[Node, float], down: dict[Node, float]
) -> None:
    """Boxes of a column in this order, none on another, as a whole where wanted."""
    last = None
    for node in column:
        down[node] = (
            wanted[node] if last is None else max(wanted[node], last + BOX + GAP)
        )
        last = down[node]
    shift = sum(wanted[node] - down[node] for node in column) / len(column)
    for node in column:
        down[node] += shift


def _where(x: float, to_x: float, wanted: float) -> float:
    """How far along a link (0 to 1) its curve has come to ``wanted``, by halving.

    Both handles of the curve lie in the middle of its width.
    """
    low, high = 0.0, 1.0
    for _ in range(20):
        at = (low + high) / 2
        along = 3 * at * (1 - at) * 0.5 + at**3
        low, high = (at, high) if x + (to_x - x) * along < wanted else (low, at)
    return low


class _Drawing:
    def __init__(
        self,
        columns: Sequence[Sequence[Node]],
        steps: Sequence[Step],
        labels: Mapping[Node, Label],
    ) -> None:
        self.steps = steps
        self.labels = labels
        self.wide = (WIDTH - 0.6 - HALL * (len(columns) - 1)) / len(columns)
        down = _placed(columns, steps)
        self.height = 2 * TOP + max(down.values()) + BOX
        self.at: dict[Node, tuple[float, float]] = {}
        for number, column in enumerate(columns):
            x = 0.3 + number * (self.wide + HALL)
            self.at |= {node: (x, TOP + down[node]) for node in column}

    def parts(self) -> Iterator[str]:
        """Every piece of the drawing: the links first, so that boxes stand on them."""
        for step in self.steps:
            yield self._line(step)
        for node in self.at:
            yield from self._box(node)
        for step in self.steps:
            yield self._weight(step)

    def _ends(self, step: Step) -> tuple[float, float, float, float]:
        (left, top), (right, bottom) = self.at[step.source], self.at[step.target]
        return left + self.wide, top + BOX / 2, right, bottom + BOX / 2

    def _line(self, step: Step) -> str:
        x, y, to_x, to_y = self._ends(step)
        bend = (to_x - x) / 2
        broken = "" if step.stands else ' stroke-dasharray="1 0.8"'
        return (
            f'<path d="M{x:.1f} {y:.1f}C{x + bend:.1f} {y:.1f} {to_x - bend:.1f} '
            f'{to_y:.1f} {to_x:.1f} {to_y:.1f}" fill="none" stroke="{QUIET}" '
            f'stroke-width="0.3"{broken}/>'
        )

    def _weight(self, step: Step) -> str:
        """The weight on a white ground, on the line itself, where it enters a box."""
        if not step.grams:
            return ""
        x, y, to_x, to_y = self._ends(step)
        place = _where(x, to_x, to_x - HALL / 2)
        down = y + (to_y - y) * place * place * (3 - 2 * place)
        text = f"{step.grams / 1000:.10g} kg"
        wide = 0.8 + len(text) * 0.95
        middle = to_x - HALL / 2
        return (
            f'<rect x="{middle - wide / 2:.1f}" y="{down - 1.2:.1f}" '
            f'width="{wide:.1f}" height="2.4" fill="#fff"/><text x="{middle:.1f}" '
            f'y="{down + 0.7:.1f}" font-size="2" text-anchor="middle">{text}</text>'
        )

    def _box(self, node: Node) -> Iterator[str]:
        x, y = self.at[node]
        label = self.labels.get(node) or Label(node.code)
        line = 0.7 if label.heavy else 0.25
        broken = ' stroke-dasharray="1.6 0.8"' if label.open else ""
        yield (
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{self.wide:.1f}" height="{BOX}" '
            f'rx="0.8" fill="#fff" stroke="{INK}" stroke-width="{line}"{broken}/>'
        )
        room = int((self.wide - 1.6) / LETTER)
        bold = int(room / 1.24)
        name = short(f"{label.mark} {label.name}".strip(), bold)
        yield (
            f'<text x="{x + 1:.1f}" y="{y + 3.5:.1f}" font-size="2.5" '
            f'font-weight="bold">{escape(name)}</text>'
        )
        beneath = short(label.beneath, room)
        yield (
            f'<text x="{x + 1:.1f}" y="{y + 6.8:.1f}" font-size="2.1">'
            f"{escape(beneath)}</text>"
        )
