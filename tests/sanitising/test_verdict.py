"""Each fault of a dose by itself, at its edges, with its source."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

import pytest

from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import stamp
from hygiene.sanitising.doses import Dosed, Label, Read, Rinsed, read_dose, read_label
from hygiene.sanitising.labels import Rules, bounds, label_faults, register_faults
from hygiene.sanitising.verdict import (
    contact_of,
    failed,
    gear_faults,
    hold_of,
    other_faults,
    rinse_faults,
    strength_faults,
    time_faults,
    tray_faults,
)

START = datetime.fromisoformat("2026-03-02T08:00:00+00:00")
HYPO: dict[str, Any] = {
    "code": "hypo",
    "name": "Shed Hypochlorite",
    "actives": [{"name": "chlorine", "strength": "125 g/L"}],
    "product_types": ["PT4", "PT5"],
    "uses": ["tray", "water-line"],
    "label_min_mg_per_l": 100,
    "label_max_mg_per_l": 500,
    "contact_minutes": 10,
    "rinse_needed": True,
    "lowest_temp_c": 5,
    "gear": ["gloves", "goggles"],
}
LABEL = read_label(HYPO)
RULES = Rules()


def label(**changes: Any) -> Label:
    return read_label({**HYPO, **changes})


def dose(**said: Any) -> Dosed:
    body = {
        "product": "hypo",
        "target": "tray",
        "trays": ["T001", "T002"],
        "ended_at": stamp(START + timedelta(minutes=12)),
        "readings": [reading("start", 190), reading("end", 160)],
        "washed_before": True,
        "rinsed": True,
        **said,
    }
    at = stamp(START)
    return read_dose(Entry("shed-1", 1, "dose", at, at, "AB", body))


def reading(spot: str, value: float, **said: Any) -> dict[str, Any]:
    return {
        "spot": spot,
        "value_mg_per_l": int(value),
        "kit": "K",
        "temp_c": 14,
        **said,
    }


def rinse(minutes: int, **said: Any) -> Rinsed:
    given = {
        "name": "shed-1/2", "first": "shed-1/2",
        "at": START + timedelta(minutes=minutes), "doses": frozenset({"shed-1/1"}),
        "things": frozenset({"T001"}), "rinsed": True, "dry": False, "readings": (),
        "timer_on": False, **said,
    }  # fmt: skip
    return Rinsed(**given)


def read(spot: str, value: float, sign: str | None = None) -> Read:
    return Read(spot, value, sign, "K", None, 14.0)


def marks(faults: Any) -> set[str]:
    return {fault.mark for fault in faults}


def test_a_good_dose_has_no_fault() -> None:
    """Neither failed nor unknown."""
    assert list(tray_faults(dose(), "T001", LABEL, RULES)) == []


@pytest.mark.parametrize(
    ("value", "sign", "mark"),
    [
        (100, None, None),
        (99.9, None, "too-weak"),
        (500, None, None),
        (500.1, None, "too-strong"),
        (100, "<", "too-weak"),
        (101, "<", "not-read"),
        (99, ">", "not-read"),
        (100, ">", "not-read"),
        (501, ">", "too-strong"),
    ],
)
def test_a_reading_at_its_edges(value: float, sign: str | None, mark: str) -> None:
    """The label's own figures are allowed; where the scale ended it is unknown."""
    found = list(strength_faults([read("start", value, sign)], 100, 500, "label"))
    assert [fault.mark for fault in found] == ([mark] if mark else [])
    assert all(fault.failed is (mark != "not-read") for fault in found)


def test_every_fault_says_who_says_so_and_what_to_do() -> None:
    """A refusal names its rule and its way out."""
    bad = dose(
        readings=[reading("start", 50), reading("end", 600, temp_c=2)],
        ended_at=stamp(START + timedelta(minutes=1)),
        washed_before=False,
        rinsed=False,
        gear=["gloves"],
    )
    faults = failed([*tray_faults(bad, "T001", LABEL, RULES), *gear_faults(bad, LABEL)])
    assert marks(faults) == {
        "too-weak", "too-strong", "too-cold", "contact-short", "not-washed",
        "not-rinsed", "gear-missing",
    }  # fmt: skip
    assert all(fault.source and fault.way_out for fault in faults)


@pytest.mark.parametrize(
    ("target", "types", "wrong"),
    [
        ("tray", ["PT2"], True),
        ("tray", ["PT3"], True),
        ("tray", ["PT4"], False),
        ("line", ["PT5"], False),
        ("line", ["PT2"], True),
        ("surface", ["PT2"], False),
        ("tray", [], False),
    ],
)
def test_product_types(target: str, types: list[str], wrong: bool) -> None:
    """What touches feed takes PT4; a product of none is not held against it."""
    of = dose(target=target, line="L1", place="floor")
    found = label_faults(of, label(product_types=types))
    assert ("wrong-product-type" in marks(found)) is wrong


def test_water_that_is_drunk_takes_pt5() -> None:
    """And is held against what may be drunk, not against the label's shock."""
    kept = dose(target="tank", tank="K1", target_mg_per_l=1, readings=[])
    assert "wrong-product-type" in marks(
        label_faults(kept, label(product_types=["PT4"]))
    )
    assert bounds(kept, LABEL)[:2] == (None, 5.0)
    assert bounds(dose(), LABEL)[:2] == (100.0, 500.0)


def test_a_label_that_says_nothing_is_unknown() -> None:
    """Not in the farm file, no use, no strength, no time."""
    assert marks(label_faults(dose(), None)) == {"no-label"}
    assert marks(label_faults(dose(), label(uses=[]))) == {"uses-not-known"}
    bare = label(label_min_mg_per_l=None)
    assert "no-sanitiser" in marks(tray_faults(dose(), "T001", bare, RULES))
    found = list(time_faults(dose(), None, label(contact_minutes=None), RULES))
    assert marks(found) == {"time-not-known"}
    assert not failed(found)


def test_the_deep_variant_stands_longer() -> None:
    """As long as the farm asks for, where that is longer than the label."""
    deep = dose(deep=True)
    assert "contact-short" in marks(tray_faults(deep, "T001", LABEL, RULES))
    quick = Rules(deep_minutes=12)
    assert marks(tray_faults(deep, "T001", LABEL, quick)) == set()


# readings around a contact


def contact_spots(of: Dosed, *tub: Dosed, rinses: tuple[Rinsed, ...] = ()) -> list:
    found = contact_of(of, "T001", [of, *tub], rinses)
    return sorted((r.spot, r.mg_per_l) for r in found.readings)


def test_the_nearest_reading_on_either_side_speaks() -> None:
    """One of hours before does not, nor one of hours after."""
    of = dose(readings=[reading("start", 190), reading("end", 160)])
    later = dose(readings=[reading("end", 40)])._replace(
        name="x", started=START + timedelta(hours=2), ended=START + timedelta(hours=3)
    )
    assert contact_spots(of, later) == [("end", 160.0), ("start", 190.0)]


def test_one_in_the_middle_speaks_as_well() -> None:
    """Read while the trays lay in it."""
    mid = reading("mid", 120, read_at=stamp(START + timedelta(minutes=5)))
    of = dose(readings=[reading("start", 190), mid, reading("end", 160)])
    assert ("mid", 120.0) in contact_spots(of)


def test_of_two_at_one_moment_both_speak() -> None:
    """Two versions of one reading: the weaker one counts too."""
    fixed = dose(readings=[reading("start", 190), reading("end", 60)])
    found = contact_spots(dose(), fixed._replace(name="other"))
    assert ("end", 60.0) in found


def test_a_rinse_of_the_tray_ends_it() -> None:
    """Of another tray it does not."""
    of = dose(ended_at=None)
    assert contact_of(of, "T001", (), [rinse(11)]).ended == START + timedelta(
        minutes=11
    )
    assert contact_of(of, "T002", (), [rinse(11)]).ended is None


# rinsing


def rinsed(of: Dosed, of_label: Label, rules: Rules = RULES, *more: Rinsed) -> list:
    return [
        (fault.mark, fault.failed)
        for fault in rinse_faults(of, "T001", 250.0, of_label, rules, more)
    ]


def test_rinsed_as_the_label_says() -> None:
    """Yes, no, and not written; a later rinse puts it right."""
    assert rinsed(dose(rinsed=True), LABEL) == []
    assert rinsed(dose(rinsed=False), LABEL) == [("not-rinsed", True)]
    assert rinsed(dose(rinsed=None), LABEL) == [("not-rinsed", False)]
    assert rinsed(dose(rinsed=False), LABEL, RULES, rinse(20)) == []
    other = rinse(20, things=frozenset({"T002"}))
    assert rinsed(dose(rinsed=False), LABEL, RULES, other) == [("not-rinsed", True)]


def test_a_label_that_spares_the_rinse() -> None:
    """Nothing to do, unless the region has a ceiling and it was stronger."""
    spared = label(rinse_needed=False)
    us = Rules(no_rinse_up_to=lambda active: 200.0)
    higher = Rules(no_rinse_up_to=lambda active: 250.0)
    assert rinsed(dose(rinsed=False), spared) == []
    assert rinsed(dose(rinsed=False), spared, us) == [("above-no-rinse", True)]
    assert rinsed(dose(rinsed=None), spared, us) == [("above-no-rinse", False)]
    assert rinsed(dose(rinsed=True), spared, us) == []
    assert rinsed(dose(rinsed=False), spared, higher) == []


def test_a_label_that_does_not_say() -> None:
    """Unknown is not spared."""
    assert rinsed(dose(rinsed=False), label(rinse_needed=None)) == [
        ("not-rinsed", False)
    ]


# lines and the rest


def test_a_lines_end_has_a_limit_of_its_own() -> None:
    """A shock dose falls while it stands; the label is for its start."""
    of = dose(
        target="line", line="L1", trays=[], target_mg_per_l=110,
        readings=[reading("nozzle", 110), reading("end", 60)],
    )  # fmt: skip
    assert marks(other_faults(of, LABEL, RULES)) == set()
    weak = of._replace(readings=(read("nozzle", 90),))
    assert "too-weak" in marks(other_faults(weak, LABEL, RULES))


@pytest.mark.parametrize(
    ("target", "rule"),
    [(24.9, None), (25, (24.0, 10.0)), (99, (24.0, 10.0)), (100, (3.0, 50.0))],
)
def test_how_long_a_shock_dose_stands(target: float, rule: tuple | None) -> None:
    """AWWA C651 and C652: 25 mg/L for 24 h, 100 mg/L for 3 h."""
    assert hold_of(target) == rule


def test_gear_counts_where_it_was_said() -> None:
    """Nobody is accused of what was not written."""
    assert marks(gear_faults(dose(), LABEL)) == set()
    assert marks(gear_faults(dose(gear=["gloves"]), LABEL)) == {"gear-missing"}
    worn = dose(gear=["gloves", "goggles", "boots"])
    assert marks(gear_faults(worn, LABEL)) == set()


def test_the_register_is_cross_checked() -> None:
    """A product said to be for trays that is for floors; one too strong to stay on."""
    assert list(register_faults(LABEL, RULES)) == []
    floors = label(product_types=["PT2"])
    assert [fault.says for fault in register_faults(floors, RULES)] == [
        "Shed Hypochlorite is said to be for tray and is PT2; that takes PT4",
        "Shed Hypochlorite is said to be for water-line and is PT2; that takes PT4 or "
        "PT5",
    ]
    us = Rules(no_rinse_up_to=lambda active: 200.0)
    spared = label(rinse_needed=False)
    assert marks(register_faults(spared, us)) == {"above-no-rinse"}
    assert marks(register_faults(LABEL, us)) == set()
