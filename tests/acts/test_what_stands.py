"""What stands now: read for acts and for the page of the day."""

from __future__ import annotations

from datetime import date

from sprout_farm import SproutFarm

from hygiene.acts.mending import strike
from hygiene.acts.standing import exposed_groups, growing_batches, shed_now


def test_batches_grow_until_their_last_tray_is_gone(sprouts: SproutFarm) -> None:
    """The oldest first, with the day at the farm."""
    one = sprouts.batch()
    sprouts.later(days=2)
    other = sprouts.batch(trays=range(5, 7))
    shed = sprouts.read(lambda r: shed_now(r, sprouts.in_force(), sprouts.now))
    assert [(row.batch.code, row.day) for row in shed.growing] == [(one, 2), (other, 0)]
    sprouts.feed(one, 1, 2, 3, 4)
    growing = sprouts.read(lambda r: growing_batches(r, sprouts.now))
    assert [batch.code for batch in growing] == [other]


def test_held_batches_say_so(sprouts: SproutFarm) -> None:
    """With the entry that holds them."""
    batch, other = sprouts.batch(), sprouts.batch(trays=range(5, 7))
    hold = sprouts.mould(batch).holds[0]
    shed = sprouts.read(lambda r: shed_now(r, sprouts.in_force(), sprouts.now))
    stops = {row.batch.code: [s.entry for s in row.stops] for row in shed.growing}
    assert stops == {batch: [hold.name], other: []}


def test_who_ate_of_a_mouldy_batch_is_flagged_for_half_a_year(
    sprouts: SproutFarm,
) -> None:
    """Also if the find is struck; the last feed counts."""
    batch = sprouts.batch()
    sprouts.feed(batch, 1)
    sprouts.later(days=1)
    last = sprouts.feed(batch, 2).entry
    mould = sprouts.mould(batch).mould
    sprouts.act(lambda w: strike(w, mould.name, reason="root hairs", by="AB"))
    flagged = lambda: sprouts.read(  # noqa: E731
        lambda r: exposed_groups(r, sprouts.in_force().zone, sprouts.now)
    )
    (exposure,) = flagged()
    assert (exposure.animals, exposure.feed) == ("EWES", last)
    assert exposure.until == date(2026, 9, 2)
    sprouts.later(days=183)
    assert len(flagged()) == 1
    sprouts.later(days=1)
    assert flagged() == []


def test_nothing_grows_and_nobody_is_flagged_in_an_empty_shed(
    sprouts: SproutFarm,
) -> None:
    """No batch, no find."""
    shed = sprouts.read(lambda r: shed_now(r, sprouts.in_force(), sprouts.now))
    assert shed == ((), ())
