"""The cost of a month, read from its doses, rinses and sign-offs."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from dose_farm import DoseFarm, drawn

from hygiene.acts import signing
from hygiene.acts.cost import cost_between
from hygiene.rota.signing import answer_all
from hygiene.sanitising.cost import Cost


def month(doses: DoseFarm) -> Cost:
    since = doses.now.replace(day=1, hour=0)
    return doses.read(
        lambda r: cost_between(
            r, r.setup(), doses.in_force(), since, since + timedelta(days=31)
        )
    )


def test_product_and_water_of_a_month(doses: DoseFarm) -> None:
    """1 L of a 10 L can at 25.00, 300 ml of it spilled; 60 + 60 + 20 L of water."""
    doses.setting(water_price_per_m3=Decimal(2), labour_price_per_hour=Decimal(15))
    code = doses.can()
    first = doses.dose(1, 2, drawn=drawn(code, 5_000)).dose.name
    doses.dose(3, 4, tub=first, readings=())
    doses.dose(5, 6, drawn=drawn(code, 5_000))
    doses.lose(code, 3_000)
    doses.rinse(1, 2, volume_l=Decimal(20))
    doses.rinse(1, 2, rinsed=False, dry=True)
    made = month(doses)
    assert made.product == Decimal("3.25")
    assert made.water_l == 140
    assert made.water == Decimal("0.28")
    assert made.not_counted == ()


def test_trays_and_fodder_share_it(doses: DoseFarm) -> None:
    """12 trays sown, 14 kg fed: what has no price is said."""
    batch = doses.batch(trays=range(1, 13))
    doses.feed(batch, 1, 2, grams=14_000)
    doses.dose(20, drawn=drawn(doses.can(), 48_000))
    made = month(doses)
    assert (made.trays, made.fodder_grams) == (12, 14_000)
    assert made.total == Decimal("12.00")
    assert made.per_tray == Decimal("1.00")
    assert made.per_kg == Decimal("0.86")
    assert "water: no price" in made.not_counted


def test_labour_is_the_minutes_of_signed_tasks(doses: DoseFarm) -> None:
    """Where the checklist says none, the task is named."""
    due = doses.due("floors")
    doses.later(hours=10)

    def sign(w):
        asked = signing.questions(due.task, doses.in_force())
        given = answer_all(due.code, asked, {})
        return signing.sign(
            w, doses.in_force(), due, given, by="AB", happened_at=doses.now
        )

    doses.act(sign)
    assert "task floors: no minutes" in month(doses).not_counted
