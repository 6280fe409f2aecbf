"""Kits are checked, water is read at the taps and sampled, people are trained."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from demo_farm.dates import A_DAY
from demo_farm.ordinary import on_duty, tank_c
from demo_farm.shed import MANAGER, WORKER, Day, Shed
from hygiene.acts import calibrating, carrying, drill, people, water
from hygiene.acts.how import How
from hygiene.acts.water import Given, WaterTest
from hygiene.kinds.attached import Attached
from hygiene.kinds.moments import stamp
from hygiene.kinds.people import Train

LABORATORY = "Lowmoor Water and Feed Laboratory"
POINTS = ("P1", "P2")
CLEAN = {
    "ecoli": "<1",
    "coliforms": "<1",
    "enterococci": "<1",
    "nitrate": "17.4",
    "nitrite": "<0.01",
    "chlorate": "0.11",
}
"""What a laboratory writes of good water."""
SUNDAY = 6
RESULT_DAYS = 3
"""So many days after the sample the certificate is there."""


def checking(day: Day) -> None:
    """Scale and pH meter are checked every four weeks."""
    if day.date == day.shed.first:
        day.at("05:53", lambda: check_kits(day))
    elif day.before % 28 == 5:
        day.at("14:20", lambda: check_kits(day))


def check_kits(day: Day) -> None:
    """Both against something that is known, and both good."""
    shed, chance = day.shed, Random(f"kits {day.before}")
    shown = Decimal(chance.randint(697, 703)) / 100
    how = How(on_duty(day.date))
    calibrating.calibrate(
        shed.writing, shed.farm, how, kit="PH", passed=True,
        against="buffer 7.00, fresh", shown=shown, unit="pH",
    )  # fmt: skip
    weighed = Decimal(chance.randint(19_98, 20_02)) / 100
    calibrating.calibrate(
        shed.writing, shed.farm, how, kit="SCALE", passed=True,
        against="test weight, 20 kg", shown=weighed, unit="kg",
    )  # fmt: skip


def reading(day: Day) -> None:
    """Free chlorine, pH and temperature at the last nozzle of each line, each week."""
    stop = day.shed.stop
    if day.date.weekday() == 2 and not stop.first <= day.date <= stop.last:
        day.at("12:40", lambda: [read_tap(day, point) for point in POINTS])


def read_tap(day: Day, point: str) -> WaterTest:
    """Read a tap with the farm's own kits."""
    shed, chance = day.shed, Random(f"tap {point} {day.before}")
    free = 0.46 + max(-0.2, min(0.3, chance.gauss(0, 0.08)))
    given = [
        Given("free", f"{free:.2f}"),
        Given("ph", f"{7.4 + chance.gauss(0, 0.08):.1f}"),
        Given("temp", f"{tank_c(day.date) + 0.4 + chance.gauss(0, 0.2):.1f}"),
    ]
    return water.write_test(
        shed.writing, shed.farm, How(MANAGER), point=point, given=given,
        kits=("DPD", "PH"),
    )  # fmt: skip


def sampling(day: Day) -> None:
    """Samples go to the laboratory when the checklist asks; the main once a year.

    A record begins with a sample of every point.
    """
    if day.date == day.shed.first:
        for point in ("P0", *POINTS):
            send_sample(day, point, day.moment("05:52"))
    plan = day.plans.get("watersample")
    if plan is not None and not plan.silent and not plan.missed:
        points = ("P0", *POINTS) if day.date.month == 3 else POINTS
        for number, point in enumerate(points):
            send_sample(day, point, plan.at - timedelta(minutes=40 - 5 * number))


def send_sample(
    day: Day, point: str, taken: datetime, *, results: dict[str, str] | None = None
) -> None:
    """Take a sample now; its certificate is written down when it has come."""
    shed, said = day.shed, {**CLEAN, **(results or {})}
    on = taken.date() + RESULT_DAYS * A_DAY
    came = max(shed.moment(on, "16:20"), taken)
    shed.at(came, lambda: certificate(shed, point, taken, said))


def certificate(
    shed: Shed, point: str, taken: datetime, results: dict[str, str]
) -> WaterTest:
    """Write a laboratory's results with the certificate itself attached."""
    number = f"LW{taken:%y%j}-{point}"
    paper = certificate_text(number, point, taken, results)
    return water.write_test(
        shed.writing,
        shed.farm,
        How(MANAGER, happened_at=taken),
        point=point,
        given=[Given(name, text) for name, text in results.items()],
        received_at=stamp(taken + timedelta(hours=4)),
        laboratory=LABORATORY,
        certificate=number,
        attached=(attach(shed, f"{number}.txt", paper),),
    )


def certificate_text(
    number: str, point: str, taken: datetime, results: dict[str, str]
) -> str:
    """The paper as the invented laboratory sends it."""
    rows = "\n".join(f"  {name:<14}{text:>10}" for name, text in results.items())
    return (
        f"{LABORATORY} (invented)\nCertificate {number}\n"
        f"Ostrin Fold, point {point}, sampled {taken:%Y-%m-%d %H:%M}\n\n{rows}\n"
    )


def attach(shed: Shed, name: str, text: str) -> Attached:
    """Keep a paper in the record, as ``--attach`` does it."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_text(text, "utf-8")
        digest = shed.writing.attach(path)
        return Attached(sha256=digest, name=name, bytes=path.stat().st_size)


TRAININGS = (
    (341, WORKER, "mould and sprouts", "Marit Penhallow"),
    (232, MANAGER, "first aid", "Varrow College"),
    (140, WORKER, "water", "Varrow College"),
    (33, WORKER, "mould and sprouts", "Marit Penhallow"),
)
"""How many days before the last one, who, what, and by whom."""


def training(day: Day) -> None:
    """What is taught now and then."""
    for before, person, topic, given_by in TRAININGS:
        if before == day.before:
            day.at("18:05", lambda said=(person, topic, given_by): teach(day, *said))


def teach(day: Day, person: str, topic: str, given_by: str) -> None:
    """Write a training, and work by it from now on."""
    until: date = day.date + 2 * 365 * A_DAY
    thing = Train(
        person=person, topic=topic, had_on=day.date, until=until, given_by=given_by
    )
    people.train(day.shed.writing, day.shed.farm, How(MANAGER), thing)
    day.shed.look_round()


DRILLED = 25
"""Days before the last one when a lot is traced both ways against the clock."""


def drilling(day: Day) -> None:
    """Once a year, on a lot that chance draws: all of it is found."""
    if day.before == DRILLED and day.shed.reaches_back(DRILLED + 12):
        day.at("18:20", lambda: _drill(day))


def _drill(day: Day) -> None:
    shed = day.shed
    laid = drill.lay_out(shed.writing.record, shed.setup, None, shed.now, lambda: 0.0)
    ways = tuple(
        drill.answered(asked, asked.right, seconds)
        for asked, seconds in zip(laid.questions, (412, 655), strict=True)
    )
    drill.drill(shed.writing, laid, ways, How(MANAGER))


def backing_up(day: Day) -> None:
    """On the first evening and each Sunday the record goes to a stick in the house."""
    if day.date == day.shed.first or day.date.weekday() == SUNDAY:
        day.at("20:40", lambda: _back_up(day))


def _back_up(day: Day) -> None:
    writing, heads = day.shed.writing, day.shed.writing.record.heads()
    size = 200_000 + 1_000 * sum(head.seq for head in heads)
    place = Path("/media/stick") / f"farm-{day.date}.db"
    carrying.backed_up(writing, How(MANAGER), place, heads, size)


EVERY_DAY = (checking, reading, sampling, training, drilling, backing_up)
