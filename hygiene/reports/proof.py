"""What every report carries inside so that it can be checked, and made again.

Three files: the lines that it was made from, byte for byte as they were hashed; what
ties them to the heads that the pages print; and what the report is, of whom and when,
and by which programs it was laid out. The pages print the number of carried lines and
their SHA-256, so that a page on paper still says which they were.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple

import hygiene
from hygiene import __version__
from hygiene.book.carried import CHAIN, ENTRIES, Carried
from hygiene.book.noted import carried, noting
from hygiene.book.record import Record
from hygiene.kinds.moments import stamp
from hygiene.reports import paper
from hygiene.reports.attached import Attached
from hygiene.reports.catalogue import Report
from hygiene.reports.period import Period
from hygiene.shipped import shipped

MANIFEST = "report.json"
KEPT = "file-"
"""Begins the name of a photo or paper of the record that a page was drawn from."""
OWN = (ENTRIES, CHAIN, MANIFEST)
FORM = 1
"""Of the manifest; raised where an older program would read it wrongly."""


class Seal(NamedTuple):
    """What the pages print of the carried lines: how many, and their SHA-256."""

    entries: int
    groups: tuple[str, ...]

    @classmethod
    def of(cls, carried: Carried) -> Seal:
        """The seal of these lines."""
        return cls(len(carried.lines), tuple(grouped(digest_of(carried))))


class Taken(NamedTuple):
    """A report as it was read, with the lines that it was read from."""

    report: Report
    subject: str | None
    period: Period
    printed_at: datetime
    gathered: Any
    carried: Carried


class Made(NamedTuple):
    """A report that was laid out: its values, its HTML, its file, what is inside."""

    page: Any
    source: str
    content: bytes
    attached: tuple[Attached, ...]


def digest_of(carried: Carried) -> str:
    """The SHA-256 of the carried lines, as the pages print it."""
    return sha256(carried.entries_text()).hexdigest()


def grouped(whole: str) -> list[str]:
    """A hash in groups of eight, to be compared by eye."""
    return [whole[n : n + 8] for n in range(0, len(whole), 8)]


def take(
    record: Record,
    report: Report,
    period: Period,
    printed_at: datetime,
    subject: str | None = None,
) -> Taken:
    """Read a report, all from one moment of the record, and note what it is read from.

    ``printed_at`` is by the farm's clock, with the farm's own zone.
    """
    with noting(record) as noted:
        gathered = report.read(record, period, printed_at, subject)
        lines = carried(record, noted)
    return Taken(report, subject, period, printed_at, gathered, lines)


def make(taken: Taken, by: Mapping[str, str] | None = None) -> Made:
    """Lay it out, with its proof inside; raises ``NoEngine``.

    ``by`` is what it says it was made with, where that is to be said again.
    """
    page = taken.report.page(taken.gathered)
    source = paper.html(taken.report.laid_out_by, page, Seal.of(taken.carried))
    beside = (*getattr(page, "attached", ()), *kept(taken.carried, page))
    proof = (
        Attached(
            ENTRIES,
            taken.carried.entries_text(),
            "The entries that this report was made from, as they were hashed",
            "Source",
        ),
        Attached(
            CHAIN,
            taken.carried.chain_text(),
            "What ties these entries to the heads of their books",
            "Supplement",
        ),
    )
    manifest = Attached(
        MANIFEST,
        _manifest(taken, source, (*beside, *proof), by or made_with()),
        "What this report is, and what it takes to make it again",
        "Supplement",
    )
    inside = (*beside, *proof, manifest)
    return Made(page, source, paper.pdf(source, taken.printed_at, inside), inside)


def make_html(taken: Taken) -> Made:
    """Lay it out for a browser: only its own files go with it, and no proof."""
    page = taken.report.page(taken.gathered)
    source = paper.html(taken.report.laid_out_by, page)
    return Made(page, source, source.encode(), tuple(getattr(page, "attached", ())))


def kept(lines: Carried, page: Any) -> list[Attached]:
    """Files of the record that were read, unless they travel inside by themselves."""
    there = {sha256(file.content).hexdigest() for file in getattr(page, "attached", ())}
    return [
        Attached(
            f"{KEPT}{digest}",
            content,
            "A file of the record from which a page was drawn",
            "Source",
        )
        for digest, content in sorted(lines.files.items())
        if digest not in there
    ]


def _manifest(
    taken: Taken, source: str, files: tuple[Attached, ...], by: Mapping[str, str]
) -> bytes:
    told = {
        "form": FORM,
        "report": taken.report.name,
        "subject": taken.subject,
        "from": str(taken.period.first),
        "to": str(taken.period.last),
        "printed_at": stamp(taken.printed_at),
        "time_zone": str(taken.printed_at.tzinfo),
        "entries": sum(head.seq for head in taken.carried.heads),
        "carried": len(taken.carried.lines),
        "heads": [str(head) for head in taken.carried.heads],
        "html_sha256": sha256(source.encode()).hexdigest(),
        "files": {file.name: sha256(file.content).hexdigest() for file in files},
        "made_with": dict(by),
    }
    return (json.dumps(told, ensure_ascii=False, indent=1) + "\n").encode()


@cache
def made_with() -> dict[str, str]:
    """This program and all that its pages' bytes hang on, but the fonts."""
    return {"hygiene": f"{__version__} ({_source()})", **paper.engine()}


def _source() -> str:
    """Of the program and its templates themselves: a version may be in the making."""
    whole = sha256()
    for home in (Path(hygiene.__file__).parent, shipped("report_templates")):
        for path in sorted(home.rglob("*")):
            parts = path.relative_to(home).parts
            if path.is_file() and not {"_data", "__pycache__"} & set(parts):
                whole.update(sha256(path.read_bytes()).digest())
    return whole.hexdigest()[:12]
