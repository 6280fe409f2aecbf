"""``hygiene import``: a spreadsheet's lines as records; first asked, then written."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple, NoReturn, cast

import typer

from hygiene.cli.desk import (
    AsJson,
    By,
    Desk,
    RecordPath,
    at_work,
    note,
    show_json,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.progress import counted
from hygiene.errors import FOUND_SOMETHING, WrongFile, WronglyPut

if TYPE_CHECKING:
    from hygiene.acts.import_scene import Source
    from hygiene.acts.importing import Outcome
    from hygiene.exchange.cells import Manner, Mark, Order
    from hygiene.exchange.columns import Matched
    from hygiene.exchange.forms import Form
    from hygiene.exchange.mapping import Said
    from hygiene.exchange.sheet import Sheet

app = one_command()

LINES = (".jsonl", ".ndjson")
ORDER_OF = {"uk-primary": "dmy", "eu-primary": "dmy", "us-sprout-strict": "mdy"}
"""In which order dates are written, by the farm's profile."""


class NoFile(WronglyPut):
    """No file was named, or it cannot be read."""

    sentence = "{what}"


class WhichKind(WronglyPut):
    """A file of nobody knows which kind of record."""

    sentence = "what is written in {name}? name the kind of record"


class OwnTable(WrongFile):
    """A table that this program exported: its lines are what comes in again."""

    sentence = "{file} is a table that hygiene export wrote"

    def __init__(self, *, file: str) -> None:
        way_out = "bring the lines: hygiene export --jsonl FILE, then import that"
        super().__init__(file=file, way_out=way_out)


class WrongLines(WrongFile):
    """Every line of a file that is wrong: its number, its column, what is right."""

    sentence = "{told}"


class NotAgreed(WronglyPut):
    """Columns that were guessed, and nobody said that they are right."""

    sentence = "nothing was written: {guesses}"


class _Undone(Exception):
    """Rolls the transaction back: it was only asked, or something is wrong."""


File = Annotated[
    Path | None,
    typer.Argument(metavar="[FILE]", help="CSV; .toml that names several; .jsonl."),
]
Kind = Annotated[
    str | None, typer.Argument(metavar="[KIND]", help="feed, sow, water, visitor ...")
]
Template = Annotated[
    str | None,
    typer.Option(metavar="KIND", help="Write an empty file of a kind, and explain it."),
]
Write = Annotated[
    bool, typer.Option("--write/--dry-run", help="Write it, or only say what would be.")
]
MapFile = Annotated[
    Path | None,
    typer.Option("--columns", metavar="MAP.toml", help="What its headings mean."),
]
Guessed = Annotated[
    bool, typer.Option("--as-guessed", help="The guessed columns are right.")
]
Dates = Annotated[
    str | None, typer.Option(metavar="ORDER", help="Order of its dates: dmy, mdy, ymd.")
]
Decimal = Annotated[
    str | None, typer.Option(metavar="MARK", help="Its decimal mark: comma or point.")
]
Encoding = Annotated[
    str | None, typer.Option(metavar="NAME", help="Its encoding, such as cp1252.")
]


@app.command("import")
def import_command(
    ctx: typer.Context,
    file: File = None,
    kind: Kind = None,
    template: Template = None,
    write: Write = False,
    columns: MapFile = None,
    as_guessed: Guessed = False,
    dates: Dates = None,
    decimal: Decimal = None,
    encoding: Encoding = None,
    by: By = None,
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Read old records from a CSV: says what would be written; --write writes it.

    Every wrong line is told at once, and then nothing is written. What is written says
    which line of which file it comes from. A file is never written twice. What ends a
    hold (release, assess) is only typed by hand, one by one.

    Example: hygiene import --template feed

    Example: hygiene import feed.csv feed --by AB --write
    """
    if template is not None:
        _template(template, file)
        return
    if file is None:
        raise NoFile(
            what="which file?",
            way_out="hygiene import FILE.csv KIND; an empty one to fill in: "
            "hygiene import --template KIND",
        )
    if file.suffix.lower() in LINES:
        _lines(ctx, file, record, write=write)
        return
    asked = Asked(dates, decimal, encoding, columns)
    papers = _papers(file, kind, asked)
    with at_work(ctx, record) as desk:
        papers = _not_before(desk, papers)
        if write:
            _agree(desk, papers, as_guessed)
        outcome = _run(desk, papers, by, write)
    if outcome.wrong:
        _refuse(outcome, as_json)
    if as_json:
        show_json(_json(outcome, write))
    else:
        _tell(papers, outcome, write, _again(file, kind, asked, by, papers))
    if write and (outcome.also or outcome.marks):
        raise typer.Exit(FOUND_SOMETHING)


# ---- what was typed --------------------------------------------------------------


class Asked(NamedTuple):
    """What was said on the line of how the file writes."""

    dates: str | None
    decimal: str | None
    encoding: str | None
    columns: Path | None


class Paper(NamedTuple):
    """One spreadsheet: its form, its text, what its headings were taken for."""

    path: Path
    content: bytes
    form: Form
    sheet: Sheet
    matched: Matched
    said: Said


def _papers(file: Path, kind: str | None, asked: Asked) -> list[Paper]:
    """The spreadsheets that are meant: one, or those that a TOML file names."""
    from hygiene.exchange.mapping import Said, read_binder, read_mapping

    if file.suffix.lower() == ".toml":
        _content(file)  # that it can be read at all
        folder = file.parent
        return [
            _paper(folder / str(said.file), said.kind, _with(said, asked))
            for said in read_binder(file)
        ]
    said = read_mapping(asked.columns) if asked.columns else Said()
    return [_paper(file, kind or said.kind, _with(said, asked))]


def _with(said: Said, asked: Asked) -> Said:
    from hygiene.exchange.mapping import CHOICES

    for key in ("dates", "decimal"):
        text = getattr(asked, key)
        if text is not None and text not in CHOICES[key]:
            raise WronglyPut(what=f"--{key} is one of {', '.join(CHOICES[key])}")
    return said._replace(
        dates=asked.dates or said.dates,
        decimal=asked.decimal or said.decimal,
        encoding=asked.encoding or said.encoding,
    )


def _paper(path: Path, kind: str | None, said: Said) -> Paper:
    from hygiene.exchange.columns import match
    from hygiene.exchange.sheet import open_sheet

    content = _content(path)
    form = _form(path, kind)
    sheet = open_sheet(
        content, path.name, encoding=said.encoding, head_line=said.head_line
    )
    if {"entry", "recorded_at"} <= set(sheet.heads):
        raise OwnTable(file=path.name)
    always = tuple(said.always)
    matched = match(form, sheet.heads, said.columns, line=sheet.begin, always=always)
    return Paper(path, content, form, sheet, matched, said)


def _content(file: Path) -> bytes:
    from hygiene.exchange.sheet import LARGEST_BYTES
    from hygiene.plain_file import content_of

    try:
        return content_of(file, LARGEST_BYTES)
    except OSError as failure:
        raise NoFile(what=f"{file}: {failure.strerror}") from failure


def _form(path: Path, kind: str | None) -> Form:
    from hygiene.exchange.forms import FORMS, form_of

    stem = path.stem.lower().replace("-", "_")
    if kind is None and stem not in FORMS:
        raise WhichKind(
            name=path.name,
            way_out=f"hygiene import {shlex.quote(str(path))} KIND; the kinds: "
            f"{', '.join(FORMS)}",
        )
    return form_of(kind or stem)


def _agree(desk: Desk, papers: list[Paper], as_guessed: bool) -> None:
    """A guess is written down only when a person has said that it is right."""
    guesses = [
        (paper, column)
        for paper in papers
        for column in ([] if paper.matched.wrong else paper.matched.guesses)
    ]
    if as_guessed or not guesses:
        return
    if desk.world.asks:
        for paper, column in guesses:
            print(f"  {paper.path.name}: {column.head} = {column.field.name}?")
        if input("Are these columns right? [y/N]: ").strip().lower() in ("y", "yes"):
            return
    told = "; ".join(f"{c.head!r} is read as {c.field.name}" for _, c in guesses)
    raise NotAgreed(
        guesses=told,
        way_out="if that is right: --as-guessed; if not, say it: --columns MAP.toml",
    )


# ---- reading and writing ---------------------------------------------------------


def _not_before(desk: Desk, papers: list[Paper]) -> list[Paper]:
    """The files that were not written before, each as it is."""
    from hygiene.acts.importing import imported_before

    left = []
    for paper in papers:
        digest = sha256(paper.content).hexdigest()
        before = imported_before(desk.record, paper.form, digest)
        if before is None:
            left.append(paper)
        else:
            note(f"{paper.path.name} was imported as {before.name}: left out.")
    return left


def _run(desk: Desk, papers: list[Paper], by: str | None, write: bool) -> Outcome:
    from hygiene.acts.import_scene import Scene
    from hygiene.acts.importing import run

    who = desk.person(by) if write or desk.world.by(by) else None
    found: list[Outcome] = []
    with suppress(_Undone), desk.writing() as writing:
        scene = Scene(writing, desk.setup, desk.now, who)
        sources = [_source(desk, paper) for paper in papers]
        found.append(run(scene, sources, told=counted))
        if found[0].wrong or not write or not found[0].written:
            raise _Undone
    return found[0]


def _source(desk: Desk, paper: Paper) -> Source:
    from hygiene.acts.import_scene import Origin, Source

    digest = sha256(paper.content).hexdigest()
    return Source(
        paper.form,
        Origin(paper.sheet.name, digest, paper.content),
        paper.matched,
        paper.sheet.rows(),
        _manner(desk, paper.sheet, paper.said),
        paper.said.always,
        paper.said.values,
    )


def _manner(desk: Desk, sheet: Sheet, said: Said) -> Manner:
    from hygiene.exchange.cells import Manner

    profile = str((desk.farm.farm or {}).get("profile", ""))
    order = said.dates or ORDER_OF.get(profile)
    return Manner(
        cast("Order | None", order),
        cast("Mark | None", said.decimal),
        desk.farm.zone,
        desk.now,
        sheet.delimiter == ";",
    )


# ---- what is told ----------------------------------------------------------------


def _refuse(outcome: Outcome, as_json: bool) -> NoReturn:
    if as_json:
        wrong = [{"file": name, **each._asdict()} for name, each in outcome.wrong]
        show_json({"lines": outcome.lines, "written": 0, "wrong": wrong})
        raise typer.Exit(WrongFile.exit_code)
    lines = len({(name, wrong.line) for name, wrong in outcome.wrong})
    raise WrongLines(
        told="\n".join(wrong.told(name) for name, wrong in outcome.wrong),
        way_out=f"{_count_wrong(lines, outcome.lines)}; nothing was written. Put that "
        "right and do it again",
    )


def _count_wrong(wrong: int, lines: int) -> str:
    return f"{wrong} of {lines} lines are wrong" if lines else "the headings are wrong"


def _tell(papers: list[Paper], outcome: Outcome, write: bool, again: str) -> None:
    if not outcome.written:
        left = f": {outcome.already:,} lines are recorded already"
        print(f"Nothing to write{left if outcome.already else ''}.")
        return
    for paper in papers:
        for column in paper.matched.guesses if not write else ():
            print(f"  guessed: {column.head!r} is read as {column.field.name}")
        if paper.matched.left_out:
            left = ", ".join(paper.matched.left_out)
            print(f"  left out of {paper.path.name}: {left}")
    how = "Written" if write else "Would be written"
    first, last = outcome.days
    print(f"{how}: {_counts(outcome.kinds)}, of {first} to {last}")
    if outcome.already:
        print(f"  recorded already: {outcome.already:,}")
    if outcome.also:
        print(f"  and what follows from it: {_counts(outcome.also)}")
    if outcome.marks:
        print(f"  marked for ever: {_counts(outcome.marks)}")
    if outcome.no_time:
        there = "its due moment" if "sign_off" in outcome.kinds else "noon"
        print(f"  no time stood in {outcome.no_time:,} lines: {there} is written")
    _take_care(outcome)
    if write:
        print(f"  {outcome.written[0]} to {outcome.written[-1]}")
    else:
        print(f"Nothing was written. If it is right:\n  {again}")


def _take_care(outcome: Outcome) -> None:
    """What a find at the terminal says at once, a find of an old paper says as well."""
    if not (
        outcome.kinds.get("mould") or {"mould-record", "on-hold"} & {*outcome.marks}
    ):
        return
    from hygiene.acts.finds import CAUTIONS

    print("MOULD, or fodder that was held, is in it:")
    for caution in CAUTIONS:
        print(f"  ! {caution}")
    print("  what is held: hygiene today; who ate of it: hygiene trace BATCH")


def _counts(of: Mapping[str, int]) -> str:
    return ", ".join(
        f"{n:,} x {what.replace('_', ' ')}" for what, n in sorted(of.items())
    )


def _again(
    file: Path, kind: str | None, asked: Asked, by: str | None, papers: list[Paper]
) -> str:
    """The command that writes it."""
    options = {
        "--columns": asked.columns and str(asked.columns),
        "--dates": asked.dates,
        "--decimal": asked.decimal,
        "--encoding": asked.encoding,
        "--by": by,
    }
    words = ["hygiene", "import", str(file), *([kind] if kind else [])]
    words += [word for pair in options.items() if pair[1] for word in map(str, pair)]
    guessed = any(paper.matched.guesses for paper in papers)
    return shlex.join([*words, *(["--as-guessed"] if guessed else []), "--write"])


def _json(outcome: Outcome, write: bool) -> dict[str, object]:
    return {
        "lines": outcome.lines,
        "written": len(outcome.written) if write else 0,
        "would_write": len(outcome.written),
        "already": outcome.already,
        "follows": outcome.also,
        "marks": outcome.marks,
        "entries": list(outcome.written) if write else [],
        "wrong": [],
    }


# ---- the template, and our own lines ---------------------------------------------


def _template(kind: str, file: Path | None) -> None:
    import codecs

    from hygiene.exchange.forms import form_of, more_columns
    from hygiene.exchange.table import Column, Table, to_csv
    from hygiene.reports.paper import put

    form = form_of(kind)
    path = file or Path(f"{form.kind}.csv")
    if path.exists():
        raise NoFile(what=f"{path} is there already", way_out="name another file")
    table = Table(form.kind, "", tuple(Column(field.name) for field in form.fields))
    put(path, codecs.BOM_UTF8 + to_csv(table, ()))
    print(f"Written: {path}. Its columns (* must be filled):")
    for field in form.fields:
        star = "*" if field.required else " "
        print(f" {star} {field.name:<18} {field.says}")
    more = ", ".join(field.name for field in more_columns(form))
    if more:
        print(f"   and a column for any result: {more}")
    elif form.more:
        print("   and a column for any step: STEP temp.GROW")
    row = [field.example for field in form.fields]
    print("A line looks so:")
    print("  " + to_csv(table, [row]).decode().splitlines()[1])
    print(f"Then: hygiene import {shlex.quote(str(path))} {form.kind} --by CODE")


def _lines(ctx: typer.Context, path: Path, record: Path | None, *, write: bool) -> None:
    from hygiene.book.replay import replay
    from hygiene.cli.world import World

    world: World = ctx.obj
    target = world.record(record)
    made = replay(path, target, write=write)
    for head in made.heads:
        print(f"  head {head}")
    if write:
        print(f"Written: {target}, {made.lines:,} lines as they were.")
        note("This device holds no key to these books: what it writes opens its own.")
    else:
        print(f"{made.lines:,} lines in order. Nothing was written. If it is right:")
        at = f" --record {shlex.quote(str(record))}" if record else ""
        print(f"  hygiene import {shlex.quote(str(path))}{at} --write")
