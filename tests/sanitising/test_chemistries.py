"""Two products of a farm file: whether they may meet."""

from __future__ import annotations

import pytest

from hygiene.sanitising.chemistries import between


def product(code: str, name: str, *actives: str, never: tuple[str, ...] = ()) -> dict:
    return {
        "code": code,
        "name": name,
        "actives": [{"name": active, "strength": "50 g/L"} for active in actives],
        "incompatible_with": list(never),
    }


HYPO = product("hypo", "Shed Hypochlorite", "chlorine")
PERACID = product("peracid", "Tray Peracid", "peracetic acid", "hydrogen peroxide")
CITRIC = product("descale", "Scale-off", "citric acid")
QUAT = product("quat", "Floor Quat", "quat")
SOAP = product("soap", "Bay Detergent")
NOBODY = product("x", "Product Seventeen", "zorbium")


@pytest.mark.parametrize(
    ("one", "other", "forms"),
    [
        (HYPO, PERACID, "chlorine gas"),
        (HYPO, CITRIC, "chlorine gas"),
        (CITRIC, HYPO, "chlorine gas"),
        (HYPO, QUAT, "fumes"),
    ],
)
def test_actives_that_must_not_meet(one: dict, other: dict, forms: str) -> None:
    """By the table, whichever came first."""
    found = between(one, other)
    assert found is not None
    assert found.dangerous
    assert forms in found.says


def test_the_same_product_may_follow_itself() -> None:
    """Nothing new meets."""
    assert between(HYPO, HYPO) is None


def test_a_detergent_without_actives_goes_by_its_name() -> None:
    """Soap and bleach: no rule; soap and quat: both are spent."""
    assert between(SOAP, HYPO) is None
    spent = between(SOAP, QUAT)
    assert spent is not None
    assert not spent.dangerous


def test_the_labels_own_list_counts() -> None:
    """By code, by name or by sort, from either side."""
    for word in ("soap", "Bay Detergent", "SOAP"):
        strict = {**HYPO, "incompatible_with": [word]}
        found = between(SOAP, strict)
        assert found is not None
        assert found.dangerous
    sorts = product("a", "Rinse Aid", "citric acid", never=("alkalis",))
    found = between(product("b", "Lye", "caustic"), sorts)
    assert found is not None
    assert "heat" in found.says


def test_a_name_that_nobody_knows_is_never_harmless() -> None:
    """It meets everything, until somebody says what it is."""
    found = between(NOBODY, HYPO)
    assert found is not None
    assert "nobody can tell what Product Seventeen does" in found.says
