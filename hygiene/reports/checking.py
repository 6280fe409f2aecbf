"""A report that somebody hands over: what it shows by itself, and what it does not.

With the record at hand it is compared with that, and read from it anew; from the lines
that it carries alone its pages can be made again. Each finding is a fault that names
the entry, the page or the file inside; what could not be told is told as such.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from hashlib import sha256
from itertools import zip_longest
from pathlib import Path
from typing import Any, NamedTuple
from zoneinfo import ZoneInfo

from hygiene.book.as_of import cut, laid_out
from hygiene.book.carried import CHAIN, ENTRIES, Carried, NotAChain, read_chains
from hygiene.book.compare import Found, alone, with_record
from hygiene.book.noted import noting, settled
from hygiene.book.record import Head, Record
from hygiene.book.verify import Fault, head_of
from hygiene.errors import Damaged, HygieneError
from hygiene.kinds.entry import LONGEST_LINE_BYTES
from hygiene.reports import opened, proof
from hygiene.reports.catalogue import REPORTS, Report
from hygiene.reports.period import Period

_NOT_AS_WRITTEN = (
    ValueError, KeyError, TypeError, AttributeError, OSError, OverflowError,
    RecursionError,
)  # fmt: skip
"""What it raises to take a text for what it is not."""
LONGEST = timedelta(days=6 * 366)
"""Of a period: no report is of more (a file may say anything)."""
SHORT = 12
"""So many digits of a head stand at the foot of each page."""


class NoProof(Damaged):
    """A PDF that carries no entries, or whose proof cannot be read."""

    sentence = "{path} cannot be checked: {what}"


class Told(NamedTuple):
    """What the file says of itself; nothing of it is believed before it agrees."""

    report: str
    subject: str | None
    period: Period
    printed_at: datetime
    heads: tuple[Head, ...]
    html_sha256: str
    files: Mapping[str, str]
    made_with: Mapping[str, str]


class Handed(NamedTuple):
    """A report as it was handed over."""

    path: Path
    content: bytes
    told: Told
    carried: Carried
    files: Mapping[str, bytes]
    words: str
    """What its last pages say, without any space between."""


def handed(path: Path) -> Handed:
    """Open it; raises ``NoPdf``, ``CannotBeRead`` or ``NoProof``."""
    content = opened.content_of(path)
    files, words = opened.inside(path, content)
    missing = [name for name in proof.OWN if name not in files]
    if len(missing) == len(proof.OWN):
        raise NoProof(
            path=path,
            what="it carries no entries; it is no report of this program, an older "
            "one, or they were taken out",
        )
    if missing:
        raise NoProof(path=path, what=f"{missing[0]} was taken out of it")
    try:
        told = _told(json.loads(files[proof.MANIFEST]))
        chains = read_chains(files[CHAIN].decode())
        lines = tuple(files[ENTRIES].decode().split("\n")[:-1])
        if any(len(line) > LONGEST_LINE_BYTES for line in lines):
            raise ValueError("a line")
    except NotAChain as odd:
        raise NoProof(path=path, what=f"its {CHAIN} is odd; {odd}") from odd
    except _NOT_AS_WRITTEN as odd:
        raise NoProof(path=path, what="what it says of itself is odd") from odd
    kept = {
        sha256(made).hexdigest(): made
        for name, made in files.items()
        if name not in proof.OWN
    }
    return Handed(path, content, told, Carried(lines, chains, kept), files, words)


def _told(given: Any) -> Told:
    if given["form"] != proof.FORM:
        raise ValueError(given["form"])
    zone = ZoneInfo(given["time_zone"])
    first, last = date.fromisoformat(given["from"]), date.fromisoformat(given["to"])
    if not timedelta() <= last - first <= LONGEST:
        raise ValueError(last)
    subject = given["subject"]
    return Told(
        str(given["report"]),
        None if subject is None else str(subject),
        Period(first, last),
        datetime.fromisoformat(given["printed_at"]).astimezone(zone),
        tuple(_whole_head(head) for head in given["heads"]),
        str(given["html_sha256"]),
        {str(name): str(digest) for name, digest in given["files"].items()},
        {str(name): str(number) for name, number in given["made_with"].items()},
    )


def _whole_head(given: str) -> Head:
    try:
        return head_of(given)
    except HygieneError as odd:
        raise ValueError(given) from odd


def by_itself(of: Handed) -> Found:
    """Whether the lines, their chains, the files inside and the pages agree."""
    faults = alone(of.carried)
    if of.told.heads != of.carried.heads:
        faults.append(Fault(CHAIN, "it ends at other heads than the report says"))
    faults += _inside(of)
    text, untold = of.words, []
    for head in of.carried.heads:
        where = f"{head.book}/{head.seq}"
        if f"{where}:{head.hash[:SHORT]}" in text or f"{where}:{head.hash}" in text:
            continue
        if f"{head.book}/" in text:
            faults.append(Fault("pages", f"they do not print the head {head}"))
        else:
            untold.append(f"that the pages print the head of {where}: they name none")
    if "SHA-256ofthem:" in text:
        if proof.digest_of(of.carried) not in text:
            faults.append(
                Fault("pages", "they print another SHA-256 of the entries inside")
            )
    else:
        untold.append("that these entries belong to these pages: they print no SHA-256")
    return Found(tuple(faults), tuple(untold))


def _inside(of: Handed) -> list[Fault]:
    listed = {proof.MANIFEST: None, **of.told.files}
    faults = [
        Fault(name, "was added to the file") for name in of.files if name not in listed
    ]
    for name, digest in of.told.files.items():
        if name not in of.files:
            faults.append(Fault(name, "was taken out of the file"))
        elif sha256(of.files[name]).hexdigest() != digest:
            faults.append(Fault(name, "is not what was put into the file"))
    return faults


def with_its_record(of: Handed, record: Record) -> Found:
    """Whether the record still holds these lines, and gives just these anew."""
    faults = with_record(record, of.carried)
    if faults:
        return Found(tuple(faults))
    cut(record, of.told.heads)
    other = _other_program(of)
    try:
        found = _chosen(of, _names_read(of, record), "by the record, ")
    except HygieneError as failure:
        found = [Fault("record", f"does not give this report: {failure}")]
    if found and other:
        # an older version may have read more, or less
        untold = f"that the report is made from just these entries: {other}"
        return Found((), (untold,))
    return Found(tuple(found))


def _names_read(of: Handed, record: Record) -> list[tuple[str, int]]:
    told = of.told
    with noting(record) as noted:
        _report(of).read(record, told.period, told.printed_at, told.subject)
        return settled(record, noted)


def _chosen(of: Handed, names: list[tuple[str, int]], whose: str) -> list[Fault]:
    carried = {
        (each.head.book, seq) for each in of.carried.chains for seq, _ in each.carried()
    }
    wanted = set(names)
    faults = [
        Fault(
            f"{book}/{seq}", f"is left out of the file; {whose}the report is of it too"
        )
        for book, seq in sorted(wanted - carried)
    ]
    faults += [
        Fault(f"{book}/{seq}", f"was added to the file; {whose}the report is not of it")
        for book, seq in sorted(carried - wanted)
    ]
    return faults


def _report(of: Handed) -> Report:
    found = REPORTS.get(of.told.report)
    if found is None:
        raise NoProof(
            path=of.path, what=f"this program has no report {of.told.report[:60]!r}"
        )
    return found


def _other_program(of: Handed) -> str:
    ours, its = proof.made_with()["hygiene"], of.told.made_with.get("hygiene")
    return "" if its == ours else f"made by hygiene {its}, and this is {ours}"


def made_again(of: Handed) -> Found:
    """Make the pages from the carried lines alone and compare; raises ``NoEngine``."""
    told = of.told
    try:
        with laid_out(of.carried) as record, noting(record) as noted:
            report = _report(of)
            gathered = report.read(record, told.period, told.printed_at, told.subject)
            faults = _chosen(of, settled(record, noted), "")
            taken = proof.Taken(
                report, told.subject, told.period, told.printed_at, gathered,
                of.carried._replace(files=dict(noted.files)),
            )  # fmt: skip
        made = proof.make(taken, told.made_with)
    except HygieneError as failure:
        if failure.exit_code == 9:
            raise
        return _odd(of, f"from these entries it cannot be made: {failure}")
    # what the lines say is a stranger's, and a page may stumble over it anywhere
    except Exception as failure:
        return _odd(
            of, f"from these entries it cannot be made ({type(failure).__name__})"
        )
    if made.content == of.content and not faults:
        return Found()
    if sha256(made.source.encode()).hexdigest() != told.html_sha256:
        return _odd(of, "these entries give other pages", faults)
    engine = {k: v for k, v in proof.made_with().items() if told.made_with.get(k) != v}
    if engine:
        told_by = ", ".join(f"{k} {told.made_with.get(k)}" for k in engine)
        here = ", ".join(f"{k} {v}" for k, v in engine.items())
        why = f"laid out by {told_by}, here by {here}"
        return Found(tuple(faults), (_as_drawn(of, made, why),))
    return _page_by_page(of, made, faults)


def _as_drawn(of: Handed, made: proof.Made, why: str) -> str:
    """What is left open where bytes cannot be compared: how many pages look alike."""
    mine, _ = opened.drawings(of.path, made.content)
    theirs, _ = opened.drawings(of.path, of.content)
    pairs = enumerate(zip_longest(mine, theirs), 1)
    other = [n for n, (own, given) in pairs if own != given]
    alike = (
        f"{len(other)} of {len(theirs)} pages are drawn otherwise, "
        f"first page {other[0]}"
        if other
        else "each page is drawn the same"
    )
    return (
        f"that the pages say what these entries say: {why}, so bytes cannot be "
        f"compared; the HTML that the file was made from comes out the same; {alike}"
    )


def _odd(of: Handed, what: str, faults: list[Fault] | None = None) -> Found:
    other = _other_program(of)
    if other and not faults:
        return Found((), (f"that the pages say what the entries say: {other}",))
    return Found((*(faults or ()), Fault("pages", what)))


def _page_by_page(of: Handed, made: proof.Made, faults: list[Fault]) -> Found:
    mine, fonts = opened.drawings(of.path, made.content)
    theirs, their_fonts = opened.drawings(of.path, of.content)
    if fonts != their_fonts and not faults:
        why = "the fonts inside are not those of this machine"
        return Found((), (_as_drawn(of, made, why),))
    if len(mine) != len(theirs):
        faults.append(
            Fault("pages", f"there are {len(theirs)}; the entries give {len(mine)}")
        )
    faults += [
        Fault(f"page {n}", "is not what the entries give")
        for n, (own, other) in enumerate(zip(mine, theirs, strict=False), 1)
        if own != other
    ]
    if not faults:
        faults.append(
            Fault(
                "bytes",
                "differ, though each page draws the same: another program saved it "
                "again, or something was added",
            )
        )
    return Found(tuple(faults))
