"""A find of mould, from whichever door; sick animals."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from sprout_farm import SproutFarm

from hygiene.acts import finds
from hygiene.acts.codes import UnknownCode
from hygiene.acts.how import How
from hygiene.acts.mending import correct
from hygiene.acts.signing import Signed, questions, sign
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Mould
from hygiene.kinds.incident import Ill
from hygiene.rota.signing import answer_all


def held(entries: tuple[Entry, ...]) -> set[tuple[str, str, str | None]]:
    return {(str(h.get("sort")), str(h.get("held")), h.get("stops")) for h in entries}


def walk(sprouts: SproutFarm, racks: dict[str, int]) -> Signed:
    """The walk-round, with so many mouldy trays on each rack."""
    due, farm = sprouts.due("walk"), sprouts.in_force()
    said = {"temp": "21", "smell": "fresh", "pests": "none", "drains": "yes"}
    said |= {f"mould.{rack}": "0" for rack in ("R1", "R2", "R3")}
    said |= {f"mould.{rack}": str(count) for rack, count in racks.items()}
    given = answer_all("walk", questions(due.task, farm), said)
    return sprouts.act(
        lambda w: sign(w, farm, due, given, by="AB", happened_at=sprouts.now)
    )


def test_the_whole_batch_is_held_and_its_lots_stopped(sprouts: SproutFarm) -> None:
    """At once, whichever tray it was."""
    one, other = sprouts.lot(), sprouts.lot(supplier_lot="AF/2")
    batch = str(sprouts.sow((one, 3_000), (other, 3_000)).sow.get("batch"))
    made = sprouts.mould(batch, trays=("T002",))
    assert held(made.holds) == {
        ("batch", batch, None),
        ("lot", one, "sowing"),
        ("lot", other, "sowing"),
    }
    assert {h.get("because") for h in made.holds} == {made.mould.name}


def test_it_opens_one_incident(sprouts: SproutFarm) -> None:
    """About the find."""
    made = sprouts.mould(sprouts.batch())
    assert (made.action.get("about"), made.action.get("incident")) == (
        made.mould.name,
        True,
    )


def test_on_a_rack_all_that_stands_there_is_held(sprouts: SproutFarm) -> None:
    """Not what stands elsewhere; what stands nobody knows where is held too."""
    here = sprouts.batch(trays=range(1, 3))
    elsewhere = sprouts.batch(trays=range(3, 5), rack="R2")
    unknown = sprouts.batch(trays=range(5, 7), rack=None)
    made = sprouts.mould(rack="R1", tray_count=2)
    assert made.batches == (here, unknown)
    assert elsewhere not in {h.get("held") for h in made.holds}
    assert made.mould.get("batches") == [here, unknown]


def test_on_a_rack_at_an_earlier_hour_what_stood_there_then(
    sprouts: SproutFarm,
) -> None:
    """Typed in the evening: trays that were fed at noon stood there in the morning."""
    batch = sprouts.batch(trays=range(1, 2))
    seen = sprouts.now
    sprouts.later(hours=4)
    sprouts.feed(batch, 1)
    thing = Mould(rack="R1")
    made = sprouts.act(
        lambda w: finds.find_mould(w, sprouts.in_force(), thing, How("AB", seen))
    )
    assert made.batches == (batch,)
    assert [entry.kind for entry in made.out] == ["feed"]


def test_where_no_batch_is_known_the_place_is_held(sprouts: SproutFarm) -> None:
    """The rack, or each of the trays."""
    assert held(sprouts.mould(rack="R2").holds) == {("rack", "R2", None)}
    trays = sprouts.mould(trays=("T030", "T031")).holds
    assert held(trays) == {("tray", "T030", None), ("tray", "T031", None)}


def test_who_ate_of_it_is_listed(sprouts: SproutFarm) -> None:
    """And who got it."""
    batch = sprouts.batch()
    fed, sent = sprouts.feed(batch, 1), sprouts.send(batch, 2, document="DN 1")
    assert sprouts.mould(batch).out == (fed.entry, sent.entry)


def test_what_shares_a_cause_is_proposed_each_with_its_reasons(
    sprouts: SproutFarm,
) -> None:
    """And held only when somebody says so, once."""
    lot = sprouts.lot()
    mouldy = str(sprouts.sow((lot, 3_000), trays=range(1, 3)).sow.get("batch"))
    near = str(sprouts.sow((lot, 3_000), trays=range(3, 5), rack="R2").sow.get("batch"))
    sprouts.batch(trays=range(5, 7), rack="R3", line="L2")
    made = sprouts.mould(mouldy)
    assert [(s.code, s.shares) for s in made.proposed] == [
        (near, ("room GROW", f"lot {lot}", "line L1"))
    ]
    hold = lambda w: finds.hold_proposed(  # noqa: E731
        w, made.mould, made.proposed, How("AB")
    )
    (first,), again = sprouts.act(hold), sprouts.act(hold)
    assert first.get("shares") == f"room GROW; lot {lot}; line L1"
    assert again == []


def test_a_retry_writes_no_second_find(sprouts: SproutFarm) -> None:
    """Nor a second hold."""
    thing = Mould(batch=sprouts.batch(), colour="grey")
    find = lambda w: finds.find_mould(  # noqa: E731
        w, sprouts.in_force(), thing, How("AB")
    )
    first, again = sprouts.write(find), sprouts.write(find)
    assert (again.already, again.mould) == (True, first.mould)
    assert len(sprouts.entries("hold")) == 2


def test_the_walk_round_goes_through_the_same_act(sprouts: SproutFarm) -> None:
    """One find is typed once: batch held, lot stopped, one incident with its step."""
    batch = sprouts.batch()
    made = walk(sprouts, {"R1": 2})
    (found,) = made.mould
    assert found.batches == (batch,)
    assert found.mould.get("tray_count") == 2
    assert [entry.kind for entry in made.finds] == ["mould", "hold", "hold"]
    (incident,) = made.actions
    assert (incident.get("about"), incident.get("step")) == (found.mould.name, "mould")
    answers = {a.get("of"): a for a in made.sign_off.get("answers")}
    assert answers["R1"]["wrote"] == found.mould.name


def test_two_racks_with_mould_are_two_finds(sprouts: SproutFarm) -> None:
    """Each with its own."""
    one = sprouts.batch(trays=range(1, 3))
    other = sprouts.batch(trays=range(3, 5), rack="R2")
    made = walk(sprouts, {"R1": 1, "R2": 3})
    assert [found.batches for found in made.mould] == [(one,), (other,)]


def test_an_unknown_batch_rack_or_tray_is_no_find(sprouts: SproutFarm) -> None:
    """A slip of the finger holds nothing."""
    for thing in (Mould(batch="B-XX-1-1"), Mould(rack="R9"), Mould(trays=("T999",))):
        with pytest.raises(UnknownCode):
            sprouts.write(
                lambda w, t=thing: finds.find_mould(w, sprouts.in_force(), t, How("AB"))
            )


def test_sick_animals_propose_holding_all_that_grows(sprouts: SproutFarm) -> None:
    """Fed or not: nobody knows yet which it was."""
    codes = [sprouts.batch(), sprouts.batch(trays=range(5, 9), rack="R3", line="L2")]
    thing = Ill(
        animals="EWES",
        since=date(2026, 3, 1),
        head_ill=3,
        head_at_risk=40,
        signs="down",
    )
    made = sprouts.act(
        lambda w: finds.fall_ill(w, sprouts.in_force(), thing, How("AB"))
    )
    assert [s.code for s in made.proposed] == codes
    assert made.action.get("incident") is True
    holds = sprouts.act(
        lambda w: finds.hold_proposed(w, made.ill, made.proposed, How("AB"))
    )
    assert held(tuple(holds)) == {("batch", code, None) for code in codes}


def test_a_mouldy_tray_of_another_batch_holds_both(sprouts: SproutFarm) -> None:
    """Either the batch or the tray was misread: nobody knows which."""
    one, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    made = sprouts.mould(one, trays=("T006",))
    assert made.batches == (one, other)
    assert {("batch", one, None), ("batch", other, None)} <= held(made.holds)


def test_a_tray_that_grows_another_batch_by_now_holds_both(
    sprouts: SproutFarm,
) -> None:
    """The old batch was named, and left the tray before."""
    one = sprouts.batch()
    sprouts.discard(one, 1)
    other = sprouts.batch(trays=range(1, 2))
    assert sprouts.mould(one, trays=("T001",)).batches == (one, other)


@pytest.mark.parametrize("of", [{"trays": ("T001",)}, {"rack": "R1"}])
def test_a_clock_that_is_behind_loses_no_batch(
    sprouts: SproutFarm, of: dict[str, Any]
) -> None:
    """The sowing is known here, so it came before: its whole batch is held."""
    batch, other = sprouts.batch(), sprouts.batch(trays=range(5, 9), rack="R2")
    farm = sprouts.in_force()
    sprouts.later(days=-5)
    found = sprouts.write(lambda w: finds.find_mould(w, farm, Mould(**of), How("AB")))
    assert found.batches == (batch,)
    assert ("batch", batch, None) in held(found.holds)
    assert other not in {code for _, code, _ in held(found.holds)}


def test_a_find_put_right_by_a_clock_that_is_behind_loses_none_either(
    sprouts: SproutFarm,
) -> None:
    """Another tray than was typed: it is in what is known to grow there."""
    batch = sprouts.batch()
    farm = sprouts.in_force()
    sprouts.later(days=-5)
    wrong = Mould(trays=("T009",))
    mould = sprouts.write(lambda w: finds.find_mould(w, farm, wrong, How("AB"))).mould
    body = {**mould.body, "trays": ["T001"]}
    put, _ = sprouts.write(
        lambda w: correct(w, mould.name, body, reason="misread", by="AB")
    )
    assert put.get("batches") == [batch]
