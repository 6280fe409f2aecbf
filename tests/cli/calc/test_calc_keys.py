"""The JSON keys of ``calc`` that stay put, with the values they should have."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

Run = Callable[..., Any]

DILUTE = ("dilute", "--stock", "125 g/L", "--to", "200", "--make", "60 L")
LINE = ("line", "--pipe", "25x2.3mm x 40m", "--tank", "100 L", "--to", "50", "--stock",
        "125 g/L", "--flow", "5 L/min")  # fmt: skip
STRENGTH = ("strength", "--stock", "125 g/L", "--made", "2026-01-01", "--used",
            "2026-06-01", "--kept-at", "20 C")  # fmt: skip


def answer_of(run: Run, *words: str) -> dict[str, Any]:
    """Run one calculation as JSON."""
    result = run("calc", *words, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (DILUTE, {"product_ml": 96.0, "water_l": 59.904, "made_l": 60.0,
                  "target_mg_per_l": 200.0, "low_mg_per_l": 190.0,
                  "high_mg_per_l": 210.0, "parts_water": 624.0}),
        (("dilute", "--stock", "65 % w/w", "--solid", "--to", "50", "--make", "1 m3"),
         {"product_g": 76.923, "water_l": 1000.0, "made_l": 1000.0}),
        (("dilute", "--stock", "10.8 % w/w", "--density", "1.16", "--to", "200",
          "--make", "16 US gal", "--background", "0.5"),
         {"product_ml": 60.5665885 * 199.5 / 125.2795, "made_l": 60.5665885}),
        (("dilute", "--stock", "15 % w/w", "--density", "1.11", "--active", "PAA",
          "--to", "100", "--make", "20 L"), {"product_ml": 2000 / 166.5}),
        (("active", "--ph", "7.5", "--temp", "20 C", "--free", "2"),
         {"hocl_percent": 54.69, "hocl_mg_per_l": 1.0939, "pka": 7.5817}),
        (LINE, {"volume_l": 113.0741, "product_ml": 45.2297, "fill_minutes": 2.61483,
                "flush_l": 139.2224}),
        (("inject", "--flow", "100 US gal/min", "--to", "1", "--stock", "5.25 % w/v"),
         {"feed_ml_per_min": 7.2103, "feed_l_per_h": 0.43262}),
        (("inject", "--flow", "8 L/min", "--to", "5", "--stock", "125 g/L", "--ratio",
          "1 to 100"), {"concentrate_mg_per_l": 505.0}),
        (("neutralise", "--volume", "100 L", "--free", "200", "--with", "thiosulfate"),
         {"agent_g": 17.5}),
    ],
)  # fmt: skip
def test_keys_and_values(run: Run, words: tuple[str, ...], expected: dict[str, float]):
    """Worked by hand from the formulas, to five figures."""
    answer = answer_of(run, *words)
    assert {key: answer[key] for key in expected} == {
        key: pytest.approx(value, rel=2e-4) for key, value in expected.items()
    }
    assert answer["source"]
    assert answer["cautions"]
    assert answer["steps"]


def test_keys_and_values_of_ageing(run: Run):
    """Worked by hand: 382 days of half-life, 151 days at 20 C."""
    answer = answer_of(run, *STRENGTH)
    assert answer["half_life_days"] == pytest.approx(382, abs=1)
    assert answer["rate_per_molar_second"] == pytest.approx(1.717e-8, rel=1e-3)
    assert answer["fraction_left"] == pytest.approx(1 / (1 + 151 / 382), rel=1e-3)
    assert answer["strength_g_per_l"] == pytest.approx(89.59, rel=1e-3)


def test_a_gallon_may_be_named_once(run: Run):
    """--gallon settles what a bare gal is."""
    words = ("dilute", "--stock", "125 g/L", "--to", "200", "--make", "16 gal")
    us = answer_of(run, *words, "--gallon", "us")
    imp = answer_of(run, *words, "--gallon", "imp")
    assert us["made_l"] == pytest.approx(60.5666, rel=1e-4)
    assert imp["made_l"] == pytest.approx(72.7374, rel=1e-4)


def test_a_tank_that_is_full_already(run: Run):
    """--into puts the product on top of the water."""
    answer = answer_of(
        run, "dilute", "--stock", "125 g/L", "--to", "5", "--into", "1000 L"
    )
    assert answer["made_l"] == pytest.approx(1000.040, rel=1e-6)


def test_two_steps_give_a_label(run: Run):
    """The bottle's label is stamped by the program's clock."""
    answer = answer_of(
        run, "dilute", "--stock", "125 g/L", "--to", "2", "--make", "10 L",
        "--two-step", "--measure", "10 ml syringe, 0.5 ml marks",
    )  # fmt: skip
    assert answer["label"]["made_at"].startswith("made 20")
    assert answer["from_bottle_ml"] >= 5


def test_a_strength_alone_is_shown_in_every_basis(run: Run):
    """Without dates it is only converted."""
    answer = answer_of(run, "strength", "--stock", "47 chl")
    assert answer["g_per_l"] == pytest.approx(148.99)
    assert answer["percent_w_v"] == pytest.approx(14.899)


def test_a_measured_strength_and_a_dose(run: Run):
    """From the measurement on, with the chlorate of a dose and both of its ends."""
    answer = answer_of(
        run, *STRENGTH, "--measured", "110 g/L", "--measured-on", "2026-05-20",
        "--to", "2", "--make", "100 L",
    )  # fmt: skip
    assert answer["days"] == 12
    assert answer["strength_g_per_l"] < 110
    assert answer["low_mg_per_l"] < 2 < answer["high_mg_per_l"]
    assert answer["chlorate_mg_per_l"] > 0


def test_an_injector_the_other_way(run: Run):
    """What a measured feed gives; what a concentrate gives at a ratio."""
    fed = answer_of(
        run, "inject", "--stock", "125 g/L", "--flow", "10 L/min", "--feed", "2 ml/min"
    )
    assert fed["gives_mg_per_l"] == pytest.approx(25)
    drawn = answer_of(run, "inject", "--stock", "505 mg/L", "--ratio", "1:100")
    assert drawn["gives_mg_per_l"] == pytest.approx(5)


def test_a_season_of_feeding(run: Run):
    """Water a day times days times dose."""
    answer = answer_of(
        run, "inject", "--stock", "125 g/L", "--flow", "8 L/min", "--to", "1",
        "--per-day", "400 L", "--season", "120 d",
    )  # fmt: skip
    assert answer["season_product_l"] == pytest.approx(0.384)


def test_a_card_has_a_row_for_each_volume(run: Run):
    """Rows of volumes, columns of strengths."""
    answer = answer_of(
        run, "card", "--stock", "125 g/L", "--to", "100", "--to", "200",
        "--make", "5 L", "--make", "60 L",
    )  # fmt: skip
    assert [row["made_l"] for row in answer["rows"]] == [5, 60]
    assert answer["rows"][1]["product"] == [pytest.approx(48), pytest.approx(96)]
