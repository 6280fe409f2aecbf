"""The water test log: certificates, readings, what failed, and the figures."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from decimal import Decimal
from hashlib import sha256

import pytest
from log_farm import CERTIFICATE, MARCH, LogFarm
from pdf_checks import faults, files, gathered, made
from small_farm import SmallFarm
from water_shed import sampled

from hygiene.acts.mending import strike
from hygiene.kinds.water import Disturbance, Result, Water
from hygiene.reports import paper, water
from hygiene.reports.catalogue import REPORTS
from hygiene.water.trend import in_words


@pytest.fixture(scope="module")
def both(sprung: LogFarm):
    return made(sprung, "water", MARCH)


@pytest.fixture(scope="module")
def page(both):
    return both[0]


def log_of(farm: SmallFarm) -> water.Page:
    return REPORTS["water"].page(gathered(farm, "water", MARCH))


def lines(page: water.Page) -> list[str]:
    return [" ".join(line.text.split()) for day in page.days for line in day.lines]


def row(page: water.Page, name: str, certificate: int = 0) -> water.Row:
    rows = page.certificates[certificate].rows
    return next(each for each in rows if each.name == name)


# certificates


def test_a_result_keeps_its_sign(page):
    """<1 and >2419.6 are printed as the laboratory wrote them."""
    assert row(page, "coliform bacteria").found == ">2419.6 per 100 ml"
    assert row(page, "E. coli", 1).found == "<1 per 100 ml"


def test_a_result_in_another_unit_stands_beside_ours(page):
    """Nitrate as nitrogen, and as the limit counts it (NO3, molar masses)."""
    assert row(page, "nitrate (as NO3)").found == "8.5 mg/L as N (37.6278 mg/L)"


def test_each_result_has_its_limit_and_its_verdict(page):
    """The limit of that day, who says so, and what came of it, with a sign."""
    bad, good = row(page, "E. coli"), row(page, "E. coli", 1)
    assert (bad.sign, bad.said, bad.limit) == ("▲", "over", "0 per 100 ml at most")
    assert (good.sign, good.said) == ("✔", "within")
    assert (
        page.sources[bad.source - 1]
        == "98/83/EC Annex I Part A, kept by (EU) 2020/2184"
    )
    free = row(page, "colony count at 22 C")
    assert (free.sign, free.said, free.limit, free.source) == (
        "–",
        "no limit",
        "",
        None,
    )


def test_the_certificate_is_named_with_its_hash(page):
    """Number, laboratory, when it had the sample; the file by its whole SHA-256."""
    first = page.certificates[0]
    assert first.place == "P2, Last nozzle of line 2"
    assert first.said[0] == "Lowmoor Laboratory, certificate LW-2608"
    assert first.said[1] == "received 8 March, 15:00"
    (file,) = first.files
    assert "".join(file.groups) == sha256(CERTIFICATE + bytes([8])).hexdigest()
    assert " ".join(file.groups) in paper.html("water", page)


# readings


def test_a_reading_is_one_line(page):
    """When, where, what was read, the verdict, with which kits, by whom."""
    assert lines(page)[0].endswith(
        "P1 free chlorine 0.9 mg/L, pH 7.4 ✔ within DPD, PH AB"
    )


def test_a_reading_out_of_limit_names_what_is(page):
    """The farm's own limit of free chlorine, passed on the 15th."""
    assert "▲ over: free chlorine" in lines(page)[-1]
    assert page.days[-1].lines[-1].verdict == "failed"


def test_a_reading_with_a_kit_in_doubt_is_not_good(watered: SmallFarm):
    """Within its limit, and yet not to be relied on."""
    sampled(watered, "P1", kits=["DPD", "PH"], results={"free": "0.5", "ph": "7.2"})
    page = log_of(watered)
    assert "□ within; kit out of date" in lines(page)[0]
    assert "1 test not to be relied on (kit or training)." in page.summary
    assert "□" in [mark.sign for mark in page.key]


def test_a_struck_test_stays_readable(watered: SmallFarm):
    """Ruled through on its line, told beneath, left out of the counts."""
    done = sampled(watered, "P1", kits=["DPD"], results={"free": "0.5"})
    watered.later(minutes=1)
    watered.write(lambda w: strike(w, done.water.name, reason="P2", by="AB"))
    page = log_of(watered)
    assert "– ruled through" in lines(page)[0]
    assert page.summary[0].startswith("0 tests")
    assert page.amended[0][1].how.startswith("Ruled through")


def test_putting_a_result_right_never_hides_what_it_was(watered: SmallFarm):
    """Out of limit in any version: it is told to its end, and says so."""
    done = sampled(watered, "P1", kits=["DPD"], results={"free": "1.4"})
    watered.later(minutes=1)
    better = Water(
        point="P1",
        results=(
            Result(
                parameter="free", value=Decimal("0.4"), unit="mg/L",
                as_written="0.4", verdict="within", held_against="1.0 mg/L at most (x)",
            ),
        ),
        kit="DPD",
    )  # fmt: skip
    watered.write(
        lambda w: w.add(better, by="AB", corrects=done.water.name, reason="slip")
    )
    page = log_of(watered)
    assert "▲ within since it was put right" in lines(page)[0]
    assert page.days[0].lines[0].verdict == "failed"
    (told,) = page.failures
    assert (told.sign, told.title) == ("▲", "P1: put right since")


# what went wrong


def test_a_failed_sample_is_told_to_the_resample(page):
    """Each parameter with its action, the hold on sowing, and the recheck."""
    told = page.failures[0]
    assert told.title.startswith("P2: E. coli 3 per 100 ml and coliform bacteria")
    assert [step.what for step in told.actions[0].steps] == ["Opened", "Rechecked"]
    assert "taken again: E. coli <1" in told.actions[0].steps[1].told
    (hold,) = told.holds
    assert "line L2: E. coli 3 per 100 ml at P2 (stops sowing)" in hold.told


# figures


def test_every_figure_has_its_words(sprung: LogFarm, page):
    """The text that stands in the picture's place says what the picture shows."""
    trends = {t.code: t for t in gathered(sprung, "water", MARCH).trends}
    (free, ph) = page.pictures
    assert free.title == "P1, Last nozzle of line 1: free chlorine"
    assert free.alternative == in_words(trends["free"])
    source = paper.html("water", page)
    pictures = re.findall(
        r'<img src="data:image/svg\+xml;base64,[^"]+" alt="([^"]+)"', source
    )
    assert len(pictures) == 2
    assert pictures[0].startswith(
        "free chlorine at P1, Last nozzle of line 1; 10 readings"
    )
    assert ph.drift == ""


def test_few_readings_are_told_in_a_sentence(page):
    """No picture is drawn of two points; nothing is left out either."""
    assert any(said.startswith("E. coli at P2") for said in page.sentences)
    assert all("2 readings" in said for said in page.sentences)


def test_a_drift_is_told_beside_its_picture(watered: SmallFarm):
    """Eight readings that fall, by the rule's published name, and as a hint."""
    for read in ("0.9", "0.85", "0.8", "0.75", "0.7", "0.65", "0.6", "0.55"):
        sampled(watered, "P1", kits=["DPD"], results={"free": read})
    (picture,) = log_of(watered).pictures
    assert picture.drift == (
        "It falls over the last eight readings (Mann-Kendall test): a hint, not proof."
    )


# the file


def test_the_file_passes_and_is_the_same_twice(sprung: LogFarm, both):
    """PDF/A-3a and PDF/UA-1 (page-validation), and the same bytes again."""
    assert faults(both[1]) == []
    assert made(sprung, "water", MARCH)[1] == both[1]


def test_every_result_travels_inside_as_a_row(both):
    """As written, with its number in our unit, its limit, verdict and certificate."""
    (content,) = files(both[1])["water-2026-03-01-to-2026-03-31.csv"]
    rows = list(csv.DictReader(io.StringIO(content.decode())))
    assert len(rows) == 2 * 10 + 5 * 2
    (most,) = (r for r in rows if r["as_written"] == ">2419.6")
    assert (most["sign"], most["value"], most["verdict"]) == (">", "2419.6", "over")
    assert most["certificate"] == "LW-2608"
    digest = sha256(CERTIFICATE + bytes([8])).hexdigest()
    assert most["files_sha256"] == f'["{digest}"]'


def test_a_log_of_many_tests_continues_in_the_attached_file(sprung: LogFarm):
    """Five hundred results on the pages at most, then where the rest is."""
    found = gathered(sprung, "water", MARCH)
    field = next(m for m in found.reading.matters if not m.said.get("laboratory"))
    many = (field,) * (water.MOST + 2)
    reading = replace(found.reading, matters=many, _by_name={}, _answers={})
    page = water.page(found._replace(reading=reading))
    assert len(lines(page)) == water.MOST
    assert "2 more tests: the log continues in the attached file water-" in paper.html(
        "water", page
    )


def test_a_month_without_a_test_says_so(watered: SmallFarm):
    """No table, no file, no error."""
    page = log_of(watered)
    assert (page.days, page.certificates, page.attached) == ((), (), ())
    assert "No water test was written in this time." in paper.html("water", page)


def test_what_may_have_changed_the_water_is_told(watered: SmallFarm):
    """A repair at a point stands in the log, also where nothing was tested."""
    watered.write(
        lambda w: w.add(
            Disturbance(points=("P2",), sort="repair", what="new filter"), by="AB"
        )
    )
    page = log_of(watered)
    (told,) = page.disturbed
    assert told.told == "repair at P2: new filter"
    assert [f.name for f in page.attached][:1] == [
        "disturbance-2026-03-01-to-2026-03-31.csv"
    ]
