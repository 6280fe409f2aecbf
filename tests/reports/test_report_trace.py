"""The trace on paper: a vet could act on it, and its drawing is told in words too."""

from __future__ import annotations

import io
import re
from datetime import date
from html import unescape
from xml.etree import ElementTree

import page as validator
import pypdf
import pytest
from bad_batch import BadBatch, bad_batch
from dose_farm import build_doses

from hygiene.acts import leaving
from hygiene.acts.how import How
from hygiene.acts.mending import correct
from hygiene.book.record import Record
from hygiene.kinds.batch import Sample
from hygiene.kinds.setup import Contact
from hygiene.reports import paper
from hygiene.reports import trace as report
from hygiene.reports.lineage_figure import BOX, MOST, Label, lineage_figure
from hygiene.reports.period import Period
from hygiene.tracing.lineage import Link, Node


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> BadBatch:
    """Found, told, an illness, a feed put right, sampled and thrown away."""
    made = bad_batch(build_doses(tmp_path_factory.mktemp("trace")))
    farm = made.farm
    ring = Contact(role="vet", name="E. Ash", telephone="01632 960001")
    farm.setting(contacts=(ring,))
    made.found()
    made.ill()
    fed = farm.entries("feed")[0]
    body = {**fed.body, "grams": 8_600}
    farm.act(lambda w: correct(w, fed.name, body, reason="scale read again", by="CD"))
    kept = Sample(batch=made.bad, frozen_at="freezer", chilled_at="fridge", why="mould")
    farm.act(lambda w: leaving.sample(w, kept, How("AB")))
    farm.discard(made.bad, 3, 4, witness="C. Dale")
    farm.send(made.washed, 5, document="DN <4>")
    return made


def made_of(story: BadBatch, subject: str, *days: date) -> report.Page:
    now = story.farm.now.astimezone(story.farm.in_force().zone)
    period = Period(*days) if days else Period(now.date(), now.date())
    with Record.open(story.farm.path) as record:
        return report.page(report.gather(record, period, now, subject))


@pytest.fixture(scope="module")
def page(story: BadBatch) -> report.Page:
    return made_of(story, story.bad)


@pytest.fixture(scope="module")
def html(page: report.Page) -> str:
    return paper.html("trace", page)


@pytest.fixture(scope="module")
def pdf(html: str, story: BadBatch) -> bytes:
    return paper.pdf(html, story.farm.now)


def plain(html: str) -> str:
    return " ".join(unescape(re.sub("<[^>]+>", " ", html)).split())


def test_it_says_first_what_must_be_known(story: BadBatch, page: report.Page) -> None:
    """Mould, hold, who ate, who is sick; urgent things are marked."""
    urgent = [sentence for marked, sentence in page.summary if marked]
    assert any(text.startswith("MOULD was found in") for text in urgent)
    assert any(text.startswith("SICK: 2 of 40 EWES") for text in urgent)
    assert (False, "FED: 8.6 kg to EWES (40 sheep)") in page.summary
    assert f"{story.washed} grows, is not held" in page.to_hold[0]


def test_times_quantities_people_and_entries_stand_on_every_step(page) -> None:
    """Nothing has to be taken on trust."""
    steps = [row for row in (*page.back, *page.forward) if row.depth and row.entry]
    assert len(steps) > 8
    assert all(re.fullmatch(r"\d+ [A-Z][a-z]{2} \d\d:\d\d", row.when) for row in steps)
    assert {row.by for row in steps} == {"AB", "CD"}
    assert all(row.entry.startswith("shed-") for row in steps)


def test_what_was_put_right_is_told_once_and_the_old_is_evidence(story, page) -> None:
    """The weight was corrected: the step is the corrected one."""
    fed = [row.text for row in page.forward if "fed to EWES" in row.text]
    assert len(fed) == 1
    assert "8.6 kg" in fed[0]


def test_holds_finds_and_who_was_told_are_listed(story: BadBatch, page) -> None:
    """By kind, with their entries."""
    told = {row.what: row.told for row in page.told}
    assert told["mould"] == (
        f"mould in {story.bad}: tray T003, day 7, 10 % of a tray, grey"
    )
    assert told["told"] == "vet E. Ash told: stop feeding"
    assert "four lambs on Monday" in told["sick"]
    assert told["hold"].startswith("lot ")


def test_numbers_to_ring_stand_on_it(page: report.Page) -> None:
    """The vet's, and those of suppliers and buyers of the trace."""
    assert ("vet", "E. Ash", "01632 960001") in page.ring
    assert "Alder Seeds, 2 Mill Lane" in [name for _, name, _ in page.ring]


def test_sideways_says_what_each_shares_and_whether_it_is_held(story, page) -> None:
    """As on the terminal."""
    rows = {code: row for row in page.beside for code in row.codes}
    assert rows[story.washed].state.endswith("NOT HELD")
    assert f"wash {story.wash}" in rows[story.washed].shares
    assert "1 sent to HOLLOW" in rows[story.washed].fate


def test_what_a_person_wrote_changes_nothing_but_its_cell(story: BadBatch) -> None:
    """A document's name with angle brackets is text."""
    html = paper.html("trace", made_of(story, story.washed))
    assert "DN &lt;4&gt;" in html
    assert "DN <4>" in plain(html)


def test_the_drawing_is_sound_and_tells_every_link_in_words(page, html: str) -> None:
    """Well-formed, with a title, and a text in its place."""
    drawing = ElementTree.fromstring(page.figure.svg)
    boxes = [e for e in drawing if e.tag.endswith("rect") and e.get("rx")]
    assert len(boxes) == 13
    assert "batch" in page.figure.alternative
    assert page.figure.alternative.count(": fed, 8.6 kg.") == 1
    assert f'alt="{page.figure.alternative[:40]}' in html


def test_no_box_lies_on_another(page: report.Page) -> None:
    """Each column is pushed apart."""
    drawing = ElementTree.fromstring(page.figure.svg)
    boxes = [e for e in drawing if e.tag.endswith("rect") and e.get("rx")]
    places = [(float(box.get("x")), float(box.get("y"))) for box in boxes]
    for n, (x, y) in enumerate(places):
        for other_x, other_y in places[n + 1 :]:
            assert abs(x - other_x) > 1 or abs(y - other_y) >= BOX


def test_more_than_a_page_can_hold_is_told_by_the_tables(story: BadBatch) -> None:
    """No drawing, and that is said."""
    at = story.farm.now
    lot = Node("lot", "L")
    few, many = (
        [Link(lot, Node("batch", f"B{n}"), "sown", at, "shed/1") for n in range(count)]
        for count in (MOST, MOST + 1)
    )
    assert lineage_figure(few, {lot: Label("L")}, ["x"]) is not None
    assert lineage_figure(many, {}, []) is None
    assert lineage_figure([], {}, []) is None
    page = made_of(story, story.far)._replace(figure=None)
    assert "more of it than a drawing can hold" in paper.html("trace", page)


def test_a_tray_needs_a_day_and_a_supplier_none(story: BadBatch) -> None:
    """The day stands in the title."""
    page = made_of(story, "T003", date(2026, 3, 4), date(2026, 3, 4))
    assert page.frame.period == "Tray T003 on 2026-03-04"
    assert made_of(story, "alder").frame.period.startswith("Supplier ALDER, what came")


def test_it_is_an_archive_file_that_can_be_read_aloud(pdf: bytes) -> None:
    """It passes PDF/A-3a and PDF/UA-1 (validator: page-validation)."""
    profiles = validator.ValidationProfile
    for profile in (profiles.PDF_A_3A, profiles.PDF_UA_1):
        assert validator.validate_pdf_bytes(pdf, profile=profile).failures == []


def test_made_twice_it_is_the_same_file(html: str, pdf: bytes, story) -> None:
    """The same entries and moment give the same bytes."""
    assert paper.pdf(html, story.farm.now) == pdf


def test_the_page_can_be_read_back(pdf: bytes, story: BadBatch) -> None:
    """Codes and names are text, not pictures of it."""
    text = "".join(
        sheet.extract_text() for sheet in pypdf.PdfReader(io.BytesIO(pdf)).pages
    )
    for said in (story.bad, story.lots[0], "EWES", "01632 960001", story.mould):
        assert said in text, said


def test_the_command_makes_it(run, story: BadBatch, tmp_path) -> None:
    """``report trace CODE``; without a code it says what it needs."""
    world = story.farm.world()
    out = tmp_path / "t.html"
    made = run(
        "report", "trace", story.bad.lower(), "--html", "--out", str(out), world=world
    )
    assert made.exit_code == 0, made.output
    assert story.lots[0] in out.read_text("utf-8")
    assert run("report", "trace", world=world).exit_code == 2
    words = ("report", "trace", "T003", "--month", "2026-03")
    assert run(*words, world=world).exit_code == 2
