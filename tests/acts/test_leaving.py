"""Feeding, sending, discarding, sampling: plans are refused, facts never."""

from __future__ import annotations

import pytest
from sprout_farm import SproutFarm

from hygiene.acts import leaving
from hygiene.acts.codes import UnknownCode
from hygiene.acts.how import How
from hygiene.acts.leaving import NothingGrows, SeveralBatches, trays_meant
from hygiene.acts.standing import batch_file
from hygiene.kinds.batch import Feed
from hygiene.kinds.find import Hold


def asked(sprouts: SproutFarm, batch: str, *trays: str, **said: object) -> set[str]:
    thing = Feed(
        **{
            "batch": batch,
            "trays": trays,
            "animals": "EWES",
            "grams": 7_000,
            "look_ok": True,
            "smell_ok": True,
            **said,
        }
    )
    against = sprouts.read(
        lambda r: leaving.against_feeding(r, sprouts.in_force(), thing, sprouts.now)
    )
    return {rule.mark for rule in against}


def test_a_good_batch_is_fed_without_a_mark(sprouts: SproutFarm) -> None:
    """And its trays are fed from then on."""
    batch = sprouts.batch()
    made = sprouts.feed(batch, 1, 2)
    assert made.entry.get("marks") is None
    found = sprouts.read(lambda r: batch_file(r, batch)).batch
    assert (found.ended("fed"), found.growing) == (("T001", "T002"), ("T003", "T004"))


def test_what_is_held_is_refused_as_a_plan(sprouts: SproutFarm) -> None:
    """The batch that was sown from a lot without the declaration."""
    lot = sprouts.lot(untreated_seen_by=None)
    batch = str(sprouts.sow((lot, 6_000)).sow.get("batch"))
    assert asked(sprouts, batch, "T001") == {"on-hold"}


def test_fed_all_the_same_it_is_written_marked_and_an_incident(
    sprouts: SproutFarm,
) -> None:
    """What happened is never kept out of the record."""
    batch = sprouts.batch()
    sprouts.mould(batch)
    made = sprouts.feed(batch, 1)
    assert made.in_danger
    assert made.entry.get("marks") == ["mould-record", "on-hold"]
    assert made.action.get("incident") is True


def test_a_batch_with_a_mould_record_is_never_fed_released_or_not(
    sprouts: SproutFarm,
) -> None:
    """It ends as discard or sample, even when its hold has ended."""
    from hygiene.acts.holds import release

    batch = sprouts.batch()
    found = sprouts.mould(batch)
    for hold in found.holds:
        sprouts.act(
            lambda w, h=hold: release(
                w,
                h.name,
                why="seen",
                by="AB",
                word_of="E. Ash",
                word_role="vet",
                document="letter",
            )
        )
    assert asked(sprouts, batch, "T001") == {"mould-record"}


def test_fed_before_the_find_and_written_after_it_breaks_no_rule(
    sprouts: SproutFarm,
) -> None:
    """Those who ate are in the same danger: an incident, under marks of its own."""
    batch = sprouts.batch()
    fed_at = sprouts.now
    sprouts.later(hours=2)
    sprouts.mould(batch)
    made = sprouts.feed(batch, 1, how=How("AB", fed_at))
    marks = ["mould-found-afterwards", "held-afterwards"]
    assert (made.entry.get("marks"), made.in_danger) == (marks, True)


def test_nobody_looking_is_marked(sprouts: SproutFarm) -> None:
    """Look and smell are a step of feeding, not a habit that is taken for granted."""
    batch = sprouts.batch()
    assert asked(sprouts, batch, "T001", look_ok=None) == {"not-looked-at"}
    assert asked(sprouts, batch, "T001", smell_ok=False) == {"looked-or-smelt-bad"}


def test_a_tray_is_not_fed_twice(sprouts: SproutFarm) -> None:
    """The second time is written as it was said, and marked."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    again = sprouts.feed(batch, 1, grams=6_000)
    assert again.entry.get("marks") == ["tray-not-growing"]
    found = sprouts.read(lambda r: batch_file(r, batch)).batch
    assert found.ended("fed") == ("T001",)
    assert found.odd[0].entry == again.entry.name


def test_an_unknown_group_is_no_group(sprouts: SproutFarm) -> None:
    """Fodder goes to animals that the farm has."""
    batch = sprouts.batch()
    with pytest.raises(UnknownCode, match="group of animals 'COWS'"):
        sprouts.feed(batch, 1, to="COWS")


def test_what_is_sent_names_its_paper(sprouts: SproutFarm) -> None:
    """One step forward: whom, what, how much, when; without a paper it is marked."""
    batch = sprouts.batch()
    assert sprouts.send(batch, 1).entry.get("marks") == ["no-document"]
    assert sprouts.send(batch, 2, document="DN 1").entry.get("marks") is None


def test_mouldy_trays_are_sampled_before_they_are_thrown_away(
    sprouts: SproutFarm,
) -> None:
    """And somebody sees them go; the find is named by itself."""
    batch = sprouts.batch()
    mould = sprouts.mould(batch).mould
    made = sprouts.discard(batch, 1)
    assert made.entry.get("marks") == ["not-sampled", "no-witness"]
    assert made.entry.get("because") == mould.name
    sprouts.sample(batch)
    assert sprouts.discard(batch, 2, witness="CD").entry.get("marks") is None


def test_a_batch_alone_means_all_that_grows_of_it(sprouts: SproutFarm) -> None:
    """Not the trays that were fed already."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    meant = sprouts.read(lambda r: trays_meant(r, batch, (), sprouts.now))
    assert meant == (batch, ("T002", "T003", "T004"))


def test_trays_alone_name_their_batch(sprouts: SproutFarm) -> None:
    """Trays of two batches are two acts, each with its own weight."""
    one, other = sprouts.batch(), sprouts.batch(trays=range(5, 9))
    ask = lambda *trays: sprouts.read(  # noqa: E731
        lambda r: trays_meant(r, None, trays, sprouts.now)
    )
    assert ask("T002") == (one, ("T002",))
    assert ask("T005", "T006") == (other, ("T005", "T006"))
    with pytest.raises(SeveralBatches):
        ask("T002", "T005")
    with pytest.raises(NothingGrows):
        ask("T040")


def test_a_hold_on_some_trays_leaves_the_others(sprouts: SproutFarm) -> None:
    """As the vet narrowed it."""
    batch = sprouts.batch()
    hold = Hold(held=batch, sort="batch", why="wet corner", trays=("T004",))
    sprouts.act(lambda w: w.add(hold, by="AB"))
    assert asked(sprouts, batch, "T001") == set()
    assert asked(sprouts, batch, "T001", "T004") == {"on-hold"}


def test_the_same_feed_again_within_the_minute_is_a_retry(
    sprouts: SproutFarm,
) -> None:
    """After a crash the person does the same again."""
    batch = sprouts.batch()
    thing = Feed(batch=batch, trays=("T001",), animals="EWES", grams=7_000)
    feed = lambda w: leaving.feed(w, sprouts.in_force(), thing, How("AB"))  # noqa: E731
    first, again = sprouts.write(feed), sprouts.write(feed)
    assert (again.already, again.entry) == (True, first.entry)


def test_a_tray_of_a_mouldy_batch_fed_under_another_code_is_an_incident(
    sprouts: SproutFarm,
) -> None:
    """What stands against the batch in which the tray grows counts as well."""
    mouldy, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    sprouts.mould(mouldy)
    made = sprouts.feed(other, 3)
    assert set(made.entry.get("marks")) == {
        "tray-not-growing",
        "mould-record",
        "on-hold",
    }
    assert made.action is not None
    assert made.action.get("incident") is True
