"""What ``calc`` refuses: the exit code, one clear line, and never a number."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

Run = Callable[..., Any]

STOCK = ("--stock", "125 g/L")
TO = ("--to", "200")
MAKE = ("--make", "60 L")
AGED = ("strength", *STOCK, "--made", "2026-01-01", "--kept-at", "21 C")


@pytest.mark.parametrize(
    "words",
    [
        ("dilute", "--stock", "12.5 %", *TO, *MAKE),
        ("dilute", "--stock", "10.8 % w/w", *TO, *MAKE),
        ("dilute", "--stock", "nan g/L", *TO, *MAKE),
        ("dilute", "--stock", "65 % w/w", "--solid", "--density", "1", *TO, *MAKE),
        ("dilute", *STOCK, "--to", "nan", *MAKE),
        ("dilute", *STOCK, "--to", "inf", *MAKE),
        ("dilute", *STOCK, "--to", "-200", *MAKE),
        ("dilute", *STOCK, "--to", "0.02 %", *MAKE),
        ("dilute", *STOCK, "--to", "130000", *MAKE),
        ("dilute", *STOCK, *TO, "--make", "0 L"),
        ("dilute", *STOCK, *TO, "--make", "-60 L"),
        ("dilute", *STOCK, *TO, "--make", "inf L"),
        ("dilute", *STOCK, *TO, "--make", "60"),
        ("dilute", *STOCK, *TO, "--make", "60 furlongs"),
        ("dilute", *STOCK, *TO, "--make", "16 gal"),
        ("dilute", *STOCK, *TO, "--make", "16 gal", "--gallon", "french"),
        ("dilute", *STOCK, *TO),
        ("dilute", *STOCK, *TO, *MAKE, "--into", "5 L"),
        ("dilute", *STOCK, *TO, "--into", "5 L", "--two-step"),
        ("dilute", *STOCK, *TO, *MAKE, "--background", "200"),
        ("dilute", *STOCK, *TO, *MAKE, "--density", "1160"),
        ("dilute", *STOCK, *TO, *MAKE, "--active", "vinegar"),
        ("dilute", *STOCK, *TO, *MAKE, "--measure", "a jug"),
        ("dilute", *STOCK, *TO, *MAKE, "--measure", "500 g scale, 1 g marks"),
        ("dilute", *STOCK, *TO, *MAKE, "--product-min", "9", "--product-max", "5"),
        ("card", "--stock", "12 %", *TO, *MAKE),
        (*AGED, "--used", "2025-12-31"),
        (*AGED, "--used", "2026-02-30"),
        (*AGED, "--used", "soon"),
        (*AGED, "--used", "2026-02-01", "--safety", "0.5"),
        (*AGED, "--used", "2026-02-01", "--measured", "100 g/L"),
        ("strength", *STOCK, "--made", "2026-01-01", "--used", "2026-02-01"),
        ("strength", *STOCK, "--used", "2026-02-01"),
        ("strength", "--stock", "125 g/L", "--active", "quat", "--made", "2026-01-01",
         "--used", "2026-02-01", "--kept-at", "20 C"),
        ("active", "--ph", "3", "--temp", "20 C"),
        ("active", "--ph", "15", "--temp", "20 C"),
        ("active", "--ph", "nan", "--temp", "20 C"),
        ("active", "--ph", "7", "--temp", "20"),
        ("active", "--ph", "7", "--temp", "-3 C"),
        ("active", "--ph", "7", "--temp", "20 C", "--cyanurate"),
        ("line", *STOCK, *TO),
        ("line", *STOCK, *TO, "--pipe", "25 x 40"),
        ("line", *STOCK, *TO, "--pipe", "25mm x 40m", "--flow", "0 L/min"),
        ("inject", *STOCK, "--to", "5"),
        ("inject", *STOCK, "--flow", "5 L/min"),
        ("inject", *STOCK, "--flow", "5 gpm", "--to", "5"),
        ("inject", *STOCK, "--flow", "5 L/min", "--to", "5", "--ratio", "1/100"),
        ("inject", *STOCK, "--flow", "5 L/min", "--to", "5", "--season", "5 d"),
        ("inject", "--stock", "65 % w/w", "--solid", "--flow", "5 L/min", "--to", "5"),
        ("neutralise", "--volume", "100 L", "--free", "1000", "--with", "thiosulfate"),
        ("neutralise", "--volume", "100 L", "--free", "0", "--with", "thiosulfate"),
        ("neutralise", "--volume", "100 L", "--free", "50", "--with", "vinegar"),
    ],
)  # fmt: skip
def test_exit_2_and_one_line(run: Run, words: tuple[str, ...]):
    """A value that cannot be true or could mean two things gives no number."""
    result = run("calc", *words, "--json")
    assert result.exit_code == 2
    assert result.stdout == ""
    said = result.stderr.splitlines()
    assert said[0].startswith("hygiene: ")
    assert len(said) <= 2


def test_a_plan_against_the_label_is_refused_as_a_plan(run: Run):
    """Exit 5: the label is a rule of safety."""
    result = run("calc", "dilute", *STOCK, *TO, *MAKE, "--product-max", "150")
    assert result.exit_code == 5
    assert "150 mg/L" in result.stderr
    assert result.stdout == ""


def test_an_end_outside_the_label_is_a_finding(run: Run):
    """Exit 3, the answer printed, what is out of limit before the working."""
    result = run(
        "calc", "dilute", *STOCK, *TO, *MAKE, "--product-max", "205",
        "--measure", "100 ml jug, 10 ml marks",
    )  # fmt: skip
    assert result.exit_code == 3
    assert result.stdout.index("Out of limit:") < result.stdout.index("Working:")


def test_chlorate_out_of_limit_is_a_finding(run: Run):
    """An old can at a drinking dose: exit 3."""
    result = run("calc", *AGED, "--used", "2026-08-01", "--to", "5")
    assert result.exit_code == 3
    assert "chlorate" in result.stdout
