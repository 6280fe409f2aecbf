"""Jugs, syringes, scales and labels."""

from __future__ import annotations

import pytest

from hygiene.errors import Refused, WronglyPut
from hygiene.sanitising.measuring import Label, Tool, read_tool


@pytest.mark.parametrize(
    ("text", "tool"),
    [
        ("100 ml jug, 10 ml marks", Tool("jug", 100.0, 10.0, "ml")),
        ("1 L jug, 50 ml marks", Tool("jug", 1000.0, 50.0, "ml")),
        ("10ml syringe, 0.5ml marks", Tool("syringe", 10.0, 0.5, "ml")),
        ("2 kg kitchen scale, 1 g marks", Tool("kitchen scale", 2000.0, 1.0, "g")),
        ("100 ml, 10 ml mark", Tool("jug", 100.0, 10.0, "ml")),
    ],
)  # fmt: skip
def test_tools_are_read(text: str, tool: Tool):
    """What it holds, its name, its marks."""
    read = read_tool(text)
    assert (tool.name, tool.unit) == (read.name, read.unit)
    assert tool.holds == pytest.approx(read.holds)
    assert tool.mark == pytest.approx(read.mark)


@pytest.mark.parametrize(
    "text",
    ["jug", "100 ml jug", "100 ml jug, 200 ml marks", "100 ml jug, marks", ", marks",
     "0 ml jug, 1 ml marks", "100 ml jug, 1 kg marks", "nan ml jug, 1 ml marks"],
)  # fmt: skip
def test_what_is_no_tool_is_refused(text: str):
    """A tool has a size, and marks that are no wider."""
    with pytest.raises(WronglyPut):
        read_tool(text)


def test_an_amount_is_rounded_up_to_a_mark():
    """Never weaker than asked; an amount on its mark stays there."""
    jug = read_tool("100 ml jug, 10 ml marks")
    assert jug.round_up(96) == pytest.approx(100)
    assert jug.round_up(90) == pytest.approx(90)


def test_each_filling_may_be_misread_by_half_a_mark():
    """240 ml in a 100 ml jug is three fillings."""
    jug = read_tool("100 ml jug, 10 ml marks")
    assert jug.fillings(240) == 3
    assert jug.error(240) == pytest.approx(15)


def test_a_jug_does_not_weigh():
    """A powder wants a scale, a liquid wants a jug."""
    with pytest.raises(WronglyPut, match="scale"):
        read_tool("100 ml jug, 10 ml marks").fits("g")
    with pytest.raises(WronglyPut, match="jug"):
        read_tool("500 g scale, 1 g marks").fits("ml")


def test_a_strength_outside_the_label_is_refused():
    """The label governs: below its minimum and above its maximum."""
    label = Label(100, 200)
    label.check(100)
    label.check(200)
    for target in (99, 201):
        with pytest.raises(Refused):
            label.check(target)


def test_a_label_upside_down_is_refused():
    """A minimum above the maximum cannot be true."""
    with pytest.raises(WronglyPut):
        Label(200, 100)
