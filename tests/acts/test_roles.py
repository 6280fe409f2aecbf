"""Who may release, countersign and set up: by the roles of the farm file."""

from __future__ import annotations

import pytest
from small_farm import SmallFarm

from hygiene.acts.holds import release
from hygiene.acts.roles import MAY, NotTheirs, need_role
from hygiene.acts.signing import countersign
from hygiene.kinds.find import Hold, Pest
from hygiene.kinds.setup import ROLES, Person


@pytest.fixture
def peopled(shed: SmallFarm) -> SmallFarm:
    """With somebody of each role, by the role's first three letters."""
    for role in ROLES:
        person = Person(code=role[:3].upper(), name=role.title(), roles=(role,))
        shed.write(lambda w, person=person: w.add(person, by="AB"))
    return shed


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("what", MAY)
def test_each_role_may_just_what_the_table_says(
    peopled: SmallFarm, role: str, what: str
) -> None:
    """A refusal has exit code 5 and names those who may."""
    farm, code = peopled.in_force(), role[:3].upper()
    if role in MAY[what]:
        need_role(farm, code, what)
        return
    with pytest.raises(NotTheirs) as refused:
        need_role(farm, code, what)
    assert refused.value.exit_code == 5
    assert "MAN" in str(refused.value.way_out)


def test_a_worker_does_not_end_a_hold(peopled: SmallFarm) -> None:
    """It is refused, and the hold stands."""
    thing = Hold(held="R1", sort="rack", why="musty")
    hold = peopled.write(lambda w: w.add(thing, by="CD"))
    with pytest.raises(NotTheirs, match="CD is worker"):
        peopled.write(lambda w: release(w, hold.name, why="dry", by="CD"))
    with peopled.open() as record:
        assert [e.name for e in record.unanswered("hold", "release")] == [hold.name]


def test_a_manager_ends_a_hold(peopled: SmallFarm) -> None:
    """As a vet does who writes here."""
    for who in ("AB", "VET"):
        thing = Hold(held="R1", sort="rack", why="musty")
        hold = peopled.write(lambda w, thing=thing: w.add(thing, by="CD"))
        peopled.write(lambda w, h=hold, who=who: release(w, h.name, why="dry", by=who))
    with peopled.open() as record:
        assert record.unanswered("hold", "release") == []


def test_a_visitor_countersigns_nothing(peopled: SmallFarm) -> None:
    """A worker or an adviser does."""
    seen = peopled.write(lambda w: w.add(Pest(what="rat", place="door"), by="AB"))
    with pytest.raises(NotTheirs):
        peopled.write(lambda w: countersign(w, [seen], by="VIS"))
    assert peopled.write(lambda w: countersign(w, [seen], by="ADV")).by == "ADV"


def test_a_code_that_nobody_has_may_nothing(shed: SmallFarm) -> None:
    """Whoever is not in force has no role."""
    with pytest.raises(NotTheirs, match="ZZ is nobody here"):
        need_role(shed.in_force(), "ZZ", "release")
