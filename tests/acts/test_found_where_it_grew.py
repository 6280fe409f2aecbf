"""Mould in a tray is in what grew there then, also if the find does not name it."""

from __future__ import annotations

from pathlib import Path

import pytest
from sprout_farm import SproutFarm, tray

from hygiene.acts import holds
from hygiene.acts.batches import against_sowing
from hygiene.acts.how import How
from hygiene.acts.leaving import against_feeding
from hygiene.acts.mending import strike
from hygiene.acts.standing import exposed_groups, open_holds, shed_now, stops_by_batch
from hygiene.book.record import Record
from hygiene.kinds.batch import Feed, Place, SeedShare
from hygiene.kinds.find import Hold, Mould
from hygiene.kinds.incident import Assess


def marks(farm: SproutFarm, batch: str, number: int) -> list[str]:
    thing = Feed(
        batch=batch, trays=(tray(number),), animals="EWES", grams=7_000,
        look_ok=True, smell_ok=True,
    )  # fmt: skip
    ask = lambda r: against_feeding(r, farm.in_force(), thing, farm.now)  # noqa: E731
    return [rule.mark for rule in farm.read(ask)]


def found_elsewhere(farm: SproutFarm, folder: Path, **said: object) -> None:
    """A find in a book that does not know what was sown: its act names no batch."""
    with (
        Record.open(farm.path, to_write=True) as record,
        record.writing(farm.clock, folder / "other-keys", "office") as writing,
    ):
        writing.add(Mould(**said), by="AB")  # type: ignore[arg-type]
    farm.later(minutes=2)


def test_a_find_in_another_book_holds_all_of_the_batch(
    sprouts: SproutFarm, tmp_path: Path
) -> None:
    """The tray is named, the batch is not: its other trays are no feed either."""
    batch, other = sprouts.batch(), sprouts.batch(trays=range(5, 9), rack="R2")
    sprouts.later(days=5)
    found_elsewhere(sprouts, tmp_path, trays=(tray(1),))
    assert marks(sprouts, batch, 2) == ["mould-record", "on-hold"]
    assert marks(sprouts, other, 5) == []


def test_a_find_on_a_rack_is_in_what_stood_there(
    sprouts: SproutFarm, tmp_path: Path
) -> None:
    """And in nothing that stood elsewhere, or came only later."""
    batch, other = sprouts.batch(), sprouts.batch(trays=range(5, 9), rack="R2")
    sprouts.later(days=5)
    found_elsewhere(sprouts, tmp_path, rack="R1")
    later = sprouts.batch(trays=range(10, 12))
    assert marks(sprouts, batch, 2) == ["mould-record", "on-hold"]
    assert marks(sprouts, other, 5) == marks(sprouts, later, 10) == []


def test_the_page_of_the_day_holds_it_and_flags_who_ate(
    sprouts: SproutFarm, tmp_path: Path
) -> None:
    """What grows is held by the find, and the group is watched."""
    batch = sprouts.batch()
    sprouts.later(days=5)
    sprouts.feed(batch, 2)
    found_elsewhere(sprouts, tmp_path, trays=(tray(1),))
    ask = lambda r: shed_now(r, sprouts.in_force(), sprouts.now)  # noqa: E731
    (row,) = sprouts.read(ask).growing
    assert [stop.why for stop in row.stops] == ["mould, and no hold was written for it"]
    flagged = sprouts.read(
        lambda r: exposed_groups(r, sprouts.in_force().zone, sprouts.now)
    )
    assert [(each.animals, each.batch) for each in flagged] == [("EWES", batch)]


@pytest.mark.parametrize("said", [(), (tray(1),)])
def test_a_sowing_written_again_under_another_code_keeps_the_find(
    sprouts: SproutFarm, said: tuple[str, ...]
) -> None:
    """Struck, written anew, assessed, released: it is a mouldy batch all the same."""
    sown = sprouts.sow((sprouts.lot(), 6_000)).sow
    at = sprouts.now
    sprouts.later(days=5)
    sprouts.mould(str(sown.get("batch")), trays=said)
    sprouts.act(lambda w: strike(w, sown.name, reason="wrong lot", by="AB"))
    again = sprouts.sow((sprouts.lot(), 6_000), how=How("AB", at, reason="other lot"))
    assert again.hold is not None
    hold = again.hold.name
    assessed = Assess(holds=(hold,), found="looked at")
    sprouts.act(lambda w: w.add(assessed, by="AB"))
    sprouts.act(lambda w: holds.release(w, hold, why="assessed", by="AB"))
    assert "mould-record" in marks(sprouts, str(again.sow.get("batch")), 2)


def test_mould_in_a_tray_before_it_was_sown_anew_is_not_in_the_next_batch(
    sprouts: SproutFarm,
) -> None:
    """What was thrown away took its mould with it."""
    batch = sprouts.batch()
    sprouts.later(days=5)
    sprouts.mould(batch, trays=(tray(1),))
    sprouts.discard(batch, 1, 2, 3, 4)
    sprouts.later(days=1)
    after = sprouts.batch()
    ask = lambda r: stops_by_batch(r, sprouts.in_force(), [after], open_holds(r))  # noqa: E731
    assert sprouts.read(ask) == {}
    assert marks(sprouts, after, 1) == []


def against(farm: SproutFarm, lot: str) -> list[str]:
    """What stands against sowing from the lot into clean trays."""
    seeds, places = (SeedShare(lot=lot, grams=1_000),), (Place(tray=tray(30)),)
    ask = lambda r: against_sowing(r, farm.in_force(), seeds, places, None, farm.now)  # noqa: E731
    return [rule.mark for rule in farm.read(ask) if rule.mark.startswith("lot-")]


def test_a_find_that_did_not_know_the_batch_stops_its_lot(
    sprouts: SproutFarm, tmp_path: Path
) -> None:
    """No more is sown from it, until a hold that names the find was released."""
    lot, other = sprouts.lot(), sprouts.lot()
    sprouts.sow((lot, 6_000))
    sprouts.later(days=5)
    assert against(sprouts, lot) == []
    found_elsewhere(sprouts, tmp_path, trays=(tray(1),))
    assert (against(sprouts, lot), against(sprouts, other)) == (["lot-held"], [])
    (find,) = sprouts.entries("mould")
    thing = Hold(held=lot, sort="lot", why="mould", because=find.name, stops="sowing")
    hold = sprouts.act(lambda w: w.add(thing, by="AB"))
    assert against(sprouts, lot) == ["lot-held"]
    said = {"word_of": "E. Ash", "word_role": "vet", "document": "letter 7"}
    sprouts.act(lambda w: holds.release(w, hold.name, why="clean", by="AB", **said))
    assert against(sprouts, lot) == []


def test_a_find_that_named_its_batch_holds_the_lot_once(sprouts: SproutFarm) -> None:
    """By the hold that was written with it."""
    lot = sprouts.lot()
    batch = str(sprouts.sow((lot, 6_000)).sow.get("batch"))
    sprouts.later(days=5)
    sprouts.mould(batch, trays=(tray(1),))
    assert against(sprouts, lot) == ["lot-held"]
