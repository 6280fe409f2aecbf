"""Bytes as a bad disk, a bad line or a bad mind leaves them."""

from __future__ import annotations

import random
import re

WORDS = (
    b"/Kids", b"/Names", b"/Length 9", b"/Filter", b"<<", b">>", b"endobj", b"0 R",
    b"stream\n", b"/Length 99999999999", b"[", b"]", b"(", b"/Root", b"/Prev 0",
)  # fmt: skip


def broken(content: bytes, chance: random.Random) -> bytes:
    """The content with one to four faults of all sorts."""
    made = bytearray(content)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(made))
        match chance.randrange(6):
            case 0:
                made[at] = chance.randrange(256)
            case 1:
                del made[at : at + chance.choice((1, 2, 16, 400))]
            case 2:
                made[at:at] = made[max(0, at - chance.choice((1, 8, 200))) : at]
            case 3:
                made[at:at] = chance.choice(WORDS)
            case 4:
                made = _number(made, chance)
            case _:
                made = made[: max(200, at)] if chance.random() < 0.2 else made
    return bytes(made)


def _number(made: bytearray, chance: random.Random) -> bytearray:
    """Some number in it is another: a length, an offset, a reference."""
    found = list(re.finditer(rb"\d+", made))
    which = chance.choice(found)
    new = str(chance.choice((0, 1, 2**31, 10**18, int(which[0][:9]) + 1))).encode()
    return made[: which.start()] + new + made[which.end() :]
