"""Codes that the program gives out: a lot, a batch, a container.

``B-K7-42-X`` is the prefix of its sort, two characters of the book, a running number
of that sort in the book, and a check character (ISO/IEC 7064, MOD 37,36), so that one
wrong or swapped character is noticed. They are read in any case, with or without
hyphens.

A printed label holds a code as ``HYG:T001*C``: codes of the farm's own (a tray, a rack)
bear their check character after a star, minted ones have it within. Whoever reads a
code that a person gave asks ``bare`` first; the command line asks ``unscanned`` of each
word, so that a scanner may be used anywhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from hygiene.errors import WronglyPut

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
PREFIXES = {"lot": "L", "batch": "B", "container": "C"}
SCANNED = "HYG:"
"""What every code on a label of ours begins with."""
STAR = "*"
LABEL = re.compile(r"HYG:([0-9A-Z][0-9A-Z._-]*)(?:\*([0-9A-Z]))?", re.IGNORECASE)
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


def check_of(code: str) -> str:
    """The check character of a code of the farm's own; signs in it do not count."""
    return check_character("".join(c for c in code.upper() if c in ALPHABET))


def scannable(code: str) -> str:
    """What the label of a code holds, in the letters that make the smallest QR code."""
    upper = code.upper()
    checked = (
        upper if MINTED.fullmatch(_plain(upper)) else f"{upper}{STAR}{check_of(upper)}"
    )
    return f"{SCANNED}{checked}"


def unscanned(text: str) -> str:
    """A word in which every scanned label became its code, wherever it stands.

    Raises ``WrongCode`` where a check character is wrong.
    """
    return LABEL.sub(_code_on_it, text) if SCANNED in text.upper() else text


def _code_on_it(label: re.Match[str]) -> str:
    code, check = label.groups()
    if check is not None and check.upper() != check_of(code):
        raise WrongCode(given=label[0])
    return code


def bare(given: str) -> str:
    """A code that a person typed or scanned, alone; ``WrongCode`` as above.

    The check character may be typed as the label shows it: ``T001*C``.
    """
    text = unscanned(given.strip())
    if STAR in text:
        text = unscanned(f"{SCANNED}{text}")
    if STAR in text:
        raise WrongCode(given=given.strip())
    return text


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
    plain = _plain(bare(given))
    found = MINTED.fullmatch(plain)
    if found is None:
        return None
    if check_character(plain[:-1]) == plain[-1]:
        return "-".join(found.groups())
    if given.count("-") == 3 or given.strip().upper().startswith(SCANNED):
        raise WrongCode(given=given)
    return None


def own_code(text: str) -> str:
    """A number of the farm's own paper as a code: ``24/117`` becomes ``24-117``."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", text.strip()).strip("-._")[:32]


def near(given: str) -> Iterator[str]:
    """Every right code that one wrong, or two swapped, characters could have meant.

    First the code itself, where its check character was left out.
    """
    plain = _plain(given.upper().replace(SCANNED, ""))
    whole = MINTED.fullmatch(f"{plain}0")
    if whole is not None:
        yield "-".join((*whole.groups()[:-1], check_character(plain)))
    for slip in slips(plain):
        found = MINTED.fullmatch(slip)
        if found is not None and check_character(slip[:-1]) == slip[-1]:
            yield "-".join(found.groups())


def slips(plain: str) -> Iterator[str]:
    """A text with one wrong character put right, or two swapped ones, in every way."""
    made = [
        f"{plain[:place]}{char}{plain[place + 1 :]}"
        for place in range(len(plain))
        for char in ALPHABET
    ]
    made += [
        f"{plain[:place]}{plain[place + 1]}{plain[place]}{plain[place + 2 :]}"
        for place in range(len(plain) - 1)
    ]
    yield from dict.fromkeys(made)


def _plain(given: str) -> str:
    return given.strip().replace("-", "").replace(" ", "").upper()
