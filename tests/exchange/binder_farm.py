"""The invented farm set up as of August 2025, and a good line for each kind of record.

Each line may name what those before it wrote.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import typer.testing
from typer.testing import CliRunner, Result

from hygiene.book.record import Record
from hygiene.cli import command
from hygiene.cli.world import World
from hygiene.exchange.forms import Form
from hygiene.kinds.entry import Entry
from hygiene.shipped import shipped

NOW = datetime(2025, 11, 20, 12, tzinfo=UTC)
FARM = shipped("demo_farm") / "FARM.toml"
BINDER = shipped("demo_farm") / "ring_binder"

GOOD: dict[str, dict[str, str]] = {
    "seed": {
        "lot": "25/07", "supplier": "quill", "supplier_lot": "QM-311", "kg": "900",
        "untreated_seen_by": "MP", "declaration": "on the note",
        "best_before": "1.6.2026", "moisture_percent": "12,5", "ergot_count": "0",
    },
    "germination": {"lot": "25/07", "sown": "100", "germinated": "94", "days": "3"},
    "scrap": {"lot": "25/07", "kg": "2,5", "why": "spilled"},
    "container": {
        "container": "can-12", "product": "hypo", "amount": "5 L",
        "made_on": "1.9.2025", "received_on": "2.9.2025", "expires_on": "1.6.2026",
        "supplier": "SALLOW",
    },
    "opened": {"container": "can-12"},
    "strength": {"container": "can-12", "value_g_per_l": "112,5", "method": "titrated"},
    "lost": {"container": "can-12", "amount": "0,5 L", "why": "spilled"},
    "dose": {
        "container": "can-12", "amount": "96 ml", "trays": "T001..T012", "way": "soak",
        "volume_l": "60", "target_mg_per_l": "200", "start_mg_per_l": "190",
        "end_mg_per_l": "165", "kit": "QS", "ph": "6,8", "minutes": "12",
        "rinsed": "yes", "dry": "yes", "gear": "gloves, goggles",
    },
    "rinse": {"trays": "T001..T012", "dry": "yes"},
    "sow": {
        "batch": "25/101", "lot": "25/07", "kg": "5,4", "trays": "T001-T006",
        "rack": "R1", "level": "1", "line": "L1",
    },
    "move": {"batch": "25/101", "trays": "T001..T002", "rack": "R2", "level": "1"},
    "feed": {
        "batch": "25/101", "trays": "T001", "animals": "ewes", "kg": "7,5",
        "look_ok": "x", "smell_ok": "ok",
    },
    "dispatch": {
        "batch": "25/101", "trays": "T002", "buyer": "THRUSH", "kg": "7",
        "document": "D1", "look_ok": "yes", "smell_ok": "yes",
    },
    "sample": {"batch": "25/101", "kg": "0,5", "frozen_at": "freezer", "why": "kept"},
    "mould": {"batch": "25/101", "trays": "T003", "tray_count": "1", "colour": "grey"},
    "discard": {
        "batch": "25/101", "trays": "T003", "kg": "7", "why": "mould", "route": "burnt",
        "witness": "TO",
    },
    "pest": {"what": "droppings", "place": "seed store", "count": "3", "did": "bait"},
    "ill": {
        "animals": "EWES", "head_ill": "2", "head_at_risk": "85", "signs": "staggering",
    },
    "notify": {
        "role": "vet", "who_told": "E. Ash", "what": "stop feeding", "abouts": "25/101",
    },
    "hold": {"held": "R4", "sort": "rack", "why": "smelt musty"},
    "water": {
        "point": "P1", "kit": "DPD, PH", "free": "0,42", "pH": "7.4", "method": "disc",
    },
    "disturbance": {"points": "P1, P2", "sort": "repair", "what": "burst pipe"},
    "calibrate": {
        "kit": "DPD", "passed": "yes", "against": "1.00 mg/L", "shown": "1,02",
        "unit": "mg/L", "next_on": "1.3.2026",
    },
    "train": {"person": "TO", "topic": "water", "until": "1.9.2026"},
    "visitor": {
        "name": "A driver", "why": "delivery", "washed_hands": "yes",
        "dipped_boots": "yes", "well": "yes", "with_whom": "MP", "left_at": "10:15",
    },
    "accident": {"sort": "cut", "who": "TO", "what": "tray edge", "days_off": "0"},
    "file": {"sort": "audit", "title": "Yearly audit", "dated": "1.9.2025"},
    "season": {"turn": "stop", "why": "grass enough"},
}  # fmt: skip
"""Every kind but those that answer a rota, or an entry by its name."""


@dataclass
class BinderFarm:
    """The record of the farm, and the program run upon it."""

    folder: Path
    now: datetime = NOW

    @property
    def path(self) -> Path:
        return self.folder / "farm.db"

    def world(self) -> World:
        environ = {
            "HYGIENE_RECORD": str(self.path),
            "HYGIENE_KEYS": str(self.folder / "keys"),
            "HYGIENE_BY": "MP",
        }
        return World(now=lambda: self.now, environ=environ)

    def run(self, *words: object) -> Result:
        typed = [str(word) for word in words]
        return CliRunner().invoke(command, typed, obj=self.world())

    def put(self, name: str, *lines: str) -> Path:
        path = self.folder / name
        path.write_text("\r\n".join(lines) + "\r\n", "utf-8")
        return path

    def entries(self, *kinds: str) -> list[Entry]:
        with Record.open(self.path) as record:
            return list(record.entries(kinds))

    def heads(self) -> list[str]:
        with Record.open(self.path) as record:
            return [str(head) for head in record.heads()]

    def into(self, folder: Path) -> BinderFarm:
        shutil.copytree(self.folder, folder, dirs_exist_ok=True)
        return replace(self, folder=folder)


def made(folder: Path) -> BinderFarm:
    farm = BinderFarm(folder)
    typer.testing._get_command = lambda given: given
    done = farm.run("set-up", FARM, "--from", "2025-08-01", "--by", "MP", "--yes")
    assert done.exit_code == 0, done.output
    return farm


def heading(form: Form, good: dict[str, str]) -> str:
    return ";".join(["date", "time", "by", *good])


def line(good: dict[str, str], number: int = 0) -> str:
    return ";".join([f"{8 + number % 20}.9.2025", "8:30", "MP", *good.values()])
