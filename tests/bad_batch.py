"""A bad batch: two lots, one shared wash, two groups fed before the find."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from dose_farm import DoseFarm, drawn

from hygiene.acts.how import How
from hygiene.kinds.incident import Ill, Notify


@dataclass
class BadBatch:
    """The story's codes: ``bad`` moulds, ``washed`` met its wash, ``mate`` its lot."""

    farm: DoseFarm
    lots: tuple[str, str]
    can: str
    wash: str
    bad: str
    washed: str
    mate: str
    far: str
    mould: str = ""

    def found(self) -> None:
        """Two trays were fed, one to each group; the third moulds; the vet is told."""
        farm = self.farm
        farm.feed(self.bad, 1, grams=8_500)
        farm.feed(self.bad, 2, grams=8_300, to="GOATS")
        made = farm.mould(self.bad, trays=("T003",), colour="grey", share_percent=10)
        self.mould = made.mould.name
        told = Notify(
            role="vet", who_told="E. Ash", what="stop feeding", abouts=(self.mould,)
        )
        farm.act(lambda w: w.add(told, by="AB"))

    def ill(self) -> str:
        """Ewes that tremble, with where their milk and lambs went."""
        thing = Ill(
            animals="EWES",
            since=self.farm.now.date(),
            head_ill=2,
            head_at_risk=40,
            signs="trembling",
            milk="none sold",
            sales="four lambs on Monday",
        )
        return str(self.farm.act(lambda w: w.add(thing, by="AB")).name)


def copied(story: BadBatch, folder: Path) -> BadBatch:
    """The same story in a folder of its own: it takes a while to live through."""
    shutil.copytree(story.farm.folder, folder, dirs_exist_ok=True)
    return replace(story, farm=replace(story.farm, folder=folder))


def bad_batch(farm: DoseFarm) -> BadBatch:
    """Four batches in three days; nothing was found yet, seven days on."""
    farm.setting()
    lots = (farm.lot(supplier_lot="AF/2214", document="note 118"), farm.lot())
    can = farm.can(maker_batch="88/2", supplier="ALDER")
    wash = farm.dose(*range(1, 9), drawn=drawn(can, 960)).dose.name
    clean = How("AB", reason="clean")

    def sow(*seeds: tuple[str, int], **said: Any) -> str:
        return str(farm.sow(*seeds, how=clean, **said).sow.get("batch"))

    bad = sow((lots[0], 4_000), (lots[1], 2_000), trays=range(1, 5))
    washed = sow((farm.lot(), 6_000), trays=range(5, 9), rack="R3", line="L2")
    farm.later(days=1)
    farm.dose(*range(9, 13), drawn=drawn(farm.can(), 960))
    mate = sow((lots[0], 6_000), trays=range(9, 13), rack="R3", line="L2")
    farm.later(days=2)
    farm.dose(*range(13, 15), drawn=drawn(farm.can(), 960))
    far = sow((farm.lot(), 3_000), trays=range(13, 15), rack="R3", line="L2")
    farm.later(days=4)
    return BadBatch(farm, lots, can, wash, bad, washed, mate, far)
