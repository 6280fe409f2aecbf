"""Results as a laboratory writes them, and what they say against a limit."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.water.results import BadResult, Limit, judge, read_result

NONE_IN_100 = Limit("E. coli", "per 100 ml", at_most=Decimal(0), counted=True)
TEN = Limit("coliforms", "per 100 ml", at_most=Decimal(10), counted=True)
NITRATE = Limit("nitrate", "mg/L", at_most=Decimal(50))
PH = Limit("pH", "", at_most=Decimal("9.5"), at_least=Decimal("6.5"))
RESIDUAL = Limit("free chlorine", "mg/L", at_least=Decimal("0.2"))


@pytest.mark.parametrize(
    ("text", "sign", "value"),
    [
        ("12", "=", "12"),
        ("= 12", "=", "12"),
        ("<1", "<", "1"),
        ("< 0.02 mg/L", "<", "0.02"),
        ("less than 1", "<", "1"),
        (">2419.6", ">", "2419.6"),
        ("more than 200", ">", "200"),
        ("≤ 5", "<=", "5"),
        (">= 5", ">=", "5"),
        ("7.20 MPN/100 ml", "=", "7.20"),
    ],
)
def test_sign_and_digits_are_kept_as_typed(text, sign, value):
    """The sign stays, and the digits stay as they were typed."""
    found = read_result(text)
    assert found.sign == sign
    assert str(found.value) == value
    assert found.as_written == text


@pytest.mark.parametrize(
    "text", ["not detected", "ND", "n.d.", "Absent", "nil", "none found", "negative"]
)
def test_not_detected_is_no_number(text):
    """Nothing found is not zero: it has no value."""
    found = read_result(text)
    assert found.sign == "not detected"
    assert found.value is None


@pytest.mark.parametrize(
    "text", ["", "abc", "1,5", "1e3", "nan", "inf", "-1", "<", "1.2.3", "--", "< -2"]
)
def test_what_is_no_result_is_refused(text):
    """No guess is made of a comma, an exponent or a value below zero."""
    with pytest.raises(BadResult):
        read_result(text)


def test_a_comma_for_the_point_is_told_what_to_write() -> None:
    """Whoever typed 0,6 sees a decimal in the examples."""
    with pytest.raises(BadResult, match=r"'0,6' is not a result: write .*\b0\.6\b"):
        read_result("0,6")


@pytest.mark.parametrize(
    ("text", "limit", "verdict"),
    [
        ("0", NONE_IN_100, "within"),
        ("1", NONE_IN_100, "over"),
        ("<1", NONE_IN_100, "within"),
        ("<10", NONE_IN_100, "cannot tell"),
        ("not detected", NONE_IN_100, "within"),
        ("absent in 100 ml", NONE_IN_100, "within"),
        ("absent in 50 ml", NONE_IN_100, "cannot tell"),
        ("detected", NONE_IN_100, "over"),
        ("detected", TEN, "cannot tell"),
        ("TNTC", TEN, "over"),
        (">0", NONE_IN_100, "over"),
        ("<10", TEN, "within"),
        ("<11", TEN, "cannot tell"),
        (">10", TEN, "over"),
        (">=10", TEN, "cannot tell"),
        (">9", TEN, "cannot tell"),
        (">2419.6", TEN, "over"),
        ("<50", NITRATE, "within"),
        ("<0.5", NITRATE, "within"),
        ("<100", NITRATE, "cannot tell"),
        ("50", NITRATE, "within"),
        ("50.1", NITRATE, "over"),
        ("not detected", NITRATE, "cannot tell"),
        ("6.4", PH, "under"),
        ("9.6", PH, "over"),
        ("7", PH, "within"),
        ("<0.2", RESIDUAL, "under"),
        ("<0.5", RESIDUAL, "cannot tell"),
        (">0.2", RESIDUAL, "within"),
        ("not detected", RESIDUAL, "under"),
    ],
)
def test_a_limit_is_decided_or_it_is_said_that_it_cannot_be(text, limit, verdict):
    """``<10`` does not show none in 100 ml; ``>9`` does not show more than 10."""
    assert judge(read_result(text), limit).verdict == verdict


@given(
    st.sampled_from(["=", "<", "<=", ">", ">="]),
    st.decimals(0, 1000, places=2),
    st.decimals(0, 1000, places=2),
)
def test_a_verdict_never_contradicts_a_value_that_fits_the_result(sign, value, most):
    """Whatever true value the result allows, a decided verdict holds for it."""
    limit = Limit("x", "mg/L", at_most=most)
    verdict = judge(read_result(f"{sign}{value}"), limit).verdict
    step = Decimal("0.001")
    allowed = {
        "=": [value],
        "<": [value - step, value / 2, Decimal(0)],
        "<=": [value, value / 2, Decimal(0)],
        ">": [value + step, value * 2 + 1, Decimal(10**6)],
        ">=": [value, value * 2 + 1, Decimal(10**6)],
    }[sign]
    if verdict == "within":
        assert all(true <= most for true in allowed)
    if verdict == "over":
        assert all(true > most for true in allowed)
