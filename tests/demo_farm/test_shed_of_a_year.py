"""What the shed of the demonstration did: it balances, and the rules hold of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import datetime, timedelta
from decimal import Decimal

import pytest
from parts_of_a_year import DAYS, LAST, UNTIL, Part

from demo_farm.bad_batch import MISSED
from demo_farm.dates import stop_of
from demo_farm.growing import line_of, resting_line
from demo_farm.stories import PLANTED
from hygiene.acts.against_dosing import Case
from hygiene.acts.balance import all_of_days
from hygiene.acts.batches import against_sowing
from hygiene.acts.dosing import plan_dose
from hygiene.acts.kits import kit_fault
from hygiene.acts.lines import line_cleared
from hygiene.acts.rules import PlanRefused
from hygiene.acts.store import containers_since
from hygiene.kinds.batch import Place, SeedShare
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.moments import moment_of
from hygiene.kinds.sanitising import Dose
from hygiene.sanitising.containers import balance, drawn_of

A_DAY = timedelta(days=1)
READ = (("dose", "readings"), ("rinse", "readings"), ("water", "results"))
"""Kinds that name a kit, and where."""
MARKED = (
    *("seed", "sow", "move", "feed", "dispatch", "discard", "sample", "scrap"),
    *("container", "dose", "rinse", "lost", "water"),
)
"""Kinds of the shed that bear marks."""


def on(sort: str) -> datetime:
    """The evening of the day on which a trouble of that sort was planted."""
    (before,) = [planted.before for planted in PLANTED if planted.sort == sort]
    return UNTIL.replace(hour=20) - before * A_DAY


def by_day(entries: Iterable[Entry]) -> Counter[int]:
    """How many entries lie so many days before the last one."""
    return Counter((LAST - moment_of(e.happened_at).date()).days for e in entries)


def test_seed_and_trays_add_up_but_for_the_planted_gap(recent: Part) -> None:
    """To the gram and to the tray; the one gap is one tray of one batch."""
    whole = all_of_days(recent.record, UNTIL - 400 * A_DAY, UNTIL, UNTIL)
    assert len([gap for gap in whole.gaps if not gap.broken]) == 1
    assert [len(e.lost) for e in whole.trays if not e.closes] == [1]
    for lot in whole.seed:
        assert lot.received == lot.sown + lot.scrapped + lot.sampled + lot.in_store
        assert lot.in_store >= 0
    assert whole.kg_per_kg is not None
    assert Decimal(5) < whole.kg_per_kg < Decimal(7)


def test_all_that_was_drawn_came_out_of_a_can(recent: Part) -> None:
    """Received is drawn, lost and left, in tenths of a millilitre."""
    doses = recent.record.entries(["dose"])
    drawn = sum(many for dose in doses for _, _, many in drawn_of(dose.body))
    cans = list(containers_since(recent.record, None).values())
    assert balance(cans) == []
    assert drawn == sum(can.drawn for can in cans) > 30_000
    assert sum(can.size for can in cans) == sum(c.drawn + c.lost + c.left for c in cans)


def test_a_dozen_trays_are_sown_on_every_day_that_runs(recent: Part) -> None:
    """From its second day on; but for the one after the day on which nobody washed."""
    sown = recent.record.entries(["sow"])
    assert by_day(sown) == Counter(set(range(DAYS - 1)) - {MISSED - 1})
    assert {len(rows_of(entry, "places")) for entry in sown} == {12}
    assert all(
        entry.get("line") == line_of((LAST - moment_of(entry.happened_at).date()).days)
        for entry in sown
    )


def test_nothing_grows_while_the_shed_stops(summer: Part) -> None:
    """What was sown is fed before, and both lines are sanitised before the start."""
    stop = stop_of(LAST)
    first, last = (LAST - stop.first).days, (LAST - stop.last).days
    sown = by_day(summer.record.entries(["sow"]))
    fed = by_day(summer.record.entries(["feed"]))
    assert not any(sown[day] for day in range(last, first + 8))
    assert sown[first + 8] == sown[last - 1] == 1
    assert fed[first + 1] == 3
    assert not any(fed[day] for day in range(last - 7, first + 1))
    shocks = [
        entry.get("line")
        for entry in summer.record.entries(["dose"])
        if entry.get("line") and stop.first <= moment_of(entry.happened_at).date()
        and moment_of(entry.happened_at).date() <= stop.last
    ]  # fmt: skip
    assert shocks == ["L1", "L2"]


def test_a_line_is_shocked_while_its_racks_are_bare(recent: Part) -> None:
    """Every four weeks each; it is cleared the same evening, and in the end too."""
    record, setup = recent.record, recent.record.setup()
    shocks = {
        (LAST - moment_of(e.happened_at).date()).days: e.get("line")
        for e in record.entries(["dose"])
        if e.get("line")
    }
    assert shocks == {before: resting_line(before) for before in (36, 22, 8)}
    for before, line in shocks.items():
        evening = UNTIL.replace(hour=20) - before * A_DAY
        assert line_cleared(record, setup, line, evening).cleared
    assert all(line_cleared(record, setup, li, UNTIL).cleared for li in ("L1", "L2"))


def test_every_kit_was_in_date_whenever_it_was_used(recent: Part) -> None:
    """No reading of the story is worth less than it says."""
    fault = kit_fault(recent.record, recent.farm_at(UNTIL))
    used = [
        (str(row.get("kit")), moment_of(entry.happened_at))
        for kind, key in READ
        for entry in recent.record.entries([kind])
        for row in rows_of(entry, key)
        if row.get("kit")
    ]
    assert len(used) > 100
    assert {fault(kit, at) for kit, at in used} == {None}


def test_only_what_is_planted_bears_a_mark(recent: Part) -> None:
    """Every other act of the shed stands against no rule at all."""
    marks = Counter(
        mark
        for entry in recent.record.entries(MARKED)
        for mark in entry.get("marks") or ()
    )
    assert set(marks) == {
        "lot-not-declared",
        "too-weak",
        "expired",
        "wrong-product-type",
        "not-for-this-use",
        "must-not-meet",
        "not-emptied",
        "tray-in-use",
        "tray-not-cleared",
    }
    assert set(marks.values()) == {1}


def case(part: Part, thing: Dose, at: datetime) -> Case:
    record = part.record
    return Case(record, record.setup(), part.farm_at(at), thing, "MP", at)


def test_the_floor_product_on_a_tray_is_refused_as_a_plan(recent: Part) -> None:
    """With the rule, its source and the way out."""
    thing = Dose(product="quat", target="tray", trays=("T119",))
    with pytest.raises(PlanRefused) as refused:
        plan_dose(case(recent, thing, on("floor-product")), [])
    said = " ".join(str(refused.value).split())
    assert "is PT2, and a tray takes PT4" in said
    assert "528/2012 Annex V" in said
    assert "way out: use a product of PT4" in said


def test_the_expired_can_is_refused_as_a_plan(recent: Part) -> None:
    """As the farm file says: a plan from a can past its date is refused."""
    doses = recent.record.entries(["dose"])
    (dose,) = [e for e in doses if "expired" in e.get("marks", ())]
    (drawn,) = dose.get("drawn")
    thing = Dose(product="hypo", target="tool", tools=("JUG1",))
    with pytest.raises(PlanRefused, match="was to be used by"):
        plan_dose(case(recent, thing, on("expired")), [drawn["container"]])


def test_the_lost_tray_is_refused_as_a_plan(recent: Part) -> None:
    """By what stood on that morning: in use, and not cleared."""
    (sow,) = [e for e in recent.record.entries(["sow"]) if e.get("marks")]
    share = rows_of(sow, "seeds")[-1]
    against = against_sowing(
        recent.record,
        recent.farm_at(UNTIL),
        [SeedShare(lot=str(share["lot"]), grams=100)],
        [Place(tray=str(row["tray"])) for row in rows_of(sow, "places")],
        sow.get("line"),
        moment_of(sow.happened_at) - timedelta(minutes=1),
    )
    assert {"tray-in-use", "tray-not-cleared"} <= {rule.mark for rule in against}
