"""Entries for the rota's tests, made as the book makes them: line out, line in."""

from __future__ import annotations

import itertools
from datetime import date, datetime
from typing import Any

from hypothesis import strategies as st

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


ZONES = (
    "Europe/London",
    "America/New_York",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Africa/Casablanca",
    "Asia/Kolkata",
)

codes = st.sampled_from(["walk", "wash", "deep"])
some_rules = st.sampled_from(
    [
        "FREQ=DAILY",
        "FREQ=DAILY;INTERVAL=3",
        "FREQ=WEEKLY;BYDAY=MO,TH",
        "FREQ=MONTHLY;BYMONTHDAY=31",
        "FREQ=MONTHLY;BYDAY=-1FR",
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29",
    ]
)
clocks = st.lists(
    st.sampled_from(["00:00", "01:30", "02:30", "07:00", "16:00", "23:30"]),
    min_size=1,
    max_size=3,
    unique=True,
).map(tuple)
graces = st.sampled_from(["day", "90 min", "12 h", "3 d", "31 d"])
days = st.dates(date(2026, 1, 1), date(2026, 11, 30))


@st.composite
def moments(draw: st.DrawFn) -> str:
    day, hour, minute = draw(days), draw(st.integers(0, 23)), draw(st.integers(0, 59))
    return f"{day}T{hour:02d}:{minute:02d}:00+00:00"


@st.composite
def changes(draw: st.DrawFn, when: st.SearchStrategy[str]) -> Entry:
    """An adoption or a retirement."""
    at = draw(when)
    code = draw(codes)
    if draw(st.integers(0, 4)) == 0:
        return retire(code, at)
    return checklist(
        code,
        draw(some_rules),
        at,
        version=draw(st.integers(1, 9)),
        clock=draw(clocks),
        grace=draw(graces),
        season=draw(st.sampled_from(["running", "always"])),
    )


@st.composite
def farms(draw: st.DrawFn) -> Entry:
    stretches = draw(
        st.sampled_from([(), (("2026-02-01", "2026-05-10"), ("2026-09-01", None))])
    )
    return farm(
        time_zone=draw(st.sampled_from(ZONES)),
        season=season(*stretches),
        day_ends=draw(st.sampled_from(["20:00", "02:00", "17:30"])),
    )


histories = st.tuples(farms(), st.lists(changes(moments()), min_size=1, max_size=6))
