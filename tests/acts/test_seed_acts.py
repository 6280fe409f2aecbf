"""Seed lots: taken in, counted, scrapped."""

from __future__ import annotations

import pytest
from sprout_farm import SproutFarm

from hygiene.acts import seed
from hygiene.acts.codes import UnknownCode, meant
from hygiene.acts.how import How
from hygiene.acts.standing import lot_file
from hygiene.kinds.seed import Germination, Scrap


def test_a_lot_gets_a_code_of_our_own_and_keeps_the_suppliers(
    sprouts: SproutFarm,
) -> None:
    """The supplier's lot number is kept letter by letter."""
    lot = sprouts.lot(supplier_lot=" AF 26/118-b ")
    (entry,) = sprouts.entries("seed")
    assert (entry.get("lot"), entry.get("supplier_lot")) == (lot, " AF 26/118-b ")
    assert sprouts.read(lambda r: meant(r, "lot", lot.lower().replace("-", ""))) == lot


def test_lots_are_numbered_one_after_another(sprouts: SproutFarm) -> None:
    """No number is given twice, however many there are."""
    codes = [sprouts.lot(supplier_lot=str(n)) for n in range(9)]
    assert [code.split("-")[2] for code in codes] == [str(n) for n in range(1, 10)]


def test_a_retry_after_a_crash_mints_no_second_code(sprouts: SproutFarm) -> None:
    """The person never saw the first code, and types the same again."""
    take = lambda w: seed.receive(  # noqa: E731
        w, sprouts.in_force(), How("AB"), supplier="ALDER", supplier_lot="x", grams=5
    )
    first, again = sprouts.write(take), sprouts.write(take)
    assert again.already
    assert again.seed == first.seed


def test_a_lot_that_nobody_saw_the_word_for_is_held_at_once(
    sprouts: SproutFarm,
) -> None:
    """Dressed seed is never fed: without the declaration, not a grain is sown."""
    lot = sprouts.lot(untreated_seen_by=None)
    (hold,) = sprouts.entries("hold")
    assert (hold.get("sort"), hold.get("held")) == ("lot", lot)
    assert sprouts.entries("seed")[0].get("marks") == ["lot-not-declared"]


def test_a_refused_lot_says_why_and_is_held(sprouts: SproutFarm) -> None:
    """A lot that was sent back is not sown by mistake."""
    sprouts.lot(accepted=False, refused_why="mouse droppings")
    (hold,) = sprouts.entries("hold")
    assert "mouse droppings" in hold.get("why")


def test_an_unknown_supplier_is_no_supplier(sprouts: SproutFarm) -> None:
    """One step back is a supplier with an address, or it is nothing."""
    with pytest.raises(UnknownCode) as unknown:
        sprouts.write(
            lambda w: seed.receive(
                w,
                sprouts.in_force(),
                How("AB"),
                supplier="ALDR",
                supplier_lot="x",
                grams=5,
            )
        )
    assert unknown.value.way_out == "did you mean ALDER?"


def test_a_wrong_check_character_names_the_nearest_lot(sprouts: SproutFarm) -> None:
    """What was misread is not looked for, and what was meant is named."""
    lot = sprouts.lot()
    wrong = lot[:-1] + ("A" if lot[-1] != "A" else "B")
    with pytest.raises(UnknownCode) as unknown:
        sprouts.read(lambda r: meant(r, "lot", wrong))
    assert unknown.value.way_out == f"did you mean {lot}?"


def test_a_germination_count_needs_its_lot(sprouts: SproutFarm) -> None:
    """A count of nothing shows nothing."""
    thing = Germination(lot="L-XX-1-1", sown=100, germinated=93)
    with pytest.raises(UnknownCode):
        sprouts.write(lambda w: seed.count(w, thing, How("AB")))


def test_what_is_in_store_is_received_less_sown_and_scrapped(
    sprouts: SproutFarm,
) -> None:
    """Grams are whole numbers, so that the sum is exact."""
    lot = sprouts.lot(grams=100_001)
    sprouts.sow((lot, 18_000))
    thing = Scrap(lot=lot, grams=2_001, why="spilt")
    sprouts.act(lambda w: seed.scrap(w, thing, How("AB")))
    found = sprouts.read(lambda r: lot_file(r, lot)).lot
    assert found.in_store_grams == 80_000


def test_scrapping_more_than_there_is_is_written_and_marked(
    sprouts: SproutFarm,
) -> None:
    """What does not add up is named, never forced to."""
    lot = sprouts.lot(grams=1_000)
    thing = Scrap(lot=lot, grams=1_200, why="mice")
    made = sprouts.act(lambda w: seed.scrap(w, thing, How("AB")))
    assert made.scrap.get("marks") == ["lot-not-enough"]
    assert made.action.get("about") == made.scrap.name
