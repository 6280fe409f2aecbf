"""The pack as a file: a week of a small shed with trouble of every kind."""

from __future__ import annotations

import io
import re
from datetime import date
from hashlib import sha256

import pypdf
import pytest
from farm_of_reports import Shed, at, eventful
from pdf_checks import faults, files, made, texts
from PIL import Image

from hygiene.book.record import Record
from hygiene.kinds.attached import Attached
from hygiene.kinds.find import Mould
from hygiene.kinds.papers import File
from hygiene.kinds.setup import Person
from hygiene.reports import paper
from hygiene.reports.catalogue import REPORTS
from hygiene.reports.pack import UnknownExtra
from hygiene.reports.pack import papers as filed
from hygiene.reports.period import Period
from hygiene.reports.reading import read

WEEK = Period(date(2026, 3, 19), date(2026, 3, 25))
ODD = (
    "<img src=file:///etc/passwd> <script>alert(1)</script> {{ 7*7 }} "
    "http://farm.example/x \u202eturned\u202c \u05e9\u05dc\u05d5\u05dd " + "z" * 10_000
)


def photo() -> bytes:
    held = io.BytesIO()
    Image.effect_noise((300, 200), 60).save(held, "JPEG")
    return held.getvalue()


def keep(shed: Shed, content: bytes, name: str) -> Attached:
    path = shed.path.parent / "kept"
    path.write_bytes(content)
    with (
        Record.open(shed.path, to_write=True) as record,
        record.writing(shed.clock, shed.keys) as writing,
    ):
        digest = writing.attach(path)
    return Attached(sha256=digest, name=name, bytes=len(content))


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Shed:
    """The eventful shed, with papers and photos, some of them odd or missing."""
    shed = eventful(tmp_path_factory.mktemp("kept"), demonstration=False)
    good = keep(shed, photo(), "tray.jpg")
    paper = keep(shed, b"%PDF-1.4 a plan", "plan.pdf")
    gone = Attached(sha256="ab" * 32, name="gone.jpg", bytes=5)
    torn = keep(shed, photo()[:900], f"{ODD[:200]}.jpg")
    shed.write(Mould(rack="R1", attached=(good, gone, torn)), at("2026-03-25", "21:10"))
    plan = File(sort="site-plan", title=ODD[:300], attached=(paper,))
    shed.write(plan, at("2026-03-25", "21:20"))
    shed.write(Person(code="CD", name=ODD), at("2026-03-25", "21:30"))
    shed.now = at("2026-03-25", "22:00")
    return shed


@pytest.fixture(scope="module")
def pack(kept: Shed):
    return made(kept, "pack", WEEK)


@pytest.fixture(scope="module")
def words(pack) -> list[str]:
    """The text of each page, on one line."""
    return [" ".join(text.split()) for text in texts(pack[1])]


def reader(content: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(content))


def test_it_is_an_archive_file_that_can_be_read_aloud(pack):
    """It passes PDF/A-3a and PDF/UA-1 (validator: page-validation)."""
    assert faults(pack[1]) == []


def test_it_is_made_twice_with_the_same_bytes(kept, pack):
    """As of the same record and moment."""
    assert made(kept, "pack", WEEK)[1] == pack[1]


def test_the_contents_say_on_which_page_each_chapter_is(pack, words):
    """The number beside a title is that of the page with that heading."""
    for chapter in pack[0].contents:
        found = re.search(
            rf"{re.escape(chapter.title)}\D*(\d+ papers? |\d+ files? |"
            r"\d+ told |\d+ open )?(\d+)",
            words[1],
        )
        assert chapter.title in words[int(found[2]) - 1]


def test_every_chapter_has_a_bookmark(pack):
    """By its title."""
    titles = {
        item.title for item in reader(pack[1]).outline if not isinstance(item, list)
    }
    assert {chapter.title for chapter in pack[0].contents} <= titles


def test_the_clause_map_links_to_pages_of_the_file(pack):
    """Each link of the clauses goes to a place that there is."""
    content = reader(pack[1])
    targets = {
        annotation.get_object()["/Dest"]
        for page in content.pages
        for annotation in page.get("/Annots") or ()
        if "/Dest" in annotation.get_object()
    }
    assert {"exceptions", "months", "holding"} <= targets
    assert targets <= set(content.named_destinations)


def test_no_link_leaves_the_file(pack):
    """Nothing that was written became an address."""
    for page in reader(pack[1]).pages:
        for annotation in page.get("/Annots") or ():
            assert "/A" not in annotation.get_object()


def test_what_was_written_stays_in_its_cell(words):
    """Markup is shown as it was typed; nothing is fetched, run or read."""
    whole = " ".join(words)
    assert "<script>alert(1)</script> {{ 7*7 }}" in whole
    assert "root:" not in whole


def test_files_travel_inside_by_their_hash(pack):
    """Whole, under a name that is none of a person's making."""
    inside = files(pack[1])
    name = next(n for n in inside if n.endswith(".jpg"))
    assert sha256(inside[name][0]).hexdigest().startswith(name[5:17])
    assert any(n.endswith(".pdf") for n in inside)
    assert not [n for n in inside if "script" in n or "/" in n]


def test_a_photo_is_shown_and_a_missing_or_torn_one_is_said(pack, words):
    """Each stands in the list of files."""
    assert [kept.name for kept in pack[0].pictures] == ["tray.jpg"]
    assert "missing from the record" in " ".join(words)
    assert "is a damaged picture" in " ".join(words)


def test_a_file_that_is_too_much_is_named_and_not_carried(kept, monkeypatch):
    """With its hash, so that it can be asked for."""
    monkeypatch.setattr(filed, "MOST_BYTES", 0)
    with kept.record() as record:
        reading = _reading(record, kept)
        told = filed.papers(reading, filed.gather(record, reading, kept.now))
    left = [k for k in told.files if "too large together" in k.fault]
    assert left
    assert not any(k.inside for k in left)
    assert all(len("".join(k.groups)) == 64 for k in left)


def test_a_file_changed_in_the_record_is_said(kept):
    """Its bytes are not those of its hash."""
    with kept.record() as record:
        found = filed.gather(record, _reading(record, kept), kept.now)
        reading = _reading(record, kept)
    changed = found._replace(contents=dict.fromkeys(found.contents, b"x"))
    told = filed.papers(reading, changed)
    assert all("not those of its hash" in k.fault for k in told.files if k.inside)


def _reading(record, kept: Shed):
    return read(record, WEEK, kept.now)


def test_the_seal_page_ends_it(pack, words):
    """Heads, what it proves, what it does not, and how to check."""
    head = pack[0].frame.heads[0]
    for piece in (head.groups[0], "What it does not prove", "hygiene verify PACK.pdf"):
        assert piece in words[-1]


def test_a_word_for_what_it_cannot_hold_is_refused(kept):
    """With the words that it knows."""
    with kept.record() as record, pytest.raises(UnknownExtra, match="readiness"):
        REPORTS["pack"].read(record, WEEK, kept.now, "everything")


def test_an_empty_record_has_a_pack_that_says_so(tmp_path):
    """Before anything was set up: nobody to ring, no paper, nothing to tell."""
    shed = Shed(tmp_path)
    with shed.record() as record:
        page = REPORTS["pack"].page(REPORTS["pack"].read(record, WEEK, shed.now))
    html = paper.html("pack", page)
    for words in ("No farm was set up", "No paper is filed", "None is written in this"):
        assert words in html
