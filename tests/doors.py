"""Hostile input at every door of the program, and what must be so after each.

A door makes an input, says whether it gets past its parser, and the words that hand it
over. Whatever comes: a documented code, no traceback, no file left lying about, and the
record keeps every byte unless the program says that it wrote (exit 0 or 3).
"""

from __future__ import annotations

import importlib.util
import json
import random
import shutil
import sqlite3
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import typer.testing
from binder_farm import BinderFarm
from binder_farm import made as binder
from broken import broken
from day_arguments import Shed, got_past_the_parser
from day_arguments import lines as argument_lines
from dose_farm import DoseFarm
from killing import FARM, GATE
from strange_files import WAYS, another
from tampering import files, with_files
from typer.testing import CliRunner, Result

from hygiene.cli import command
from hygiene.cli.world import World
from hygiene.errors import HygieneError
from hygiene.exchange.sheet import open_sheet
from hygiene.kinds.entry import Entry, read_line, write_line

CODES = {0, 2, 3, 4, 5, 6, 7, 8, 9}
WROTE = (0, 3)
NASTY: tuple[Any, ...] = (
    None, True, 0, -1, 10**17, Decimal("0.1"), Decimal("1E-9"), "", " ", "-", "--help",
    "x" * 10_000, "../../etc/passwd", "/dev/zero", "{{ 7*7 }}", "{% raw %}",
    "<script>alert(1)</script>", "'; drop table entry; --", "=1+1", "@SUM(A1)", "%s%n",
    "\u202egnp.exe", "\u2066x", "é" * 300, "\U0001f404", "٣", "NaN", "1e999",
    "2026-02-30", "2026-03-29T01:30:00+00:00", "0001-01-01T00:00:00Z", "9999-12-31",
    "shed-aaaa/1", "T001..T999999", "\\x1b[31m", "$(reboot)", "`id`", "${HOME}",
    [], ["x"], [[]], [{"x": 1}], {}, {"a": {"b": {}}}, [1] * 500,
)  # fmt: skip
"""Values that a line of JSON may hold; what TOML cannot say is left out there."""
REPORTS = (
    "day", "month", "dosing", "water", "seed", "batches", "feeding", "mould", "actions",
    "training", "calibration", "pests", "visitors", "store", "cards", "trace LOT",
    "trace BATCH", "vet EWES", "pack",
)  # fmt: skip
READERS: tuple[str, ...] = (
    "today", "today --json", "log", "log --all", "log --json", "ready", "ready --json",
    "trays", "container", "trace R1", "trace T001", "trace LOT", "trace BATCH",
    "trace EWES", "trend P1", "balance", "causes", "drill LOT", "cost", "verify",
    "show ENTRY", "vet EWES", "feed --check BATCH", "sow --check LOT=6",
    "calendar --out c.ics", "sheets rota --html --out p.html", "export --jsonl p.jsonl",
    "export tables", "labels trays --html --out p.html", "merge OTHER",
    *(f"report {name} --html --out p.html" for name in REPORTS),
)  # fmt: skip


class Tried(NamedTuple):
    """One input as it was handed over."""

    words: list[str]
    past: bool
    """Whether it is past the parser; for arguments the result says it."""
    shown: str


class Door(NamedTuple):
    """The record behind it, its world, and the inputs."""

    path: Path
    world: Callable[[], World]
    inputs: Iterator[Tried]


def fuzz(name: str, door: Door, count: int) -> tuple[Counter[str], list[str]]:
    """Hand over so many inputs: how they ended, and what was wrong with any."""
    typer.testing._get_command = lambda made: made  # type: ignore[assignment]
    runner, found, wrong = CliRunner(), Counter[str](), dict[str, str]()
    before = door.path.read_bytes()
    for number, tried in zip(range(count), door.inputs, strict=False):
        made = runner.invoke(command, tried.words, obj=door.world())
        at = f"{name}, input {number}: {tried.words} {tried.shown[:2000]}"
        odd = _fault(made)
        past = got_past_the_parser(made) if name == "arguments" else tried.past
        found["past the parser"] += past
        found[f"exit {made.exit_code}"] += 1
        after = door.path.read_bytes()
        if after != before:
            if made.exit_code not in WROTE:
                odd = f"the record was changed: {made.output}"
            found["written, as was asked"] += 1
            if name == "arguments":
                before = after
            else:
                door.path.write_bytes(before)
        for left in door.path.parent.glob(".*"):
            odd = f"left lying about: {left}"
            left.unlink()
        if odd:
            wrong.setdefault(odd[-200:], f"{at}\n{odd}")
    last = runner.invoke(command, ["verify"], obj=door.world())
    if last.exit_code:
        wrong["verify"] = f"{name}: does not verify: {last.output}"
    return found, list(wrong.values())


def _fault(made: Result) -> str:
    """What is wrong with how a command ended; empty where all is well."""
    if not isinstance(made.exception, SystemExit | None):
        return _trace(made)
    if made.exit_code not in CODES or "Traceback" in made.output:
        return f"exit {made.exit_code}: {made.output}"
    return ""


def _trace(made: Result) -> str:
    import traceback

    return "".join(traceback.format_exception(made.exception))[-3000:]


# ---- the doors --------------------------------------------------------------------


def arguments(folder: Path, dice: random.Random) -> Door:
    """Every command, with options and codes of a shed and odd ones among them."""
    shed = Shed(folder)

    def inputs() -> Iterator[Tried]:
        while True:
            for words in argument_lines(dice.randrange(10**9), 1000, shed):
                yield Tried(words, True, "")

    return Door(shed.farm.path, shed.world, inputs())


def farm_files(folder: Path, dice: random.Random) -> Door:
    """A farm file or a checklist in which something is not as it was."""
    farm = _dosed(folder)
    lists = folder / "checklists"
    lists.mkdir()
    path, gate = folder / "FARM.toml", lists / "gate.toml"

    def inputs() -> Iterator[Tried]:
        while True:
            texts = {path: FARM + MORE_FARM, gate: GATE + MORE_STEPS}
            spoilt = dice.choice((path, gate))
            content = _spoilt_toml(dice, texts[spoilt])
            for each, text in texts.items():
                each.write_bytes(content if each is spoilt else text.encode())
            yes = ["--yes"] if dice.random() < 0.3 else []
            yield Tried(["set-up", str(path), *yes], _is_toml(content), repr(content))

    return Door(farm.path, lambda: _as_ab(farm), inputs())


MORE_FARM = """
[[product]]
code = "hypo"
name = "Shed Hypochlorite"
actives = [{ name = "chlorine", strength = "125 g/L", density_kg_per_l = 1.2 }]
uses = ["tray", "floor"]
label_min_mg_per_l = 100
label_max_mg_per_l = 500
contact_minutes = 10
rinse_needed = true
sds_checked_on = 2026-01-15
[[animals]]
code = "EWES"
name = "Ewes"
species = "sheep"
head = 40
produces = ["lamb"]
"""
MORE_STEPS = """
[[steps]]
code = "temp"
text = "Room temperature"
sort = "reading"
unit = "C"
low = 18
high = 24.5
"""


def _is_toml(content: bytes) -> bool:
    try:
        tomllib.loads(content.decode())
    except (ValueError, RecursionError):
        return False
    return True


def _spoilt_toml(dice: random.Random, text: str) -> bytes:
    lines = text.split("\n")
    for _ in range(dice.randrange(1, 4)):
        at = dice.randrange(len(lines))
        key, sign, _ = lines[at].partition(" = ")
        match dice.randrange(8):
            case 0:
                del lines[at]
            case 1:
                lines.insert(at, f"{dice.choice(KEYS)} = {_in_toml(dice)}")
            case 2:
                lines.insert(at, dice.choice(TABLES))
            case _ if sign:
                lines[at] = f"{key} = {_in_toml(dice)}"
    content = "\n".join(lines).encode("utf-8", "surrogatepass")
    if dice.random() < 0.1:
        place = dice.randrange(len(content))
        content = content[:place] + dice.randbytes(3) + content[place + 1 :]
    return content


KEYS = ("code", "name", "v", '"a b"', "roles", "at", "rule", '"\\u0000"', "x.y.z")
TABLES = (
    "[farm]", "[[person]]", "[[tray]]", "[[x]]", "[a.b.c]", "[[steps]]", "[[farm]]",
    "[[product.actives]]", "[__proto__]", '["; drop"]',
)  # fmt: skip


def _in_toml(dice: random.Random) -> str:
    value = dice.choice(NASTY)
    odd = ("inf", "nan", "1979-05-27", "07:32:00", "0x1f", '"\\u0000"', "9" * 300)
    if value is None or dice.random() < 0.15:
        return dice.choice(odd)
    if isinstance(value, dict):
        return "{ a = { b = 1 } }"
    return json.dumps(value, default=str)


def sheets(folder: Path, dice: random.Random) -> Door:
    """Spreadsheets, what their headings mean, and lines, as a stranger saves them."""
    farm: BinderFarm = binder(folder)
    made = _soak("fuzz_import").inputs(dice)

    def inputs() -> Iterator[Tried]:
        for number, (name, content, words) in enumerate(made):
            path = folder / f"given-{name}"
            path.write_bytes(content)
            kind = [] if name.endswith((".toml", ".jsonl")) else [name.split(".")[0]]
            words = [str(folder / "new.db") if w == "NEW" else w for w in words]
            write = ["--write"] if number % 2 else []
            yield Tried(
                ["import", str(path), *kind, *words, *write],
                _is_sheet(name, content),
                repr(content),
            )
            path.unlink()
            (folder / "new.db").unlink(missing_ok=True)

    return Door(farm.path, farm.world, inputs())


def _is_sheet(name: str, content: bytes) -> bool:
    if name.endswith(".toml"):
        return _is_toml(content)
    if name.endswith(".jsonl"):
        return False
    try:
        open_sheet(content, name)
    except HygieneError:
        return False
    return True


def bodies(folder: Path, dice: random.Random) -> Door:
    """Lines that are well made and say odd things: imported, and then read."""
    farm = _lived(folder)
    codes = _codes(farm)
    with farm.open() as record:
        told = [line for (line,) in record.db.execute("select line from entry")]
    path, new = folder / "odd.jsonl", folder / "odd.db"
    runner = CliRunner()

    def inputs() -> Iterator[Tried]:
        while True:
            lines = list(told)
            for _ in range(dice.randrange(1, 5)):
                at = dice.randrange(1, len(lines))
                lines[at] = _odd_line(dice, lines[at])
            path.write_text("".join(f"{line}\n" for line in lines), "utf-8")
            new.unlink(missing_ok=True)
            words = ["import", str(path), "--record", str(new), "--write"]
            past = runner.invoke(command, words, obj=farm.world()).exit_code == 0
            odd = [now for was, now in zip(told, lines, strict=True) if was != now]
            for reader in dice.sample(READERS, 5):
                word = [*_filled(dice, reader, codes), "--record", str(new)]
                shown = "\n".join(line[:400] for line in odd)
                yield Tried(word if past else words, past, shown)
                for left in (folder / "p.html", folder / "p.jsonl"):
                    left.unlink(missing_ok=True)
                shutil.rmtree(folder / "tables", ignore_errors=True)

    return Door(farm.path, farm.world, inputs())


def _filled(dice: random.Random, reader: str, codes: dict[str, str]) -> list[str]:
    """The words of a reading command, with codes and places of this farm."""
    entry = f"{codes['BOOK']}/{dice.randrange(1, 45)}"
    words = reader.replace("ENTRY", entry)
    for name, code in codes.items():
        words = words.replace(name, code)
    return words.split(" ")


def _odd_line(dice: random.Random, line: str) -> str:
    entry = read_line(line)
    body: dict[str, Any] = dict(entry.body)
    keys = [*body, "trays", "at", "due", "held", "batch", "attached"]
    for _ in range(dice.randrange(1, 3)):
        body[dice.choice(keys)] = dice.choice(NASTY)
    changes: dict[str, Any] = {"body": {k: v for k, v in body.items() if v is not None}}
    if dice.random() < 0.15:
        changes["by"] = dice.choice(("", "ZZ", "../x", "'; --", "\u202eAB", "x" * 900))
    if dice.random() < 0.1:
        moments = ("1900-01-02T00:00:00Z", "8999-12-30T00:00:00Z")
        changes["happened_at"] = dice.choice(moments)
    if dice.random() < 0.1 and entry.kind != "opening":
        changes["corrects"] = f"{entry.book}/{dice.randrange(1, 40)}"
    if dice.random() < 0.05:
        changes["reason"] = dice.choice(("", "<b>", "x" * 5000))
    try:
        return write_line(Entry(**{**entry._asdict(), **changes}))
    except HygieneError:
        return line


def pdfs(folder: Path, dice: random.Random) -> Door:
    """A report whose bytes are damaged, or whose inside says something odd."""
    from log_farm import MARCH

    from hygiene.book.record import Record
    from hygiene.reports import proof
    from hygiene.reports.catalogue import REPORTS

    farm = _lived(folder)
    with Record.open(farm.path) as record:
        taken = proof.take(record, REPORTS["day"], MARCH, farm.now)
    good = proof.make(taken).content
    inside = files(good)
    path = folder / "given.pdf"

    def inputs() -> Iterator[Tried]:
        while True:
            odd = dice.random() < 0.75
            content = _odd_inside(dice, good, inside) if odd else broken(good, dice)
            path.write_bytes(content)
            words = ["verify", str(path)]
            if dice.random() < 0.3:
                words += ["--record", str(farm.path)]
            yield Tried(words, odd, "")

    return Door(farm.path, farm.world, inputs())


def _odd_inside(dice: random.Random, good: bytes, inside: dict[str, bytes]) -> bytes:
    name = dice.choice(sorted(inside))
    content = inside[name]
    if name == "report.json" or dice.random() < 0.3:
        name = "report.json"
        told = json.loads(inside[name])
        told[dice.choice(sorted(told))] = dice.choice(NASTY)
        content = json.dumps(told, default=str).encode()
    else:
        words = content.split(b"\n")
        at = dice.randrange(len(words))
        junk = (b"", b"\xff\xfe", b"{", b"x" * 999, b"0 0 0", b"9" * 40, words[at] * 2)
        words[at] = dice.choice(junk)
        content = b"\n".join(words)
    return with_files(good, {name: None if dice.random() < 0.05 else content})


EVIL = (
    "create view evil as select * from evil2",
    "create view evil as with recursive r(n) as (select 1 union all select n + 1 "
    "from r) select n from r",
    "create virtual table evil using fts5(x)",
    "create table evil(x, y generated always as (hex(zeroblob(9000000))) virtual)",
    "create table evil as select zeroblob(1000000) as x",
    "create trigger evil before insert on entry begin delete from attachment; end",
    "create temp trigger evil before insert on entry begin select 1; end",
    "drop table entry; create view entry as select 1 as book",
    "drop table mention; create virtual table mention using fts5(code, kind, book)",
    "alter table entry rename column hash to hash2",
    "pragma application_id = 7", "pragma user_version = 99", "vacuum",
    "pragma page_size = 65536; vacuum", "pragma page_size = 512; vacuum",
    "pragma auto_vacuum = 1; vacuum", "analyze", "reindex",
    "insert into mention select 'x' || value, 'hold', 'shed-aaaa', value "
    "from json_each(json_array(1,2,3))",
)  # fmt: skip


def databases(folder: Path, dice: random.Random) -> Door:
    """Another tool's file, or a spoilt one: opened, merged, restored."""
    farm = _lived(folder)
    other = another(farm)
    path = folder / "given.sqlite"

    def inputs() -> Iterator[Tried]:
        while True:
            shutil.copy(other, path)
            _spoil(path, dice)
            past = _is_database(path)
            word = dice.choice(("merge", "restore", "today", "log", "verify", "show"))
            words = [word, str(path)] if word in ("merge", "restore") else [word]
            if word == "show":
                words += ["shed-aaaa/1"]
            if word not in ("merge", "restore"):
                words += ["--record", str(path)]
            yield Tried(words, past, "")
            for left in (*folder.glob("*replaced*"), *folder.glob("given.sqlite*")):
                left.unlink()

    return Door(farm.path, farm.world, inputs())


def _spoil(path: Path, dice: random.Random) -> None:
    if dice.random() < 0.5:
        # what damages pages seldom gets past the parser: the others come more often
        dice.choice((*WAYS, *WAYS[4:], *WAYS[4:]))(path, dice)
        return
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for sql in dice.sample(EVIL, dice.randrange(1, 3)):
            for part in sql.split("; "):
                with suppress(sqlite3.Error):
                    db.execute(part)


def _is_database(path: Path) -> bool:
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as db:
            db.execute("select count(*) from sqlite_master").fetchone()
    except (sqlite3.Error, UnicodeDecodeError):
        return False
    return True


DOORS: dict[str, Callable[[Path, random.Random], Door]] = {
    "arguments": arguments,
    "farm files and checklists": farm_files,
    "spreadsheets and mappings": sheets,
    "bodies of JSON lines": bodies,
    "PDFs": pdfs,
    "SQLite files": databases,
}


def _dosed(folder: Path) -> DoseFarm:
    from dose_farm import build_doses

    return build_doses(folder)


def _lived(folder: Path) -> DoseFarm:
    """A farm in which seed came, was sown, fed, and went mouldy."""
    farm = _dosed(folder)
    farm.later(hours=1)
    farm.can()
    lot = farm.lot()
    farm.dose(1, 2, drawn=())
    sown = str(farm.sow((lot, 6000)).sow.get("batch"))
    farm.feed(sown, 1)
    farm.mould(sown, tray_count=1)
    return farm


def _codes(farm: DoseFarm) -> dict[str, str]:
    with farm.open() as record:
        (sown,), (seed,) = record.entries(["sow"]), record.entries(["seed"])
        book = record.heads()[0].book
    places = {name: str(farm.folder / name) for name in ("c.ics", "p.html", "p.jsonl")}
    return {
        "LOT": str(seed.get("lot")),
        "BATCH": str(sown.get("batch")),
        "OTHER": str(farm.path),
        "BOOK": book,
        "tables": str(farm.folder / "tables"),
        **places,
    }


def _as_ab(farm: DoseFarm) -> World:
    world = farm.world()
    return world._replace(environ={**world.environ, "HYGIENE_BY": "AB"})


def _soak(name: str) -> Any:
    path = Path(__file__).with_name("soak") / f"{name}.py"
    spec = importlib.util.spec_from_file_location(f"soak_{name}", path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
