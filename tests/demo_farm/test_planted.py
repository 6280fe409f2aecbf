"""Every trouble that is planted in the year is found again by reading the record."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest
from parts_of_a_year import LAST, UNTIL, Part

from demo_farm.stories import LAPSED, PLANTED, UNSEEN, Planted
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import at_the_farm, moment_of
from hygiene.rota.day import State
from hygiene.shipped import shipped

OF_THE_LAST_WEEKS = 40
A_DAY = timedelta(days=1)


class Look:
    """A planted trouble, and what the record says about its task on its day."""

    def __init__(self, part: Part, planted: Planted) -> None:
        self.part = part
        self.task = planted.task
        self.day = planted.on(LAST)
        self.state: State = part.state(self.day, planted.task)

    @property
    def entry(self) -> Entry:
        assert self.state.entry is not None
        return self.state.entry

    def history(self) -> list[Entry]:
        """The first sign-off of the due, with all that came after it."""
        key = self.state.due.at
        every = self.part.record.all_versions(["sign_off"])
        first = next(
            entry
            for entry in every
            if entry.get("task") == self.task and moment_of(entry.get("due")) == key
        )
        return self.part.record.history(first.name)

    def answer(self, kind: str, entry: Entry | None = None) -> list[Entry]:
        """What stands of a kind and names an entry."""
        naming = self.part.record.mentioning((entry or self.entry).name)
        return [found for found in naming if found.kind == kind]

    def ends(self) -> list[tuple[list[bool], int]]:
        """Of each action: what its rechecks said, and how often it was closed."""
        return [
            (
                [look.get("passed") for look in self.answer("recheck", action)],
                len(self.answer("close", action)),
            )
            for action in self.answer("action")
        ]


def gap(look: Look) -> bool:
    return look.state.status == "gap"


def still_open(look: Look) -> bool:
    return look.state.status == "failed" and look.ends() == [([False], 0)]


def late(look: Look) -> bool:
    typed_late = look.state.typed_late_by
    return bool(
        look.state.status == "done"
        and typed_late
        and typed_late > timedelta(hours=8)
        and look.entry.reason
        and look.entry.get("marks") == ["late"]
    )


def typed_by(look: Look) -> bool:
    return {look.entry.by, look.entry.written_by} == {"MP", "TO"}


def corrected(look: Look) -> bool:
    history = look.history()
    said = [
        next(a["value"] for a in e.get("answers") if a["step"] == "strength")
        for e in history
    ]
    return said == [15, 150] and bool(history[1].reason)


def struck(look: Look) -> bool:
    kinds = [entry.kind for entry in look.history()]
    return kinds == ["sign_off", "strike"] and look.state.status == "done"


def not_needed(look: Look) -> bool:
    return look.state.status == "not needed" and bool(look.entry.get("why"))


def missed(look: Look) -> bool:
    return look.state.status == "missed" and bool(look.entry.get("why"))


def out_of_limit(look: Look) -> bool:
    return look.state.status == "failed" and look.ends() == [([True], 1)]


def power_cut(look: Look) -> bool:
    noon = at_the_farm(look.day, UNTIL.time().replace(12, 0), UNTIL.tzinfo)
    after = [s for s in look.part.states(look.day) if s.due.at > noon]
    return bool(after) and all(s.status == "missed" and s.typed_late_by for s in after)


def mould(look: Look) -> bool:
    """Found, held, told, let go on the vet's paper a week later, and ended."""
    (find,) = [e for e in look.part.record.entries(["mould"]) if e.by == look.entry.by]
    (hold,) = look.answer("hold", find)
    (release,) = look.answer("release", hold)
    (told,) = look.answer("notify", find)
    (incident,) = look.answer("action", find)
    (close,) = look.answer("close", incident)
    cleaned = look.part.record.entry(close.get("cleaned"))
    held_for = moment_of(release.happened_at) - moment_of(hold.happened_at)
    return (
        hold.get("held") == "R3"
        and told.get("role") == release.get("word_role") == "vet"
        and bool(release.get("word_of") and release.get("document"))
        and held_for > timedelta(days=6)
        and incident.get("incident") is True
        and cleaned.get("task") == "deepclean"
    )


def untrained(look: Look) -> bool:
    return look.entry.get("marks") == ["untrained"] and look.ends() == [([True], 1)]


def version(look: Look) -> bool:
    tomorrow = look.part.state(look.day + A_DAY, look.task)
    steps = [str(s["code"]) for s in tomorrow.due.task.steps]
    seen = (look.entry.get("version"), tomorrow.entry and tomorrow.entry.get("version"))
    return seen == (1, 2) and "fans" in steps


def trained(look: Look) -> bool:
    def holds(day: date) -> bool:
        moment = datetime.combine(day, UNTIL.time(), UNTIL.tzinfo)
        return look.part.farm_at(moment).trained("TO", "chemicals", day)

    return (holds(look.day - A_DAY), holds(look.day + A_DAY)) == (False, True)


FINDERS: dict[str, Callable[[Look], bool]] = {
    "gap": gap,
    "open": still_open,
    "late": late,
    "typed-by": typed_by,
    "corrected": corrected,
    "struck": struck,
    "not-needed": not_needed,
    "missed": missed,
    "out-of-limit": out_of_limit,
    "power-cut": power_cut,
    "mould": mould,
    "untrained": untrained,
    "version": version,
    "trained": trained,
}


@pytest.mark.parametrize("planted", PLANTED, ids=[p.sort for p in PLANTED])
def test_a_planted_trouble_is_found_by_reading(
    planted: Planted, recent: Part, summer: Part
) -> None:
    """What the table says of a day is what stands in the record of that day."""
    part = recent if planted.before < OF_THE_LAST_WEEKS else summer
    assert FINDERS[planted.sort](Look(part, planted))


def test_nothing_else_is_left_open_or_unexplained(recent: Part) -> None:
    """The one gap and the one open action are those of the table."""
    by_sort = {planted.sort: planted for planted in PLANTED}
    states = recent.states(LAST - 39 * A_DAY, LAST)
    gaps = [s for s in states if s.status in ("gap", "overdue")]
    assert [s.due.day for s in gaps] == [by_sort["gap"].on(LAST)]
    (action,) = recent.record.unanswered("action", "close")
    about = recent.record.entry(action.get("about"))
    assert about.get("task") == by_sort["open"].task
    assert moment_of(about.happened_at).date() == by_sort["open"].on(LAST)
    assert recent.record.unanswered("hold", "release") == []


def test_the_worker_leaves_the_chemicals_alone_while_untrained(summer: Part) -> None:
    """But for the one planted day, whoever is trained washes the trays."""
    first, again = LAST - (LAPSED - 1) * A_DAY, LAST - 150 * A_DAY
    washed = [
        (state.due.day, state.initials)
        for state in summer.states(first, again)
        if state.due.code == "wash" and state.status in ("done", "failed")
    ]
    assert len(washed) > 20
    assert [day for day, by in washed if by != "MP"] == [LAST - 176 * A_DAY]


@pytest.mark.parametrize("before", [day for day in UNSEEN if day < OF_THE_LAST_WEEKS])
def test_some_days_are_never_looked_at_by_a_second_person(
    before: int, recent: Part
) -> None:
    """Nothing of such a day is countersigned; the day before it is, as a whole."""
    seen = {entry.get("day") for entry in recent.record.entries(["countersign"])}
    assert str(LAST - before * A_DAY) not in seen
    assert str(LAST - (before + 1) * A_DAY) in seen


def test_the_readme_lists_what_is_planted() -> None:
    """A row for each, with the days before the last one and the task."""
    text = (shipped("demo_farm") / "README.md").read_text("utf-8")
    rows = re.findall(r"^\| (\d+) \| `(\w+)` \|", text, re.M)
    assert [(str(p.before), p.task) for p in PLANTED] == rows


def test_the_vet_of_the_story_is_the_farms_own(recent: Part) -> None:
    """The name whose word ends the hold stands in the farm file."""
    contacts = (recent.farm_at(UNTIL).farm or {})["contacts"]
    (release,) = recent.record.entries(["release"])
    assert release.get("word_of") in [c["name"] for c in contacts if c["role"] == "vet"]
