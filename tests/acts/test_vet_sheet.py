"""The sheet for the vet: values first, then one page of text."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sprout_farm import SproutFarm

from hygiene.acts.mending import strike
from hygiene.acts.vet_sheet import VetSheet, vet_sheet
from hygiene.cli.vet_sheet import sheet_lines
from hygiene.kinds.find import Pest
from hygiene.kinds.incident import Ill, Notify
from hygiene.kinds.setup import Animals

ONE_PAGE = 66
"""Lines of a page of A4 at six to the inch."""


def sheet(sprouts: SproutFarm, group: str = "EWES") -> VetSheet:
    return sprouts.read(lambda r: vet_sheet(r, r.setup(), group, sprouts.now))


def busy(sprouts: SproutFarm) -> VetSheet:
    """Three weeks of everything: a batch a day, mould, pests, notices, sick ewes."""
    lots = [sprouts.lot(), sprouts.lot(supplier_lot="AF/2")]
    for day in range(8):
        sown = sprouts.sow((lots[day % 2], 6_000), trays=range(1, 3)).sow
        batch = str(sown.get("batch"))
        sprouts.act(
            lambda w, n=day: w.add(Pest(what=f"rat {n}", place="store"), by="AB")
        )
        thing = Notify(role="vet", who_told="E. Ash", what=f"day {day}")
        sprouts.act(lambda w, t=thing: w.add(t, by="AB"))
        sprouts.feed(batch, 1, 2)
        if day % 2 == 0:
            sprouts.mould(batch, colour="grey", place="under the mat, at the edge")
        sprouts.later(hours=60)
    ill = Ill(
        animals="EWES",
        since=date(2026, 3, 20),
        head_ill=3,
        head_at_risk=40,
        signs="trembling, stiff, down",
        appetite_kept=True,
    )
    sprouts.act(lambda w: w.add(ill, by="AB"))
    return sheet(sprouts)


def test_it_covers_three_weeks_to_the_day_both_ends_included(
    sprouts: SproutFarm,
) -> None:
    """Days without a feed stand there as well."""
    sprouts.feed(sprouts.batch(), 1)
    made = sheet(sprouts)
    assert (len(made.days), made.days[-1].day) == (21, date(2026, 3, 2))
    assert made.days[-1].kg_per_head == Decimal("0.18")
    assert made.days[0].grams == 0


def test_another_groups_fodder_is_not_on_it(sprouts: SproutFarm) -> None:
    """Each group has its own sheet."""
    sprouts.feed(sprouts.batch(), 1, to="GOATS")
    assert sheet(sprouts).eaten == ()
    assert len(sheet(sprouts, "GOATS").eaten) == 1


def test_each_batch_comes_with_its_seed_finds_and_holds(sprouts: SproutFarm) -> None:
    """Supplier, lot, whether it was dressed, what was found, what is held."""
    lot = sprouts.lot(untreated_seen_by=None, dressing="a fungicide")
    batch = str(sprouts.sow((lot, 6_000)).sow.get("batch"))
    sprouts.feed(batch, 1)
    sprouts.mould(batch)
    (eaten,) = sheet(sprouts).eaten
    assert eaten.lots[0]["dressing"] == "a fungicide"
    assert [m.kind for m in eaten.moulds] == ["mould"]
    assert len(eaten.held) == 3


def test_a_struck_lot_is_told_by_what_it_said(sprouts: SproutFarm) -> None:
    """Ruling its entry through does not take the seed off the sheet."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    (seed,) = sprouts.entries("seed")
    sprouts.act(lambda w: strike(w, seed.name, reason="twice", by="AB"))
    assert sheet(sprouts).eaten[0].lots[0]["supplier"] == "ALDER"


def test_what_is_left_to_sample_is_what_grows_is_in_store_or_kept(
    sprouts: SproutFarm,
) -> None:
    """Of the batches that were eaten, and of their lots."""
    batch = sprouts.batch()
    sprouts.batch(trays=range(9, 11))
    sprouts.feed(batch, 1)
    sprouts.sample(batch)
    left = sheet(sprouts).left
    assert left.growing == ((batch, 3),)
    assert [grams for _, grams in left.lots] == [94_000]
    assert [entry.kind for entry in left.samples] == ["sample"]


def test_a_head_count_that_changed_in_the_window_is_told(sprouts: SproutFarm) -> None:
    """With the animals' tags, where the farm keeps them; the first count is no news."""
    assert sheet(sprouts).counted == ()
    ewes = Animals(code="EWES", name="Ewes", species="sheep", head=41, members=("X1",))
    sprouts.act(lambda w: w.add(ewes, by="AB"))
    assert any("X1" in line for line in sheet_lines(sheet(sprouts)))


def test_an_animal_that_changed_its_group_is_not_lost(sprouts: SproutFarm) -> None:
    """The sheet says which group to ask for what it ate before."""
    herd = [
        Animals(code="GOATS", name="Goats", species="goat", head=20, members=("G7",)),
        Animals(code="EWES", name="Ewes", species="sheep", head=41, members=("G7",)),
    ]
    for group in herd:
        sprouts.act(lambda w, g=group: w.add(g, by="AB"))
    (moved,) = sheet(sprouts).came
    assert (moved.tag, moved.came_from) == ("G7", "GOATS")
    assert any("hygiene vet GOATS" in line for line in sheet_lines(sheet(sprouts)))


def test_finds_in_other_batches_are_told_as_well(sprouts: SproutFarm) -> None:
    """The mould was in the shed, whoever ate what."""
    sprouts.feed(sprouts.batch(), 1)
    mould = sprouts.mould(sprouts.batch(trays=range(5, 7))).mould
    assert sheet(sprouts).other_finds == (mould,)


def test_it_is_one_page_eighty_columns_wide(sprouts: SproutFarm) -> None:
    """However much happened."""
    lines = sheet_lines(busy(sprouts))
    assert len(lines) <= ONE_PAGE
    assert max(map(len, lines)) <= 80


def test_it_says_what_must_not_be_believed(sprouts: SproutFarm) -> None:
    """Neither the eye nor the appetite clears; no slaughter; the vet decides."""
    text = " ".join(" ".join(sheet_lines(sheet(sprouts))).split())
    for said in (
        "No visible mould and a good appetite clear nothing",
        "notifiable disease: the vet decides",
        "No animal of this group goes to slaughter",
        "flagged for half a year",
        "vet: E. Ash, 01632 960001",
    ):
        assert said in text


def test_what_nobody_wrote_down_is_said_to_be_missing(sprouts: SproutFarm) -> None:
    """An empty part is not left out."""
    text = "\n".join(sheet_lines(sheet(sprouts)))
    assert "CHEMICALS: nothing is written down" in text
