"""Hostile files at the importer's doors: CSV, mapping, binder, lines of our own.

Run by hand: python tests/soak/fuzz_import.py [COUNT] [SEED]. Whatever a file holds, the
program ends with a code of its own and a message, never a traceback; nothing that is
not asked for is written, and the record verifies. Half of the inputs are written with
``--write`` though something in them is wrong.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

HERE = Path(__file__).parents[1]
sys.path[:0] = [str(HERE), str(HERE / "exchange")]

# ruff: noqa: E402
from binder_farm import GOOD, BinderFarm, heading, line, made

from hygiene.exchange.forms import FORMS

CODES = {0, 2, 3, 4, 5, 7, 8}
NASTY = (
    "", " ", '"', '""', "'", "\0", "\t", "\r", "\n", ",", ";", "=1+1", "@x", "-", "..",
    "\ufeff", "\u202e", "\U0001f600", "é" * 50, "x" * 5000, "9" * 400, "1e999", "NaN",
    "-0", "1,234", "1.2.3", "31.2.2025", "99999", "2025-13-45", "0001-01-01",
    "9999-12-31", "T001..T999999", "T9..T1", "../../etc/passwd", "{{ 7*7 }}",
    "<script>", "'; drop table", "%s%n", "\\x00", "shed-x/99", "B-K7-42-X",
    "HYG:T001*C", "yes", "no", "٣", "１２", "½", "\u2028", "\x1b[31m", "true", "null",
    "[]", "{}", "a=b", "temp=1 temp=2", "'a", "12:00", "24:00", "0,5", "0.5 L",
    "-5 kg", "1 kg", "R1", "MP", "QUILL", "all",
)  # fmt: skip


def inputs(rng: random.Random) -> Iterator[tuple[str, bytes, list[str]]]:
    """A file's name, its bytes, and the words behind its name; for ever."""
    while True:
        kind = rng.choice(sorted(GOOD))
        match rng.randrange(10):
            case 0:
                yield f"{kind}.csv", rng.randbytes(rng.randrange(400)), []
            case 1:
                yield "m.toml", _mapping(rng, kind), []
            case 2:
                yield "l.jsonl", _lines(rng), ["--record", "NEW"]
            case 3:
                text = "\n".join(_sheet(rng, kind))
                yield f"{kind}.csv", _mangled(rng, text.encode("utf-16")), []
            case 4:
                text = "\n".join(_sheet(rng, kind))
                yield f"{kind}.csv", _mangled(rng, text.encode()), []
            case _:
                text = "\r\n".join(_sheet(rng, kind))
                content = text.encode("utf-8", "surrogatepass")
                yield f"{kind}.csv", content, _options(rng)


def _options(rng: random.Random) -> list[str]:
    some: list[str] = []
    if rng.random() < 0.2:
        some += ["--dates", rng.choice(("dmy", "mdy", "ymd", "x"))]
    if rng.random() < 0.2:
        some += ["--decimal", rng.choice(("comma", "point", "x"))]
    if rng.random() < 0.1:
        some += ["--encoding", rng.choice(("cp1252", "utf-16", "x", "", "rot13"))]
    return some


def _sheet(rng: random.Random, kind: str) -> list[str]:
    """A good sheet with one cell or more gone wrong."""
    good = GOOD[kind]
    lines = [heading(FORMS[kind], good)]
    for number in range(rng.randrange(1, 4)):
        cells = line(good, number).split(";")
        for _ in range(rng.randrange(1, 4)):
            cells[rng.randrange(len(cells))] = rng.choice(NASTY)
        lines.append(";".join(cells))
    if rng.random() < 0.1:
        heads = lines[0].split(";")
        heads[rng.randrange(len(heads))] = rng.choice(NASTY)
        lines[0] = ";".join(heads)
    # the last line is always wrong: nothing may be written
    return [*lines, ";".join(["31.2.2025"] * (1 + len(good)))]


def _mapping(rng: random.Random, kind: str) -> bytes:
    parts = [
        f'[[sheet]]\nfile = "{rng.choice(("x.csv", "../x", "/etc/passwd", "."))}"\n',
        f'kind = "{rng.choice((kind, "x", ""))}"\n',
        "[sheet.columns]\n",
        f'"{rng.choice(("a", "b"))}" = {rng.choice(("1", chr(34) * 2, "[]", "{}"))}\n',
        f"[sheet.values]\nby = {rng.choice(('1', '{a = 1}', '{}'))}\n",
        f"head_line = {rng.choice(('0', '-1', '1e9', 'true'))}\n",
        "sheet = 3\n",
        "[" * rng.randrange(50) + "\n",
    ]
    return _mangled(rng, "".join(p for p in parts if rng.random() < 0.6).encode())


def _lines(rng: random.Random) -> bytes:
    parts = (
        b'{"book":"shed-aaaa","seq":1,"v":1,"kind":"opening","happened_at":'
        b'"2026-01-01T00:00:00Z","recorded_at":"2026-01-01T00:00:00Z","by":"AB",'
        b'"body":{"record":"x","why":"y"}}',
        b"{}", b"[", b"[" * 5000, b'{"book":1}', b"\xff\xfe", b"null", b"\0",
        b'{"book":"a","book":"b"}', b"1" * 70_000,
    )  # fmt: skip
    chosen = [rng.choice(parts) for _ in range(rng.randrange(4))]
    return _mangled(rng, b"\n".join(chosen)) + b"\n{}\n"


def _mangled(rng: random.Random, content: bytes) -> bytes:
    made = bytearray(content)
    for _ in range(rng.randrange(4)):
        if made:
            at = rng.randrange(len(made))
            made[at : at + rng.randrange(3)] = rng.randbytes(rng.randrange(3))
    return bytes(made)


def fuzz(farm: BinderFarm, count: int, seed: int) -> Counter[str]:
    """Try so many files; what came of them, by exit code. Raises on a fault."""
    rng = random.Random(seed)
    found: Counter[str] = Counter()
    before = farm.heads()
    for number, (name, content, words) in zip(range(count), inputs(rng), strict=False):
        path = farm.folder / name
        path.write_bytes(content)
        new = farm.folder / "new.db"
        said = [str(new) if word == "NEW" else word for word in words]
        done = farm.run("import", path, *said, *(["--write"] if number % 2 else []))
        at = f"seed {seed}, input {number} ({name}): {content[:300]!r}"
        assert done.exit_code in CODES, f"{at}\n{done.output}\n{done.exception!r}"
        assert isinstance(done.exception, SystemExit | None), (
            f"{at}\n{done.exception!r}"
        )
        assert "Traceback" not in done.output, at
        assert not new.exists(), at
        if farm.heads() != before:
            # a mangled file may by chance have become a good one
            assert done.exit_code in (0, 3), at
            assert b"31.2.2025" not in content, at
            before = farm.heads()
            found["written"] += 1
        found[f"exit {done.exit_code}"] += 1
        path.unlink()
    assert farm.run("verify").exit_code == 0
    return found


def main() -> None:
    import typer.testing

    typer.testing._get_command = lambda given: given
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else random.randrange(10**9)
    with TemporaryDirectory() as name:
        found = fuzz(made(Path(name)), count, seed)
    print(f"seed {seed}: {count:,} files, 0 tracebacks, record verified")
    for what, many in sorted(found.items()):
        print(f"  {what}: {many:,}")


if __name__ == "__main__":
    main()
