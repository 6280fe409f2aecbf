"""What a wet laptop, a full disk or a curious hand does to a record, by name.

Each fault is done to a farm's folder; then every command is typed there. What must be
so is in a row of the table: the exit code of those that read and those that write, and
a word of the one line that is said.
"""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

from dose_farm import DoseFarm
from faulting import Said, as_anybody, full, nothing, typed
from killing import FARM, GATE

from hygiene.kinds.find import Pest

READ = {
    "today": ("today",),
    "log": ("log",),
    "trace": ("trace", "LOT"),
    "report": ("report", "day", "--html", "--out", "day.html"),
    "ready": ("ready",),
    "export": ("export", "out"),
    "calendar": ("calendar", "--out", "c.ics"),
    "labels": ("labels", "T001", "--html", "--out", "l.html"),
    "sheets": ("sheets", "rota", "--html", "--out", "s.html"),
}
WRITE = {
    "hold": ("hold", "R1", "--sort", "rack", "--why", "wet"),
    "dose": ("dose", "T001..T004", "--product", "hypo", "--to", "200", "--washed"),
    "mould": ("mould", "R1", "--colour", "grey"),
    "sign": ("sign", "floors", "swept=yes", "--reason", "wet"),
    "set-up": ("set-up", "FARM.toml", "--yes"),
    "import": ("import", "visitor.csv", "--write"),
    "merge": ("merge", "stick/other.db"),
    "backup": ("backup", "stick"),
    "restore": ("restore", "stick/other.db"),
}
FINE = (0, 3)
PUT_BACK = ("restore",)
"""Brings a good copy back where the record is gone or damaged."""
OWN_FILE = ("report", "export", "calendar", "labels", "sheets")
"""Read the record, and write a file of their own."""


class Fault(NamedTuple):
    """What is done, in what the command is typed, and what must come of it."""

    name: str
    reading: tuple[int, ...]
    writing: tuple[int, ...]
    says: str
    do: Callable[[DoseFarm], Any] = lambda farm: None
    before: Callable[[], object] = nothing
    out: Path | None = None
    dropped: str = ""
    """A variable of the environment that is not there."""
    but: Mapping[str, tuple[int, ...]] = MappingProxyType({})
    """Commands that end otherwise."""
    tells: tuple[str, ...] = ()
    """Commands that work, and must say it nevertheless."""


def _read_only(farm: DoseFarm) -> None:
    for path in (farm.folder, *farm.folder.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)


def _file_read_only(farm: DoseFarm) -> None:
    farm.path.chmod(0o444)


def _gone(farm: DoseFarm) -> None:
    farm.path.unlink()


def _folder(farm: DoseFarm) -> None:
    farm.path.unlink()
    farm.path.mkdir()


def _locked(farm: DoseFarm) -> sqlite3.Connection:
    held = sqlite3.connect(farm.path, isolation_level=None)
    held.execute("begin exclusive")
    return held


def _set_back(farm: DoseFarm) -> None:
    ahead = replace(farm, now=datetime.now(UTC) + timedelta(days=3))
    ahead.write(lambda w: w.add(Pest(what="rat", place="bay"), by="AB"))


def _flipped(farm: DoseFarm) -> None:
    content, dice = bytearray(farm.path.read_bytes()), random.Random(3)
    for at in range(100, len(content), 97):
        content[at] = dice.randrange(256)
    farm.path.write_bytes(content)


def _cut(farm: DoseFarm) -> None:
    farm.path.write_bytes(farm.path.read_bytes()[:30_017])


def _empty(farm: DoseFarm) -> None:
    farm.path.write_bytes(b"")


def _newer(farm: DoseFarm) -> None:
    with sqlite3.connect(farm.path) as db:
        db.execute("pragma user_version = 99")
    db.close()


def _in_wal(farm: DoseFarm) -> sqlite3.Connection:
    """Another tool holds it, in its own way of writing."""
    held = sqlite3.connect(farm.path, isolation_level=None)
    held.execute("pragma journal_mode = wal")
    held.execute("analyze")
    return held


def _cut_short(farm: DoseFarm) -> None:
    """A writer was stopped in the middle: its journal lies beside."""
    db = sqlite3.connect(farm.path, isolation_level=None)
    db.execute("pragma cache_size = 1")
    db.execute("begin immediate")
    for number in range(40):
        row = (f"{number:064}", os.urandom(9000))
        db.execute("insert into attachment values (?, ?)", row)
    for end in ("", "-journal"):
        shutil.copy(f"{farm.path}{end}", f"{farm.folder}/left{end}")
    db.execute("rollback")
    db.close()
    for end in ("", "-journal"):
        shutil.move(f"{farm.folder}/left{end}", f"{farm.path}{end}")


def _strange_parts(farm: DoseFarm) -> None:
    for end in ("-journal", "-wal", "-shm"):
        Path(f"{farm.path}{end}").write_bytes(os.urandom(5000))


def _keys_shut(farm: DoseFarm) -> None:
    for path in (*farm.keys.iterdir(), farm.keys):
        path.chmod(0o500 if path.is_dir() else 0o400)


def _keys_a_file(farm: DoseFarm) -> None:
    shutil.rmtree(farm.keys)
    farm.keys.write_text("x")


def _nobody() -> None:
    """A user without a home, whom the machine does not know."""
    import ctypes
    import sys

    os.environ.pop("HOME", None)
    if os.geteuid() == 0 and sys.platform == "linux":
        libc = ctypes.CDLL(None)
        libc.prctl(8, 1, 0, 0, 0)  # keep what it may do: the files are not its own
        os.setuid(54_321)
        head = (ctypes.c_uint32 * 2)(0x20080522, 0)
        held = (ctypes.c_uint32 * 6)()
        libc.capget(head, held)
        held[0] = held[1]
        libc.capset(head, held)


def _no_folder() -> None:
    """The folder in which the command is typed is gone."""
    os.mkdir("gone")
    os.chdir("gone")
    os.rmdir(f"{os.getcwd()}")


MADE = dict.fromkeys(OWN_FILE, (7, 9))
FAULTS = (
    Fault("nothing at all", FINE, FINE, ""),
    Fault("a full terminal", (7,), (7,), "not all was printed", out=Path("/dev/full")),
    Fault("a full disk", FINE, (7,), "disk is full", before=full(0), but=MADE),
    Fault("a read-only folder", FINE, (7,), "read-only|Permission", _read_only,
          as_anybody, but=MADE),
    Fault("a read-only file", FINE, (7,), "read-only", _file_read_only, as_anybody,
          but={"backup": (3,), "restore": FINE}),
    Fault("no file", (7,), (7,), "there is no record at", _gone,
          but={"set-up": FINE, "restore": FINE}),
    Fault("a folder", (7,), (7,), "is a folder|no plain file|no record", _folder,
          but={"restore": (2,)}),
    Fault("a locked file", (7,), (7,), "another program is writing", _locked),
    Fault("a clock set back", FINE, FINE, "LOOK AT THE CLOCK", _set_back,
          but={"restore": (5,)},
          tells=("today", "hold", "dose", "mould", "sign", "set-up", "backup")),
    Fault("pages that were damaged", (6,), (6,), "is damaged", _flipped,
          but={"restore": FINE}),
    Fault("a file cut short", (6,), (6,), "is damaged", _cut, but={"restore": FINE}),
    Fault("a file of no length", (7,), (7,), "is not a record", _empty,
          but={"restore": FINE}),
    Fault("a newer version", (7,), (7,), "written by a newer version", _newer),
    Fault("another tool holds it in WAL", FINE, FINE, "", _in_wal,
          but={"restore": (7,)}),
    Fault("a write cut short", FINE, FINE, "", _cut_short),
    Fault("strange files beside it", FINE, FINE, "", _strange_parts),
    Fault("keys that cannot be written", FINE, (7,), "key cannot be kept", _keys_shut,
          as_anybody, but={"merge": FINE, "backup": (3,), "restore": FINE}),
    Fault("a file where keys are kept", FINE, (7,), "key cannot be kept", _keys_a_file,
          but={"merge": FINE, "backup": (3,), "restore": FINE}),
    Fault("no home folder", FINE, (7,), "no home folder", before=_nobody,
          dropped="HYGIENE_KEYS",
          but={"merge": FINE, "backup": (3,), "restore": FINE}),
    Fault("no folder to be in", FINE, FINE, "", before=_no_folder,
          but={**dict.fromkeys(OWN_FILE, (7, 9)), "set-up": (8,), "import": (2,),
               "merge": (7,), "backup": (7,), "restore": (7,)}),
)  # fmt: skip


def scene(farm: DoseFarm, folder: Path) -> DoseFarm:
    """A copy of the farm as it was yesterday, with what the commands need."""
    shutil.copytree(farm.folder, folder)
    made = replace(farm, folder=folder)
    made.now = datetime.now(UTC).replace(microsecond=0) - timedelta(days=1)
    (folder / "lot.txt").write_text(made.lot())
    (folder / "FARM.toml").write_text(FARM)
    (folder / "checklists").mkdir()
    (folder / "checklists" / "gate.toml").write_text(GATE)
    rows = "date,by,name,why\n2026-03-02,AB,Driver,delivery\n"
    (folder / "visitor.csv").write_text(rows)
    (folder / "stick").mkdir()
    there = replace(made, folder=folder / "there")
    shutil.copytree(folder / "keys", there.folder / "keys")
    shutil.copy(made.path, there.path)
    shutil.rmtree(there.keys)
    there.write(lambda w: w.add(Pest(what="rat", place="bay"), by="AB"))
    shutil.move(there.path, folder / "stick" / "other.db")
    (folder / "stick" / "other.db").chmod(0o644)
    shutil.rmtree(there.folder)
    return made


def suffered(ready: DoseFarm, folder: Path, fault: Fault, name: str) -> str | None:
    """What is wrong with how a command took a fault; None where all is well."""
    work = replace(ready, folder=folder)
    _away(folder)
    shutil.copytree(ready.folder, folder)
    held = fault.do(work)
    before = work.path.read_bytes() if work.path.is_file() else b""
    words = tuple(
        (folder / "lot.txt").read_text() if word == "LOT" else word
        for word in (READ | WRITE)[name]
    )
    environ = {
        "HYGIENE_RECORD": str(work.path),
        "HYGIENE_KEYS": str(work.keys),
        "HYGIENE_BY": "AB",
    }
    environ.pop(fault.dropped, None)
    said = typed(words, folder, environ, fault.before, fault.out)
    if held is not None:
        held.close()
    after = work.path.read_bytes() if work.path.is_file() else b""
    if held is not None:  # what another tool does to the file is its own
        after = before
    return _wrong(fault, name, said) or _changed(said, before, after, folder, fault)


def _wrong(fault: Fault, name: str, said: Said) -> str | None:
    wanted = fault.but.get(name, fault.reading if name in READ else fault.writing)
    if said.code not in wanted or "Traceback" in said.err or "NOT OURS" in said.err:
        return f"{fault.name}, {name}: {said}"
    ours = [line for line in said.err.splitlines() if line.startswith("hygiene: ")]
    if said.code not in FINE and len(ours) != 1:
        return f"{fault.name}, {name}: not one line: {said}"
    told = said.out + said.err
    must = said.code not in FINE or name in fault.tells
    if must and name not in fault.but and not _says(fault, told):
        return f"{fault.name}, {name}: says otherwise: {said}"
    return None


def _says(fault: Fault, told: str) -> bool:
    return any(word in told for word in fault.says.split("|"))


def _changed(
    said: Said, before: bytes, after: bytes, folder: Path, fault: Fault
) -> str | None:
    left = [path.name for path in folder.rglob(".*")]
    if left:
        return f"{fault.name}: left behind: {left}"
    if said.code not in FINE and fault.out is None and before != after:
        return f"{fault.name}: the record was changed: {said}"
    return None


def _away(folder: Path) -> None:
    if folder.exists():
        for path in (folder, *folder.rglob("*")):
            if not path.is_symlink():
                path.chmod(0o700)
        shutil.rmtree(folder)
