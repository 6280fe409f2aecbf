"""Random arguments for every command but ``calc``, on a small shed's own record.

The commands and their options are read from the program itself, so a new one is
covered without a word here; what it does not know, it is given a text or a number.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from dose_farm import DoseFarm, build_doses

from hygiene.cli import command
from hygiene.cli.world import World
from hygiene.kinds.setup import Point

LEFT_OUT = ("calc", "demo")
"""``calc`` has its own; ``demo`` makes a year of days."""
DATES = ("2026-03-01", "2026-03-02", "today", "yesterday", "2026-02-20", "2026-03-03")
TIMES = ("06:10", "05:30", "2026-03-01 07:10", "2026-03-02T06:05:00+00:00", "05:00")
TEXT = ("seen", "door left open", "ü 🐐", "x" * 200, "mouse, door, 2", "E. Ash")
NUMBERS = ("0", "1", "2", "7", "21.3", "100", "0.5", "-1", "40")
TRAYS = ("T001..T004", "T005", "T001,T003", "T010..T012", "T999")
RACKS = ("R1", "R2", "R3", "GROW", "L1", "K1", "T001", "P1", "EWES", "HOLLOW")
POOLS: dict[str, tuple[str, ...]] = {
    "sign.task": ("walk", "floors", "review", "1", "2", "1-2", "flo", "9", "wolk"),
    "answers": ("temp=21.3", "temp=27", "mould.R1=0", "mould.R2=0", "mould.R1=2",
                "pests=none", "pests=mouse, door, 2", "smell=musty", "drains=no",
                "walk.temp=20", "temp.did=aired", "mould.R3=0", "swept=no", "zork=1"),
    "changes": ("temp=20.5", "mould.R1=1", "why=because", "note=wet", "note=", "marks=",
                "grams=5000", "trays=T002", "start=150", "did=cleaned", "passed=no"),
    "where": ("T005..T008@R2", "T020..T024@R1/2", "T001@R3", "T030..T032", "T005@R9"),
    "line": ("L1", "L2", "L9"),
    "group": ("EWES", "GOATS", "ewes", "COWS"), "buyer": ("HOLLOW", "NOBODY"),
    "supplier": ("ALDER", "NOBODY"), "weight": NUMBERS, "size": ("10 L", "5 kg", "2"),
    "counted": ("381/400", "0/100", "9/8", "a/b"), "sort": ("rack", "batch", "tray",
                "lot", "near miss", "injury", "sds", "zork"),
    "kit": ("QS", "OLD", "NONE"), "kits": ("QS", "OLD"),
    "kind": ("sign_off", "sign-off", "mould", "dose", "strike", "zork"),
    "results": ("free=0.6", "ecoli=<1", "ph=7.2", "ecoli=12", "zork=1", "temp=14 C"),
    "names": ("free", "ecoli", "zork"), "turn": ("start", "stop", "stay"),
    "person": ("AB", "CD", "ZZ"), "topic": ("chemicals", "hygiene"),
    "report.name": ("day", "month", "dosing", "store", "water", "zork"),
    "role": ("vet", "authority", "zork"), "point": ("P1", "P9"),
    "word_role": ("vet", "authority"), "product": ("hypo", "peracid", "soap", "NONE"),
    "way": ("dip", "spray", "soak", "zork"), "tools": ("JUG1", "TUB1", "JUG1,TUB1"),
    "from_": ("{can}=108ml", "{can}", "{can}=5", "C-XX"), "spot": ("start",),
    "read": ("start=190", "end=160@06:20", "x=1"), "head": ("{entry}:abc", "nonsense"),
    "after": ("repair", "flush", "zork"), "file": ("FARM.toml", "broken.toml", "none"),
    "went_to": ("EWES", "HOLLOW", "{batch}"), "came_from": ("ALDER",),
    "weighed": ("{lot}=40", "{lot}=x"), "out": ("page.html", "farm.db", "no/page.html"),
    "attach": ("photo.jpg", "none.jpg", "."),
    "month": ("2026-03", "2026-13", "2026-02"),
    "container.what": ("{can}", "hypo", "NONE"), "kept_at": ("15 C", "70 F", "15"),
    "strength": ("120", "120 g/L", "0"), "lost": ("100 ml", "1 L", "9000 L"),
    "ph": ("7.2", "99"), "temp": ("14 C", "14", "60 F"), "volume": ("60 L", "5", "0 L"),
    "lots": ("{lot}=6", "{lot}", "{lot}=9999", "L-XX=1"), "unit": ("C", "mg/L"),
    "lot": ("{lot}", "L-XX"), "batch": ("{batch}", "B-XX"),
    "assess.names": ("{entry}",),
    "more": ("variety=Tall", "zork=1"), "some": TRAYS, "keep": TRAYS, "only": TRAYS,
}  # fmt: skip
BY_METAVAR: dict[str, tuple[str, ...]] = {
    "DATE": DATES, "TIME": TIMES, "PPM": ("200", "190", "50 ppm", "0"),
    "TEMP": ("14 C",),
    "VOLUME": ("60 L", "250 ml"), "CODE": ("AB", "CD", *RACKS), "ENTRY": ("{entry}",),
    "BATCH|TRAYS": ("{batch}", *TRAYS), "BATCH|LOT|TRAYS": ("{batch}", "{lot}", "T001"),
    "BATCH|TRAYS|RACK": ("{batch}", "R1", "R2", "T001"),
    "LOT|BATCH": ("{lot}", "{batch}"),
    "CODE|ENTRY": ("{lot}", "{batch}", "{entry}", *RACKS), "LOT": ("{lot}",),
    "[CODES]...": (*TRAYS, "L1", "T001..T004"), "HOLD...": ("{entry}",),
    "ENTRY|CODE": ("{entry}", "{batch}"), "[CODE]": ("{can}", "{batch}", "EWES"),
    "TOOL": ("10 ml syringe, 0.5 ml marks",), "LIST": ("gloves,goggles",),
}  # fmt: skip
ENTRY_NAMES = ("name", "about", "because", "tub")
USUAL = {
    "day": 0.1, "first": 0.2, "last": 0.2, "reason": 0.4, "check": 0.2, "help": 0.0,
    "as_json": 0.3, "by": 0.95, "at": 0.15, "written_by": 0.1, "record": 0.02,
    "attach": 0.1, "yes": 0.5, "as_html": 1.0, "answers": 1.0, "results": 0.9,
}  # fmt: skip
"""How often an option that is not required is given; the others at 0.35."""
ODD = (
    "", " ", "nan", "-5", "9" * 40, "1e9", "\x00", "\x1b[31m", "\u202eabc", "٣", "--",
    "x" * 10_000, "a\nb", "{}", "%s", "=", "a=", "=b", "..", "/", "a/b", "1-0",
    "0001-01-01",
    "9999-12-31", "2026-03-29 01:30", "24:00", "T001..T000", "\udcff",
)  # fmt: skip


class Shed:
    """The shed, and the codes that its record gave."""

    def __init__(self, folder: Path) -> None:
        farm: DoseFarm = build_doses(folder)
        point = Point(code="P1", name="Last nozzle", line="L1", chlorinated=True)
        farm.act(lambda w: w.add(point, by="AB"))
        self.farm = farm
        self.lots = [farm.lot(), farm.lot(supplier_lot="AF/2")]
        self.cans = [farm.can(), farm.can("peracid")]
        farm.dose(1, 2, drawn=())
        sown = [farm.sow((self.lots[0], 6000)), farm.sow((self.lots[1], 6000),
                trays=range(9, 13), rack="R2")]  # fmt: skip
        self.batches = [str(made.sow.get("batch")) for made in sown]
        farm.feed(self.batches[0], 1)
        farm.mould(self.batches[1], tray_count=1)
        (folder / "photo.jpg").write_bytes(b"\xff\xd8")
        (folder / "broken.toml").write_text("[farm\n")
        with farm.open() as record:
            self.book, self.entries = record.heads()[0].book, record.count()

    def fill(self, chance: random.Random, text: str) -> str:
        """Put codes of this record where ``{lot}`` and the like stand."""
        for name, codes in (
            ("{lot}", self.lots),
            ("{batch}", self.batches),
            ("{can}", self.cans),
        ):
            text = text.replace(name, chance.choice(codes))
        seq = chance.randint(1, self.entries + 30)
        return text.replace("{entry}", f"{self.book}/{seq}")

    def world(self) -> World:
        """A minute later than the last time."""
        self.farm.later(minutes=1)
        return self.farm.world()


def _pool(command_name: str, option: Any) -> tuple[str, ...]:
    for key in (f"{command_name}.{option.name}", option.name):
        if key in POOLS:
            return POOLS[key]
    if option.name in ENTRY_NAMES:
        return ("{entry}",)
    if option.name == "task":
        return POOLS["sign.task"]
    if option.name in ("by", "written_by"):
        return ("AB", "AB", "AB", "CD", "ZZ")
    if option.name == "at":
        return TIMES
    if option.metavar in BY_METAVAR:
        return BY_METAVAR[option.metavar]
    return TEXT if option.type.name == "str" else NUMBERS


def _value(chance: random.Random, command_name: str, option: Any) -> str:
    if chance.random() < 0.03:
        odd = chance.choice(ODD)
        # no shell can hand over a NUL, and no file name holds one
        return odd.replace("\x00", "\x01") if option.type.name == "path" else odd
    return chance.choice(_pool(command_name, option))


def _often(option: Any) -> float:
    return 0.98 if option.required else USUAL.get(option.name, 0.35)


def _words(chance: random.Random, name: str, options: list[Any]) -> Iterator[str]:
    for option in options:
        if chance.random() > _often(option):
            continue
        if option.param_type_name == "argument":
            if name == "sign" and option.name == "answers" and chance.random() < 0.6:
                yield from ("temp=21.3", "mould.R1=0", "mould.R2=0", "pests=none")
                yield from ("mould.R3=0",)
                continue
            count = 1 if option.nargs == 1 else chance.randint(1, 3)
            yield from (_value(chance, name, option) for _ in range(count))
        elif option.is_flag:
            yield chance.choice([*option.opts, *option.secondary_opts])
        else:
            yield from (option.opts[-1], _value(chance, name, option))


def lines(seed: int, how_many: int, shed: Shed) -> Iterator[list[str]]:
    """Yield so many command lines, each a list of words after ``hygiene``."""
    chance = random.Random(seed)
    names = [name for name in command.table if name not in LEFT_OUT]
    known = {name: command.get_command(None, name).params for name in names}
    for _ in range(how_many):
        name = chance.choice(names)
        words = [shed.fill(chance, word) for word in _words(chance, name, known[name])]
        yield [name, *words]


def fault(words: list[str], result: Any) -> str | None:
    """Say what is wrong with how a command ended, or None."""
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        return f"raised {result.exception!r}"
    if result.exit_code not in (0, 2, 3, 4, 5, 7, 8, 9):
        return f"exit {result.exit_code}"
    if result.exit_code not in (0, 3) and not result.stderr.strip():
        return f"exit {result.exit_code} without a word"
    if result.exit_code in (0, 3) and "--json" in words and "--help" not in words:
        try:
            json.loads(result.stdout)
        except ValueError as odd:
            return f"not JSON: {odd}"
    return None


def got_past_the_parser(result: Any) -> bool:
    """Whether the command itself was reached: no usage error."""
    return not result.stderr.startswith("Usage:")
