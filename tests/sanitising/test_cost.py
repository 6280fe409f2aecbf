"""The cost of a month, worked by hand."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from hygiene.sanitising.cost import Drawn, Prices, Task, cost

PRICES = Prices(Decimal("2.10"), Decimal("14.50"))
D = Decimal


def test_a_month_by_hand() -> None:
    """3 L of a 10 L can at 25.00 is 7.50; 1.2 m3 at 2.10 is 2.52; 150 min 36.25."""
    made = cost(
        [Drawn("hypo", 20_000, 100_000, D(25)), Drawn("hypo", 10_000, 100_000, D(25))],
        [D(1_000), D(200)],
        [Task("wash", 2, 60), Task("lines", 1, 30)],
        PRICES,
        trays=24,
        fodder_grams=185_000,
    )
    assert (made.product, made.water, made.labour) == (D("7.50"), D("2.52"), D("36.25"))
    assert made.total == D("46.27")
    assert made.per_tray == D("1.93")
    assert made.per_kg == D("0.25")
    assert made.not_counted == ()


def test_what_has_no_price_is_named() -> None:
    """Never guessed, never nothing."""
    made = cost(
        [Drawn("soap", 10, 100, None)],
        [D(10), None],
        [Task("wash", 1, None)],
        Prices(),
        trays=0,
        fodder_grams=0,
    )
    assert made.product is None
    assert made.water is None
    assert made.labour is None
    assert made.per_tray is None
    assert made.per_kg is None
    assert made.not_counted == (
        "soap: no price",
        "water of 1 uses: no volume",
        "water: no price",
        "task wash: no minutes",
    )


@given(st.lists(st.integers(1, 5_000), min_size=1, max_size=20))
def test_many_small_draws_cost_what_one_large_one_does(amounts: list[int]) -> None:
    """Rounded once at the end, not at every draw."""
    many = [Drawn("hypo", each, 100_000, D(25)) for each in amounts]
    one = [Drawn("hypo", sum(amounts), 100_000, D(25))]

    def product(drawn: list[Drawn]) -> Decimal | None:
        return cost(drawn, [], [], PRICES, trays=1, fodder_grams=1).product

    assert product(many) == product(one)
