"""A point's history as the record holds it: what stands, its limits, its sanitiser."""

from __future__ import annotations

from datetime import timedelta

from small_farm import SmallFarm
from water_shed import sampled

from hygiene.acts.how import How
from hygiene.acts.mending import strike
from hygiene.acts.trends import trends
from hygiene.kinds.sanitising import Dose
from hygiene.kinds.setup import Line, Tank
from hygiene.water.trend import Trend


def read(farm: SmallFarm, point: str = "P1", **more: object) -> list[Trend]:
    with farm.open() as record:
        return trends(record, farm.in_force(), point, **more)


def test_each_parameter_is_a_trend_the_most_read_first(watered: SmallFarm) -> None:
    """With the tightest limit on each side."""
    sampled(watered, "P1", lab="L", results={"ecoli": "<1", "free": "0.5"})
    sampled(watered, "P1", kits=("DPD",), results={"free": "0.6"})
    free, ecoli = read(watered)
    assert (free.code, [r.value for r in free.history]) == ("free", [0.5, 0.6])
    assert [(b.value, b.most) for b in free.bounds] == [(1.0, True), (0.2, False)]
    assert [(b.value, b.most) for b in ecoli.bounds] == [(0.0, True)]


def test_another_point_is_another_history(watered: SmallFarm) -> None:
    """A flood names both; the readings are of one."""
    sampled(watered, "P2", kits=("DPD",), results={"free": "0.5"})
    assert read(watered) == []


def test_what_was_struck_is_no_reading(watered: SmallFarm) -> None:
    """What stands is drawn."""
    done = sampled(watered, "P1", kits=("DPD",), results={"free": "0.5"})
    watered.write(lambda w: strike(w, done.water.name, reason="wrong tap", by="AB"))
    assert read(watered) == []


def test_a_change_of_the_sanitiser_on_the_line_or_its_tank_is_marked(
    watered: SmallFarm,
) -> None:
    """Between the first and the last reading."""
    watered.write(
        lambda w: [
            w.add(Tank(code="K1", name="Tank", volume_l=100), by="AB"),
            w.add(Line(code="L1", name="Line 1", tank="K1"), by="AB"),
        ]
    )
    for product, target in (("hypo", "line"), ("hypo", "tank"), ("peracid", "tank")):
        sampled(watered, "P1", kits=("DPD",), results={"free": "0.5"})
        watered.later(days=1)
        place = {"line": "L1"} if target == "line" else {"tank": "K1"}
        thing = Dose(product=product, target=target, **place)
        watered.write(lambda w, thing=thing: How("AB").add(w, thing))
    sampled(watered, "P1", kits=("DPD",), results={"free": "0.5"})
    (free,) = read(watered)
    assert [(change.was, change.now) for change in free.changes] == [
        ("hypo", "peracid")
    ]


def test_a_period_leaves_out_what_lies_outside(watered: SmallFarm) -> None:
    """From its first moment up to its end."""
    for text in ("0.5", "0.6", "0.7"):
        sampled(watered, "P1", kits=("DPD",), results={"free": text})
        watered.later(days=1)
    since = watered.now - timedelta(days=2, hours=1)
    (free,) = read(watered, since=since, before=since + timedelta(days=1))
    assert [r.value for r in free.history] == [0.6]


def test_only_the_parameters_that_were_asked_for(watered: SmallFarm) -> None:
    """In their order; one that was never read is left out."""
    sampled(watered, "P1", kits=("DPD",), results={"free": "0.5", "temp": "12"})
    assert [t.code for t in read(watered, parameters=["temp", "ecoli"])] == ["temp"]
