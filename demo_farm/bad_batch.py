"""A batch goes mouldy: what was fed of it, what is held, what is saved, how it ends.

Two lots went into it. Its trays came out of one tub with those of the batch after it.
On day 7 the milkers and the goatlings got theirs in the morning; what was left for the
ewes bore mould in the afternoon. Everything is counted back from the last day.
"""

from __future__ import annotations

from demo_farm import growing, washing
from demo_farm.dates import A_DAY
from demo_farm.growing import TRAYS_A_DAY
from demo_farm.inside import Growing, OpenLot
from demo_farm.measuring import attach
from demo_farm.ordinary import on_duty
from demo_farm.shed import MANAGER, WORKER, Act, Day, Mend, Share
from hygiene.acts import batches, finds, leaving, seed
from hygiene.acts.actions import look_again
from hygiene.acts.holds import release, whose_word
from hygiene.acts.how import How
from hygiene.kinds.action import Recheck
from hygiene.kinds.batch import Discard, Place, Sample, SeedShare
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Mould
from hygiene.kinds.incident import Assess, Notify
from hygiene.kinds.seed import Scrap
from hygiene.tracing.siblings import Sibling

VET = "Sallowbeck Vets"
LABORATORY = "Lowmoor Water and Feed Laboratory"
MISSED, TUB, SOWN, FOUND = 43, 42, 41, 34
ASSESSED, SAVED, SCRAPPED, LET_GO, CLEANED, CLOSED = 33, 31, 27, 26, 23, 22
"""Days before the last one when each step of it happened."""
PLENTY_GRAMS, A_FEW_GRAMS = 70_000, 4_000


class BadBatch:
    """The story, and what it must remember from one day to the next."""

    def __init__(self) -> None:
        self.lots: list[OpenLot] = []
        self.bad: Growing
        self.sister: Growing
        self.found: finds.Found
        self.holds: dict[str, Entry] = {}
        self.deep: Entry
        self.steps = {
            MISSED: self.wash_left_out,
            TUB: self.one_tub,
            SOWN: self.sow_from_two_lots,
            SOWN - 1: self.sow_its_sister,
            FOUND: self.find,
            ASSESSED: self.assess_the_room,
            SAVED: self.save_its_sister,
            SCRAPPED: self.scrap_a_lot,
            LET_GO: self.let_go,
            CLEANED: self.clean_the_racks,
            CLOSED: self.close,
        }

    def live(self, day: Day) -> None:
        """Do what the story has for a day."""
        step = self.steps.get(day.before)
        if step is not None and day.shed.reaches_back(MISSED + 1):
            step(day)

    # ---- how it came about ----

    def wash_left_out(self, day: Day) -> None:
        """Nobody washes; a lot is bought so that two are open."""
        plan = day.plans["wash"]
        plan.missed = "no help that afternoon: the trays wait until tomorrow"
        plan.typed_at = max(plan.at, day.moment("18:40"))
        lots = day.shed.inside.usable()
        if len([lot for lot in lots if lot.left > PLENTY_GRAMS]) < 2:
            day.at("11:00", lambda: growing.take_in(day))

    def one_tub(self, day: Day) -> None:
        """The trays of two days go through one tub, too many for it."""
        day.plans["wash"].tub = lambda day, by, plan: washing.wash_today(
            day, by, plan, least=2 * TRAYS_A_DAY
        )

    def sow_from_two_lots(self, day: Day) -> None:
        """Half of each of the two lots that are open."""

        def sow() -> None:
            *older, other = day.shed.inside.usable()
            one = next(lot for lot in older if lot.left > A_FEW_GRAMS)
            self.lots = [one, other]
            grams = TRAYS_A_DAY * growing.seed_a_tray(day.before)
            half = min(grams // 2, one.left - A_FEW_GRAMS // 2)
            seeds = (_take(one, half), _take(other, grams - half))
            growing.sow_today(day, seeds=seeds, trays=_of_the_tub(day, TUB))

        day.own_sowing = sow

    def sow_its_sister(self, day: Day) -> None:
        """From the second lot, in trays of the same tub; then another lot is opened."""

        def sow() -> None:
            grams = TRAYS_A_DAY * growing.seed_a_tray(day.before)
            seeds = (_take(self.lots[1], grams),)
            growing.sow_today(day, seeds=seeds, trays=_of_the_tub(day, TUB))
            # its bags stand at the back, and a new lot in front of them
            day.shed.inside.put_aside |= {lot.code for lot in self.lots}

        day.own_sowing = sow

    # ---- the day of the find ----

    def find(self, day: Day) -> None:
        """Two groups are fed in the morning; in the afternoon there is mould."""
        day.own_feeding = (Share("08:50", "MILKERS", 7), Share("08:56", "YOUNG", 1))
        day.at("15:40", lambda: self._find(day))
        day.at("15:58", lambda: self._tell(day, "vet", VET, self._what_the_vet_hears()))

    def _find(self, day: Day) -> None:
        inside, shed = day.shed.inside, day.shed
        bad = inside.sown_on(day.date - 7 * A_DAY)
        sister = inside.sown_on(day.date - 6 * A_DAY)
        if bad is None or sister is None:
            raise LookupError("the batches of the story were not sown")
        self.bad, self.sister = bad, sister
        how = How(on_duty(day.date))
        thing = Mould(
            batch=bad.code,
            trays=bad.trays[:2],
            tray_count=2,
            share_percent=15,
            colour="grey-green",
            place="middle of the mat, below the leaves",
            smell="musty from the door",
        )
        did = "room shut, mask on, nothing more fed of it"
        self.found = finds.find_mould(shed.writing, shed.farm, thing, how, did=did)
        held = finds.hold_proposed(
            shed.writing, self.found.mould, self.found.proposed, how
        )
        self.holds = {str(hold.get("held")): hold for hold in held}
        inside.held |= {bad.code, *self.holds}

    def _what_the_vet_hears(self) -> str:
        return (
            "grey-green mould in trays of a batch; seven trays of it went to the "
            "milkers and one to the goatlings this morning; all animals look well"
        )

    def _tell(self, day: Day, role: str, name: str, what: str) -> None:
        told = Notify(
            role=role,
            who_told=name,
            what=what,
            abouts=(self.found.mould.name,),
            how="telephone",
        )
        day.shed.writing.add(told, by=MANAGER)

    # ---- the day after ----

    def assess_the_room(self, day: Day) -> None:
        """What only shared the room goes on, in writing; the bad batch is burnt."""
        day.at("08:12", lambda: self._assess(day))
        day.at("08:40", lambda: self._move_its_sister(day))
        for number, (code, supplier) in enumerate(self._suppliers(day)):
            what = f"mould in a batch from your lot {code}; sowing from it has stopped"
            clock = f"09:{35 + 5 * number}"
            day.at(clock, self._telling(day, supplier, what))
        day.at("10:20", lambda: self._keep_samples(day))
        day.at("11:05", lambda: self._burn(day))
        day.at("15:50", lambda: self._wash_deep(day))

    def _suppliers(self, day: Day) -> list[tuple[str, str]]:
        record, farm = day.shed.writing.record, day.shed.farm
        found = []
        for lot in self.lots:
            (came, *_) = [e for e in record.mentioning(lot.code) if e.kind == "seed"]
            supplier = farm.get("supplier", str(came.get("supplier"))) or {}
            found.append((str(came.get("supplier_lot")), str(supplier.get("name"))))
        return found

    def _telling(self, day: Day, name: str, what: str) -> Act:
        return lambda: self._tell(day, "supplier", name, what)

    def _assess(self, day: Day) -> None:
        """Each sibling that shares neither lot nor tub with it."""
        room = [s for s in self.found.proposed if s.code != self.sister.code]
        thing = Assess(
            holds=tuple(self.holds[sibling.code].name for sibling in room),
            found="each tray lifted out and looked at from above and below, by two "
            "people: dry leaves, white roots, no mould, no smell; other lots and other "
            "tubs than the mouldy batch",
            document=f"assessment of {day.date}, in the shed file",
        )
        day.shed.writing.add(thing, by=MANAGER)
        for sibling in room:
            self._release(day, sibling, "assessed tray by tray, no mould found")

    def _release(self, day: Day, sibling: Sibling, why: str) -> None:
        hold = self.holds[sibling.code]
        release(day.shed.writing, hold.name, why=why, by=MANAGER)
        day.shed.inside.held.discard(sibling.code)

    def _move_its_sister(self, day: Day) -> None:
        """The one that shares the tub and a lot stands apart until it is known."""
        rack = growing.RACKS[growing.resting_line(day.before)][0]
        places = tuple(
            Place(tray=tray, rack=rack, level=1 + n // growing.ON_A_LEVEL)
            for n, tray in enumerate(self.sister.trays)
        )
        batches.move(
            day.shed.writing,
            day.shed.farm,
            How(on_duty(day.date)),
            batch=self.sister.code,
            places=places,
            note="apart from the others until the laboratory has answered",
        )

    def _keep_samples(self, day: Day) -> None:
        """Two halves of each: one frozen, one chilled, and a label on both."""
        how = How(on_duty(day.date))
        kept = {
            "frozen_at": "freezer in the store, red box",
            "chilled_at": "fridge in the dairy, red box",
            "why": "mould",
            "laboratory": LABORATORY,
        }
        worst = self.bad.trays[:1]
        things = [
            Sample(batch=self.bad.code, trays=worst, grams=1900, **kept),
            Sample(batch=self.sister.code, grams=600, **kept),
            *(Sample(lot=lot.code, grams=500, **kept) for lot in self.lots),
        ]
        for thing in things:
            leaving.sample(day.shed.writing, thing, how)
        for lot in self.lots:
            lot.left -= 500
        day.shed.inside.leave(self.bad.code, worst)

    def _burn(self, day: Day) -> None:
        shed, trays = day.shed, self.bad.trays[1:]
        thing = Discard(
            batch=self.bad.code,
            trays=trays,
            grams=growing.fodder_grams(self.bad, trays),
            why="mould",
            route="bagged in the room, burnt behind the yard, away from animals",
            witness="Marit Penhallow",
        )
        leaving.discard(shed.writing, thing, How(WORKER))
        shed.inside.leave(self.bad.code, trays)

    def _wash_deep(self, day: Day) -> None:
        """All twelve trays of it, also those that came back before anybody knew."""
        trays = self._trays_of_it(day)
        day.shed.inside.take(trays)
        made = washing.soak(
            day,
            washing.whoever(day),
            trays,
            clock="13:05",
            minutes=35,
            deep=True,
            note="scrubbed first, in a tub of their own",
        )
        self.deep = made.dose

    def _trays_of_it(self, day: Day) -> tuple[str, ...]:
        record = day.shed.writing.record
        (sown, *_) = [e for e in record.mentioning(self.bad.code) if e.kind == "sow"]
        return tuple(str(place["tray"]) for place in sown.get("places"))

    # ---- how it ended ----

    def save_its_sister(self, day: Day) -> None:
        """The laboratory finds nothing in it: assessed in writing, and fed on day 9."""
        day.at("08:06", lambda: self._save(day))

    def _save(self, day: Day) -> None:
        shed = day.shed
        paper = attach(
            shed,
            f"LF{day.date:%y%j}.txt",
            f"{LABORATORY} (invented)\nReport LF{day.date:%y%j}\n\n"
            f"  fodder sown {self.bad.sown}: Aspergillus, over 1 000 000 per g\n"
            f"  fodder sown {self.sister.sown}: moulds below 1 000 per g, no "
            "Aspergillus\n  seed, first lot: moulds below 1 000 per g\n"
            "  seed, second lot: Aspergillus, 240 000 per g\n",
        )
        thing = Assess(
            holds=(self.holds[self.sister.code].name,),
            found="shares the tub and a lot with the mouldy batch, so it was sampled "
            "and kept apart: no Aspergillus grew from it, every tray clean and dry",
            document=f"report LF{day.date:%y%j}, and assessment of {day.date}",
            attached=(paper,),
        )
        shed.writing.add(thing, by=MANAGER)
        for sibling in self.found.proposed:
            if sibling.code == self.sister.code:
                self._release(day, sibling, "no mould grew from it: may be fed")

    def scrap_a_lot(self, day: Day) -> None:
        """The lot in which the laboratory found it is no more."""
        day.at("17:10", lambda: self._scrap(day))

    def _scrap(self, day: Day) -> None:
        lot = self.lots[1]
        why = "the laboratory found Aspergillus in it: taken back by the supplier"
        thing = Scrap(lot=lot.code, grams=lot.left, why=why)
        seed.scrap(day.shed.writing, thing, How(MANAGER))
        day.shed.inside.lots.remove(lot)

    def let_go(self, day: Day) -> None:
        """The holds on the batch and its lots end on the vet's word and letter."""
        day.at("16:40", lambda: self._let_go(day))

    def _let_go(self, day: Day) -> None:
        why = {
            self.bad.code: "burnt, all of it; the animals that ate of it are well",
            self.lots[0].code: "the laboratory found no Aspergillus in it",
            self.lots[1].code: "nothing is left of it: taken back by the supplier",
        }
        for hold in self.found.holds:
            release(
                day.shed.writing,
                hold.name,
                why=why[str(hold.get("held"))],
                by=MANAGER,
                word_of=VET,
                word_role=whose_word(day.shed.farm, VET),
                document=f"letter of {day.date - A_DAY}",
            )
        day.shed.inside.put_aside.discard(self.lots[0].code)

    def clean_the_racks(self, day: Day) -> None:
        """The racks below its line are bare now."""
        day.at("12:30", lambda: self._clean_racks(day))

    def _clean_racks(self, day: Day) -> None:
        racks = " and ".join(growing.RACKS[self.bad.line])
        place, litres = f"racks {racks}, gutters, wall behind", washing.SPRAYER_L
        washing.wipe_down(
            day, "11:50", place, way="spray", tool="SPRAY1", volume_l=litres
        )

    def close(self, day: Day) -> None:
        """Looked at again, and closed with its cause and what shows that it helped."""
        day.at("17:20", lambda: self._close(day))

    def _close(self, day: Day) -> None:
        action = self.found.action
        if action is None:
            raise LookupError("the find opened no incident")
        thing = Recheck(
            action=action.name,
            seen="eleven batches since then, looked at tray by tray: no mould",
            passed=True,
        )
        look_again(day.shed.writing, thing, by=WORKER)
        how = Mend(
            seen="",
            did="batch burnt, lot given back, trays and racks cleaned deep, the "
            "supplier told",
            cause="spores came with the second lot, and two days' trays in one tub "
            "came out damp",
            cleaned=self.deep.name,
            effect="no mould in the twelve days since; one tub a day, and seed counted "
            "for mould before it is opened",
        )
        day.shed.close(action, how, MANAGER)


def _of_the_tub(day: Day, before: int) -> tuple[str, ...]:
    """A dozen of the trays that came out of the tub of another day."""
    inside, on = day.shed.inside, day.shed.last - before * A_DAY
    trays = tuple(tray for since, tray in inside.clean if since == on)[:TRAYS_A_DAY]
    inside.take(trays)
    return trays


def _take(lot: OpenLot, grams: int) -> SeedShare:
    lot.left -= grams
    return SeedShare(lot=lot.code, grams=grams)
