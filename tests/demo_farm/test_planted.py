"""Every trouble that is planted in the year is found again by reading the record."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta

import pytest
from parts_of_a_year import DAYS, LAST, UNTIL, Part

from demo_farm.ordinary import DONE_DAYS_LATER
from demo_farm.stories import LAPSED, PLANTED, UNSEEN, Planted
from hygiene.acts.balance import all_of_days
from hygiene.acts.store import container_of
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import at_the_farm, moment_of
from hygiene.rota.day import State
from hygiene.shipped import shipped

OF_THE_LAST_WEEKS = DAYS
A_DAY = timedelta(days=1)


class Look:
    """A planted trouble, and what the record says about its task on its day."""

    def __init__(self, part: Part, planted: Planted) -> None:
        self.part = part
        self.task = planted.task
        self.day = planted.on(LAST)

    @property
    def record(self) -> Record:
        return self.part.record

    @property
    def state(self) -> State:
        """Of its task, where it is one."""
        return self.part.state(self.day, self.task)

    def kind(self, kind: str, days: int = 0) -> list[Entry]:
        """What stands of a kind on its day, or so many days later."""
        on = self.day + days * A_DAY
        found = self.record.entries([kind])
        return [e for e in found if moment_of(e.happened_at).date() == on]

    def marked(self, mark: str) -> Entry:
        """The one entry of its kind on its day that bears a mark."""
        (found,) = [e for e in self.kind(self.task) if mark in e.get("marks", ())]
        return found

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

    def ends(self, of: Entry | None = None) -> list[tuple[list[bool], int]]:
        """Of each action: what its rechecks said, and how often it was closed."""
        return [
            (
                [look.get("passed") for look in self.answer("recheck", action)],
                len(self.answer("close", action)),
            )
            for action in self.answer("action", of)
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
    # what has days of grace is done on one of them
    after = [
        s
        for s in look.part.states(look.day)
        if s.due.at > noon and s.due.code not in DONE_DAYS_LATER
    ]
    return bool(after) and all(
        s.status == "missed"
        and s.entry is not None
        and moment_of(s.entry.recorded_at).date() == look.day + A_DAY
        for s in after
    )


def found_in(look: Look) -> Entry:
    (find,) = look.record.entries(["mould"])
    return find


def mould(look: Look) -> bool:
    """In a batch of two lots; two groups had eaten; all is held, and the vet told."""
    (find,) = look.kind("mould")
    batch = find.get("batch")
    naming = look.record.mentioning(batch)
    (sow,) = [e for e in naming if e.kind == "sow"]
    fed = [e.get("animals") for e in naming if e.kind == "feed"]
    holds = look.answer("hold", find)
    held = {e.get("held") for e in holds if e.get("shares") is None}
    beside = [e for e in holds if e.get("shares") is not None]
    (told,) = [e for e in look.answer("notify", find) if e.get("role") == "vet"]
    lots = {share["lot"] for share in sow.get("seeds")}
    return (
        len(lots) == 2
        and fed == ["MILKERS", "YOUNG"]
        and held == {batch, *lots}
        and len(beside) == 7
        and moment_of(told.happened_at).date() == look.day
        and find.get("growing_day") == 7
    )


def burnt(look: Look) -> bool:
    """After two halves of each sample were kept, with a witness; suppliers told."""
    (gone,) = look.kind("discard")
    find = found_in(look)
    samples = [e for e in look.kind("sample") if e.get("why") == "mould"]
    suppliers = [e for e in look.answer("notify", find) if e.get("role") == "supplier"]
    (deep,) = [e for e in look.kind("dose") if e.get("deep")]
    return (
        gone.get("because") == find.name
        and not gone.get("marks")
        and len(samples) == 4
        and all(e.get("frozen_at") and e.get("chilled_at") for e in samples)
        and len(suppliers) == 2
        and deep.get("finds") == [find.name]
        and len(deep.get("trays")) == 12
    )


def saved(look: Look) -> bool:
    """Held because of the same tub, assessed by its own paper, then fed on day 9."""
    (assess,) = look.kind("assess")
    (name,) = assess.get("holds")
    hold = look.record.entry(name)
    (sow,) = [e for e in look.record.mentioning(hold.get("held")) if e.kind == "sow"]
    fed = [e for e in look.kind("feed") if e.get("batch") == hold.get("held")]
    return (
        "; wash " in hold.get("shares")
        and bool(assess.get("attached") and assess.get("document"))
        and bool(look.answer("release", hold))
        and {e.get("animals") for e in fed} == {"MILKERS", "YOUNG", "EWES"}
        and look.day - moment_of(sow.happened_at).date() == 9 * A_DAY
        and not any(e.get("marks") for e in fed)
    )


def closed(look: Look) -> bool:
    """With its cause, its deep clean, its recheck and what shows that it helped."""
    (end,) = [e for e in look.kind("close") if e.get("effect")]
    incident = look.record.entry(end.get("action"))
    find = found_in(look)
    releases = [r for h in look.answer("hold", find) for r in look.answer("release", h)]
    on_word = [r for r in releases if r.get("word_role") == "vet" and r.get("document")]
    return (
        incident.get("about") == find.name
        and incident.get("incident") is True
        and look.record.entry(end.get("cleaned")).get("deep") is True
        and bool(end.get("cause"))
        and len(on_word) == 3
    )


def ecoli(look: Look) -> bool:
    """Out of limit as the laboratory wrote it; held, taken again, released, closed."""
    (test,) = [e for e in look.kind("water") if e.get("laboratory")]
    rows = {row["parameter"]: row for row in test.get("results")}
    (hold,) = look.answer("hold", test)
    (again,) = [e for e in look.kind("water", days=10) if e.get("laboratory")]
    results = {row["parameter"]: row["verdict"] for row in again.get("results")}
    (paper,) = test.get("attached")
    content = look.record.file(paper["sha256"])
    return (
        rows["ecoli"]["verdict"] == rows["coliforms"]["verdict"] == "over"
        and rows["coliforms"]["as_written"] == ">2419.6"
        and rows["enterococci"]["as_written"] == "<1"
        and rows["enterococci"]["verdict"] == "within"
        and (hold.get("held"), hold.get("stops")) == ("L2", "sowing")
        and results["ecoli"] == "within"
        and bool(look.answer("release", hold))
        and look.ends(test) == [([True], 1), ([True], 1)]
        and content is not None
        and b">2419.6" in content
    )


def no_paper(look: Look) -> bool:
    """Held from its first minute, put right by the paper, sown from only then."""
    first = next(
        e
        for e in look.record.all_versions(["seed"])
        if moment_of(e.happened_at).date() == look.day and e.get("marks")
    )
    stands = look.record.standing(first.name)
    (hold,) = look.answer("hold", first)
    (release,) = look.answer("release", hold)
    sown = [e for e in look.record.mentioning(first.get("lot")) if e.kind == "sow"]
    released = moment_of(release.happened_at)
    return (
        first.get("untreated_seen_by") is None
        and stands.get("untreated_seen_by") == "MP"
        and bool(release.get("document"))
        and all(moment_of(e.happened_at) > released for e in sown)
    )


def too_weak(look: Look) -> bool:
    """Marked; the recheck is another tub of the same trays, which was good."""
    dose = look.marked("too-weak")
    (action,) = look.answer("action", dose)
    (recheck,) = look.answer("recheck", action)
    again = look.record.entry(recheck.get("evidence"))
    return (
        again.get("trays") == dose.get("trays")
        and again.get("marks") in (None, [])
        and look.ends(dose) == [([True], 1)]
    )


def expired(look: Look) -> bool:
    """Marked and put right; nothing is left of the can."""
    dose = look.marked("expired")
    (drawn,) = dose.get("drawn")
    held = container_of(look.record, drawn["container"])
    return (
        held is not None
        and held.expires_on is not None
        and held.expires_on < look.day
        and held.left == 0
        and look.ends(dose) == [([True], 1)]
    )


def floor_product(look: Look) -> bool:
    """The label forbids it twice; the trays were done again with their own product."""
    dose = look.marked("wrong-product-type")
    (action,) = look.answer("action", dose)
    (recheck,) = look.answer("recheck", action)
    again = look.record.entry(recheck.get("evidence"))
    return (
        dose.get("marks") == ["wrong-product-type", "not-for-this-use"]
        and again.get("product") == "hypo"
        and again.get("trays") == dose.get("trays")
        and look.ends(dose) == [([True], 1)]
    )


def descaled(look: Look) -> Entry:
    (dose,) = [e for e in look.kind("dose") if e.get("product") == "descale"]
    return dose


def acid_rinsed(look: Look) -> bool:
    return descaled(look).get("marks") in (None, [])


def acid(look: Look) -> bool:
    """Written as it was: an incident of the dose, one of the accident, both ended."""
    dose = descaled(look)
    (hurt,) = look.kind("accident")
    incidents = [*look.answer("action", dose), *look.answer("action", hurt)]
    return (
        dose.get("marks") == ["must-not-meet"]
        and [e.get("incident") for e in incidents] == [True, True]
        and look.ends(dose) == look.ends(hurt) == [([True], 1)]
    )


def lost_tray(look: Look) -> str:
    """The tray of which the balance of the whole record does not know the end."""
    whole = all_of_days(look.record, UNTIL - 400 * A_DAY, UNTIL, UNTIL)
    (gap,) = [each for each in whole.gaps if not each.broken]
    (tray,) = next(e.lost for e in whole.trays if e.batch == gap.code)
    return tray


def tray_lost(look: Look) -> bool:
    """Of a batch that was fed that day; the dose of it is marked."""
    tray = lost_tray(look)
    dosed = [e for e in look.kind("dose") if tray in e.get("trays", ())]
    fed = [e for e in look.kind("feed") if tray in e.get("trays")]
    return bool(
        not fed and dosed and dosed[0].get("marks") == ["not-emptied"]
    ) and look.ends(dosed[0]) == [([True], 1)]


def forced(look: Look) -> bool:
    """Marked for ever, with its reason, and looked at."""
    sow = look.marked("tray-in-use")
    return (
        sow.get("marks") == ["tray-in-use", "tray-not-cleared"]
        and bool(sow.reason)
        and lost_tray(look) in [place["tray"] for place in sow.get("places")]
        and look.ends(sow) == [([True], 1)]
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
    "burnt": burnt,
    "saved": saved,
    "closed": closed,
    "ecoli": ecoli,
    "no-paper": no_paper,
    "too-weak": too_weak,
    "expired": expired,
    "floor-product": floor_product,
    "acid-rinsed": acid_rinsed,
    "acid": acid,
    "tray-lost": tray_lost,
    "forced": forced,
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
    states = recent.states(LAST - (DAYS - 1) * A_DAY, LAST)
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
    words = {e.get("word_of") for e in recent.record.entries(["release"])} - {None}
    assert words == {c["name"] for c in contacts if c["role"] == "vet"}
