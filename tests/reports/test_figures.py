"""The figure of a trend: every sign by its shape, and a text in its place."""

from __future__ import annotations

import re
from collections import Counter
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

import pytest

from hygiene.reports.figures import KEY, Figure, trend_figure
from hygiene.water.trend import Bound, Changed, Reading, Trend

START = datetime(2026, 1, 5, 8, tzinfo=UTC)


def reading(
    week: int,
    value: float | None,
    sign: str = "=",
    verdict: str | None = "within",
    *,
    trusted: bool = True,
) -> Reading:
    at = START + timedelta(weeks=week)
    return Reading(at, value, sign, f"{value}", "mg/L", verdict, trusted, "shed/1")


def drawn(*history: Reading, **more: object) -> Figure:
    made = Trend("P1", "Last nozzle", "free", "free chlorine", "mg/L", False, history,
                 (), (), None)  # fmt: skip
    return trend_figure(made._replace(**more))


def count(figure: Figure, tag: str, **attributes: str) -> int:
    tree = ElementTree.fromstring(figure.svg)
    return sum(
        all(element.get(k.replace("_", "-")) == v for k, v in attributes.items())
        for element in tree.iter(f"{{http://www.w3.org/2000/svg}}{tag}")
    )


def paths(figure: Figure) -> list[str]:
    return re.findall(r'<path d="([^"]*)"', figure.svg)


def signs(figure: Figure) -> dict[str, int]:
    """How many signs of each shape there are; alike ones are one path."""
    shapes = {"h0.01": "dot", "H": "triangle", "v": "square", "a": "ring"}
    made: Counter[str] = Counter()
    for path in paths(figure):
        for part in path.split("M")[1:]:
            made.update(name for mark, name in shapes.items() if mark in part)
    return dict(made)


def test_each_reading_has_one_sign() -> None:
    """A dot within, a square out of limit, a triangle where it is censored."""
    figure = drawn(
        reading(0, 0.5),
        reading(1, 0.6),
        reading(2, 1.4, verdict="over"),
        reading(3, 0.1, "<"),
        reading(4, 2.0, ">", "over"),
    )
    assert signs(figure) == {"dot": 2, "square": 1, "triangle": 2}


def test_less_than_points_down_and_more_than_up() -> None:
    """The tip lies below its base, or above it."""
    for sign, falls in (("<", True), (">", False)):
        (path,) = paths(drawn(reading(0, 1, sign)))
        base, tip = re.fullmatch(
            r"M[\d.]+ ([\d.]+)H[\d.]+L[\d.]+ ([\d.]+)Z", path
        ).groups()  # type: ignore[union-attr]
        assert (float(tip) > float(base)) is falls


def test_what_is_not_relied_on_is_open_and_questioned() -> None:
    """It is seen, and seen to be doubtful."""
    figure = drawn(reading(0, 0.5), reading(1, 0.6, trusted=False))
    assert signs(figure) == {"dot": 1, "ring": 1}
    assert ">?</text>" in figure.svg


def test_limits_and_changes_of_the_sanitiser_are_drawn() -> None:
    """Dashed and dotted, each with its words."""
    figure = drawn(
        reading(0, 0.5),
        reading(9, 0.6),
        bounds=(Bound(1.0, True, "x"), Bound(0.2, False, "x")),
        changes=(Changed(START + timedelta(weeks=3), "hypo", "peracid", "shed/4"),),
    )
    assert count(figure, "line", stroke_dasharray="6 3") == 2
    assert count(figure, "line", stroke_dasharray="1.5 3") == 1
    for text in ("1 at most", "0.2 at least", "A hypo → peracid"):
        assert f">{text}</text>" in figure.svg


def test_a_limit_far_above_is_left_to_the_words() -> None:
    """It would press the readings flat."""
    figure = drawn(reading(0, 0.5), bounds=(Bound(50.0, True, "x"),))
    assert count(figure, "line", stroke_dasharray="6 3") == 0
    assert "limit 50 mg/L at most" in figure.alternative


def test_the_alternative_is_the_trend_in_words() -> None:
    """And stands in the drawing as its description."""
    figure = drawn(reading(0, 0.5), reading(1, 0.6))
    assert "2 readings from 5 Jan 2026 to 12 Jan 2026" in figure.alternative
    assert figure.alternative in figure.svg


def test_markup_in_names_breaks_nothing() -> None:
    """A point may be called whatever the farm likes."""
    figure = drawn(reading(0, 0.5), point="<P&1>", name='"free" & <b>')
    ElementTree.fromstring(figure.svg)
    assert "<b>" not in figure.svg


@pytest.mark.parametrize(
    "history",
    [
        (reading(0, 0.0),),
        (reading(0, None, "not detected"),),
        (reading(0, None, "too many"), reading(1, 3.0)),
        (reading(0, 1e6), reading(0, 1e-6)),
    ],
)
def test_odd_histories_are_drawn_within_the_frame(history: tuple[Reading, ...]) -> None:
    """One reading, none with a number, all on one moment, far apart."""
    figure = drawn(*history, counted=True)
    ElementTree.fromstring(figure.svg)
    for value in re.findall(r'(?:cx|cy|x1|y1|x2|y2)="([-\d.]+)"', figure.svg):
        assert 0 <= float(value) <= 680


def test_the_same_trend_gives_the_same_bytes() -> None:
    """Nothing of a clock or of chance is in it."""
    assert drawn(reading(0, 0.5)).svg == drawn(reading(0, 0.5)).svg


def test_the_key_names_every_sign() -> None:
    """A reader of paper has nobody to ask."""
    for word in ("Dot", "Square", "Triangle", "filled", "Dashed", "Dotted", "question"):
        assert word in KEY
