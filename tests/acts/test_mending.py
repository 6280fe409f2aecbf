"""Mending: the old one stays readable, and nothing is cleared by it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from small_farm import SmallFarm
from test_signing import GOOD, signed

from hygiene.acts.mending import (
    CannotCorrect,
    NoReason,
    NothingChanged,
    StaysAsItWas,
    correct,
    strike,
)
from hygiene.acts.signing import countersign
from hygiene.errors import Refused, WronglyPut
from hygiene.kinds.entry import Entry


def with_temp(entry: Entry, value: int, passed: bool) -> dict[str, object]:
    rows = [dict(row) for row in entry.get("answers")]
    rows[0] |= {"value": value, "passed": passed}
    return {**entry.body, "answers": rows}


def test_a_correction_stands_and_the_first_stays_readable(shed: SmallFarm) -> None:
    """Both versions are in the history, the correction last."""
    first = signed(shed).sign_off
    made, opened = shed.write(
        lambda w: correct(
            w, first.name, with_temp(first, 20, True), reason="misread", by="AB"
        )
    )
    assert opened == []
    with shed.open() as record:
        assert [e.name for e in record.history(first.name)] == [first.name, made.name]
        (stands,) = record.entries(["sign_off"])
    assert stands.name == made.name
    assert stands.happened_at == first.happened_at


def test_corrected_into_failing_opens_the_action(shed: SmallFarm) -> None:
    """A reading put right that is out of limit must be put right in the shed."""
    first = signed(shed).sign_off
    _, opened = shed.write(
        lambda w: correct(
            w, first.name, with_temp(first, 30, False), reason="misread", by="AB"
        )
    )
    assert [action.get("problem") for action in opened] == ["walk: temp was 30 C"]


def test_corrected_into_passing_closes_nothing(shed: SmallFarm) -> None:
    """The action that a failed reading opened stays open until it is closed."""
    first = signed(shed, given=GOOD | {"temp": "30"}).sign_off
    shed.write(
        lambda w: correct(
            w, first.name, with_temp(first, 20, True), reason="misread", by="AB"
        )
    )
    with shed.open() as record:
        assert len(record.unanswered("action", "close")) == 1


def test_striking_a_find_does_not_end_its_hold(shed: SmallFarm) -> None:
    """Only release ends a hold: not a strike of the find, nor of the hold itself."""
    done = signed(shed, given=GOOD | {"mould.R1": "1"})
    for entry in done.finds:
        shed.write(lambda w, e=entry: strike(w, e.name, reason="slip", by="AB"))
    with shed.open() as record:
        held = record.unanswered("hold", "release")
    assert "R1" in {hold.get("held") for hold in held}


def test_a_struck_entry_stands_again_once_corrected(shed: SmallFarm) -> None:
    """Ruling through can be taken back, and both stay readable."""
    first = signed(shed).sign_off
    shed.write(lambda w: strike(w, first.name, reason="wrong day", by="AB"))
    with shed.open() as record:
        assert record.entries(["sign_off"]) == []
    shed.later(minutes=1)
    shed.write(
        lambda w: correct(w, first.name, first.body, reason="was right", by="AB")
    )
    with shed.open() as record:
        assert len(record.entries(["sign_off"])) == 1
        assert len(record.history(first.name)) == 3


def test_a_struck_sign_off_may_be_signed_again(shed: SmallFarm) -> None:
    """What no longer stands does not count as twice."""
    first = signed(shed).sign_off
    shed.write(lambda w: strike(w, first.name, reason="wrong person", by="AB"))
    assert not signed(shed, by="CD").already


def test_saying_the_same_is_no_correction(shed: SmallFarm) -> None:
    """Nothing is written where nothing changes."""
    first = signed(shed).sign_off
    with pytest.raises(NothingChanged):
        shed.write(lambda w: correct(w, first.name, first.body, reason="?", by="AB"))


def test_the_set_up_is_not_corrected_entry_by_entry(shed: SmallFarm) -> None:
    """It is changed in the farm file."""
    with shed.open() as record:
        farm = record.entries(["farm"])[0]
    with pytest.raises(CannotCorrect):
        shed.write(lambda w: correct(w, farm.name, farm.body, reason="?", by="AB"))


def test_a_body_that_cannot_be_true_is_refused(shed: SmallFarm) -> None:
    """And nothing is written."""
    first = signed(shed).sign_off
    with pytest.raises(WronglyPut):
        shed.write(
            lambda w: correct(w, first.name, {"task": "walk"}, reason="?", by="AB")
        )
    with shed.open() as record:
        assert len(record.history(first.name)) == 1


def test_a_clock_set_back_is_said(shed: SmallFarm) -> None:
    """A second correction that would not stand, by this device's clock, is refused."""
    first = signed(shed).sign_off
    shed.write(lambda w: strike(w, first.name, reason="slip", by="AB"))
    shed.now -= timedelta(hours=1)
    with pytest.raises(Refused, match="clock"):
        shed.write(
            lambda w: correct(w, first.name, first.body, reason="was right", by="AB")
        )


@pytest.mark.parametrize("kind", ["farm", "person", "checklist"])
def test_the_set_up_is_never_ruled_through(shed: SmallFarm, kind: str) -> None:
    """A record whose farm is struck could not be opened to put that right."""
    with shed.open() as record:
        entry = record.entries([kind])[0]
    with pytest.raises(CannotCorrect, match="ruled through"):
        shed.write(lambda w: strike(w, entry.name, reason="?", by="AB"))


@pytest.mark.parametrize("reason", ["", "  "])
def test_mending_says_why(shed: SmallFarm, reason: str) -> None:
    """An empty reason is none."""
    first = signed(shed).sign_off
    body = with_temp(first, 20, True)
    with pytest.raises(NoReason):
        shed.write(lambda w: correct(w, first.name, body, reason=reason, by="AB"))
    with pytest.raises(NoReason):
        shed.write(lambda w: strike(w, first.name, reason=reason, by="AB"))


def test_a_sign_off_stays_with_its_due(shed: SmallFarm) -> None:
    """Moved to another day it would sign that one, without being late."""
    first = signed(shed).sign_off
    for change in ({"task": "floors"}, {"due": "2026-03-03T07:00:00Z"}):
        body = {**first.body, **change}
        with pytest.raises(StaysAsItWas):
            shed.write(lambda w, b=body: correct(w, first.name, b, reason="?", by="AB"))


def test_a_self_review_never_becomes_a_countersignature(shed: SmallFarm) -> None:
    """Nor does a look at one entry become a look at others."""
    done = signed(shed).sign_off
    own = shed.write(lambda w: countersign(w, [done], by="AB", alone=True))
    body = {**own.body, "how": "countersigned"}
    with pytest.raises(StaysAsItWas):
        shed.write(lambda w: correct(w, own.name, body, reason="?", by="AB"))


def test_an_answer_put_right_to_mould_writes_the_find(shed: SmallFarm) -> None:
    """Mould that was overlooked is held like mould that was seen at once."""
    first = signed(shed).sign_off
    rows = [dict(row) for row in first.get("answers")]
    (row,) = [r for r in rows if r["step"] == "mould" and r["of"] == "R1"]
    row |= {"value": 2, "passed": False}
    made, opened = shed.write(
        lambda w: correct(
            w, first.name, {**first.body, "answers": rows}, reason="missed", by="AB"
        )
    )
    assert [e.kind for e in opened] == ["mould", "hold", "action"]
    assert (opened[0].get("rack"), opened[0].get("tray_count")) == ("R1", 2)
    assert opened[0].name in [row.get("wrote") for row in made.get("answers")]
    with shed.open() as record:
        assert [h.get("held") for h in record.unanswered("hold", "release")] == ["R1"]
