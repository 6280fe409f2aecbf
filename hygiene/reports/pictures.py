"""Photos and certificates for a page: turned upright, made smaller, written anew.

A file is kept in the record as it came; a page never holds those bytes. What a page
shows was decoded here and encoded again, so nothing else that a file may carry (where
it was taken, a second picture, a script) travels with a report. What cannot be shown
is said in words.
"""

from __future__ import annotations

import base64
import logging
import re
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from hygiene.book.record import Record
from hygiene.reports.period import plain_day

if TYPE_CHECKING:
    from PIL.Image import Image, Transpose

LONGEST_PX: Final = 1200
"""The longer side of a picture: 150 points to the inch across a page of A4."""
MOST_POINTS: Final = 120_000_000
"""What is larger would need half a gigabyte to decode: no camera's photo in 10 MB."""
QUALITY: Final = 85
FORMATS: Final = ("JPEG", "PNG", "GIF", "WEBP", "TIFF", "BMP")
SORTS: Final = (
    (re.compile(rb"%PDF-"), "a PDF"),
    (re.compile(rb".{4}ftyp(hei[cmsx]|hev[cmsx]|mif1|msf1)", re.S), "a HEIC photo"),
    (re.compile(rb".{4}ftypavi[fs]", re.S), "an AVIF photo"),
    (re.compile(rb".{4}ftyp", re.S), "a film"),
    (re.compile(rb"\s*(<\?xml[^>]*>\s*)?<svg"), "an SVG drawing"),
    (re.compile(rb"PK\x03\x04"), "an office document or a ZIP file"),
)
"""What is kept often and cannot be drawn, by how it begins."""
AS_JPEG: Final = ("a HEIC photo", "an AVIF photo")
MOMENT: Final = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d)(:\d\d)?")
OFFSET: Final = re.compile(r"[+-]\d\d:\d\d")


class Photo(NamedTuple):
    """A file as a page shows it.

    ``content`` (JPEG or PNG, ``media`` says which) is empty where it cannot be shown;
    ``why`` then says so in words. ``taken`` is by the camera's own clock, empty where
    the file does not say; ``note`` is what a reader should know, or empty.
    """

    name: str
    content: bytes = b""
    media: str = ""
    width_px: int = 0
    height_px: int = 0
    taken: str = ""
    note: str = ""
    why: str = ""

    @property
    def address(self) -> str:
        """What an ``img`` has as its ``src``: the picture itself."""
        from markupsafe import Markup

        return Markup(
            f"data:{self.media};base64,{base64.b64encode(self.content).decode()}"
        )

    @property
    def alternative(self) -> str:
        """What is read aloud in its place."""
        taken = f", taken {self.taken} by the camera's clock" if self.taken else ""
        return f"The attached picture {self.name}{taken}"


def photo_of(
    record: Record, row: Mapping[str, Any], longest_px: int = LONGEST_PX
) -> Photo:
    """The picture that a row of an entry's ``attached`` names, read and shrunk."""
    name = str(row.get("name") or "without a name")
    return photo(record.file(str(row.get("sha256"))), name, longest_px)


def photo(content: bytes | None, name: str, longest_px: int = LONGEST_PX) -> Photo:
    """A file's picture for a page; never raises: what cannot be shown is said.

    Its longer side has at most ``longest_px`` points. The same bytes give the same
    picture, for one version of the picture library.
    """
    if content is None:
        return Photo(name, why="is missing from the record")
    if not content:
        return Photo(name, why="is empty: it has 0 bytes")
    sort = next((said for how, said in SORTS if how.match(content)), None)
    if sort is not None:
        return Photo(name, why=_not_drawn(sort))
    try:
        with _strict():
            return _photo(content, name, longest_px)
    except _CannotShow as fault:
        return Photo(name, why=str(fault))
    except Exception as fault:
        # a decoder of foreign bytes may raise anything
        return Photo(name, why=_broken(fault))


def hard_to_show(begins: bytes) -> str:
    """What to do about a photo that no page will show, by its first bytes; or nothing.

    For whoever keeps it: a certificate as PDF is as it should be, and nothing is said.
    """
    sort = next((said for how, said in SORTS if how.match(begins)), None)
    if sort not in AS_JPEG:
        return ""
    return f"is {sort}, which no page can show: keep a JPEG of it as well"


class _CannotShow(Exception):
    """Why a picture is not shown."""


def _not_drawn(sort: str) -> str:
    hint = "; keep a JPEG of it as well" if sort in AS_JPEG else ""
    return f"is {sort}, which a page cannot show{hint}; it is kept whole in the record"


def _broken(fault: Exception) -> str:
    from PIL import UnidentifiedImageError

    if isinstance(fault, UnidentifiedImageError):
        return "is no picture that can be read; it is kept whole in the record"
    return "is a damaged picture: part of it is missing or cannot be read"


@contextmanager
def _strict() -> Iterator[None]:
    """Half a picture is a fault, though the layout engine asks to draw it in grey."""
    from PIL import ImageFile

    before, log = ImageFile.LOAD_TRUNCATED_IMAGES, logging.getLogger("PIL")
    level = log.level
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    log.setLevel(logging.CRITICAL + 1)  # what is odd is said by us, in words
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before
        log.setLevel(level)


def _photo(content: bytes, name: str, longest_px: int) -> Photo:
    from PIL import Image

    try:
        image: Image.Image = Image.open(BytesIO(content), formats=FORMATS)
    except Image.DecompressionBombError as fault:
        raise _CannotShow(_too_large("more points than any camera's photo")) from fault
    if image.width * image.height > MOST_POINTS:
        points = f"{image.width:,} by {image.height:,} points"
        raise _CannotShow(_too_large(points))
    note = _note(image)
    # a JPEG is decoded at a fraction of its size where that is enough
    image.draft("RGB", (longest_px, longest_px))
    image.load()  # which turns a TIFF by itself, and then says so no more
    turn, taken = _exif(image)
    shown = _small(_plain(image), longest_px)
    shown = shown.transpose(turn) if turn is not None else shown
    media, made = _encoded(shown)
    return Photo(name, made, media, shown.width, shown.height, taken, note)


def _too_large(points: str) -> str:
    return f"is too large to show, with {points}; it is kept whole in the record"


def _note(image: Image) -> str:
    pages = getattr(image, "n_frames", 1)
    if pages > 1 and image.format != "MPO":  # a second view of the same shot
        return f"the first of {pages} pictures in it"
    return ""


def _exif(image: Image) -> tuple[Transpose | None, str]:
    """How it must be turned to stand upright, and when it was taken.

    A damaged table of facts says neither, and the picture is shown all the same.
    """
    from PIL import ExifTags
    from PIL.Image import Transpose

    turns = (
        None, Transpose.FLIP_LEFT_RIGHT, Transpose.ROTATE_180,
        Transpose.FLIP_TOP_BOTTOM, Transpose.TRANSPOSE, Transpose.ROTATE_270,
        Transpose.TRANSVERSE, Transpose.ROTATE_90,
    )  # fmt: skip
    try:
        facts = image.getexif()
        inner = facts.get_ifd(ExifTags.IFD.Exif)
        way = facts.get(ExifTags.Base.Orientation, 1)
        taken = _moment(
            inner.get(ExifTags.Base.DateTimeOriginal),
            inner.get(ExifTags.Base.OffsetTimeOriginal),
        )
    except Exception:
        # foreign programs write it in many odd ways: reading it may raise anything
        return None, ""
    right = isinstance(way, int) and 1 <= way <= len(turns)
    return turns[way - 1] if right else None, taken


def _moment(given: Any, offset: Any) -> str:
    """EXIF writes 2026:03:25 07:14:09, and zeros or spaces where it does not know."""
    found = MOMENT.match(given) if isinstance(given, str) else None
    if found is None:
        return ""
    year, month, day, hour, minute = map(int, found.groups()[:5])
    try:
        moment = datetime(year, month, day, hour, minute)
    except ValueError:
        return ""
    known = isinstance(offset, str) and OFFSET.match(offset)
    zone = f" ({offset[:6]})" if known else ""
    return f"{plain_day(moment.date())}, {moment:%H:%M}{zone}"


def _plain(image: Image) -> Image:
    """As eight-bit grey or red, green and blue, on white where it is see-through."""
    from PIL.Image import new

    image = _in_usual_colours(image)
    if image.mode.startswith("I;16") or image.mode in ("I", "F"):
        return _from_deep(image)
    if image.mode in ("1", "L"):
        return image.convert("L")
    if image.has_transparency_data:
        layer = image.convert("RGBA")
        ground = new("RGB", layer.size, "white")
        ground.paste(layer, mask=layer.getchannel("A"))
        return ground
    return image.convert("RGB")


def _in_usual_colours(image: Image) -> Image:
    """In the colours of sRGB, where the file says that it means others: on a page
    nothing says so any more. A profile that cannot be used is passed over.
    """
    from PIL import ImageCms

    profile = image.info.get("icc_profile")
    if not profile or image.mode not in ("RGB", "CMYK"):
        return image
    usual = ImageCms.createProfile("sRGB")
    try:
        meant = ImageCms.profileToProfile(
            image, BytesIO(profile), usual, outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image
    return meant or image


def _from_deep(image: Image) -> Image:
    """More than eight bits of grey, from the darkest to the lightest that is there."""
    deep = image.convert("F")
    low, high = (float(end) for end in deep.getextrema())  # type: ignore[arg-type]
    step = 255 / (high - low) if high > low else 0.0
    return deep.point(lambda value: value * step - low * step).convert("L")


def _small(image: Image, longest_px: int) -> Image:
    if max(image.size) > longest_px:
        image.thumbnail((longest_px, longest_px))
    return image


def _encoded(image: Image) -> tuple[str, bytes]:
    """Photos are smaller as JPEG, scans and screens as PNG: whichever is smaller."""
    from PIL.Image import new

    bare = new(image.mode, image.size)  # no remark, no profile, no table of facts
    bare.paste(image)
    jpeg, png = BytesIO(), BytesIO()
    bare.save(jpeg, "JPEG", quality=QUALITY, optimize=True)
    bare.save(png, "PNG")
    if png.tell() <= jpeg.tell():
        return "image/png", png.getvalue()
    return "image/jpeg", jpeg.getvalue()
