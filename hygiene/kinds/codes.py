"""Codes that the program gives out: a lot, a batch, a container.

``B-K7-42-X`` is the prefix of its sort, two characters of the book, a running number
of that sort in the book, and a check character (ISO/IEC 7064, MOD 37,36), so that one
wrong or swapped character is noticed. They are read in any case, with or without
hyphens.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from hygiene.errors import WronglyPut

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
PREFIXES = {"lot": "L", "batch": "B", "container": "C"}
MINTED = re.compile(r"([LBC])([0-9A-Z]{2})([1-9][0-9]{0,8})([0-9A-Z])")


class WrongCode(WronglyPut):
    """A code whose check character is wrong: something was misread or mistyped."""

    sentence = "{given!r} is no code of this farm: its last character does not fit"


def check_character(text: str) -> str:
    """The check character of upper-case letters and digits.

    ISO/IEC 7064:2003 MOD 37,36 (a hybrid system of one character).
    """
    kept = len(ALPHABET)
    for char in text:
        kept = (kept + ALPHABET.index(char)) % len(ALPHABET) or len(ALPHABET)
        kept = kept * 2 % (len(ALPHABET) + 1)
    return ALPHABET[(len(ALPHABET) + 1 - kept) % len(ALPHABET)]


def minted(sort: str, book: str, number: int) -> str:
    """The code number ``number`` of a sort (lot, batch, container) in a book."""
    head = PREFIXES[sort]
    two = book.rpartition("-")[2][:2].upper()
    return f"{head}-{two}-{number}-{check_character(f'{head}{two}{number}')}"


def read_minted(given: str) -> str | None:
    """The code as it is written, or None where this is no code of ours.

    Any case, with or without hyphens. Raises ``WrongCode`` where it has the shape of
    one (with its hyphens) and the check character is wrong.
    """
    bare = _bare(given)
    found = MINTED.fullmatch(bare)
    if found is None:
        return None
    if check_character(bare[:-1]) == bare[-1]:
        return "-".join(found.groups())
    if given.count("-") == 3:
        raise WrongCode(given=given)
    return None


def near(given: str) -> Iterator[str]:
    """Every right code that one wrong, or two swapped, characters could have meant."""
    bare = _bare(given)
    slips = [
        f"{bare[:place]}{char}{bare[place + 1 :]}"
        for place in range(len(bare))
        for char in ALPHABET
    ]
    slips += [
        f"{bare[:place]}{bare[place + 1]}{bare[place]}{bare[place + 2 :]}"
        for place in range(len(bare) - 1)
    ]
    for slip in dict.fromkeys(slips):
        found = MINTED.fullmatch(slip)
        if found is not None and check_character(slip[:-1]) == slip[-1]:
            yield "-".join(found.groups())


def _bare(given: str) -> str:
    return given.strip().replace("-", "").replace(" ", "").upper()
