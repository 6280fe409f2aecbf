"""Kill each writing command at points spread over its writes, and look what is left.

A scene is a farm as it stands before the command, and the command as it is typed. It
is run once to count its writes, and then again and again on a copy, killed just before
one of them. What must hold then, and again once the same was typed a second time:
every record and every copy verifies, no line that stood before is gone, and whatever
was said to be written is there.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from dose_farm import DoseFarm, build_doses
from sprout_farm import SproutFarm
from traced import Ran, traced

from hygiene.book.backup import heads_beside
from hygiene.book.record import Record
from hygiene.book.verify import damage
from hygiene.cli import command

FINE = (0, 3)
SPOILT = b"spoilt by water"
NAME = r"[a-z]+-[a-z0-9]{4}/\d+"
WRITTEN = re.compile(
    rf"(?m)(?:(?:[Ww]ritten|Already recorded) as |^  )"
    rf"({NAME})(?: to ({NAME}))?(?=[:,]|$)"
)
"""One entry, or the first and the last of many that were written as one."""
MADE = re.compile(r"Written: (/[^ ,]+)")
ENDS = {".pdf": b"%%EOF", ".html": b"</html>"}
Lines = set[tuple[str, int, str]]


class Scene(NamedTuple):
    """A command, what it is typed in, and what must be said when it has worked."""

    name: str
    words: tuple[str, ...]
    prepare: Callable[[SproutFarm], object] = lambda farm: None
    brings: str | None = None
    """The file whose lines must be in the record once it was said that they are."""
    spoilt: bool = False
    """Whether the record was unreadable before, and may be until it is replaced."""
    makes: str = ""
    """The record that the command makes, and that may be missing until then."""


class Tally(NamedTuple):
    """How often a command was killed, of how many writes, and what was checked."""

    kills: int
    writes: int
    acknowledged: int


def base(folder: Path) -> SproutFarm:
    """A farm with a batch, a container, another device's record, and a copy."""
    farm: SproutFarm = build_doses(folder)
    farm.later(hours=1)
    farm.batch()
    return farm


def killed(farm: SproutFarm, scene: Scene, folder: Path, most: int) -> Tally:
    """Kill ``scene`` at up to ``most`` points; raises ``AssertionError``."""
    ready = _copy(farm, folder / "ready")
    scene.prepare(ready)
    brought = lines(ready.folder / scene.brings) if scene.brings else set()
    before = brought
    if not scene.spoilt and ready.path.exists():
        before = lines(ready.path)
    whole = _run(_copy(ready, folder / "whole"), scene)
    assert whole.code in FINE, (scene.name, whole)
    kills = acknowledged = 0
    for point in spread(whole.writes, most):
        work = _copy(ready, folder / "work")
        done = _run(work, scene, point)
        kills += done.killed
        where = f"{scene.name}, killed before write {point}"
        if work.path.exists() or scene.makes != work.path.name:
            acknowledged += _check(work, before, brought, done, where)
        else:
            assert not _said(done), where
        work.later(seconds=1)
        again = _run(work, scene)
        made = (work.folder / scene.makes).is_file() if scene.makes else False
        assert again.code in FINE or (made and "already" in again.said), (where, again)
        acknowledged += _check(work, before | brought, brought, again, where)
        assert not _missing(work, done), where
    return Tally(kills, whole.writes, acknowledged)


def spread(writes: int, most: int) -> list[int]:
    """The points: every write where they are few, else so many at even distances."""
    if writes <= most:
        return list(range(1, writes + 1))
    return sorted({1 + round(n * (writes - 1) / (most - 1)) for n in range(most)})


def lines(path: Path) -> Lines:
    with Record.open(path) as record:
        rows = record.db.execute("select book, seq, line from entry").fetchall()
    return {(book, seq, line) for book, seq, line in rows}


def _copy(farm: SproutFarm, folder: Path) -> SproutFarm:
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(farm.folder, folder)
    return replace(farm, folder=folder)


def _run(farm: SproutFarm, scene: Scene, kill_at: int = 0) -> Ran:
    minted = farm.folder / "can.txt"
    can = minted.read_text() if minted.exists() else ""
    words = [
        word.replace("HERE", str(farm.folder)).replace("CAN", can)
        for word in scene.words
    ]
    world = farm.world()
    world = world._replace(environ={**world.environ, "HYGIENE_BY": "AB"})

    def typed() -> object:
        return command.main(
            args=words, prog_name="hygiene", obj=world, standalone_mode=False
        )

    return traced(typed, farm.folder / "said", kill_at)


def _check(
    farm: SproutFarm, before: Lines, brought: Lines, done: Ran, where: str
) -> int:
    """What must hold whatever happened; how much was said to be done by then."""
    held: Lines = set()
    for path in _records(farm.folder):
        if path.read_bytes().startswith(SPOILT):
            continue
        with Record.open(path) as record:
            assert damage(record, heads_beside(path)) == [], (where, path)
        held |= lines(path)
    for path in farm.folder.iterdir():
        end = ENDS.get(path.suffix)
        assert not end or path.read_bytes().rstrip().endswith(end), (where, path)
    assert farm.path.exists(), where
    assert before <= held, where
    assert not _missing(farm, done), (where, _missing(farm, done), done)
    said = sum(word in done.said for word in ("Taken over", "Restored and"))
    if said:
        assert brought <= lines(farm.path), where
    made = [Path(name) for name in MADE.findall(done.said)]
    assert all(path.is_file() for path in made), where
    return said + len(made) + len(_said(done)) + ("Copied and" in done.said)


def _said(done: Ran) -> set[str]:
    """The entries that were said to be written."""
    found = WRITTEN.findall(done.said)
    return {name for names in found for name in _between(*names)}


def _between(first: str, last: str) -> Iterator[str]:
    book, _, seq = first.rpartition("/")
    end = last.rpartition("/")[2] or seq
    yield from (f"{book}/{n}" for n in range(int(seq), int(end) + 1))


def _missing(farm: SproutFarm, done: Ran) -> set[str]:
    """What was said to be written and is not in the record."""
    said = _said(done)
    return said and said - {f"{book}/{seq}" for book, seq, _ in lines(farm.path)}


def _records(folder: Path) -> Iterator[Path]:
    """Every file that bears the name of a record; what is half made does not."""
    for path in folder.rglob("*.db"):
        if not path.name.startswith("."):
            yield path


def _stick(farm: SproutFarm) -> Path:
    stick = farm.folder / "stick"
    stick.mkdir()
    return stick


def _backed_up(farm: SproutFarm) -> None:
    from hygiene.book.backup import back_up

    stick = _stick(farm)
    with Record.open(farm.path) as record:
        back_up(record, stick, farm.now, 9)


def _spoilt(farm: SproutFarm) -> None:
    """A copy lies on the stick, and the record itself is gone."""
    shutil.copy(farm.path, _stick(farm) / "copy.db")
    farm.path.write_bytes(SPOILT * 9999)


def _behind(farm: SproutFarm) -> None:
    """The record stands as it was before the copy's last lines."""
    old = farm.path.read_bytes()
    farm.lot()
    shutil.copy(farm.path, _stick(farm) / "copy.db")
    farm.path.write_bytes(old)


def _two(farm: SproutFarm) -> None:
    """Another device wrote two hundred lines and a kept paper of its own."""
    office = replace(farm, folder=farm.folder.with_name(f"{farm.folder.name}-office"))
    shutil.rmtree(office.folder, ignore_errors=True)
    office.folder.mkdir()
    shutil.copy(farm.path, office.path)
    stick = _stick(farm)
    paper = office.folder / "paper.txt"
    paper.write_text("kept\n" * 4000)
    from hygiene.kinds.attached import Attached
    from hygiene.kinds.find import Hold, Pest
    from hygiene.kinds.papers import File

    def write(writing):  # type: ignore[no-untyped-def]
        digest = writing.attach(paper)
        kept = Attached(sha256=digest, name="paper.txt", bytes=paper.stat().st_size)
        writing.add(File(sort="other", title="site", attached=(kept,)), by="CD")
        writing.add(Hold(held="R2", sort="rack", why="musty"), by="CD")
        for n in range(200):
            writing.add(Pest(what="rat", place=f"bay {n}"), by="CD")

    office.write(write)
    shutil.move(office.path, stick / "office.db")


def _older(farm: SproutFarm) -> None:
    import sqlite3

    with sqlite3.connect(farm.path) as db:
        db.execute("pragma user_version = 0")
        db.execute("drop view pest")


def _to_sign(farm: SproutFarm) -> None:
    farm.later(minutes=5)


FARM = """
[farm]
name = "Fold"
address = "1 Mill Lane"
time_zone = "Europe/London"
[[person]]
code = "AB"
name = "A. Birch"
roles = ["manager"]
[[room]]
code = "GROW"
name = "Growing room"
[[tray]]
code = "T001..T200"
"""


GATE = """
code = "gate"
title = "Gate shut"
version = 1
dated = 2026-01-01
rule = "FREQ=DAILY"
starts = 2026-01-01
[[steps]]
code = "shut"
text = "It is shut"
"""


def _farm_file(farm: SproutFarm) -> None:
    (farm.folder / "FARM.toml").write_text(FARM)
    (farm.folder / "checklists").mkdir()
    (farm.folder / "checklists" / "gate.toml").write_text(GATE)


def _new_farm(farm: SproutFarm) -> None:
    _farm_file(farm)
    farm.path.unlink()
    shutil.rmtree(farm.keys)


def _visitors(farm: SproutFarm) -> None:
    """A year's book of the gate, in a spreadsheet."""
    rows = (f"2026-01-{1 + n % 28:02},AB,Driver {n},delivery" for n in range(300))
    path = farm.folder / "visitor.csv"
    path.write_text("\n".join(("date,by,name,why", *rows)))


def _own_lines(farm: SproutFarm) -> None:
    told = (line for _, _, line in sorted(lines(farm.path)))
    (farm.folder / "all.jsonl").write_text("".join(f"{line}\n" for line in told))


def _can(farm: SproutFarm) -> None:
    assert isinstance(farm, DoseFarm)
    (farm.folder / "can.txt").write_text(farm.can())
    farm.later(minutes=30)
    _photo(farm)


def _photo(farm: SproutFarm) -> None:
    (farm.folder / "photo.bin").write_bytes(bytes(range(256)) * 400)


CARRYING = (
    Scene("backup", ("backup", "HERE/stick", "--keep", "1"), _backed_up),
    Scene("restore", ("restore", "HERE/stick/copy.db"), _behind, "stick/copy.db"),
    Scene(
        "restore over damage",
        ("restore", "HERE/stick/copy.db"),
        _spoilt,
        "stick/copy.db",
        spoilt=True,
    ),
    Scene("merge", ("merge", "HERE/stick"), _two, "stick/office.db"),
    Scene("upgrade", ("hold", "R1", "--sort", "rack", "--why", "wet"), _older),
)
WRITING = (
    Scene("set-up", ("set-up", "HERE/FARM.toml", "--yes"), _farm_file),
    Scene(
        "first set-up", ("set-up", "HERE/FARM.toml", "--yes"), _new_farm,
        makes="farm.db",
    ),
    Scene("hold", ("hold", "R1", "--sort", "rack", "--why", "wet")),
    Scene("seed", ("seed", "ALDER", "AF/9", "50", "--untreated-seen-by", "AB")),
    Scene(
        "dose",
        ("dose", "T001..T012", "--from", "CAN=96ml", "--to", "200", "--in", "60 L",
         "--start", "190", "--end", "160", "--kit", "QS", "--temp", "14 C",
         "--stood", "12 min", "--washed", "--rinsed", "--dry",
         "--attach", "HERE/photo.bin"),
        _can,
    ),
    Scene(
        "mould",
        ("mould", "R1", "--colour", "grey", "--attach", "HERE/photo.bin"),
        _photo,
    ),
    Scene(
        "sign",
        ("sign", "walk", "temp=21", "mould.R1=2", "mould.R2=0", "mould.R3=0",
         "pests=none"),
        _to_sign,
    ),
    Scene("import", ("import", "HERE/visitor.csv", "--write"), _visitors),
    Scene(
        "import of lines",
        ("import", "HERE/all.jsonl", "--record", "HERE/new.db", "--write"),
        _own_lines,
        makes="new.db",
    ),
    Scene("report", ("report", "day", "--html", "--out", "HERE/day.html")),
    Scene("report as PDF", ("report", "day", "--out", "HERE/day.pdf")),
)  # fmt: skip
