"""Containers: taken in, opened, measured, lost; and what balances."""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import Decimal

import pytest
from dose_farm import AB, DoseFarm, drawn

from hygiene.acts import containers, store
from hygiene.acts.codes import UnknownCode
from hygiene.acts.mending import correct, strike
from hygiene.kinds.base import CannotBe
from hygiene.kinds.codes import WrongCode, read_minted
from hygiene.kinds.sanitising import Container
from hygiene.sanitising.containers import balance


def test_each_gets_a_code_of_its_own(doses: DoseFarm) -> None:
    """Four cans of one delivery are four containers."""
    made = doses.act(
        lambda w: containers.receive(
            w, doses.in_force(), AB, product="hypo", count=4, tenth_ml=50_000,
            maker_batch=" HX 26/2-b ",
        )
    )  # fmt: skip
    codes = [each.entry.get("container") for each in made]
    assert len(set(codes)) == 4
    assert all(read_minted(code) == code for code in codes)
    assert {each.entry.get("maker_batch") for each in made} == {" HX 26/2-b "}


def test_a_retry_takes_none_in_twice(doses: DoseFarm) -> None:
    """The same delivery typed again within the minute."""
    said = {"product": "hypo", "tenth_ml": 50_000, "maker_batch": "HX"}

    def act(w):
        return containers.receive(w, doses.in_force(), AB, count=2, **said)

    first, again = doses.write(act), doses.write(act)
    assert [each.already for each in first] == [False, False]
    assert [each.already for each in again] == [True]
    assert len(doses.entries("container")) == 2


def test_one_that_came_expired_is_written_and_marked(doses: DoseFarm) -> None:
    """It came, so it stands there; and it goes back."""
    made = doses.act(
        lambda w: containers.receive(
            w, doses.in_force(), AB, product="hypo", tenth_ml=50_000,
            expires_on=date(2026, 1, 1),
        )
    )  # fmt: skip
    assert made[0].entry.get("marks") == ["expired"]
    assert made[0].action is not None


def test_unknown_product(doses: DoseFarm) -> None:
    """The nearest is named."""
    with pytest.raises(UnknownCode) as odd:
        doses.can("hypp")
    assert odd.value.way_out == "did you mean hypo?"


def test_a_container_has_one_size(doses: DoseFarm) -> None:
    """By volume or by weight, not both and not none."""
    for said in ({}, {"tenth_ml": 1, "mg": 1}, {"tenth_ml": 0}):
        with pytest.raises(CannotBe):
            Container(container="C-1", product="hypo", **said)


def test_codes_are_read_in_any_case(doses: DoseFarm) -> None:
    """Without hyphens as well; a wrong check character names the nearest."""
    code = doses.can()
    bare = code.replace("-", "").lower()
    made = doses.act(lambda w: containers.open_(w, bare, AB))
    assert made.entry.get("container") == code
    wrong = code[:-1] + ("A" if code[-1] != "A" else "B")
    with pytest.raises(UnknownCode) as odd:
        doses.act(lambda w: containers.open_(w, wrong, AB))
    assert odd.value.way_out == f"did you mean {code}?"
    with pytest.raises(WrongCode):
        read_minted(wrong)


def test_what_is_left_is_what_came_less_what_went(doses: DoseFarm) -> None:
    """Drawn, lost, left: to the tenth of a millilitre."""
    code = doses.can(tenth_ml=50_000)
    doses.dose(1, drawn=drawn(code, 961))
    doses.lose(code, 2_500)
    held = doses.held(code)
    assert (held.drawn, held.lost, held.left) == (961, 2_500, 46_539)


def test_more_lost_than_there_was(doses: DoseFarm) -> None:
    """Written, marked, and named where it does not add up."""
    code = doses.can(tenth_ml=1_000)
    made = doses.lose(code, 1_500)
    assert made.entry.get("marks") == ["empty"]
    assert made.action is not None
    assert balance([doses.held(code)]) == [
        f"{code}: 50 ml more was drawn or lost than it held"
    ]


def test_a_corrected_draw_balances_by_what_stands(doses: DoseFarm) -> None:
    """And a struck dose drew nothing."""
    code = doses.can(tenth_ml=10_000)
    name = doses.dose(1, drawn=drawn(code, 9_000)).dose.name
    with doses.open() as record:
        body = dict(record.entry(name).body)
    body["drawn"] = [{"container": code, "tenth_ml": 900}]
    doses.act(lambda w: correct(w, name, body, reason="a nought too many", by="AB"))
    assert doses.held(code).left == 9_100
    doses.act(lambda w: strike(w, name, reason="never done", by="AB"))
    assert doses.held(code).left == 10_000


def test_it_is_open_from_its_first_use(doses: DoseFarm) -> None:
    """Whether or not somebody wrote that it was opened."""
    code = doses.can()
    doses.later(days=2)
    doses.dose(1, drawn=drawn(code, 10))
    day = doses.now.date()
    doses.later(days=2)
    doses.act(lambda w: containers.open_(w, code, AB))
    assert doses.held(code).opened_on == day


def test_the_page_of_the_day_names_what_ends_soon(doses: DoseFarm) -> None:
    """Within two weeks or past, and only while something is left in it."""
    on = doses.now.date()
    soon = doses.can(expires_on=on + timedelta(days=14))
    doses.can(expires_on=on + timedelta(days=15))
    empty = doses.can(expires_on=on, tenth_ml=100)
    today = doses.can(expires_on=on)
    doses.lose(empty, 100)
    found = doses.read(lambda r: store.ending_soon(r, doses.in_force(), doses.now))
    assert [held.code for held, _, _ in found] == [today, soon]


def test_a_struck_container_is_none(doses: DoseFarm) -> None:
    """Its code is known, and nothing may be drawn from it."""
    code = doses.can()
    name = doses.entries("container")[-1].name
    doses.act(lambda w: strike(w, name, reason="went back", by="AB"))
    assert doses.held(code) is None
    with pytest.raises(UnknownCode):
        doses.plan(doses.thing(1), code)


def test_a_measured_strength_is_kept_with_its_method(doses: DoseFarm) -> None:
    """And the model goes on from it."""
    code = doses.can()
    doses.strength(code, 112)
    held = doses.held(code)
    assert (held.measured, held.measured_on) == (112.0, doses.now.date())


def test_a_season_of_draws_balances(doses: DoseFarm) -> None:
    """Seeded draws and losses of six cans: nothing is made or lost on the way."""
    chance = random.Random(20260302)
    codes = [doses.can(tenth_ml=20_000) for _ in range(6)]
    drawn_of = dict.fromkeys(codes, 0)
    lost_of = dict.fromkeys(codes, 0)
    for _ in range(25):
        code = chance.choice(codes)
        many = chance.randint(1, 400)
        if chance.random() < 0.2:
            doses.lose(code, many)
            lost_of[code] += many
        else:
            doses.dose(chance.randint(1, 40), drawn=drawn(code, many))
            drawn_of[code] += many
    held = doses.read(lambda r: store.containers_since(r, None))
    assert {c: held[c].drawn for c in codes} == drawn_of
    assert {c: held[c].lost for c in codes} == lost_of
    assert all(held[c].left == 20_000 - drawn_of[c] - lost_of[c] for c in codes)
    assert balance(held.values()) == []


def test_kept_at_is_where_it_stands(doses: DoseFarm) -> None:
    """A warm store loses strength faster, so more must be drawn."""
    on = date(2026, 1, 5)
    cold = doses.can(made_on=on, kept_at_c=Decimal(10))
    warm = doses.can(made_on=on, kept_at_c=Decimal(25))
    unknown = doses.can(made_on=on, kept_at_c=None)
    amounts = [
        doses.plan(doses.thing(1, readings=(), ended_at=None), code).planned
        for code in (cold, unknown, warm)
    ]
    assert amounts == sorted(amounts)
    made = doses.plan(doses.thing(1, readings=(), ended_at=None), unknown)
    assert any("20 C is taken" in said for said in made.answer.warnings)


def test_a_strength_far_above_the_label_is_a_slip(doses: DoseFarm) -> None:
    """Every later dose would be made ten times too weak."""
    code = doses.can()
    with pytest.raises(containers.TooStrong, match="label says 125"):
        doses.strength(code, 1_120)
    assert doses.entries("strength") == []
    assert doses.strength(code, 140).get("value_g_per_l") == 140
