"""A small shed that sanitises: products, kits, tools, and acts in a word each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from small_farm import THINGS
from sprout_farm import MORE, SproutFarm, tray

from hygiene.acts import clearance, containers, dosing, lines, store
from hygiene.acts.against_dosing import Case
from hygiene.acts.how import How
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import stamp
from hygiene.kinds.sanitising import Dose, Drawn, Lost, Reading, Rinse, Strength
from hygiene.kinds.setup import Active, Farm, Kit, Line, Product, Tool
from hygiene.sanitising.containers import Container

HYPO = Product(
    code="hypo",
    name="Shed Hypochlorite",
    actives=(
        Active(name="chlorine", strength="125 g/L", density_kg_per_l=Decimal("1.2")),
    ),
    product_types=("PT4", "PT5"),
    uses=("tray", "feed-contact", "water-line", "floor", "tool"),
    label_min_mg_per_l=Decimal(100),
    label_max_mg_per_l=Decimal(500),
    contact_minutes=Decimal(10),
    rinse_needed=True,
    lowest_temp_c=Decimal(5),
    sds_checked_on=date(2026, 1, 15),
    gear=("gloves", "goggles"),
    keeps_days_opened=90,
    price_per_container=Decimal("25.00"),
)
PERACID = Product(
    code="peracid",
    name="Tray Peracid",
    actives=(Active(name="peracetic acid", strength="50 g/L"),),
    product_types=("PT4",),
    uses=("tray", "tool"),
    label_min_mg_per_l=Decimal(80),
    label_max_mg_per_l=Decimal(200),
    contact_minutes=Decimal(5),
    rinse_needed=False,
    sds_checked_on=date(2026, 1, 15),
)
FLOOR = Product(
    code="floor",
    name="Floor Quat",
    actives=(Active(name="quat", strength="100 g/L"),),
    product_types=("PT2",),
    uses=("floor",),
    label_min_mg_per_l=Decimal(400),
    label_max_mg_per_l=Decimal(800),
    contact_minutes=Decimal(5),
    sds_checked_on=date(2026, 1, 15),
)
SOAP = Product(
    code="soap",
    name="Bay Detergent",
    solid=True,
    uses=("tray", "tool"),
    sds_checked_on=date(2026, 1, 15),
)
DESCALE = Product(
    code="descale",
    name="Pipe Descaler",
    actives=(Active(name="citric acid", strength="500 g/L"),),
    uses=("water-line",),
    sds_checked_on=date(2026, 1, 15),
)
GRANULES = Product(
    code="granules",
    name="Shed Granules",
    solid=True,
    actives=(Active(name="chlorine", strength="56 % w/w"),),
    product_types=("PT4", "PT5"),
    uses=("tray", "water-line"),
    label_min_mg_per_l=Decimal(100),
    label_max_mg_per_l=Decimal(300),
    contact_minutes=Decimal(10),
    sds_checked_on=date(2026, 1, 15),
)
PRODUCTS = (HYPO, PERACID, FLOOR, SOAP, DESCALE, GRANULES)
KITS = (
    Kit(code="QS", name="Strips", sort="strip", expires_on=date(2026, 12, 31)),
    Kit(code="PAA", name="Strips, peracetic acid", sort="strip", reads=("paa",)),
    Kit(code="OLD", name="Old strips", sort="strip", expires_on=date(2026, 1, 31)),
)
TOOLS = (
    Tool(code="JUG1", name="Blue jug", sort="jug"),
    Tool(code="TUB1", name="Dip tub", sort="tub"),
)
LINE = Line(
    code="L1", name="Line", tank="K1", room="GROW", runs=("25mm inside x 20m",),
    flow_l_per_min=Decimal(10),
)  # fmt: skip
AB = How("AB")


def read(spot: str, value: float, **said: Any) -> Reading:
    """A reading by strips in date at 14 C, if nothing else is said."""
    given = {"kit": "QS", "temp_c": Decimal(14), **said}
    return Reading(spot=spot, value_mg_per_l=Decimal(str(value)), **given)


GOOD = (read("start", 190), read("end", 160))


@dataclass
class DoseFarm(SproutFarm):
    """The sprouting shed with its chemical store."""

    def setting(self, **changes: Any) -> None:
        """Set the farm up anew with something changed."""
        base = {"name": "Low Meadow", "address": "1 Mill Lane"}
        farm = Farm(time_zone="Europe/London", **{**base, **changes})
        self.act(lambda w: w.add(farm, by="AB"))

    def can(self, product: str = "hypo", **said: Any) -> str:
        """A container of ten litres, or of five kilograms, made the day before."""
        unit = "mg" if product in ("soap", "granules") else "tenth_ml"
        given: dict[str, Any] = {
            unit: 100_000 if unit == "tenth_ml" else 5_000_000,
            "made_on": self.now.date() - timedelta(days=1),
            "kept_at_c": Decimal(15),
            **said,
        }
        made = self.act(
            lambda w: containers.receive(
                w, self.in_force(), AB, product=product, **given
            )
        )
        return str(made[0].entry.get("container"))

    def strength(self, code: str, g_per_l: int) -> Entry:
        thing = Strength(container=code, value_g_per_l=Decimal(g_per_l))
        return self.act(lambda w: containers.check_strength(w, thing, AB)).entry

    def lose(self, code: str, tenth_ml: int) -> containers.Written:
        thing = Lost(container=code, tenth_ml=tenth_ml, why="spilled")
        return self.act(lambda w: containers.lose(w, thing, AB))

    def thing(self, *numbers: int, **said: Any) -> Dose:
        """A dose as it should be on these trays, but for what is said otherwise."""
        began = said.pop("at", self.now)
        minutes = said.pop("minutes", 12)
        given: dict[str, Any] = {
            "product": "hypo",
            "target": "tray" if numbers else "line",
            "trays": tuple(map(tray, numbers)),
            "volume_l": Decimal(60),
            "target_mg_per_l": Decimal(200),
            "readings": GOOD,
            "ended_at": None
            if minutes is None
            else stamp(began + timedelta(minutes=minutes)),
            "washed_before": True,
            "rinsed": True,
            "dry": True,
            **said,
        }
        return Dose(**given)

    def dose(self, *numbers: int, how: How = AB, **said: Any) -> dosing.Dosing:
        """Write a dose that began now; the clock then stands half an hour later."""
        began = self.now
        thing = self.thing(*numbers, **said)
        self.later(minutes=30)
        act = how._replace(happened_at=said.get("at", began))
        return self.act(
            lambda w: dosing.dose(w, w.record.setup(), self.in_force(), thing, act)
        )

    def plan(self, thing: Dose, *codes: str, by: str = "AB") -> dosing.Plan | None:
        with Record.open(self.path) as record:
            case = Case(record, record.setup(), self.in_force(), thing, by, self.now)
            return dosing.plan_dose(case, codes)[0]

    def rinse(self, *numbers: int, **said: Any) -> dosing.Rinsing:
        thing = Rinse(trays=tuple(map(tray, numbers)), **said)
        return self.act(
            lambda w: dosing.rinse(w, w.record.setup(), self.in_force(), thing, AB)
        )

    def whys(self, number: int, at: datetime | None = None) -> tuple[str, ...]:
        """Why a tray is not cleared; empty where it is."""
        code = tray(number)
        return self.read(
            lambda record: (
                clearance.trays_cleared(record, record.setup(), at or self.now, [code])[
                    code
                ].whys
            )
        )

    def line_whys(self, line: str = "L1") -> tuple[str, ...]:
        return self.read(
            lambda record: (
                lines.line_cleared(record, record.setup(), line, self.now).whys
            )
        )

    def held(self, code: str) -> Container:
        return self.read(lambda record: store.container_of(record, code))


def drawn(code: str, tenth_ml: int) -> tuple[Drawn, ...]:
    return (Drawn(container=code, tenth_ml=tenth_ml),)


def build_doses(folder: Path) -> DoseFarm:
    farm = DoseFarm(folder)
    with (
        Record.create(farm.path, farm.clock, farm.keys) as record,
        record.writing(farm.clock, farm.keys) as writing,
    ):
        for thing in (*THINGS, *MORE, *PRODUCTS, *KITS, *TOOLS, LINE):
            writing.add(thing, by="AB")
    farm.later(minutes=5)
    return farm
