"""Fields typed on one line: KEY=VALUE, read by the kind's own definition."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from datetime import date
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches
from typing import Any

from hygiene.errors import WronglyPut
from hygiene.kinds.base import Shape

YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


class NotKeyValue(WronglyPut):
    """A word that is not KEY=VALUE."""

    sentence = "{given!r}: write KEY=VALUE, such as note='was dripping'"


class NoSuchKey(WronglyPut):
    """A key that the kind does not have."""

    sentence = "{kind} has no {given!r}{near}; it has: {known}"


class WrongValue(WronglyPut):
    """A text that the field cannot hold."""

    sentence = "{key}: {given!r} is not {wanted}"


def pairs(words: Iterable[str]) -> list[tuple[str, str]]:
    """Split KEY=VALUE words; raises ``NotKeyValue``."""
    made = []
    for word in words:
        key, equals, value = word.partition("=")
        if not equals or not key.strip():
            raise NotKeyValue(given=word)
        made.append((key.strip(), value.strip()))
    return made


def no_such_key(kind: str, key: str, known: list[str]) -> NoSuchKey:
    """What to raise for a key that is not among ``known``, with the nearest."""
    near = get_close_matches(key, known, 1)
    return NoSuchKey(
        kind=kind,
        given=key,
        near=f" (did you mean {near[0]}?)" if near else "",
        known=", ".join(known),
    )


def read(shape: Shape, text: str) -> Any:
    """A field's value from text; lists are written with commas between."""
    if dataclasses.is_dataclass(shape.item):
        raise WrongValue(
            key=shape.name, given=text, wanted="something to be put right on one line"
        )
    if shape.many:
        return [_item(shape, part.strip()) for part in text.split(",") if part.strip()]
    return _item(shape, text)


def _item(shape: Shape, text: str) -> Any:
    if shape.item is bool:
        found = YES_NO.get(text.lower())
        if found is None:
            raise WrongValue(key=shape.name, given=text, wanted="yes or no")
        return found
    if shape.item is int:
        if not (text.isascii() and text.lstrip("-").isdigit()) or len(text) > 15:
            raise WrongValue(key=shape.name, given=text, wanted="a whole number")
        return int(text)
    if shape.item is Decimal:
        return decimal(shape.name, text)
    if shape.item is date:
        try:
            return date.fromisoformat(text).isoformat()
        except ValueError as failure:
            raise WrongValue(
                key=shape.name, given=text, wanted="a day such as 2026-03-31"
            ) from failure
    return text


def decimal(key: str, text: str) -> Decimal:
    """A number with the digits as typed; no exponent, no NaN, no infinity."""
    try:
        made = Decimal(text)
    except InvalidOperation:
        made = Decimal("nan")
    if not made.is_finite() or "e" in text.lower() or len(text) > 30 or "_" in text:
        raise WrongValue(key=key, given=text, wanted="a number such as 21.5")
    return made
