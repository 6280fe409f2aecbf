"""The chain against literal vectors, and against sha256sum on the command line."""

from __future__ import annotations

import inspect
import shutil
import subprocess
from textwrap import dedent

import pytest
from shed import Shed

from hygiene.book import chain

LINES = (
    '{"book":"shed-k7q2","seq":1,"kind":"opening"}',
    '{"book":"shed-k7q2","seq":2,"kind":"pest","what":"mus é"}',
)
# each from: printf %s shed-k7q2 | sha256sum, and the loop in chain's own docstring
START = "b52e96862e8f039b744a08e752589ab5850b21acd20e9d6cc3f0ab36ce513060"
FIRST = "3f12ef5fcce1e526367eef8aadfb6131ecff01f02399f35180baf1f68a02ca27"
SECOND = "f13fcb345b53184557dabb8c74275627749e904bb705f1f3fffe8c24adf62186"


def test_the_start_is_the_hash_of_the_books_name():
    """hash(0) = sha256(book name)."""
    assert chain.start("shed-k7q2") == START


def test_each_hash_follows_from_the_one_before_and_the_lines_own():
    """hash(n) = sha256(hash(n-1) + newline + sha256(line n))."""
    assert chain.follow(START, LINES[0].encode()) == FIRST
    assert chain.follow(FIRST, LINES[1].encode()) == SECOND


def test_the_hash_of_a_line_is_the_published_one():
    """SHA-256 of "abc", FIPS 180-2 appendix B.1 (from memory)."""
    assert chain.line_hash(b"abc") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )


needs_sha256sum = pytest.mark.skipif(
    not (shutil.which("sha256sum") and shutil.which("sh")), reason="no sha256sum here"
)


def by_hand(book: str, lines: tuple[str, ...], folder) -> str:
    """The head, by the very lines of shell that chain's docstring prints."""
    (folder / "lines").write_text("".join(f"{line}\n" for line in lines), "utf-8")
    text = inspect.getdoc(chain) or ""
    loop = dedent(text[text.index("    h=$(") : text.index("A chain shows")])
    script = loop.replace("shed-k7q2", book)
    done = subprocess.run(
        ["sh", "-c", script], cwd=folder, capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


@needs_sha256sum
def test_an_auditor_gets_the_vectors_with_sha256sum(tmp_path):
    """The shell lines in the docstring reproduce the literal vectors."""
    assert by_hand("shed-k7q2", LINES, tmp_path) == SECOND


@needs_sha256sum
def test_an_auditor_gets_the_head_of_a_real_book(busy: Shed, tmp_path):
    """A record's lines, written out one to a line, give the head that we print."""
    head = busy.head()
    lines = tuple(line for _, _, line, _ in busy.lines())
    assert by_hand(head.book, lines, tmp_path) == head.hash
