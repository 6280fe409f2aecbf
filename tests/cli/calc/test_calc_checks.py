"""``hygiene calc`` contact, surface, reading, mpn, count, toxin, meet."""

from __future__ import annotations

import json
import shlex

import pytest

CONTACT = "contact --against giardia --log 3 --free 1 --ph 7.5 --temp '10 C'"
MPN = "mpn --tubes 5,5,5 --volumes 10,1,0.1 --positive 5,2,0"
READING = "reading --shown 0.8 --sample 10ml --diluted-to 100ml"
TOXIN = "toxin --measured '1 ug/kg' --dry-matter 15%"


@pytest.fixture
def calc(run):
    return lambda line: run("calc", *shlex.split(line))


@pytest.mark.parametrize(
    ("line", "keys"),
    [
        (CONTACT, {"ct_mg_min_per_l": 134, "minutes": 134}),
        (
            "contact --against virus --log 4 --free 2 --ph 7 --temp 50F",
            {"ct_mg_min_per_l": 6, "minutes": 3},
        ),
        (
            "contact --against giardia --log 3 --free 0.5 --ph 7 --temp 5C"
            " --with chlorine-dioxide",
            {"ct_mg_min_per_l": 26, "minutes": 52},
        ),
        (
            MPN,
            {"mpn_per_100ml": 49.322, "low_per_100ml": 15.45, "high_per_100ml": 157.5},
        ),
        (READING, {"free_mg_per_l": 8.0}),
        (TOXIN, {"at_12_percent_moisture_ug_per_kg": 88 / 15}),
        (
            "toxin --measured '0.001 mg/kg' --moisture 85%",
            {"at_12_percent_moisture_ug_per_kg": 88 / 15},
        ),
        (
            "count --colonies 42,38 --plated '1 ml'",
            {
                "count_per_100ml": 4000,
                "low_per_100ml": 3171.8,
                "high_per_100ml": 4978.4,
            },
        ),
        (
            "count --colonies 42 --plated '0.1 g' --mould",
            {"count_per_g": 420, "colonies": 42},
        ),
        (
            "reading --strip 0,10,25,50,100 --matched 25,50",
            {"low_mg_per_l": 25, "high_mg_per_l": 50},
        ),
        ("surface --at 100 --temp '13 C' --ph 8", {"least_solution_c": 13}),
        ("contact --label '5 min' --done '6 min'", {"short_minutes": 0}),
    ],
)
def test_json_has_its_keys_a_source_and_cautions(calc, line, keys):
    """Exit 0; the keys stay put; every answer names its source and its cautions."""
    result = calc(line + " --json")
    assert result.exit_code == 0, result.output
    made = json.loads(result.stdout)
    for key, value in keys.items():
        assert made[key] == pytest.approx(value, rel=1e-3)
    assert made["source"]
    assert made["cautions"]


@pytest.mark.parametrize("line", [CONTACT, MPN, READING, TOXIN])
def test_a_person_reads_the_answer_within_80_columns(calc, line):
    """Working, rule and cautions in plain text, no colour, 80 columns."""
    result = calc(line)
    assert result.exit_code == 0
    for word in ("Working:", "Rule:", "Take care:"):
        assert word in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "\x1b" not in result.stdout


def test_the_answer_says_whether_the_time_kept_was_enough(calc):
    """Out of limit: exit 3; long enough: exit 0."""
    assert calc(CONTACT + " --done '133 min'").exit_code == 3
    assert calc(CONTACT + " --done '134 min'").exit_code == 0


def test_a_falling_residual_is_integrated(calc):
    """2 to 1 mg/L over 30 min earns 30 / ln 2 = 43.28, not 60."""
    line = (
        "contact --against virus --log 4 --ph 7 --temp 10C --json"
        " --readings '2 at 0 min, 1 at 30 min'"
    )
    made = json.loads(calc(line).stdout)
    assert made["done_ct_mg_min_per_l"] == pytest.approx(43.28, abs=0.01)


def test_a_tank_counts_by_its_baffling_and_a_pipe_whole(calc):
    """200 L at 8 L/min unbaffled is 2.5 min; 12.57 L of pipe adds 1.571 min."""
    line = (
        "contact --against virus --log 3 --free 1 --ph 7 --temp 12C --flow '8 L/min'"
        " --tank '200 L' --pipe '20mm inside x 40m' --json"
    )
    made = json.loads(calc(line).stdout)
    assert made["done_ct_mg_min_per_l"] == pytest.approx(4.071, abs=0.001)


@pytest.mark.parametrize(
    "line",
    [
        CONTACT.replace("7.5", "9.5"),
        CONTACT.replace("7.5", "5.5"),
        CONTACT.replace("7.5", "nan"),
        CONTACT.replace("10 C", "0.2 C"),
        CONTACT.replace("10 C", "10"),
        CONTACT.replace("--free 1", "--free 4.5"),
        CONTACT.replace("--free 1", "--free 0"),
        CONTACT.replace("--free 1", "--free -1"),
        CONTACT.replace("--free 1", "--free inf"),
        CONTACT.replace("--log 3", "--log 3.5"),
        CONTACT.replace("giardia", "mould"),
        CONTACT + " --with quat",
        CONTACT + " --tank '100 L'",
        CONTACT + " --tank '100 gal' --flow '8 L/min'",
        CONTACT + " --readings '2 at 0 min, 1 at 30 min'",
        "contact --against giardia",
        "contact --label '5 min'",
        "contact --against virus --log 4 --ph 7 --temp 10C --readings '2 at noon'",
        MPN.replace("5,2,0", "6,2,0"),
        MPN.replace("5,2,0", "5,2"),
        MPN.replace("5,2,0", "5,2,-1"),
        MPN.replace("5,2,0", "5,2,x"),
        MPN.replace("10,1,0.1", "10,0,0.1"),
        MPN.replace("10,1,0.1", "10,1,nan"),
        MPN.replace("10,1,0.1", "'10 L,1,1'"),
        READING.replace("10ml", "200ml"),
        READING.replace("10ml", "0ml"),
        READING.replace("10ml", "10"),
        READING.replace("0.8", "-0.8"),
        READING + " --again 'some'",
        "reading",
        "reading --strip 0,10,25 --matched 11",
        TOXIN.replace("15%", "15"),
        TOXIN.replace("15%", "0%"),
        TOXIN.replace("15%", "101%"),
        TOXIN.replace("1 ug/kg", "1"),
        TOXIN.replace("1 ug/kg", "1,5 ug/kg"),
        TOXIN + " --toxin patulin",
        "toxin --measured '1 ug/kg'",
        "count --colonies 42 --plated '1 ml, 1 g'",
        "count --colonies 4x --plated '1 ml'",
        "count --colonies 42 --plated '0 ml'",
        "surface --at 100 --temp '20 C'",
        "surface --at 20 --temp '20 C' --ph 7",
        "surface --at 100 --temp '20 C' --ph 11",
        "surface --at 100 --temp '20 C' --ph 7 --region mars",
        "meet bleach",
    ],
)
def test_what_is_wrongly_put_gets_one_clear_line_and_no_number(calc, line):
    """Exit 2, nothing on stdout, the reason on one line of stderr."""
    result = calc(line)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    first, *rest = result.stderr.splitlines()
    assert first.startswith("hygiene: ")
    assert len(rest) <= 1
    assert max(map(len, result.stderr.splitlines())) <= 100


def test_what_must_not_meet_ends_with_5(calc):
    """A plan that a rule of safety refuses: exit 5, with what forms and where."""
    result = calc("meet bleach 'acid descaler' --json")
    made = json.loads(result.stdout)
    assert result.exit_code == 5
    assert made["must_not_meet"] is True
    assert "chlorine gas" in made["meetings"][0]["forms"]
    assert made["cautions"]


def test_no_rule_is_no_leave_to_mix(calc):
    """Where no rule speaks it is said that this is no leave."""
    result = calc("meet bleach water")
    assert result.exit_code == 0
    assert "no leave to mix" in result.stdout


def test_an_unknown_thing_ends_with_4(calc):
    """A name that the table lacks is never passed over."""
    assert calc("meet bleach wibble").exit_code == 4


def test_a_solution_too_cold_ends_with_3(calc):
    """100 mg/L at 9 C does not meet the Food Code's row."""
    assert calc("surface --at 100 --temp '9 C' --ph 7").exit_code == 3
