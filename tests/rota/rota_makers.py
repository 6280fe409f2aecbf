"""Entries for the rota's tests, made as the book makes them: line out, line in."""

from __future__ import annotations

import itertools
from datetime import date, datetime
from typing import Any

from hygiene.kinds.base import Kind
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.day import Answer, Miss, SignOff
from hygiene.kinds.entry import Entry, read_line, write_line
from hygiene.kinds.setup import Farm, Retire, Season
from hygiene.rota.schedule import Due

_seq = itertools.count(1)


def entry(made: Kind, at: str, *, by: str = "AB", typed: str | None = None) -> Entry:
    line = write_line(
        Entry("shed-test", next(_seq), made.kind, at, typed or at, by, made.body())
    )
    return read_line(line)


def farm(at: str = "2026-01-01T00:00:00+00:00", **fields: Any) -> Entry:
    given: dict[str, Any] = {
        "name": "Invented Farm",
        "address": "Nowhere",
        "time_zone": "Europe/London",
    }
    return entry(Farm(**(given | fields)), at)


def season(*stretches: tuple[str, str | None]) -> tuple[Season, ...]:
    return tuple(
        Season(
            first=date.fromisoformat(first),
            last=date.fromisoformat(last) if last else None,
        )
        for first, last in stretches
    )


def checklist(
    code: str = "walk",
    rule: str = "FREQ=DAILY",
    at: str = "2026-01-01T00:00:00+00:00",
    **fields: Any,
) -> Entry:
    given: dict[str, Any] = {
        "code": code,
        "title": f"The {code}",
        "version": 1,
        "dated": date(2025, 12, 1),
        "rule": rule,
        "starts": date(2025, 12, 1),
        "at": ("07:00",),
        "season": "always",
        "steps": (Step(code="look", text="Look round"),),
    }
    clock = fields.pop("clock", None)
    if clock is not None:
        given["at"] = clock
    return entry(Checklist(**(given | fields)), at)


def retire(code: str, at: str, sort: str = "checklist") -> Entry:
    return entry(Retire(sort=sort, code=code), at)


def sign(
    due: Due, at: str, *, passed: bool = True, by: str = "AB", typed: str | None = None
) -> Entry:
    made = SignOff(
        task=due.code,
        due=due.at.isoformat(),
        version=max(due.task.version, 1),
        answers=(Answer(step="look", passed=passed, done=passed),),
    )
    return entry(made, at, by=by, typed=typed)


def miss(due: Due, at: str, *, needed: bool = True, by: str = "AB") -> Entry:
    made = Miss(task=due.code, due=due.at.isoformat(), why="no water", needed=needed)
    return entry(made, at, by=by)


def moment(text: str) -> datetime:
    made = datetime.fromisoformat(text)
    assert made.tzinfo is not None
    return made
