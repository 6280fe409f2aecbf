"""How an answer is shown, and what a calculation may import."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest

from hygiene.answers import Answer
from hygiene.cli.calc import COMMANDS
from hygiene.cli.calc.show import json_text, plain_text

Run = Callable[..., Any]

ANSWER = Answer(
    values={"product_ml": 96.0, "rows": (1, 2)},
    says=("Measure 96 ml.",),
    steps=("a step " * 20,),
    source="a rule",
    valid="here",
    warnings=("odd",),
    cautions=("goggles",),
)


def test_what_to_do_comes_first():
    """Then the working, notes, cautions, and the rule last."""
    lines = plain_text(ANSWER).splitlines()
    assert lines[0] == "Measure 96 ml."
    titles = [line for line in lines if line.endswith(":")]
    assert titles == ["Working:", "Note:", "Take care:", "Rule:"]


def test_no_line_is_wider_than_80_columns():
    """It is read in a pipe and on a small screen."""
    assert max(len(line) for line in plain_text(ANSWER).splitlines()) <= 80


def test_a_row_with_columns_is_not_wrapped():
    """A table keeps its shape."""
    row = "make up to" + "  200 mg/L" * 10
    assert row in plain_text(Answer({}, (row,), (), "a rule"))


def test_json_is_one_object():
    """Values, words, and lists for tuples."""
    data = json.loads(json_text(ANSWER))
    assert data["rows"] == [1, 2]
    assert data["cautions"] == ["goggles"]


def test_a_number_that_is_none_is_never_written():
    """NaN is no JSON."""
    with pytest.raises(ValueError, match="JSON"):
        json_text(Answer({"product_ml": float("nan")}, (), (), "a rule"))


def test_a_person_can_redo_the_sum(run: Run):
    """The printed working holds the numbers that were put in."""
    shown = run("calc", "dilute", "--stock", "10.8 % w/w", "--density", "1.16", "--to",
                "200", "--make", "60 L").stdout  # fmt: skip
    assert "10.8 % w/w x 10 x 1.16 kg/L = 125.3 g/L available chlorine" in shown
    assert "product = 60 L x 200 mg/L / 125.3 mg per ml = 95.79 ml" in shown
    assert "Take care:" in shown


def test_the_pipe_warning_is_shown(run: Run):
    """A bare standard size overdoses by half, and the way to write it is told."""
    shown = run("calc", "line", "--stock", "125 g/L", "--to", "50", "--pipe",
                "25mm x 40m").stdout  # fmt: skip
    assert "overdoses by 50%" in " ".join(shown.split())


@pytest.mark.parametrize("name", [entry.name for entry in COMMANDS])
def test_every_calculation_has_its_help(run: Run, name: str):
    """--help works and every option has words."""
    result = run("calc", name, "--help")
    assert result.exit_code == 0
    assert "--json" in result.stdout


def test_a_dilution_imports_nothing_heavy():
    """Start time: only the modules of its own calculation."""
    code = (
        "import sys; from hygiene.cli import command\n"
        "words = ['calc', 'dilute', '--stock', '125 g/L', '--to', '200', '--make', "
        "'60 L']\n"
        "try: command(words, prog_name='hygiene')\n"
        "except SystemExit: pass\n"
        "print('|' + ' '.join(sys.modules))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    loaded = set(ran.stdout.rpartition("|")[2].split())
    heavy = {"weasyprint", "jinja2", "sqlite_utils", "dateutil", "rich", "pydantic",
             "numpy", "scipy", "hygiene.sanitising.ageing", "hygiene.sanitising.lines",
             "hygiene.cli.calc.line", "hygiene.book", "hygiene.sanitising.contact",
             "zoneinfo"}  # fmt: skip
    assert not loaded & heavy
    assert "hygiene.sanitising.dilution" in loaded
