"""Stories at random: sow, feed, find mould, hold, correct, strike, release, discard.

A story does one act after another on a small record and keeps no account of its own
but two sets: what was ever mouldy, and which holds are open. After every act it asks
whether safety was loosened by anything but a release.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from sprout_farm import SproutFarm, tray

from hygiene.acts import batches, finds, leaving, mending
from hygiene.acts.holds import release
from hygiene.acts.how import How
from hygiene.acts.standing import open_holds
from hygiene.book.record import Record
from hygiene.book.verify import faults
from hygiene.errors import HygieneError
from hygiene.kinds.batch import Discard, Dispatch, Feed, Place, SeedShare
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold, Mould
from hygiene.kinds.incident import Assess
from hygiene.kinds.moments import moment_of
from hygiene.tracing.batches import ENDS, KINDS, Batch, read_batches

HOW = How("AB", reason="done all the same")
TRAYS = 10
RACKS = ("R1", "R2", "R3")
TOUCHED = (
    *("sow", "sow", "mould", "mould", "discard", "hold", "release"),
    *("feed", "dispatch", "move"),
)


class Loosened(AssertionError):
    """Safety was loosened by something that is no release."""


class Story:
    """One random story on one record; the same seed tells the same story."""

    def __init__(self, farm: SproutFarm, number: int) -> None:
        self.farm = farm
        self.random = Random(number)
        self.told: list[str] = []
        self.refused = 0
        self.mouldy: set[str] = set()
        self.open: set[str] = set()
        self.lots = [farm.lot(supplier_lot=f"AF/{n}") for n in range(2)]

    def go(self, acts: int) -> None:
        """So many acts, each looked at; raises ``Loosened``."""
        acts_here: list[tuple[int, Callable[[], None]]] = [
            (4, self._sow), (3, self._feed), (1, self._send), (2, self._discard),
            (2, self._mould), (2, self._hold), (1, self._move), (8, self._correct),
            (4, self._strike), (3, self._release), (1, self._assess),
        ]  # fmt: skip
        weights, does = zip(*acts_here, strict=True)
        for _ in range(acts):
            act = self.random.choices(does, weights)[0]
            self.told.append(act.__name__)
            try:
                act()
            except HygieneError as said:
                self.refused += 1
                self.told[-1] += f": {said}".splitlines()[0]
            self._look(act == self._release)
        if found := self.farm.read(faults):
            raise Loosened(found)

    # ---- the acts ----------------------------------------------------------------

    def _do(self, act: Callable[[Any], Any]) -> Any:
        return self.farm.act(act)

    def _some(self) -> tuple[str, ...]:
        count = self.random.randint(1, 3)
        return tuple(
            sorted(tray(n) for n in self.random.sample(range(1, TRAYS + 1), count))
        )

    def _places(self) -> tuple[Place, ...]:
        rack = self.random.choice(RACKS)
        return tuple(Place(tray=code, rack=rack) for code in self._some())

    def _batch(self) -> Batch:
        held: dict[str, Batch] = self.farm.read(_batches)
        found = sorted(held.values(), key=lambda batch: batch.code)
        if not found:
            self._sow()
            return self._batch()
        return self.random.choice(found)

    def _of(self, batch: Batch) -> tuple[str, ...]:
        """Mostly trays of the batch that grow, now and then others."""
        if not batch.growing or self.random.random() < 0.2:
            return self._some()
        count = self.random.randint(1, len(batch.growing))
        return tuple(self.random.sample(batch.growing, count))

    def _sow(self) -> None:
        seeds = (SeedShare(lot=self.random.choice(self.lots), grams=900),)
        self._do(
            lambda w: batches.sow(
                w, self.farm.in_force(), HOW, seeds=seeds, places=self._places(),
                line=self.random.choice(("L1", "L2", None)),
            )
        )  # fmt: skip

    def _move(self) -> None:
        batch = self._batch()
        rack = self.random.choice(RACKS)
        places = tuple(Place(tray=code, rack=rack) for code in self._of(batch))
        self._do(
            lambda w: batches.move(
                w, self.farm.in_force(), HOW, batch=batch.code, places=places
            )
        )

    def _feed(self) -> None:
        batch = self._batch()
        thing = feed_of(batch.code, self._of(batch))
        self._do(lambda w: leaving.feed(w, self.farm.in_force(), thing, HOW))

    def _send(self) -> None:
        batch = self._batch()
        thing = Dispatch(
            batch=batch.code, trays=self._of(batch), buyer="HOLLOW", grams=5_000
        )
        self._do(lambda w: leaving.dispatch(w, self.farm.in_force(), thing, HOW))

    def _discard(self) -> None:
        batch = self._batch()
        thing = Discard(
            batch=batch.code, trays=self._of(batch), grams=5_000, why="musty",
            route="burnt",
        )  # fmt: skip
        self._do(lambda w: leaving.discard(w, thing, HOW))

    def _mould(self) -> None:
        batch = self._batch()
        thing = self.random.choice(
            (
                Mould(batch=batch.code),
                Mould(batch=batch.code, trays=self._of(batch)),
                Mould(trays=self._of(batch)),
                Mould(rack=self.random.choice(RACKS)),
            )
        )
        found = self._do(
            lambda w: finds.find_mould(w, self.farm.in_force(), thing, HOW)
        )
        self.mouldy |= set(found.batches)
        if self.random.random() < 0.4:
            self._do(lambda w: finds.hold_proposed(w, found.mould, found.proposed, HOW))

    def _hold(self) -> None:
        batch = self._batch()
        things = (
            Hold(held=batch.code, sort="batch", why="musty"),
            Hold(held=batch.code, sort="batch", why="musty", trays=batch.trays[:1]),
            Hold(held=self.random.choice(RACKS), sort="rack", why="dripping"),
            Hold(held=self.random.choice(self.lots), sort="lot", why="weevils"),
            Hold(held="L1", sort="line", why="not flushed"),
            Hold(held=batch.trays[0], sort="tray", why="cracked"),
        )
        thing = self.random.choice(things)
        self._do(lambda w: w.add(thing, by="AB"))

    def _entry(self, *kinds: str) -> Entry:
        kind = self.random.choice(kinds)
        found = self.farm.read(lambda r: r.all_versions([kind]))
        firsts: list[Entry] = [entry for entry in found if not entry.corrects]
        if not firsts:
            self._sow()
            return self._entry("sow")
        return self.random.choice(firsts)

    def _strike(self) -> None:
        name = self._entry(*TOUCHED).name
        self._do(lambda w: mending.strike(w, name, reason="misread", by="AB"))

    def _correct(self) -> None:
        entry = self._entry(*TOUCHED)
        last = mending.last_said(self.farm.read(lambda r: r.history(entry.name)))
        changed = {**last.body, **self._changes(last)}
        body = {key: value for key, value in changed.items() if value is not None}
        self._do(
            lambda w: mending.correct(w, entry.name, body, reason="misread", by="AB")
        )

    def _changes(self, last: Entry) -> dict[str, Any]:
        batch = self._batch()
        said: dict[str, list[dict[str, Any]]] = {
            "sow": [
                {"batch": batch.code},
                {"places": [{"tray": t, "rack": "R2"} for t in self._some()]},
                {"seeds": [{"lot": self.lots[0], "grams": 700}]},
                {"line": "L2"},
            ],
            "move": [{"batch": batch.code}, {"places": [{"tray": "T001"}]}],
            "mould": [
                {"batch": batch.code},
                {"trays": list(self._some())},
                {"batch": None, "trays": list(self._some()), "rack": None},
            ],
            "hold": [
                {"held": batch.code, "sort": "batch"},
                {"stops": "sowing"},
                {"trays": list(self._some())},
                {"shares": "room GROW", "because": last.name},
            ],
            "release": [{"hold": last.name}, {"why": "retyped"}],
        }
        ends: list[dict[str, Any]] = [
            {"batch": batch.code},
            {"trays": list(self._some())},
            {"grams": 4_000},
        ]
        return self.random.choice(said.get(last.kind, ends))

    def _release(self) -> None:
        names = sorted(hold.name for hold in self.farm.read(open_holds))
        if not names:
            return
        said: list[dict[str, Any]] = [
            {},
            {"document": "paper of 2 March"},
            {"word_of": "E. Ash", "word_role": "vet", "document": "letter"},
        ]
        more, name = self.random.choice(said), self.random.choice(names)
        self._do(lambda w: release(w, name, why="looked at", by="AB", **more))

    def _assess(self) -> None:
        names = sorted(hold.name for hold in self.farm.read(open_holds))
        if names:
            thing = Assess(holds=(self.random.choice(names),), found="no mould")
            self._do(lambda w: w.add(thing, by="AB"))

    # ---- what must hold after each of them ---------------------------------------

    def _look(self, released: bool) -> None:
        with Record.open(self.farm.path) as record:
            self._no_hold_is_lost(record, released)
            found = _batches(record)
            self._nothing_held_is_feedable(record, found)
            self._no_mouldy_tray_is_feedable(record, found)
            for batch in found.values():
                _trays_balance(batch)

    def _no_hold_is_lost(self, record: Record, released: bool) -> None:
        still = {hold.name for hold in open_holds(record)}
        lost = self.open - still
        if len(lost) > released:
            # a release that was ruled through and is put right stands again
            kinds = {r.get("hold") for r in record.entries(["release"])}
            if not lost <= kinds or not self.told[-1].startswith("_correct"):
                raise Loosened(f"{lost} ended by {self.told[-5:]}")
        self.open = still

    def _nothing_held_is_feedable(
        self, record: Record, found: dict[str, Batch]
    ) -> None:
        named = {
            str(code)
            for mould in record.all_versions(["mould"])
            for code in (mould.get("batch"), *(mould.get("batches") or ()))
            if code
        }
        if missing := self.mouldy - named:
            raise Loosened(f"no find names {missing} any more")
        held = {
            code: hold.only_trays
            for hold in open_holds(record)
            for sort, code in hold.held
            if sort == "batch" and not hold.stops_sowing_only
        }
        for code in (named | held.keys()) & found.keys():
            batch = found[code]
            only = None if code in named else held[code]
            trays = [t for t in batch.growing if only is None or t in only]
            if not trays:
                continue
            self._need_danger(record, code, tuple(trays))

    def _no_mouldy_tray_is_feedable(
        self, record: Record, found: dict[str, Batch]
    ) -> None:
        """A tray that a find names, or that a find's batch was ever said to fill."""
        moulds = [e for e in record.all_versions(["mould"]) if e.kind == "mould"]
        sowings = record.all_versions(["sow"])
        for batch in found.values():
            for code in batch.growing:
                named = any(
                    code in (mould.get("trays") or ())
                    and moment_of(mould.happened_at) >= batch.sown
                    for mould in moulds
                )
                filled = {
                    sown.get("batch")
                    for sown in sowings
                    if code in {row["tray"] for row in sown.get("places")}
                    and sown.get("batch") != batch.code
                }
                if named or self._left_mouldy(record, filled, code, batch, moulds):
                    self._need_danger(record, batch.code, (code,))

    def _left_mouldy(
        self,
        record: Record,
        codes: set[Any],
        code: str,
        batch: Batch,
        moulds: list[Entry],
    ) -> bool:
        """Whether mould was known in one of these before the tray was said to be its.

        And no entry says that the tray left it, and no release let this batch go.
        """
        holds = {
            e.name for e in record.entries(["hold"]) if e.get("held") == batch.code
        }
        if any(e.get("hold") in holds for e in record.entries(["release"])):
            return False
        said = [
            moment_of(v.recorded_at)
            for v in record.history(batch.sow.first)
            if v.kind == "sow" and code in {row["tray"] for row in v.get("places")}
        ]
        return any(
            mould.get("batch") in codes
            and moment_of(mould.recorded_at) < min(said)
            and not _left(record, str(mould.get("batch")), code)
            for mould in moulds
        )

    def _need_danger(self, record: Record, code: str, trays: tuple[str, ...]) -> None:
        against = leaving.against_feeding(
            record, self.farm.in_force(), feed_of(code, trays), self.farm.now
        )
        if not {rule.mark for rule in against} & set(leaving.IN_DANGER):
            raise Loosened(f"{code} {trays} is feedable after {self.told[-8:]}")


def feed_of(batch: str, trays: tuple[str, ...]) -> Feed:
    """A feed that says that all was well."""
    return Feed(
        batch=batch, trays=trays, animals="EWES", grams=5_000, look_ok=True,
        smell_ok=True,
    )  # fmt: skip


def _left(record: Record, batch: str, code: str) -> bool:
    """Whether the tray left that batch, or one that was sown in it afterwards."""
    sown = [e for e in record.mentioning(batch, every_version=True) if e.kind == "sow"]
    since = min(moment_of(e.happened_at) for e in sown)
    return any(
        e.kind in ENDS
        and code in (e.get("trays") or ())
        and moment_of(e.happened_at) > since
        for e in record.mentioning(code)
    )


def _batches(record: Record) -> dict[str, Batch]:
    return read_batches(record.entries(KINDS))


def _trays_balance(batch: Batch) -> None:
    ended = [
        t for how in ("fed", "sent", "discarded", "sampled") for t in batch.ended(how)
    ]
    if sorted([*ended, *batch.growing]) != sorted(batch.trays):
        raise Loosened(f"trays of {batch.code} do not balance")
