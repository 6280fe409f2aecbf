from __future__ import annotations

import io
import struct
import warnings
import zlib
from datetime import UTC, datetime

import pypdf
import pytest
from pdf_checks import faults
from PIL import ExifTags, Image, ImageCms, ImageFile

from hygiene.reports import press
from hygiene.reports.pictures import LONGEST_PX, Photo, photo, photo_of

RED, GREEN, BLUE, WHITE = (200, 0, 0), (0, 150, 0), (0, 0, 200), (255, 255, 255)
CORNERS = {"tl": RED, "tr": GREEN, "bl": BLUE, "br": WHITE}
# Exif 2.32, 4.6.4 (Orientation): where the 0th row and the 0th column are seen
SIDES = {
    1: ("top", "left"), 2: ("top", "right"), 3: ("bottom", "right"),
    4: ("bottom", "left"), 5: ("left", "top"), 6: ("right", "top"),
    7: ("right", "bottom"), 8: ("left", "bottom"),
}  # fmt: skip
BARE = '<html lang="en"><head><title>T</title></head><body><p>x</p>{}</body></html>'
MOMENT = datetime(2026, 3, 25, 21, tzinfo=UTC)


def scene(width: int = 60, height: int = 40) -> Image.Image:
    """Four quarters, each of its own colour."""
    made = Image.new("RGB", (width, height))
    for name, colour in CORNERS.items():
        x = 0 if name[1] == "l" else width // 2
        y = 0 if name[0] == "t" else height // 2
        made.paste(colour, (x, y, x + width // 2, y + height // 2))
    return made


def stored_as(orientation: int) -> Image.Image:
    """The scene as a camera that is held so stores it, point by point."""
    seen = scene()
    row, column = SIDES[orientation]
    turned = row in ("left", "right")
    size = (seen.height, seen.width) if turned else seen.size
    made = Image.new("RGB", size)
    for y in range(size[1]):
        for x in range(size[0]):
            along, down = (y, x) if turned else (x, y)
            if "right" in (row, column):
                along = seen.width - 1 - along
            if "bottom" in (row, column):
                down = seen.height - 1 - down
            made.putpixel((x, y), seen.getpixel((along, down)))
    return made


def saved(image: Image.Image, kind: str = "JPEG", exif: object = None, **how) -> bytes:
    held = io.BytesIO()
    if exif is not None:
        how["exif"] = exif
    image.save(held, kind, **how)
    return held.getvalue()


def facts(orientation: int = 1, taken: str = "", offset: str = "") -> Image.Exif:
    made = Image.Exif()
    made[ExifTags.Base.Orientation] = orientation
    inner = made.get_ifd(ExifTags.IFD.Exif)
    if taken:
        inner[ExifTags.Base.DateTimeOriginal] = taken
    if offset:
        inner[ExifTags.Base.OffsetTimeOriginal] = offset
    return made


def opened(made: Photo) -> Image.Image:
    assert made.why == ""
    return Image.open(io.BytesIO(made.content)).convert("RGB")


def corners(image: Image.Image) -> dict[str, tuple[int, int, int]]:
    """The colour at each corner, to the nearest of the four."""
    w, h = image.size
    at = {"tl": (4, 4), "tr": (w - 5, 4), "bl": (4, h - 5), "br": (w - 5, h - 5)}
    return {name: _nearest(image.getpixel(place)) for name, place in at.items()}


def _nearest(colour) -> tuple[int, int, int]:
    return min(
        CORNERS.values(),
        key=lambda c: sum((a - b) ** 2 for a, b in zip(c, colour, strict=True)),
    )


@pytest.mark.parametrize("orientation", SIDES)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "TIFF"])
def test_a_photo_stands_upright_however_the_camera_was_held(orientation, kind):
    """All eight orientations come out alike (Exif 2.32, Orientation)."""
    content = saved(stored_as(orientation), kind, facts(orientation))
    made = opened(photo(content, "x"))
    assert made.size == (60, 40)
    assert corners(made) == CORNERS


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_an_orientation_that_there_is_not_turns_nothing(orientation):
    """A camera that writes nonsense has its photo shown as it lies."""
    made = opened(photo(saved(scene(), exif=facts(orientation)), "x"))
    assert corners(made) == CORNERS


def test_a_large_photo_is_made_smaller_and_keeps_its_shape():
    """The longer side is what was asked for, upright."""
    content = saved(scene(3000, 1500), exif=facts(6))
    made = photo(content, "x")
    assert (made.width_px, made.height_px) == (LONGEST_PX // 2, LONGEST_PX)
    assert opened(photo(content, "x", 300)).size == (150, 300)


def test_a_small_photo_is_not_made_larger():
    """A page stretches nothing."""
    assert opened(photo(saved(scene()), "x")).size == (60, 40)


@pytest.mark.parametrize(
    ("taken", "offset", "said"),
    [
        ("2026:03:25 07:14:09", "", "25 March 2026, 07:14"),
        ("2026:03:25 07:14:09", "+01:00", "25 March 2026, 07:14 (+01:00)"),
        ("2026:03:25 07:14:09", "   :  ", "25 March 2026, 07:14"),
        ("0000:00:00 00:00:00", "", ""),
        ("2026:13:45 99:99:99", "", ""),
        ("    :  :     :  :  ", "", ""),
        ("yesterday", "", ""),
        ("", "", ""),
    ],
)
def test_it_says_when_it_was_taken(taken, offset, said):
    """By the camera's own clock; what no clock can show is left out."""
    made = photo(saved(scene(), exif=facts(1, taken, offset)), "x")
    assert made.taken == said


def test_what_is_read_aloud_names_file_and_time():
    """A page must also make sense to who cannot see the picture."""
    made = photo(saved(scene(), exif=facts(1, "2026:03:25 07:14:09")), "tray.jpg")
    assert made.alternative == (
        "The attached picture tray.jpg, taken 25 March 2026, 07:14 by the camera's "
        "clock"
    )


def test_nothing_of_the_file_travels_but_the_picture():
    """Where it was taken, the camera's number, a comment: none is in the page."""
    exif = facts()
    exif[ExifTags.Base.Make] = "CAMERA-OF-MINE"
    content = saved(scene(), exif=exif, comment=b"PRIVATE-WORDS")
    assert b"CAMERA-OF-MINE" in content
    assert b"PRIVATE-WORDS" in content
    made = photo(content, "x").content
    assert b"CAMERA-OF-MINE" not in made
    assert b"PRIVATE-WORDS" not in made
    assert b"Exif" not in made


def test_the_same_file_gives_the_same_picture():
    """So a page that shows it can be made again, byte for byte."""
    content = saved(scene(900, 600))
    assert photo(content, "x") == photo(content, "x")


@pytest.mark.parametrize("kind", ["JPEG", "TIFF"])
def test_printing_colours_become_those_of_a_screen(kind):
    """CMYK, as a scanner's software may write it."""
    made = opened(photo(saved(scene().convert("CMYK"), kind), "x"))
    assert corners(made) == CORNERS


def test_a_camera_with_colours_of_its_own_shows_the_right_ones():
    """A profile in which red and green have changed places makes red points green."""
    usual = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    swapped = usual.replace(b"rXYZ", b"gXYZ", 1)
    assert swapped != usual
    place = usual.index(b"gXYZ")
    swapped = swapped[:place] + b"rXYZ" + swapped[place + 4 :]
    made = opened(photo(saved(scene(), icc_profile=swapped), "x"))
    assert corners(made) == {**CORNERS, "tl": GREEN, "tr": RED}


def test_a_damaged_profile_does_not_lose_the_picture():
    """Its colours are taken for the usual ones."""
    content = saved(scene(), icc_profile=b"no profile at all")
    assert corners(opened(photo(content, "x"))) == CORNERS


@pytest.mark.parametrize("mode", ["I;16", "I", "F"])
def test_deep_grey_keeps_its_shades(mode):
    """Sixteen bits and more are brought to eight; cut off, all would be white."""
    deep = Image.new(mode, (40, 40), 1000)
    deep.paste(60_000, (20, 0, 40, 40))
    kind = "PNG" if mode == "I;16" else "TIFF"
    made = opened(photo(saved(deep, kind), "x"))
    assert made.getpixel((5, 20)) == (0, 0, 0)
    assert made.getpixel((35, 20)) == WHITE


def test_sixteen_bit_colour_is_shown():
    """A PNG with two bytes for each colour, written by hand."""
    rows = b"".join(b"\0" + b"\xff\xff\0\0\0\0" * 4 for _ in range(4))
    header = struct.pack(">IIBBBBB", 4, 4, 16, 2, 0, 0, 0)
    content = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data))
        + name
        + data
        + struct.pack(">I", zlib.crc32(name + data))
        for name, data in (
            (b"IHDR", header), (b"IDAT", zlib.compress(rows)), (b"IEND", b""),
        )
    )  # fmt: skip
    assert opened(photo(content, "x")).getpixel((1, 1)) == (255, 0, 0)


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P", "1", "L"])
def test_other_sorts_of_points_are_shown_on_white(mode):
    """What is see-through shows white paper, not black."""
    image = scene().convert(mode)
    if mode in ("RGBA", "LA"):
        image.putalpha(0)
    made = opened(photo(saved(image, "PNG"), "x"))
    assert made.getpixel((55, 35)) == WHITE
    assert (made.getpixel((5, 5)) == WHITE) is (mode in ("RGBA", "LA"))


def test_of_a_film_in_pictures_the_first_is_shown():
    """A GIF may hold many pictures, and the page says that it shows one."""
    others = [Image.new("RGB", (60, 40), shade) for shade in ("navy", "teal")]
    content = saved(scene(), "GIF", save_all=True, append_images=others)
    made = photo(content, "x")
    assert made.note == "the first of 3 pictures in it"
    assert corners(opened(made)) == CORNERS


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (None, "is missing from the record"),
        (b"", "is empty: it has 0 bytes"),
        (b"%PDF-1.7\n...", "is a PDF, which a page cannot show"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "is a HEIC photo"),
        (b"\0\0\0\x18ftypavif\0\0\0\0", "is an AVIF photo"),
        (b"\0\0\0\x18ftypisom\0\0\0\0", "is a film"),
        (b"<?xml version='1.0'?>\n<svg/>", "is an SVG drawing"),
        (b"PK\x03\x04word/document.xml", "is an office document or a ZIP file"),
        (b"temp.GROW=21.3\n", "is no picture that can be read"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n", "is no picture that can be read"),
    ],
)
def test_what_cannot_be_shown_is_said(content, why):
    """Missing, empty, a certificate as PDF, another device's format, no picture."""
    made = photo(content, "x")
    assert made.content == b""
    assert why in made.why


def test_who_sends_a_heic_photo_is_told_what_would_do():
    """The way out stands beside the reason."""
    assert "keep a JPEG of it as well" in photo(b"\0\0\0\x18ftypheic", "x").why


def test_who_keeps_a_photo_that_no_page_shows_is_told_at_once(run, sprouts, tmp_path):
    """The file is kept; a PDF or a JPEG is kept without a word."""
    heic, plain = tmp_path / "tray.heic", tmp_path / "note.pdf"
    heic.write_bytes(b"\0\0\0\x18ftypheic\0\0\0\0")
    plain.write_bytes(b"%PDF-1.7\n")
    words = ("file", "assessment", "--title", "HACCP", "--by", "AB", "--attach")
    made = run(*words, heic, world=sprouts.world())
    assert made.exit_code == 0
    assert "tray.heic is a HEIC photo" in made.stderr
    assert run(*words, plain, world=sprouts.world()).stderr == ""


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "GIF", "TIFF", "WEBP"])
@pytest.mark.parametrize("torn_on", [False, True])
def test_half_a_picture_is_said_and_not_drawn_grey(kind, torn_on, monkeypatch):
    """Also after the layout engine told the library to draw what there is."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", torn_on)
    noise = Image.effect_noise((200, 200), 90).convert("RGB")
    content = saved(noise, kind)
    made = photo(content[: len(content) // 2], "x")
    assert (made.content, bool(made.why)) == (b"", True)
    assert ImageFile.LOAD_TRUNCATED_IMAGES is torn_on


def says_it_is(width: int, height: int) -> bytes:
    """The beginning of a PNG, which tells its size and holds nothing."""
    chunk = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    content = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + chunk
    return content + struct.pack(">II", zlib.crc32(chunk), 0) + b"IDAT"


def test_a_bomb_is_not_set_off():
    """A few bytes that say they are a picture of sixty thousand by sixty thousand."""
    assert "is too large to show" in photo(says_it_is(60_000, 60_000), "x").why


def test_a_large_one_is_said_with_its_size():
    """Between what the library refuses and what a camera makes."""
    found = photo(says_it_is(13_000, 10_000), "x").why
    assert "with 13,000 by 10,000 points" in found


def test_a_damaged_table_of_facts_does_not_lose_the_picture():
    """The picture is shown as it lies."""
    content = saved(scene(), exif=b"Exif\0\0II*\0\xff\xff\xff\xff")
    assert corners(opened(photo(content, "x"))) == CORNERS


def test_what_the_library_says_on_its_log_is_not_printed(caplog):
    """A TIFF with more colours than there are: said by us, and only once."""
    content = bytearray(saved(scene(), "TIFF"))
    place = content.index(b"\x15\x01\x03\x00")  # SamplesPerPixel, TIFF 6.0 tag 277
    content[place + 8 : place + 10] = b"\x03\x10"
    assert photo(bytes(content), "x").why
    assert caplog.records == []


def test_no_file_makes_it_fall_over():
    """Bytes changed at random are a picture or are said; seeded, 150 files."""
    import random

    chance = random.Random(8)
    whole = [
        saved(stored_as(6), kind, facts(6, "2026:03:25 07:14:09"))
        for kind in ("JPEG", "PNG", "TIFF", "WEBP")
    ] + [saved(scene(), "GIF"), saved(scene(), "BMP")]
    for _ in range(150):
        content = bytearray(chance.choice(whole))
        for _ in range(chance.randint(1, 12)):
            content[chance.randrange(len(content))] = chance.randrange(256)
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            made = photo(bytes(content), "x")
        assert bool(made.content) != bool(made.why)


@pytest.mark.parametrize(
    "image", [scene(900, 600), Image.new("L", (300, 80), 128)], ids=["colour", "grey"]
)
@pytest.mark.parametrize("noisy", [True, False], ids=["photo", "scan"])
def test_a_page_with_a_picture_is_an_archive_file(image, noisy):
    """It passes PDF/A-3a and PDF/UA-1 (page-validation), and holds the picture."""
    if noisy:
        noise = Image.effect_noise(image.size, 60).convert(image.mode)
        image = Image.blend(image, noise, 0.5)
    shown = photo(saved(image, "PNG"), "tray.png")
    assert shown.media == ("image/jpeg" if noisy else "image/png")
    style = "<style>img { image-rendering: crisp-edges }</style>"
    tag = f'{style}<img src="{shown.address}" alt="{shown.alternative}">'
    made = press.make(BARE.format(tag), [], MOMENT)
    assert faults(made) == []
    (held,) = pypdf.PdfReader(io.BytesIO(made)).pages[0].images
    assert held.image.size == image.size


class OneFile:
    """A record that holds one file, and nothing else."""

    def file(self, digest: str) -> bytes | None:
        return saved(scene()) if digest == "a" * 64 else None


def test_the_row_of_an_entry_names_it():
    """The file is found by its hash; one that is not there is said."""
    row = {"sha256": "a" * 64, "name": "tray.jpg", "bytes": 1}
    assert photo_of(OneFile(), row).media in ("image/jpeg", "image/png")
    assert photo_of(OneFile(), {**row, "sha256": "b" * 64}).why == (
        "is missing from the record"
    )
