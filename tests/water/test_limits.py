"""Limits by use and region, the farm's own on top, and results held against them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from hygiene.acts.limits import published
from hygiene.water.limits import (
    REGIONS_OF,
    STATUSES,
    BadLimits,
    Held,
    bounds,
    hold_against,
    limits_at,
    read_limits,
    region_of,
)
from hygiene.water.parameters import BY_CODE, parameter_of, read_as

UK = {"profile": "uk-primary"}


def held(
    code: str,
    text: str,
    farm: dict[str, Any] | None = None,
    /,
    **point: Any,
) -> Held:
    limits = limits_at(published(), farm or UK, {"code": "P1"} | point)
    return hold_against(limits, read_as(parameter_of(code), text))


@pytest.mark.parametrize(
    ("code", "text", "verdict"),
    [
        ("ecoli", "0", "within"),
        ("ecoli", "<1", "within"),
        ("ecoli", "not detected", "within"),
        ("ecoli", "1", "over"),
        ("ecoli", "<10", "cannot tell"),
        ("ecoli", "absent in 50 ml", "cannot tell"),
        ("coliforms", ">2419.6", "over"),
        ("nitrate", "50", "within"),
        ("nitrate", "50.1", "over"),
        ("nitrate", "12 mg/L as N", "over"),
        ("ph", "6.4", "under"),
        ("ph", "9.5", "within"),
        ("orp", "650", None),
    ],
)
def test_a_result_is_held_against_drinking_water(
    code: str, text: str, verdict: str | None
) -> None:
    """People's drinking water is the strict default."""
    assert held(code, text).verdict == verdict


def test_faecal_organisms_stop_sowing() -> None:
    """Sprouting multiplies them; coliforms alone are an indicator."""
    assert held("ecoli", "5").holds_sowing
    assert held("enterococci", "1").holds_sowing
    assert not held("coliforms", ">2419.6").holds_sowing
    assert not held("ecoli", "<1").holds_sowing


def test_an_undecided_result_stops_nothing_but_is_no_pass() -> None:
    """It is asked for again with a finer test."""
    found = held("ecoli", "<10")
    assert not found.meets
    assert not found.holds_sowing
    assert "finer test" in found.why


def test_no_limit_is_no_verdict() -> None:
    """ORP is not a concentration: no limit is made up for it."""
    found = held("orp", "650")
    assert (found.verdict, found.against, found.meets) == (None, None, True)


def test_a_residual_is_wanted_only_where_it_is_chlorinated() -> None:
    """A clean borehole has none, and is no worse for it."""
    assert held("free", "0.1").verdict == "within"
    assert held("free", "0.1", chlorinated=True).verdict == "under"


def test_chlorate_may_be_higher_where_disinfection_makes_it() -> None:
    """0.25 mg/L, and 0.70 where the water is chlorinated."""
    eu = {"profile": "eu-primary"}
    assert held("chlorate", "0.4", eu).verdict == "over"
    assert held("chlorate", "0.4", eu, chlorinated=True).verdict == "within"


def test_use_chooses_the_set() -> None:
    """Cattle may drink what people may not."""
    assert held("tds", "2500", use="livestock").verdict == "within"
    assert held("conductivity", "2900", use="irrigation").verdict == "within"
    assert held("conductivity", "2900").verdict == "over"


def test_the_farms_own_limit_stands_beside_never_instead() -> None:
    """One of its own that is wider than the law changes nothing."""
    own = {"water_limits": [{"parameter": "nitrate", "at_most": Decimal(100)}], **UK}
    assert held("nitrate", "60", own).verdict == "over"
    own = {"water_limits": [{"parameter": "nitrate", "at_most": Decimal(10)}], **UK}
    found = held("nitrate", "20", own)
    assert (found.verdict, found.against and found.against.own) == ("over", True)


def test_a_limit_of_the_farm_may_name_its_points() -> None:
    """Elsewhere it does not count."""
    row = {"parameter": "orp", "at_least": Decimal(600), "at_points": ["P2"]}
    own = {"water_limits": [row], **UK}
    assert held("orp", "500", own).verdict is None
    assert held("orp", "500", own, code="P2").verdict == "under"


def test_a_limit_of_the_farm_may_stop_sowing() -> None:
    """Where the farm says so."""
    row = {"parameter": "coliforms", "at_most": Decimal(10), "holds_sowing": True}
    own = {"water_limits": [row], **UK}
    assert held("coliforms", "11", own).holds_sowing
    assert not held("coliforms", "9", own).holds_sowing


def test_of_those_that_are_met_the_tightest_is_named() -> None:
    """US 4 mg/L before WHO 5."""
    found = held("free", "3", {"water_region": "strictest"})
    assert found.against
    assert found.against.limit.at_most == Decimal("4.0")


@pytest.mark.parametrize(
    ("farm", "region"),
    [
        ({"profile": "uk-primary"}, "uk"),
        ({"profile": "eu-primary"}, "eu"),
        ({"profile": "us-sprout-strict"}, "us"),
        ({"profile": "local"}, "strictest"),
        ({}, "strictest"),
        ({"profile": "uk-primary", "water_region": "us"}, "us"),
        ({"water_region": "mars"}, "strictest"),
    ],
)
def test_the_region_is_said_or_follows_the_profile(
    farm: dict[str, Any], region: str
) -> None:
    """Where nobody says whose limits count, all do."""
    assert region_of(farm) == region


def test_an_odd_limit_of_the_farm_never_raises() -> None:
    """Reading passes over what it does not know."""
    odd = {"water_limits": [{"parameter": "moonlight", "at_most": 1}], **UK}
    assert held("ecoli", "0", odd).verdict == "within"


def test_a_published_limit_without_its_source_is_refused() -> None:
    """No limit stands in the file without saying who says so and how we know."""
    row = {
        "parameter": "ph",
        "at_most": Decimal(9),
        "use": "drinking",
        "status": "SEEN",
    }
    with pytest.raises(BadLimits):
        read_limits({"limit": [row]})
    assert read_limits({"limit": [{**row, "source": "somebody"}]})


def test_every_published_limit_is_complete() -> None:
    """A use, a region or all, a source, a status, and a bound in a known unit."""
    known = {region for regions in REGIONS_OF.values() for region in regions}
    for one in published():
        assert one.use in ("drinking", "livestock", "irrigation"), one
        assert set(one.regions) <= known, one
        assert one.status in STATUSES, one
        assert one.limit.source.strip(), one
        assert one.parameter in BY_CODE, one
        assert bounds(one.limit) != "no limit", one


def test_no_limit_stands_twice() -> None:
    """One row for each parameter, use, region and condition."""
    seen = [
        (one.parameter, one.use, region, one.chlorinated, one.limit.at_least is None)
        for one in published()
        for region in one.regions or ("any",)
    ]
    assert len(set(seen)) == len(seen)
