from __future__ import annotations

import base64
import io
import zlib
from datetime import UTC, datetime

import page as validator
import pypdf
import pytest
from farm_of_reports import at, read, walked
from PIL import Image
from weasyprint.images import RasterImage

from hygiene.kinds.setup import Person
from hygiene.reports import day, month, paper, press
from hygiene.reports.attached import Attached

MOMENT = datetime(2026, 3, 25, 21, tzinfo=UTC)
BARE = '<html lang="en"><head><title>T</title></head><body><p>{}</p></body></html>'
ENDS_IN_RETURN = b"line 100799\n"
"""Found by trying: packed, it ends in the byte of a carriage return."""


def faults(made: bytes) -> list[str]:
    profiles = validator.ValidationProfile
    return [
        f"{profile.value} {failure.rule_id}: {failure.message}"
        for profile in (profiles.PDF_A_3A, profiles.PDF_UA_1)
        for failure in validator.validate_pdf_bytes(made, profile=profile).failures
    ]


def reader(made: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(made))


@pytest.fixture(scope="module")
def day_source(busy_day) -> str:
    return paper.html("day", day.page(busy_day))


@pytest.fixture(scope="module")
def day_pdf(day_source) -> bytes:
    return paper.pdf(day_source, MOMENT)


@pytest.fixture(scope="module")
def month_pdf(busy_month) -> bytes:
    return paper.pdf(paper.html("month", month.page(busy_month)), MOMENT)


def test_a_day_is_an_archive_file_that_can_be_read_aloud(day_pdf):
    """It passes PDF/A-3a and PDF/UA-1 (validator: page-validation)."""
    assert faults(day_pdf) == []


def test_a_month_is_an_archive_file_that_can_be_read_aloud(month_pdf):
    """It passes PDF/A-3a and PDF/UA-1 (validator: page-validation)."""
    assert faults(month_pdf) == []


def test_the_validator_finds_a_fault():
    """A file without the claims does not pass, so that passing says something."""
    plain = press._lay_out(BARE.format("x")).write_pdf()
    assert faults(plain) != []


def test_made_twice_it_is_the_same_file(day_source, day_pdf):
    """The same words and moment give the same bytes."""
    assert paper.pdf(day_source, MOMENT) == day_pdf


def test_pages_are_numbered_and_headed(day_pdf):
    """Each page bears its number, the entries, the head; from the second on, whose."""
    pages = reader(day_pdf).pages
    texts = [page.extract_text() for page in pages]
    assert len(texts) == 2
    for number, text in enumerate(texts, 1):
        assert f"Page {number} of 2" in text
        assert "91 entries · head shed-" in text
    assert "The day's record · Wednesday 25 March 2026" in texts[1]


def test_a_demonstration_is_written_across_every_page(month_pdf, day_pdf):
    """The words stand on each page many times, so that no crop loses them."""
    for made in (month_pdf, day_pdf):
        for page in reader(made).pages:
            drawn = page["/Resources"].get_object()["/Pattern"]
            assert len(drawn) >= 1
            assert "emonstration record" in page.extract_text()


def test_title_language_and_moment_are_in_the_file(day_pdf):
    """A reader's window shows the title; the dates are those of the printing."""
    made = reader(day_pdf)
    title = "The day's record, Wednesday 25 March 2026, Thistledrift Farm"
    assert made.metadata.title == title
    assert made.metadata["/CreationDate"] == "D:20260325210000+00'00"
    assert made.trailer["/Root"]["/Lang"] == "en"


def test_the_parts_are_bookmarked(day_pdf):
    """Title and headings can be jumped to."""
    (title, parts) = reader(day_pdf).outline
    assert title.title == "Wednesday 25 March 2026"
    assert parts[0].title == "Tasks"


def test_every_font_is_embedded(day_pdf, month_pdf):
    """It looks the same on a machine without these fonts."""
    for made in (day_pdf, month_pdf):
        for page in reader(made).pages:
            for font in page["/Resources"]["/Font"].values():
                described = font["/DescendantFonts"][0]["/FontDescriptor"]
                assert {"/FontFile2", "/FontFile3"} & set(described)


def test_days_of_the_grid_read_in_order(month_pdf):
    """Taken out as text, a row still has one sign for each day."""
    text = reader(month_pdf).pages[0].extract_text()
    (row,) = (line for line in text.splitlines() if line.count("AB▲") == 1)
    signs = row[row.index("AB") :].split()
    assert signs[24] == "AB▲"
    assert signs[25:31] == ["_"] * 6


def test_attached_files_come_back_as_they_were():
    """What travels inside keeps every byte, with its name; dates are of the moment."""
    content = b"a,b\r\n1,2\r\n"
    file = Attached("rows.csv", content, "The rows of this page")
    made = press.make(BARE.format("x"), [file], MOMENT)
    assert reader(made).attachments["rows.csv"] == [content]
    assert b"(D:20260325210000Z)" in made
    assert faults(made) == []
    assert press.make(BARE.format("x"), [file], MOMENT) == made


def test_no_stream_ends_in_a_carriage_return():
    """A validator takes that for a fault of the keyword that follows."""
    assert zlib.compress(ENDS_IN_RETURN, 9).endswith(b"\r")
    file = Attached("rows.csv", ENDS_IN_RETURN, "rows")
    made = press.make(BARE.format("x"), [file], MOMENT)
    assert b"\r\nendstream" not in made
    assert reader(made).attachments["rows.csv"] == [ENDS_IN_RETURN]
    assert faults(made) == []


def test_the_lists_of_objects_do_not_either():
    """The last streams are made after all others: empty objects change their end."""
    lengths = {len(_padded(n)) for n in range(3)}
    assert len(lengths) == 3
    assert faults(_padded(2)) == []


def test_a_picture_that_ends_in_a_carriage_return_is_wrapped():
    """It is packed by the engine itself, and comes back point by point."""
    image = Image.new("L", (3, 1))
    image.putdata([5, 0, 7])
    assert RasterImage._get_png_data(image).endswith(b"\r")  # found by trying
    held = io.BytesIO()
    image.save(held, "PNG")
    address = f"data:image/png;base64,{base64.b64encode(held.getvalue()).decode()}"
    tag = f'<img alt="x" style="image-rendering: crisp-edges" src="{address}">'
    made = press.make(BARE.format(tag), [], MOMENT)
    (shown,) = reader(made).pages[0].images
    assert shown.image.tobytes() == bytes([5, 0, 7])
    assert faults(made) == []


def _padded(padding: int) -> bytes:
    return press._write(press._lay_out(BARE.format("x")), (), MOMENT, padding)


def test_a_character_that_no_font_has_is_spelt_out(caplog):
    """An archive file holds no empty box: the code of the character stands there."""
    made = press.make(BARE.format("wheat \U0010fffd field"), [], MOMENT)
    caplog.clear()
    assert "[U+10FFFD]" in reader(made).pages[0].extract_text()
    assert faults(made) == []


def test_right_to_left_text_stays_valid(shed):
    """Names in Arabic and Hebrew stand among figures without a fault."""
    shed.write(
        walked(at("2026-03-25"), note="נבדק פעמיים 07:15"), at("2026-03-25", "07:00")
    )
    shed.write(Person(code="AB", name="تنظيف الصواني"), at("2026-03-02"))
    made = paper.pdf(paper.html("day", day.page(read(shed))), MOMENT)
    assert faults(made) == []
    assert "<>" not in _text_maps(made)


def _text_maps(made: bytes) -> str:
    return "".join(
        font["/ToUnicode"].get_data().decode()
        for page in reader(made).pages
        for font in page["/Resources"]["/Font"].values()
    )


@pytest.mark.parametrize(
    "address",
    [
        "file:///etc/passwd",
        "http://127.0.0.1:9/x.svg",
        "data:text/html;base64,AAAA",
        "data:image/png;base64,AAAA",
        "data:image/gif;base64,R0lGODlhAQABAAAAACw=",
        "data:image/svg+xml;utf8,<svg/>",
        "x.svg",
    ],
)
def test_nothing_is_fetched(address):
    """Every address but a drawing that the page itself contains is refused."""
    with pytest.raises(ValueError, match="fetches nothing"):
        press.OnlyOwnPictures().fetch(address)


def test_an_empty_file_and_a_large_one_travel_inside():
    """Both are as they were, and the file is still an archive."""
    large = b"a row of a long listing, as long as this\r\n" * 130_000
    assert len(large) > 5_000_000
    given = (
        Attached("empty.csv", b"", "nothing"),
        Attached("large.csv", large, "much"),
    )
    made = paper.pdf(BARE.format("x"), MOMENT, given)
    assert reader(made).attachments == {"empty.csv": [b""], "large.csv": [large]}
    assert faults(made) == []
