"""What went wrong with sanitisers, with water and with single trays, and how it ended.

Each story is one of days in the last weeks, counted back from the last one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from functools import partial
from typing import Any

from demo_farm import growing, measuring, washing
from demo_farm.dates import A_DAY
from demo_farm.growing import SHARES
from demo_farm.shed import LOOKED_AT, MANAGER, OTHER, Day, Mend, Plan
from hygiene.acts import containers, dosing, people
from hygiene.acts.actions import look_again
from hygiene.acts.holds import release
from hygiene.acts.how import How
from hygiene.acts.mending import correct
from hygiene.kinds.action import Recheck
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import stamp
from hygiene.kinds.people import Accident
from hygiene.kinds.sanitising import Dose, Lost, Rinse

STORE_FILLED = 44
NO_PAPER, PAPER_CAME = 29, 25
SAMPLED, ECOLI, SAMPLED_AGAIN, SAFE_AGAIN = 31, 28, 21, 18
TOO_WEAK, EXPIRED, FLOOR_PRODUCT = 27, 24, 19
ACID_RINSED, ACID_UNRINSED, TRAY_LOST, FORCED = 16, 12, 6, 4
"""Days before the last one."""
DESCALE, QUAT = "descale", "quat"
BAD_POINT = "P2"


@dataclass
class Mishaps:
    """The stories, and what they must remember from one day to the next."""

    old_can: str = ""
    descaler: str = ""
    quat: str = ""
    lost_tray: str = ""
    lot: str = ""
    lot_hold: str = ""
    water: list[Entry] = field(default_factory=list)
    water_holds: list[Entry] = field(default_factory=list)

    def live(self, day: Day) -> None:
        """Do what the stories have for a day."""
        steps = {
            STORE_FILLED: self.fill_the_store,
            SAMPLED: self.sample,
            NO_PAPER: self.lot_without_paper,
            TOO_WEAK: self.too_weak,
            PAPER_CAME: self.paper_comes,
            EXPIRED: self.expired,
            SAMPLED_AGAIN: self.sample_again,
            FLOOR_PRODUCT: self.floor_product,
            SAFE_AGAIN: self.safe_again,
            ACID_RINSED: self.acid_rinsed,
            ACID_UNRINSED: self.acid_unrinsed,
            TRAY_LOST: self.lose_a_tray,
            FORCED: self.force_a_sowing,
        }
        step = steps.get(day.before)
        if step is not None and day.shed.reaches_back(STORE_FILLED):
            step(day)

    # ---- the chemical store ----

    def fill_the_store(self, day: Day) -> None:
        """An old can, and what is seldom used. The peracid is about to expire."""
        day.at("06:02", lambda: self._fill(day))

    def _fill(self, day: Day) -> None:
        last = day.shed.last
        self.old_can = washing.take_in_can(
            day,
            in_use=False,
            maker_batch="HY 2605 / 1",
            made_on=last - 200 * A_DAY,
            expires_on=last - (EXPIRED + 2) * A_DAY,
            kept_where="STORE, at the back",
        )
        long = {"made_on": day.date - 30 * A_DAY, "expires_on": last + 400 * A_DAY}
        self.descaler = washing.take_in_can(day, DESCALE, **long)
        self.quat = washing.take_in_can(day, QUAT, **long)
        washing.take_in_can(
            day,
            "peracid",
            made_on=last - 350 * A_DAY,
            expires_on=last + 9 * A_DAY,
            kept_where="STORE, high shelf, in a tray of its own",
        )

    def expired(self, day: Day) -> None:
        """The can at the back of the shelf is taken, two days past its date."""
        day.plans["wash"].tub = self._from_the_old_can

    def _from_the_old_can(self, day: Day, by: str, plan: Plan) -> None:
        how = Mend(
            "the can in use is the one in date; the old one stands apart, marked",
            "old can emptied by the supplier, new cans go to the back of the shelf",
            cause="the new can stood behind the old one",
            after=timedelta(hours=1),
        )
        washing.wash_today(day, by, plan, can=self.old_can, mend=how)
        day.at("16:30", lambda: self._give_back(day), days=1)

    def _give_back(self, day: Day) -> None:
        shed = day.shed
        left = shed.inside.left_tenth_ml.pop(self.old_can)
        thing = Lost(
            container=self.old_can, tenth_ml=left, why="past its date: taken back"
        )
        containers.lose(shed.writing, thing, How(MANAGER))

    # ---- doses that failed ----

    def too_weak(self, day: Day) -> None:
        """The tub is too weak at its end: all of it is done again, and then good."""
        day.plans["wash"].tub = self._too_weak

    def _too_weak(self, day: Day, by: str, plan: Plan) -> None:
        first = washing.wash_today(
            day, by, plan, end=Decimal(70), dry=None, clock="09:24", mend=None
        )
        if first is None:
            raise LookupError("there was nothing to wash")
        trays = tuple(str(tray) for tray in first.dose.get("trays"))
        day.shed.inside.take(trays)
        day.shed.later(
            timedelta(minutes=50), lambda: self._again(day, by, trays, first.actions)
        )

    def _again(
        self, day: Day, by: str, trays: tuple[str, ...], actions: Iterable[Entry]
    ) -> None:
        again = washing.soak(
            day, by, trays, start=Decimal(160), end=Decimal(130), clock="10:40"
        )
        seen = "the same trays in a new tub: 160 and 130 mg/L, 12 min"
        did = "tub made up anew, all trays of it done again"
        cause = "trays went in dripping with wash water"
        _end(day, actions, again.dose, seen, did, by, cause=cause)

    def floor_product(self, day: Day) -> None:
        """A product for floors alone is sprayed on two trays; they are done again."""
        day.at("16:05", lambda: self._floor_product(day))

    def _floor_product(self, day: Day) -> None:
        shed, by = day.shed, washing.whoever(day)
        spare = [*(tray for _, tray in shed.inside.clean), *shed.inside.idle]
        trays = tuple(spare[-2:])
        shed.inside.take(trays)
        began = day.moment("15:20")
        thing = Dose(
            product=QUAT,
            drawn=washing.draw(shed, self.quat, 1500),
            target="tray",
            trays=trays,
            tools=("SPRAY1",),
            way="spray",
            volume_l=washing.SPRAYER_L,
            target_mg_per_l=Decimal(1000),
            ended_at=stamp(began + 20 * washing.A_MINUTE),
            washed_before=True,
            rinsed=True,
            tools_rinsed=True,
            dry=True,
            gear=("gloves", "goggles", "boots"),
            note="the sprayer was still full from the floor",
        )
        how = How(by, happened_at=began)
        made = dosing.dose(shed.writing, shed.setup, shed.farm, thing, how)
        day.at("13:30", partial(self._not_with_that, day, by, trays, made), days=1)

    def _not_with_that(
        self, day: Day, by: str, trays: tuple[str, ...], made: dosing.Dosing
    ) -> None:
        shed = day.shed
        tomorrow = Day(shed, day.date + A_DAY, day.chance, {})
        again = washing.soak(tomorrow, washing.whoever(tomorrow), trays, clock="12:40")
        seen = "washed again and done with the tray product: 150 and 120 mg/L"
        did = "the sprayer is marked FLOOR ONLY"
        cause = "one sprayer for floors and trays"
        _end(tomorrow, made.actions, again.dose, seen, did, by, cause=cause)

    # ---- an acid after hypochlorite ----

    def acid_rinsed(self, day: Day) -> None:
        """Nozzles are soaked in descaler, in a tub that was rinsed after the wash."""
        day.at("14:40", lambda: self._descale(day))

    def acid_unrinsed(self, day: Day) -> None:
        """The same in a tub that was not rinsed: gas. It is written as it was."""
        day.plans["wash"].tub = _leave_the_tub
        day.at("14:10", lambda: self._gas(day))

    def _descale(self, day: Day, **said: Any) -> dosing.Dosing:
        shed, by = day.shed, washing.whoever(day)
        began = shed.now - 35 * washing.A_MINUTE
        thing = Dose(
            product=DESCALE,
            drawn=washing.draw(shed, self.descaler, 2000),
            target="tool",
            tools=("TUB1",),
            way="soak",
            volume_l=Decimal(10),
            ended_at=stamp(began + 30 * washing.A_MINUTE),
            washed_before=True,
            rinsed=True,
            tools_rinsed=True,
            gear=("gloves", "goggles"),
            note="nozzles of both lines, soaked and brushed",
        )
        how = How(by, happened_at=began)
        return dosing.dose(shed.writing, shed.setup, shed.farm, thing, how)

    def _gas(self, day: Day) -> None:
        shed, by = day.shed, washing.whoever(day)
        made = self._descale(day)
        thing = Accident(
            sort="gas",
            who=by,
            what="a choking smell over the dip tub when the descaler went in",
            place="WASH",
            product=DESCALE,
            gear_worn=("gloves", "goggles"),
            first_aid="out into the air, doors open, cough gone within the hour",
            told="Varrowshire poisons line",
            days_off=0,
        )
        hurt = people.accident(shed.writing, shed.farm, How(by), thing)
        rinsed = Rinse(tools=("TUB1",), volume_l=Decimal(60))
        washed = dosing.rinse(shed.writing, shed.setup, shed.farm, rinsed, How(by))
        actions = [*made.actions, *([hurt.action] if hurt.action else [])]
        _end(
            day,
            actions,
            washed.rinse,
            "tub rinsed three times and aired, no smell; a strip in it reads 0",
            "nozzles are descaled in a bucket of their own, marked ACID",
            by,
            cause="the tub was not rinsed after the wash, and both go through it",
            cleaned=washed.rinse.name,
            effect="no smell since; who washes says that the tub is rinsed",
        )

    # ---- seed without its paper ----

    def lot_without_paper(self, day: Day) -> None:
        """A lot comes of which nobody saw the word that it is untreated: held."""
        day.at("11:40", lambda: self._no_paper(day))

    def _no_paper(self, day: Day) -> None:
        made = growing.take_in(day, declared=False)
        self.lot = str(made.seed.get("lot"))
        self.lot_hold = "" if made.hold is None else made.hold.name

    def paper_comes(self, day: Day) -> None:
        """The supplier sends it by post: the entry is put right, the hold released."""
        day.at("17:30", lambda: self._paper(day))

    def _paper(self, day: Day) -> None:
        shed = day.shed
        (came, *_) = [
            e for e in shed.writing.record.mentioning(self.lot) if e.kind == "seed"
        ]
        paper = f"declaration by post of {day.date}"
        body = {**came.body, "untreated_seen_by": MANAGER, "declaration": paper}
        reason = "the declaration came by post"
        correct(shed.writing, came.name, body, reason=reason, by=MANAGER)
        release(
            shed.writing,
            self.lot_hold,
            why="untreated, fit for feed: the paper is here",
            by=MANAGER,
            document=paper,
        )
        shed.inside.put_aside.discard(self.lot)

    # ---- water ----

    def sample(self, day: Day) -> None:
        """A sample of the last nozzle of a line, since a filter was changed there."""
        self._send(day, {"ecoli": "2", "coliforms": ">2419.6"})

    def _send(self, day: Day, results: dict[str, str]) -> None:
        taken = day.moment("08:10")
        said = {**measuring.CLEAN, **results}
        shed = day.shed
        came = shed.moment(day.date + measuring.RESULT_DAYS * A_DAY, "16:20")

        def come() -> None:
            made = measuring.certificate(shed, BAD_POINT, taken, said)
            self.water += made.actions
            self.water_holds += made.holds

        shed.at(came, come)

    def sample_again(self, day: Day) -> None:
        """After the line was shocked and flushed, the same bottle again."""
        self._send(day, {})

    def safe_again(self, day: Day) -> None:
        """Nothing grew: the hold is released, what was open is closed."""
        day.at("17:05", lambda: self._safe_again(day))

    def _safe_again(self, day: Day) -> None:
        shed = day.shed
        for hold in self.water_holds:
            why = "sampled again after the line was sanitised: no E. coli"
            release(shed.writing, hold.name, why=why, by=MANAGER)
        how = Mend(
            seen="",
            did="line shocked for three hours, flushed, sampled again",
            cause="filter changed with dirty hands, line not sanitised after it",
        )
        for action in self.water:
            shed.close(action, how, MANAGER)

    # ---- a tray that nobody wrote off, and a sowing that was forced ----

    def lose_a_tray(self, day: Day) -> None:
        """Seven trays go to the milkers; six are written down."""

        def short() -> None:
            (batch, *_) = day.shed.inside.ready(day.date)
            *fed, lost = batch.trays[:7]
            growing.feed(day, batch, tuple(fed), "MILKERS")
            day.shed.inside.emptied(batch.code, (lost,))
            self.lost_tray = lost

        day.own_feeding = tuple(s for s in SHARES if s.animals != "MILKERS")
        day.at("08:50", short)
        day.plans["wash"].tub = self._still_grows

    def _still_grows(self, day: Day, by: str, plan: Plan) -> None:
        how = Mend(
            "the tray was seen to be empty in the wash bay",
            "who feeds counts the trays that come back",
            cause="the last tray on the barrow was not written down",
        )
        washing.wash_today(day, by, plan, mend=how)
        day.shed.inside.take((self.lost_tray,))

    def force_a_sowing(self, day: Day) -> None:
        """It is sown again, though by the record its last batch still grows in it."""
        day.own_sowing = lambda: self._force(day)

    def _force(self, day: Day) -> None:
        reason = "it stands there empty and clean; its feeding was not written down"
        made = growing.sow_today(day, trays=(self.lost_tray,), reason=reason)
        if made is not None and made.action is not None:
            day.shed.mend(made.action, LOOKED_AT, OTHER[made.sow.by])


def _leave_the_tub(day: Day, by: str, plan: Plan) -> None:
    washing.wash_today(day, by, plan, tools_rinsed=False)


def _end(
    day: Day,
    actions: Iterable[Entry],
    evidence: Entry,
    seen: str,
    did: str,
    by: str,
    **said: str,
) -> None:
    """Look again at what an entry put right, and close it an hour later."""
    shed = day.shed
    for action in actions:
        thing = Recheck(
            action=action.name, seen=seen, passed=True, evidence=evidence.name
        )
        look_again(shed.writing, thing, by=OTHER[by])
        how = Mend(seen, did, **said)
        shed.later(timedelta(hours=1), partial(shed.close, action, how, OTHER[by]))
