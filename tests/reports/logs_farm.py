"""A March with something for each log, in any words where a person types freely."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from shutil import copytree

from dose_farm import DoseFarm
from log_farm import LogFarm

from hygiene.acts import calibrating, holds, people
from hygiene.acts.batches import Sown
from hygiene.acts.how import How
from hygiene.acts.mending import strike
from hygiene.kinds.action import Action, Close, Recheck
from hygiene.kinds.batch import Feed
from hygiene.kinds.day import SignOff
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold, Pest
from hygiene.kinds.incident import Assess, Ill, Notify
from hygiene.kinds.papers import File
from hygiene.kinds.people import Accident, Train, Visitor
from hygiene.kinds.seed import Germination, Scrap

PLAIN = "as usual"
HOSTILE = (
    "<b>x</b></td><script>alert(1)</script> &amp; {{ 7 * 7 }} \u202eevil\u2066 "
    "שלום עולם file:///etc/passwd http://192.0.2.1/x.png =1+1"
)
LONG = "=A" + "A" * 10_000
"""Stands in one place of each log of the hostile farm: a page has room for few."""
AB, CD = How("AB"), How("CD")


def lived(folder: Path, built: DoseFarm, text: str, long: str) -> LogFarm:
    """The farm of that March; ``text`` stands wherever somebody typed a sentence, and
    ``long`` in one place of each log.
    """
    copytree(built.folder, folder, dirs_exist_ok=True)
    farm = LogFarm(folder)
    farm.now = built.now
    with farm.sitting():
        _seed(farm, text, long)
        _fodder(farm, text, long)
        _people(farm, text, long)
        _shed(farm, text, long)
    farm.to(31, "06:40")
    return farm


def _seed(farm: LogFarm, text: str, long: str) -> None:
    """A good lot, one without its paper until later, and one that was a slip."""
    farm.lot(document=long, variety="barley", moisture_percent=Decimal("12.5"))
    farm.lot(untreated_seen_by=None, supplier_lot="AF/2")
    farm.lot(supplier_lot="AF/9")
    _, undeclared, slip = _now(farm, "seed")
    farm.act(lambda w: strike(w, slip.name, reason=text, by="AB"))
    (hold,) = _now(farm, "hold")
    farm.add(Notify(role="supplier", who_told="Alder", what=text, abouts=(hold.name,)))
    farm.act(
        lambda w: holds.release(
            w, hold.name, why=text, by="AB", document="declaration of 3 March"
        )
    )
    lot = str(undeclared.get("lot"))
    farm.add(Germination(lot=lot, sown=200, germinated=191, days=3))
    farm.add(Scrap(lot=lot, grams=500, why=text))


def _now(farm: LogFarm, kind: str) -> list[Entry]:
    found: list[Entry] = farm.write(lambda w: w.record.entries([kind]))
    return found


def _fodder(farm: LogFarm, text: str, long: str) -> None:
    """Two batches sown by force; fed, sent, found mouldy; the other held in part."""
    farm.to(4, "07:00")
    first, second = (str(e.get("lot")) for e in _now(farm, "seed"))
    forced = How("AB", reason=text)
    mouldy = _batch(farm.sow((first, 6_000), trays=range(1, 6), how=forced))
    other = _batch(farm.sow((second, 6_000), trays=range(6, 9), rack="R2", how=forced))
    farm.to(11, "07:00")
    fed = farm.feed(mouldy, 1, 2, grams=30_000).entry
    right = Feed(
        batch=mouldy, trays=("T001", "T002"), animals="EWES", grams=31_000,
        look_ok=True, smell_ok=True,
    )  # fmt: skip
    farm.act(lambda w: w.add(right, by="AB", corrects=fed.name, reason=text))
    farm.send(mouldy, 3, document=long)
    farm.send(mouldy, 4)
    slip = farm.feed(mouldy, 5, grams=9_000, look_ok=None, to="GOATS").entry
    farm.act(lambda w: strike(w, slip.name, reason=text, by="CD"))
    farm.to(12, "07:00")
    found = farm.mould(mouldy, trays=("T005",), place=text, colour="grey")
    farm.sample(mouldy, chilled_at=long)
    farm.discard(mouldy, 5, witness="C. Dale", because=found.mould.name)
    told = Notify(role="vet", who_told="E. Ash", what=text, abouts=(found.mould.name,))
    farm.add(told)
    _narrowed(farm, other, text)
    farm.feed(other, 8, grams=8_000, to="GOATS")
    farm.add(File(sort="complaint", title=text, abouts=(mouldy,)))


def _batch(sown: Sown) -> str:
    return str(sown.sow.get("batch"))


def _narrowed(farm: LogFarm, batch: str, text: str) -> None:
    """Sick animals hold the other batch; an assessment lets all go but a tray."""
    ill = Ill(
        animals="GOATS", since=date(2026, 3, 13), head_ill=2, head_at_risk=20,
        signs=text,
    )  # fmt: skip
    hold = farm.add(
        Hold(held=batch, sort="batch", why=text, because=farm.add(ill).name)
    )
    farm.add(Assess(holds=(hold.name,), found=text, document="sheet of 12 March"))
    farm.act(
        lambda w: holds.release(
            w, hold.name, why=text, by="AB", document="letter", word_of="E. Ash",
            word_role="vet", keep=("T008",),
        )
    )  # fmt: skip


def _people(farm: LogFarm, text: str, long: str) -> None:
    farm.to(15, "09:00")
    farm.add(Train(person="CD", topic="chemicals", had_on=date(2026, 3, 15),
                   until=date(2026, 3, 20), given_by=long))  # fmt: skip
    slip = farm.add(Train(person="AB", topic="water", had_on=date(2026, 3, 15)))
    farm.act(lambda w: strike(w, slip.name, reason=text, by="AB"))
    farm.to(22, "16:10")
    signed = farm.add(
        SignOff(task="floors", due="2026-03-22T16:00:00+00:00", version=1,
                marks=("untrained",)),
        by="CD",
    )  # fmt: skip
    action = farm.add(Action(about=signed.name, problem=text, did=text))
    look = farm.add(Recheck(action=action.name, seen=long, passed=True))
    farm.add(Close(action=action.name, did=text, recheck=look.name, cause=text))
    farm.act(
        lambda w: people.visit(w, AB, Visitor(name="P. Rill", why=long, well=True))
    )
    farm.act(
        lambda w: people.visit(
            w, CD, Visitor(name=text, why="feed", washed_hands=False)
        )
    )
    hurt = Accident(sort="splash", who="CD", what=text, product="hypo")
    farm.act(lambda w: people.accident(w, farm.in_force(), AB, hurt))


def _shed(farm: LogFarm, text: str, long: str) -> None:
    farm.to(24, "09:00")
    for passed, against in ((True, long), (False, text)):
        farm.act(
            lambda w, passed=passed, against=against: calibrating.calibrate(
                w, farm.in_force(), AB, kit="QS", passed=passed, against=against,
                shown=Decimal(190), unit="mg/L",
            )
        )  # fmt: skip
    seen = farm.add(Pest(what="mouse", place=text, count=1, did=long))
    farm.add(Action(about=seen.name, problem=text))
    slip = farm.add(Pest(what="rat", place="yard"))
    farm.act(lambda w: strike(w, slip.name, reason=text, by="AB"))
