"""A PDF that was made to harm, or is damaged, is one sentence, in bounded memory."""

from __future__ import annotations

import io
import random
import tracemalloc
import zlib
from datetime import UTC, datetime
from pathlib import Path

import pypdf
import pytest
from broken import broken
from pypdf.generic import (
    ArrayObject,
    DictionaryObject,
    NameObject,
    StreamObject,
    TextStringObject,
)
from tampering import MANIFEST, files, with_files

from hygiene.errors import HygieneError
from hygiene.reports import checking, opened, paper, proof
from hygiene.reports.attached import Attached
from hygiene.reports.opened import CannotBeRead, NoPdf

BARE = '<html lang="en"><head><title>T</title></head><body><p>A</p></body></html>'
GIVEN = dict.fromkeys(proof.OWN, b"x" * 200)


@pytest.fixture(scope="module")
def plain() -> bytes:
    """A small file of ours that carries three files."""
    moment = datetime(2026, 3, 25, 21, tzinfo=UTC)
    inside = [Attached(name, made, "d") for name, made in GIVEN.items()]
    return paper.pdf(BARE, moment, inside)


def inside(content: bytes) -> dict[str, bytes]:
    return dict(opened.inside(Path("a.pdf"), content).files)


def tree(content: bytes, change) -> bytes:
    """The PDF with its list of files changed by ``change(writer, list)``."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(content))
    change(writer, writer.root_object["/Names"]["/EmbeddedFiles"].get_object())
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


def refused(content: bytes) -> str:
    with pytest.raises(CannotBeRead) as failure:
        inside(content)
    assert failure.value.exit_code == 6
    return str(failure.value)


def test_the_files_inside_are_read(plain: bytes):
    """As they were put in."""
    assert inside(plain) == GIVEN


def test_a_file_that_another_program_saved_is_read(plain: bytes):
    """Its bytes differ; what travels inside does not."""
    assert inside(with_files(plain, {})) == GIVEN


@pytest.mark.parametrize("part", [0.02, 0.3, 0.6, 0.9, 0.99])
def test_a_file_that_was_cut_short_is_refused(plain: bytes, part: float):
    """An upload that stopped, a disk that was full."""
    said = refused(plain[: int(len(plain) * part)])
    assert said == "a.pdf cannot be read as a report: it is damaged, or was cut short"


def test_a_locked_file_is_refused(plain: bytes):
    """It was locked by somebody else: ours never are."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(plain))
    writer.encrypt("secret", algorithm="RC4-128")
    made = io.BytesIO()
    writer.write(made)
    assert refused(made.getvalue()).endswith("it is locked with a password")


def test_a_file_that_unpacks_to_gigabytes_is_refused_in_bounded_memory(plain: bytes):
    """100 kB that are 100 MB."""
    bomb = zlib.compress(bytes(opened.LARGEST_STREAM_BYTES + 1), 9)

    def change(writer, names):
        packed = StreamObject()
        packed[NameObject("/Filter")] = NameObject("/FlateDecode")
        packed._data = bomb
        spec = names["/Names"][1].get_object()
        spec["/EF"][NameObject("/F")] = writer._add_object(packed)

    content = tree(plain, change)
    assert len(content) < 200_000
    tracemalloc.start()
    try:
        assert "unpacks to more than a report ever holds" in refused(content)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 4 * opened.LARGEST_STREAM_BYTES


@pytest.mark.parametrize(
    "filters",
    ["/JBIG2Decode", "/LZWDecode", "/DCTDecode", "/Crypt", ["/FlateDecode"] * 3],
)
def test_what_is_packed_as_ours_never_is_stays_packed(plain: bytes, filters):
    """Other ways of packing are not unpacked at all; some would run a program."""

    def change(writer, names):
        stream = names["/Names"][1].get_object()["/EF"]["/F"].get_object()
        stream[NameObject("/Filter")] = (
            ArrayObject([NameObject(f) for f in filters])
            if isinstance(filters, list)
            else NameObject(filters)
        )

    assert refused(tree(plain, change)).endswith(
        "something inside it is packed in a way that no report uses"
    )


def test_a_ring_in_the_list_of_files_ends(plain: bytes):
    """A list that holds itself."""

    def change(writer, names):
        ring = DictionaryObject()
        reference = writer._add_object(ring)
        ring[NameObject("/Kids")] = ArrayObject([reference])
        names[NameObject("/Kids")] = ArrayObject([reference])

    assert refused(tree(plain, change)).endswith("has no end")


def test_two_files_of_one_name_are_refused(plain: bytes):
    """Which of them would be checked, and which one shown?"""

    def change(writer, names):
        listed = names["/Names"]
        listed.append(TextStringObject(str(listed[0])))
        listed.append(listed[1])

    assert f"two files inside it are called '{proof.ENTRIES}'" in refused(
        tree(plain, change)
    )


def test_too_many_files_are_refused(plain: bytes):
    """A thousand are enough for any pack."""

    def change(writer, names):
        listed = names["/Names"]
        for n in range(1_001):
            listed.append(TextStringObject(f"f{n}"))
            listed.append(listed[1])

    assert "more than 1,000 files" in refused(tree(plain, change))


def test_a_pdf_without_our_files_is_told(tmp_path: Path):
    """Any other PDF, or one from which they were taken."""
    path = tmp_path / "other.pdf"
    path.write_bytes(paper.pdf(BARE, datetime(2026, 3, 25, tzinfo=UTC)))
    with pytest.raises(checking.NoProof, match="it carries no entries"):
        checking.handed(path)


def test_what_is_no_pdf_is_told(tmp_path: Path):
    """A record, an empty file, a photo."""
    path = tmp_path / "a.pdf"
    for content in (b"", b"SQLite format 3\0", b"\xff\xd8\xff"):
        path.write_bytes(content)
        with pytest.raises(CannotBeRead, match="it is no PDF"):
            checking.handed(path)


def test_a_file_that_is_not_there_is_told(tmp_path: Path):
    """Also a folder: the command was wrongly put."""
    for path in (tmp_path / "none.pdf", tmp_path):
        with pytest.raises(NoPdf) as failure:
            checking.handed(path)
        assert failure.value.exit_code == 2


def test_nothing_that_is_damaged_at_random_crashes(plain: bytes, tmp_path: Path):
    """Bytes changed, lost, doubled or moved: read all the same, or one sentence.

    A share of tests/soak/pdf.py, from a seed.
    """
    chance, path = random.Random(20260325), tmp_path / "a.pdf"
    said: set[str] = set()
    for _ in range(120):
        path.write_bytes(broken(plain, chance))
        try:
            checking.handed(path)
        except HygieneError as failure:
            said.add(type(failure).__name__)
    assert said == {"CannotBeRead", "NoProof"}
    assert set(files(plain)) == {proof.ENTRIES, proof.CHAIN, MANIFEST}
