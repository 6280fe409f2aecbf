"""What the marks of an entry cannot say: a find, or an action, written later."""

from __future__ import annotations

from datetime import timedelta

from sprout_farm import SproutFarm, tray

from hygiene.acts import finds
from hygiene.acts.how import How
from hygiene.acts.readiness import readiness
from hygiene.kinds.action import Action
from hygiene.kinds.base import Kind
from hygiene.kinds.find import Mould


def against(farm: SproutFarm) -> dict[str, str]:
    """What is told as done against a rule of safety, by the first entry named."""
    today = farm.now.date()
    looked = farm.read(
        lambda r: readiness(r, today - timedelta(days=30), today, farm.now)
    )
    (rule,) = (f for f in looked.ready.findings if f.rule.code == "against-rules")
    return {item.entries[0]: item.says for item in rule.items}


def test_fodder_that_left_after_a_find_of_which_nobody_here_knew(
    sprouts: SproutFarm,
) -> None:
    """Only what left after it; what left before broke no rule."""
    batch = sprouts.batch()
    sprouts.later(days=3)
    before, at = sprouts.feed(batch, 1).entry, sprouts.now
    sprouts.later(hours=1)
    after = sprouts.feed(batch, 2).entry
    thing = Mould(batch=batch, trays=(tray(3),))
    made = sprouts.act(
        lambda w: finds.find_mould(w, sprouts.in_force(), thing, How("AB", at))
    )
    says = against(sprouts)
    assert before.name not in says
    assert "mould was found in it by then" in says[after.name]
    assert says[after.name].endswith(f"{made.action.name} still open")


def test_an_imported_line_is_answered_by_the_action_of_its_file(
    sprouts: SproutFarm,
) -> None:
    """One action answers for all lines of a file: none of them is said to have none."""
    gathered: list[Kind] = []
    names = []
    for number, trays in ((2, range(1, 5)), (3, range(5, 9))):
        reason = f"imported from old sow.csv line {number} (shed-k7q2/9)"
        lot, how = sprouts.lot(), How("AB", reason=reason, gathered=gathered)
        names.append(sprouts.sow((lot, 6_000), trays=trays, how=how).sow.name)
    problem = "2 lines imported from old sow.csv stand against rules: 2 x tray"
    action = Action(about=names[0], problem=problem)
    made = sprouts.act(lambda w: w.add(action, by="AB"))
    says = against(sprouts)
    assert [says[n].endswith(f"{made.name} still open") for n in names] == [True, True]
