"""The small farm with its water: two lines, three sample points, two kits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

from small_farm import THINGS, SmallFarm, build

from hygiene.acts.how import How
from hygiene.acts.water import Given, WaterTest, write_test
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.setup import Farm, Kit, Line, OwnLimit, Person, Point, Training

HAD_ON = date(2026, 1, 5)
FARM = next(thing for thing in THINGS if isinstance(thing, Farm))
LINES = Checklist(
    code="lines",
    title="Nozzles and water lines",
    version=1,
    dated=date(2026, 1, 1),
    rule="FREQ=DAILY",
    starts=date(2026, 1, 1),
    steps=(
        Step(code="off", text="Timer off"),
        Step(
            code="water",
            text="Read at the last nozzle",
            sort="entry",
            writes="water",
            per="line",
            optional=True,
        ),
    ),
)
WATERED = (
    replace(
        FARM,
        profile="uk-primary",
        water_limits=(
            OwnLimit(parameter="free", at_most=Decimal("1.0"), at_points=("P1",)),
        ),
    ),
    Person(
        code="AB",
        name="A. Birch",
        roles=("manager",),
        training=(
            Training(topic="chemicals", had_on=HAD_ON),
            Training(topic="water", had_on=HAD_ON),
        ),
    ),
    Line(code="L1", name="Line 1"),
    Line(code="L2", name="Line 2"),
    Point(code="P0", name="Incoming main", chlorinated=True, sample_every_months=12),
    Point(
        code="P1",
        name="Last nozzle of line 1",
        line="L1",
        chlorinated=True,
        sample_every_months=6,
    ),
    Point(code="P2", name="Last nozzle of line 2", line="L2"),
    Kit(
        code="DPD",
        name="Chlorine kit",
        sort="kit",
        reads=("free", "total"),
        expires_on=date(2026, 12, 31),
    ),
    Kit(code="PH", name="pH meter", sort="meter", reads=("ph",), check_every_months=1),
    LINES,
)


def build_watered(folder: Path) -> SmallFarm:
    """Set the water up a second after the farm, so that it takes its place."""
    farm = build(folder)
    farm.later(seconds=1)
    with farm.open() as record, record.writing(farm.clock, farm.keys) as writing:
        for thing in WATERED:
            writing.add(thing, by="AB")
    farm.later(seconds=1)
    return farm


def sampled(
    farm: SmallFarm,
    point: str,
    *,
    kits: Sequence[str] = (),
    by: str = "AB",
    at: datetime | None = None,
    lab: str | None = None,
    results: dict[str, str],
    **more: object,
) -> WaterTest:
    """Write a water test through its act, a minute on; ``lab`` names a laboratory."""
    farm.later(minutes=1)
    given = [Given(name, text) for name, text in results.items()]
    return farm.write(
        lambda w: write_test(
            w, farm.in_force(), How(by, at), point=point, given=given, kits=kits,
            laboratory=lab, **more,
        )
    )  # fmt: skip
