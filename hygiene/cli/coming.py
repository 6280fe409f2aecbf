"""Sections of ``hygiene today``: water to sample, kits to check, papers to review."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from hygiene.acts.sampling import Coming, KitDue


def sections(coming: Coming, today: date) -> Iterator[str]:
    """The lines of the page; nothing where nothing is near."""
    if coming.samples:
        yield ""
        yield "WATER TO SAMPLE, OR READ AGAIN: hygiene water POINT NAME=RESULT ..."
    for sample in coming.samples:
        yield f"  {sample.point:<8}{_when(sample.day, today):<16}{sample.why}"
    if coming.kits:
        yield ""
        yield "TO CHECK OR REPLACE: hygiene calibrate KIT --against TEXT --passed"
    for kit in coming.kits:
        yield f"  {kit.kit:<8}{_kit_when(kit, today):<16}{kit.name}{_why(kit)}"
    if coming.papers:
        yield ""
        yield "PAPERS TO REVIEW: hygiene file SORT --title TITLE --review DATE"
    for paper in coming.papers:
        yield f"  {_when(paper.review_on, today):<24}{paper.sort}: {paper.title}"


def _when(day: date, today: date) -> str:
    days = (day - today).days
    if days < 0:
        return f"{-days} d overdue"
    return "today" if days == 0 else f"in {days} d"


def _kit_when(kit: KitDue, today: date) -> str:
    if kit.fault is not None:
        return "OUT OF USE"
    return "" if kit.until is None else _when(kit.until, today)


def _why(kit: KitDue) -> str:
    return f": {kit.fault}" if kit.fault else ""


def as_json(coming: Coming) -> dict[str, Any]:
    """The same for a program, under keys that stay put."""
    return {
        "samples": [
            {"point": s.point, "on": s.day, "rule": s.rule, "why": s.why}
            for s in coming.samples
        ],
        "kits": [
            {"kit": k.kit, "until": k.until, "out_of_use": k.fault} for k in coming.kits
        ],
        "papers": [
            {
                "sort": p.sort,
                "title": p.title,
                "review_on": p.review_on,
                "entry": p.entry,
            }
            for p in coming.papers
        ],
    }
