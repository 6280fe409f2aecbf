"""Whether carried lines fit their chains, a head that was printed, and a record.

Every check gives faults that name the entry. What cannot be told from what is at hand
is no fault: it is a sentence of its own, for whoever relies on the file.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from hygiene.book import chain
from hygiene.book.carried import ENTRIES, Carried, Chain, followed
from hygiene.book.record import Head, Record, translated
from hygiene.book.verify import Fault
from hygiene.kinds.entry import NotALine, read_line


class Found(NamedTuple):
    """What does not agree, and what could not be told."""

    faults: tuple[Fault, ...] = ()
    untold: tuple[str, ...] = ()


def alone(carried: Carried) -> list[Fault]:
    """What does not agree between the carried lines and their chains."""
    lines, faults = _by_name(carried.lines)
    known: set[tuple[str, int]] = set()
    for each in carried.chains:
        for seq, hash_ in each.carried():
            key = (each.head.book, seq)
            known.add(key)
            if key not in lines:
                faults.append(Fault(_name(key), "was dropped from the file"))
            elif chain.line_hash(lines[key].encode()) != hash_:
                faults.append(Fault(_name(key), "is not the line that was hashed"))
        faults += _sums(each)
    faults += [
        Fault(_name(key), "was added to the file: its chain knows no such line")
        for key in sorted(lines.keys() - known)
    ]
    return faults


def _by_name(
    given: Sequence[str],
) -> tuple[dict[tuple[str, int], str], list[Fault]]:
    """The lines by book and number, and what is odd about them."""
    lines: dict[tuple[str, int], str] = {}
    faults: list[Fault] = []
    before = ("", 0)
    for n, line in enumerate(given, 1):
        try:
            entry = read_line(line)
        except NotALine:
            faults.append(Fault(f"{ENTRIES}, line {n}", "is no entry of a record"))
            continue
        key = (entry.book, entry.seq)
        if not isinstance(entry.book, str) or type(entry.seq) is not int:
            faults.append(Fault(f"{ENTRIES}, line {n}", "does not say its own name"))
            continue
        if key in lines:
            faults.append(Fault(entry.name, "stands twice in the file"))
        elif key < before:
            faults.append(Fault(entry.name, "stands out of its order in the file"))
        before = max(before, key)
        lines[key] = line
    return lines, faults


def _name(key: tuple[str, int]) -> str:
    return f"{key[0]}/{key[1]}"


def _sums(of: Chain) -> Iterator[Fault]:
    if of.linked is None:
        return
    if of.linked.after == 0 and of.linked.before != chain.start(of.head.book):
        yield Fault(f"{of.head.book}/0", "its chain begins with another book's hash")
    if followed(of.linked.before, of.linked.links) != of.head.hash:
        yield Fault(
            f"{of.head.book}/{of.head.seq}",
            "its hash does not come out of the lines up to it: one of them, or the "
            "head, was changed",
        )


def untied(carried: Carried) -> list[str]:
    """Carried lines that no links tie to the head, in words."""
    return [
        f"that {len(each.loose):,} of the entries, up to {each.head.book}/"
        f"{each.loose[-1][0]}, lead to the head: the record is too long for all its "
        "line hashes to travel; compare with the record"
        for each in carried.chains
        if each.loose
    ]


def with_heads(carried: Carried, heads: Sequence[Head]) -> Found:
    """The chains against heads that were printed or sent before."""
    by_book = {each.head.book: each for each in carried.chains}
    faults, untold = [], []
    for head in heads:
        where = f"{head.book}/{head.seq}"
        found = by_book.get(head.book)
        came = found.hash_at(head.seq) if found else None
        if came is not None and not came.startswith(head.hash):
            faults.append(Fault(where, "differs from the head that was printed"))
        elif came is None and found is not None and head.seq > found.head.seq:
            untold.append(
                f"the head {where}, which is later than this file "
                f"({found.head.book}/{found.head.seq}): compare it with the record"
            )
        elif came is None:
            untold.append(f"the head {where}: this file holds nothing of it")
    return Found(tuple(faults), tuple(untold))


def with_record(record: Record, carried: Carried) -> list[Fault]:
    """The chains against the record: the first line of each book that is not the same.

    A carried line is itself compared by its hash, so ``alone`` comes first.
    """
    faults: list[Fault] = []
    with translated(record.path):
        for each in carried.chains:
            faults += list(_lines(record, each)) or list(_kept(record, each.head))
    return faults


def _lines(record: Record, of: Chain) -> Iterator[Fault]:
    """At most one fault: what follows is broken with it."""
    book, known = of.head.book, dict(of.numbered())
    if not known:
        return
    rows = record.db.execute(
        "select seq, cast(line as blob) from entry "
        "where book = ? and seq between ? and ? order by seq",
        (book, min(known), of.head.seq),
    )
    held = {seq: chain.line_hash(line) for seq, line in rows if seq in known}
    if not held:
        yield Fault(book, "none of its lines is in the record: is it another's?")
        return
    for seq, link in known.items():
        has = "carries it" if link.carried else "has its hash"
        if seq not in held:
            yield Fault(f"{book}/{seq}", f"is gone from the record; the file {has}")
            return
        if held[seq] != link.hash:
            yield Fault(
                f"{book}/{seq}", f"is another line in the record; the file {has}"
            )
            return


def _kept(record: Record, head: Head) -> Iterator[Fault]:
    """Whether the record keeps this hash for this line."""
    rows = record.db.execute(
        "select hash from entry where book = ? and seq = ?", (head.book, head.seq)
    ).fetchall()
    where = f"{head.book}/{head.seq}"
    if not rows:
        yield Fault(where, "is gone from the record: its end was cut off")
    elif rows[0][0] != head.hash:
        yield Fault(where, "has another hash in the record than in the file")
