"""Reports that are about something, of now, or that carry files."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from dose_farm import DoseFarm, drawn


@pytest.fixture
def report(run, doses: DoseFarm, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Run ``hygiene report`` at the shed's own moment, in a folder of its own."""
    folder = tmp_path / "desk"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return lambda *words: run("report", *words, world=doses.world())


def test_a_report_needs_what_it_is_about(report):
    """Exit 2, and what to type."""
    made = report("vet")
    assert made.exit_code == 2
    assert "the report vet needs its GROUP" in made.stderr
    assert "hygiene report vet GROUP" in made.stderr


def test_a_report_of_the_whole_farm_takes_no_code(report):
    """A word too many is not passed over in silence."""
    made = report("day", "GOATS")
    assert made.exit_code == 2
    assert "the report day takes no 'GOATS'" in made.stderr


def test_a_report_of_now_takes_no_day(report):
    """The vet's sheet is of the three weeks up to this moment."""
    made = report("vet", "GOATS", "--on", "2026-03-01")
    assert made.exit_code == 2
    assert "this report is of now: leave out --on" in made.stderr


def test_an_unknown_code_is_refused(report):
    """Exit 4 with the nearest; no file is left behind."""
    made = report("cards", "hyppo")
    assert made.exit_code == 4
    assert "hypo" in made.stderr
    assert list(Path().iterdir()) == []


def test_the_file_bears_what_it_is_about(report):
    """Two groups' sheets of one day do not write over each other."""
    report("vet", "GOATS", "--html")
    report("vet", "EWES", "--html")
    assert sorted(p.name for p in Path().iterdir()) == [
        "vet-EWES-2026-03-02.html",
        "vet-GOATS-2026-03-02.html",
    ]


def test_what_travels_inside_the_pdf_lies_beside_the_html(report, doses: DoseFarm):
    """HTML carries no file in itself, and the page speaks of one."""
    doses.dose(1, drawn=drawn(doses.can(), 960))
    made = report("dosing", "--month", "2026-03", "--html", "--json")
    told = json.loads(made.stdout)
    assert {
        "doses-2026-03-01-to-2026-03-31.csv",
        "doses-2026-03-01-to-2026-03-31.csv-metadata.json",
    } <= set(told["attached"])
    beside = {p.name for p in Path().iterdir()}
    assert beside == {"dosing-2026-03.html", *told["attached"]}


def test_the_store_of_a_past_day(report, doses: DoseFarm):
    """--on is the day whose store it shows."""
    doses.can()
    made = report("store", "--on", "2026-03-02", "--html")
    assert made.exit_code == 0
    assert "The chemical store, Monday 2 March 2026" in made.stdout
