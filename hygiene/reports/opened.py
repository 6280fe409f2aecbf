"""A PDF that somebody hands over: the files inside it, and what its pages print.

It may be damaged, made to harm, or no PDF at all. Nothing in it is believed or run:
only streams packed in the two ways that our own files use are unpacked, up to a limit,
and whatever goes wrong while it is read is one sentence.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from hygiene import plain_file
from hygiene.errors import Damaged, WronglyPut

if TYPE_CHECKING:
    from pypdf import PdfReader

LARGEST_PDF_BYTES = 200_000_000
LARGEST_STREAM_BYTES = 96_000_000
"""Of a stream when unpacked; the entries of six very busy years take 70 MB."""
LARGEST_PAGE_BYTES = 2_000_000
MOST_FILES = 1_000
MOST_FILE_BYTES = 256_000_000
"""Of all files inside together, when unpacked."""
MOST_DEPTH = 8
PAGES_READ = 6
"""The heads are printed at the end: so many last pages are searched for them."""
PACKED = {"/FlateDecode", "/ASCII85Decode"}


class NoPdf(WronglyPut):
    """There is no such file, or it cannot be opened."""

    sentence = "{path}: {what}"


class CannotBeRead(Damaged):
    """A file that is no PDF, a damaged one, or one that was made to harm."""

    sentence = "{path} cannot be read as a report: {what}"


class _Odd(Exception):
    """Something that no report of ours has."""


def content_of(path: Path) -> bytes:
    """The bytes of the file; raises ``NoPdf`` or ``CannotBeRead``."""
    try:
        content = plain_file.content_of(path, LARGEST_PDF_BYTES)
    except OSError as failure:
        raise NoPdf(path=path, what=failure.strerror or failure) from failure
    if len(content) > LARGEST_PDF_BYTES:
        raise CannotBeRead(path=path, what="it is larger than 200 MB")
    if not content.startswith(b"%PDF-"):
        raise CannotBeRead(path=path, what="it is no PDF")
    return content


class Inside(NamedTuple):
    """The files that travel inside by their names, and what the last pages say.

    The words have no space between; what a picture or an odd font shows is not read.
    """

    files: Mapping[str, bytes]
    words: str


def inside(path: Path, content: bytes) -> Inside:
    """What is in the file; raises ``CannotBeRead``."""
    with _read(path, content) as reader:
        files = dict(_files(reader))
        pages = list(reader.pages)[-PAGES_READ:]
        told = [
            page.extract_text()
            for page in pages
            if sum(len(data) for data in _drawing(page)) <= LARGEST_PAGE_BYTES
        ]
    return Inside(files, "".join("".join(told).split()))


def drawings(path: Path, content: bytes) -> tuple[list[str], list[str]]:
    """The hashes of what draws each page, and of the fonts that are embedded."""
    with _read(path, content) as reader:
        pages = [
            sha256(b"\n".join(_drawing(page))).hexdigest() for page in reader.pages
        ]
        fonts = {
            sha256(_unpacked(found)).hexdigest()
            for page in reader.pages
            for found in _fonts(page)
        }
    return pages, sorted(fonts)


@contextmanager
def _read(path: Path, content: bytes) -> Iterator[PdfReader]:
    """Its reader, with limits; all that goes wrong inside is ``CannotBeRead``."""
    import pypdf
    from pypdf.errors import LimitReachedError

    log = logging.getLogger("pypdf")
    before = log.level
    log.setLevel(logging.CRITICAL)  # what it would mend, we do not read
    try:
        with pypdf.apply_configuration(zlib_maximum_output_length=LARGEST_STREAM_BYTES):
            reader = pypdf.PdfReader(BytesIO(content), strict=True)
            if reader.is_encrypted:
                raise _Odd("it is locked with a password")
            yield reader
    except _Odd as odd:
        raise CannotBeRead(path=path, what=odd) from odd
    except LimitReachedError as failure:
        what = "something in it unpacks to more than a report ever holds"
        raise CannotBeRead(path=path, what=what) from failure
    except (MemoryError, RecursionError) as failure:
        what = "it is too deep or too large"
        raise CannotBeRead(path=path, what=what) from failure
    # a library that is handed a damaged file may raise anything
    except Exception as failure:
        what = "it is damaged, or was cut short"
        raise CannotBeRead(path=path, what=what) from failure
    finally:
        log.setLevel(before)


def _files(reader: PdfReader) -> Iterator[tuple[str, bytes]]:
    tree = _at(_at(reader.trailer["/Root"].get_object(), "/Names"), "/EmbeddedFiles")
    seen: set[str] = set()
    whole = 0
    for name, spec in _named(tree, MOST_DEPTH):
        if name in seen:
            raise _Odd(f"two files inside it are called {name[:60]!r}")
        seen.add(name)
        if len(seen) > MOST_FILES:
            raise _Odd(f"more than {MOST_FILES:,} files are inside it")
        content = _unpacked(spec["/EF"]["/F"].get_object())
        whole += len(content)
        if whole > MOST_FILE_BYTES:
            raise _Odd("the files inside it are larger than a report's ever are")
        yield name, content


def _at(table: Any, key: str) -> Any:
    """What stands there; an empty table where nothing does."""
    found = table.get(key)
    return {} if found is None else found.get_object()


def _named(node: Any, depth: int) -> Iterator[tuple[str, Any]]:
    """The names of a tree and what stands under them; a ring in it has no end."""
    if depth == 0:
        raise _Odd("the list of files inside it has no end")
    for kid in node.get("/Kids", ()):
        yield from _named(kid.get_object(), depth - 1)
    pairs = node.get("/Names", ())
    for place in range(0, len(pairs) - 1, 2):
        yield str(pairs[place]), pairs[place + 1].get_object()


def _unpacked(stream: Any) -> bytes:
    filters = stream.get("/Filter", [])
    names = filters if isinstance(filters, list) else [filters]
    if len(names) > 2 or not {str(name) for name in names} <= PACKED:
        raise _Odd("something inside it is packed in a way that no report uses")
    made = stream.get_data()
    if not isinstance(made, bytes):
        raise _Odd("a file inside it is none")
    return made


def _drawing(page: Any) -> list[bytes]:
    found = _at(page, "/Contents") or []
    return [
        _unpacked(s.get_object())
        for s in (found if isinstance(found, list) else [found])
    ]


def _fonts(page: Any) -> Iterator[Any]:
    """The font files of a page's fonts."""
    for font in _at(_at(page, "/Resources"), "/Font").values():
        inner = font.get_object()
        for each in [inner, *inner.get("/DescendantFonts", ())]:
            described = _at(each.get_object(), "/FontDescriptor")
            for key in ("/FontFile", "/FontFile2", "/FontFile3"):
                if key in described:
                    yield described[key].get_object()
