"""Corrective actions: no end without what was done and a recheck that passed."""

from __future__ import annotations

import pytest
from small_farm import SmallFarm
from test_signing import GOOD, signed

from hygiene.acts.actions import (
    ClosedAlready,
    NotAnAction,
    NotRechecked,
    close,
    look_again,
)
from hygiene.acts.mending import strike
from hygiene.kinds.action import Recheck


def opened(shed: SmallFarm) -> str:
    return signed(shed, given=GOOD | {"temp": "27"}).actions[0].name


def rechecked(shed: SmallFarm, name: str, passed: bool) -> str:
    thing = Recheck(action=name, seen="21 C" if passed else "26 C", passed=passed)
    made = shed.write(lambda w: look_again(w, thing, by="AB"))
    shed.later(minutes=1)
    return str(made.name)


def test_no_close_without_a_recheck(shed: SmallFarm) -> None:
    """The way out is named."""
    name = opened(shed)
    with pytest.raises(NotRechecked) as refused:
        shed.write(lambda w: close(w, name, did="opened the vents", by="AB"))
    assert f"hygiene recheck {name}" in str(refused.value.way_out)


def test_a_failed_recheck_keeps_it_open(shed: SmallFarm) -> None:
    """Even after one that passed: the last one counts."""
    name = opened(shed)
    rechecked(shed, name, True)
    rechecked(shed, name, False)
    with pytest.raises(NotRechecked, match="the last one failed"):
        shed.write(lambda w: close(w, name, did="opened the vents", by="AB"))


def test_closed_names_the_recheck(shed: SmallFarm) -> None:
    """What it means never hangs on clocks: it names what it answers."""
    name = opened(shed)
    look = rechecked(shed, name, True)
    made = shed.write(lambda w: close(w, name, did="opened the vents", by="AB"))
    assert made.get("recheck") == look
    with shed.open() as record:
        assert record.unanswered("action", "close") == []
    with pytest.raises(ClosedAlready):
        shed.write(lambda w: close(w, name, did="again", by="AB"))


def test_a_struck_close_opens_it_again(shed: SmallFarm) -> None:
    """An end that no longer stands is no end."""
    name = opened(shed)
    rechecked(shed, name, True)
    made = shed.write(lambda w: close(w, name, did="opened the vents", by="AB"))
    shed.write(lambda w: strike(w, made.name, reason="wrong one", by="AB"))
    with shed.open() as record:
        assert [a.name for a in record.unanswered("action", "close")] == [name]


def test_only_an_action_is_closed(shed: SmallFarm) -> None:
    """Another kind of entry is no action."""
    name = signed(shed).sign_off.name
    with pytest.raises(NotAnAction):
        shed.write(lambda w: close(w, name, did="x", by="AB"))
