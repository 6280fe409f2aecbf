"""A spring of dosing, water and feeding with trouble of every sort; only read it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from dose_farm import AB, HYPO, DoseFarm, build_doses, drawn
from dose_farm import read as strip
from water_shed import WATERED, sampled

from hygiene.acts.dosing import rinse
from hygiene.acts.mending import strike
from hygiene.book.writing import Writing
from hygiene.kinds.action import Close, Recheck
from hygiene.kinds.attached import Attached
from hygiene.kinds.base import Kind
from hygiene.kinds.incident import Ill, Notify
from hygiene.kinds.kits import Calibrate
from hygiene.kinds.sanitising import Rinse
from hygiene.kinds.setup import Contact, Farm, Product
from hygiene.reports.period import Period

MARCH = Period(date(2026, 3, 1), date(2026, 3, 31))
CERTIFICATE = b"%PDF-1.4 an invented certificate\n"
SHEETS = {
    "authorisation": "INVENTED-0412",
    "hazards": ("H290", "H314", "H400", "EUH031", "H999"),
    "pictograms": ("GHS05", "GHS09"),
    "sds_date": date(2024, 5, 20),
    "assessment": "RA-07 hypochlorite",
    "assessment_review_on": date(2026, 3, 1),
    "incompatible_with": ("peracid", "descale", "acids"),
}


class LogFarm(DoseFarm):
    """The dosing shed, whose clock can be put to a moment of March."""

    _writing: Writing | None = None

    def write(self, act: Any) -> Any:
        return super().write(act) if self._writing is None else act(self._writing)

    @contextmanager
    def sitting(self) -> Iterator[None]:
        """All that is written meanwhile goes to the disk at once."""
        with self.open() as record, record.writing(self.clock, self.keys) as writing:
            self._writing = writing
            yield
        self._writing = None

    def to(self, day: int, time: str = "08:00") -> None:
        moment = datetime.fromisoformat(f"2026-03-{day:02}T{time}+00:00")
        assert moment >= self.now, f"{moment} lies before {self.now}"
        self.now = moment

    def add(self, thing: Kind, **how: Any) -> Any:
        return self.act(lambda w: w.add(thing, by=how.pop("by", "AB"), **how))

    def set_up_water(self) -> None:
        """The lines and points, under the farm with its vet and its region."""
        farm = next(t for t in WATERED if isinstance(t, Farm))
        contacts = (self.in_force().farm or {})["contacts"]
        things = [t for t in WATERED if not isinstance(t, Farm)]
        with self.open() as record, record.writing(self.clock, self.keys) as writing:
            for thing in things:
                if thing.kind not in ("line", "checklist"):
                    writing.add(thing, by="AB")
            own = tuple(Contact(**dict(row)) for row in contacts)
            poison = Contact(
                role="poison", name="Poisons line", telephone="01632 960199"
            )
            writing.add(replace(farm, contacts=(*own, poison)), by="AB")
            writing.add(with_sheet(HYPO), by="AB")
        self.later(minutes=1)


def with_sheet(product: Product) -> Product:
    return replace(product, **SHEETS)


def spring(folder: Path) -> LogFarm:
    """March 2026, up to the morning of the 31st."""
    farm = LogFarm(folder)
    base = build_doses(folder)
    farm.now = base.now
    farm.set_up_water()
    with farm.sitting():
        _live(farm)
    farm.to(31, "06:40")
    return farm


def _live(farm: LogFarm) -> None:
    can = farm.can(maker_batch="HX 4417/A", kept_where="chemical store, low shelf")
    second = farm.can(maker_batch="HX 4502", expires_on=date(2026, 3, 20))
    acid = farm.can("peracid", maker_batch="P/88", kept_where="chemical store")
    farm.can("soap", maker_batch="S1", kept_where="wash bay")
    floor = farm.can("floor", maker_batch="FQ 2")
    _waters(farm)
    _doses(farm, can, second, acid, floor)
    _line(farm, can)
    _story_of_mould(farm)


def _waters(farm: LogFarm) -> None:
    farm.add(Calibrate(kit="PH", passed=True, against="buffer 7.00"))
    sampled(farm, "P1", kits=["DPD", "PH"], results={"free": "0.9", "ph": "7.4"})
    for day, free in ((2, "0.85"), (3, "0.8"), (4, "0.72")):
        farm.to(day, f"09:{10 + day}")
        sampled(farm, "P1", kits=["DPD", "PH"], results={"free": free, "ph": "7.5"})


def _more_water(farm: LogFarm, day: int) -> None:
    free = {5: "0.7", 7: "0.66", 9: "0.6", 11: "0.55", 13: "0.41", 15: "1.4"}.get(day)
    if free is not None:
        kits = ["PH", "DPD"] if day == 11 else ["DPD", "PH"]
        sampled(farm, "P1", kits=kits, results={"free": free, "ph": "7.6"})
    if day in (8, 12):
        bad = day == 8
        path = farm.folder / f"LW-{day}.pdf"
        path.write_bytes(CERTIFICATE + bytes([day]))
        digest = farm.act(lambda w: w.attach(path))
        file = Attached(sha256=digest, name=path.name, bytes=len(CERTIFICATE) + 1)
        sampled(
            farm, "P2", lab="Lowmoor Laboratory", certificate=f"LW-260{day}",
            received_at=f"2026-03-{day:02}T15:00:00+00:00", attached=(file,),
            results={
                "ecoli": "3" if bad else "<1",
                "coliforms": ">2419.6" if bad else "<1",
                "nitrate": "8.5 mg/L as N",
                "colonies22": "<10",
                "ph": "7.5",
            },
        )  # fmt: skip


def _doses(farm: LogFarm, can: str, second: str, acid: str, floor: str) -> None:
    for day in range(5, 25):
        farm.to(day)
        first = 1 + 6 * (day % 5)
        trays = range(first, first + 6)
        wanted: dict[str, Any] = {
            "drawn": drawn(can, 960),
            "gear": ("gloves", "goggles"),
        }
        wanted |= ODD.get(day, {})
        if day == 10:
            wanted |= {"product": "floor", "drawn": drawn(floor, 600), "readings": ()}
        if day in (12, 13):
            wanted |= {
                "product": "peracid", "drawn": drawn(acid, 1800),
                "target_mg_per_l": Decimal(150), "rinsed": day == 13,
                "readings": (strip("start", 150), strip("end", 120)),
            }  # fmt: skip
        if day == 22:
            wanted |= {"drawn": (*drawn(can, 400), *drawn(second, 560))}
        done = farm.dose(*trays, **wanted)
        if day == 8:
            _put_right(farm, done.actions[0].name)
        if day == 16:
            name = done.dose.name
            farm.act(lambda w, n=name: strike(w, n, reason="another day", by="AB"))
        farm.later(hours=1)
        _more_water(farm, day)
        farm.later(hours=3)
        if day % 3 == 0:
            farm.dose(*(t + 1 for t in trays if t < 36), drawn=drawn(can, 970))


ODD: dict[int, dict[str, Any]] = {
    8: {"readings": (strip("start", 90), strip("end", 60))},
    9: {"minutes": 6},
    11: {"readings": (strip("start", 180, kit="OLD"), strip("end", 150))},
    14: {"readings": (strip("start", 190),)},
    15: {"rinsed": None, "dry": None},
    19: {"readings": (strip("start", 600, sign=">"), strip("end", 540))},
}
"""What was not as it should be, by the day of March."""


def _put_right(farm: LogFarm, action: str) -> None:
    farm.later(minutes=20)
    look = farm.add(Recheck(action=action, seen="made up anew, 195 mg/L", passed=True))
    end = Close(
        action=action,
        did="the jug is filled to the mark now",
        recheck=look.name,
        cause="read at the wrong mark",
    )
    farm.add(end, by="CD")


def _line(farm: LogFarm, can: str) -> None:
    """A shock dose of a line, flushed and switched on again."""
    farm.to(25, "18:00")
    began = farm.now
    farm.dose(
        line="L1", drawn=drawn(can, 400), volume_l=Decimal(30), minutes=200,
        target_mg_per_l=Decimal(150), locked_off_by="AB", gear=("gloves", "goggles"),
        readings=(strip("nozzle", 140), strip("end", 110)), rinsed=None,
        washed_before=None, dry=None,
    )  # fmt: skip
    farm.now = began + timedelta(minutes=230)
    thing = Rinse(
        line="L1",
        readings=(strip("nozzle", 0.3), strip("incoming", 0.2)),
        timer_on=True,
    )
    farm.act(lambda w: rinse(w, w.record.setup(), farm.in_force(), thing, AB))


def _story_of_mould(farm: LogFarm) -> None:
    farm.to(26, "07:00")
    lots = [farm.lot(), farm.lot(supplier_lot="AF/2")]
    for day in range(4):
        farm.to(26 + day, "07:10")
        sown = farm.sow((lots[day % 2], 6_000), trays=range(31, 37)).sow
        batch = str(sown.get("batch"))
        farm.feed(batch, 31, 32, 33, grams=42_000, to="GOATS")
        farm.feed(batch, 34, 35, 36, grams=30_000)
        if day == 2:
            farm.mould(batch, colour="grey", place="under the mat")
    farm.add(
        Ill(
            animals="GOATS", since=date(2026, 3, 28), head_ill=3, head_at_risk=20,
            signs="trembling, stiff, two down", appetite_kept=True,
        )
    )  # fmt: skip
    farm.add(Notify(role="vet", who_told="E. Ash", what="three goats down"))
