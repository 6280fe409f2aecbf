"""``hygiene import``: a spreadsheet's lines as records; first asked, then written."""

from __future__ import annotations

import shlex
import sys
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from hygiene.cli.desk import AsJson, By, Desk, RecordPath, at_work, note, show_json
from hygiene.cli.lazy import one_command
from hygiene.errors import FOUND_SOMETHING, WrongFile, WronglyPut

if TYPE_CHECKING:
    from hygiene.acts.importing import Outcome
    from hygiene.exchange.cells import Manner
    from hygiene.exchange.columns import Matched
    from hygiene.exchange.forms import Form
    from hygiene.exchange.mapping import Said
    from hygiene.exchange.sheet import Sheet, Wrong

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


class WrongLines(WrongFile):
    """Every line of a file that is wrong: its number, its column, what is right."""

    sentence = "{told}"


class NotAgreed(WronglyPut):
    """Columns that were guessed, and nobody said that they are right."""

    sentence = "nothing was written: {guesses}"


class _Undone(Exception):
    """Rolls the transaction back: it was only asked, or something is wrong."""


File = Annotated[
    Path | None, typer.Argument(metavar="[FILE]", help="The CSV, or our own .jsonl.")
]
Kind = Annotated[
    str | None, typer.Argument(metavar="[KIND]", help="feed, sow, water, visitor ...")
]
Template = Annotated[
    str | None,
    typer.Option(metavar="KIND", help="Write an empty file of a kind, and explain it."),
]
Write = Annotated[bool, typer.Option("--write", help="Write it; else it only asks.")]
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
    """Read old records from a spreadsheet saved as CSV: tells, and writes with --write.

    Every wrong line is told at once, and then nothing is written. What is written says
    which line of which file it comes from. A file is never written twice.

    Example: hygiene import --template feed

    Example: hygiene import feed.csv feed --by AB --write
    """
    if template is not None:
        _template(template, file)
        return
    content, path = _content(file)
    if path.suffix.lower() in LINES:
        _lines(ctx, path, record, write=write)
        return
    said = _said(columns, dates, decimal, encoding)
    form = _form(path, kind or said.kind)
    sheet, matched = _sheet(form, path, content, said)
    with at_work(ctx, record) as desk:
        digest = sha256(content).hexdigest()
        if _done_before(desk, form, path, digest, as_json):
            return
        if write:
            _agree(desk, matched, as_guessed)
        outcome = _run(desk, form, sheet, matched, said, content, by, write)
    if outcome.wrong:
        _refuse(path, form, outcome, as_json)
    if as_json:
        show_json(_json(form, outcome, write))
    else:
        _tell(path, form, matched, outcome, write, _again(path, form, columns, by))
    if write and (outcome.also or outcome.marks):
        raise typer.Exit(FOUND_SOMETHING)


# ---- what was typed --------------------------------------------------------------


def _content(file: Path | None) -> tuple[bytes, Path]:
    from hygiene.exchange.sheet import LARGEST_BYTES

    if file is None:
        raise NoFile(
            what="which file?",
            way_out="hygiene import FILE.csv KIND; an empty one to fill in: "
            "hygiene import --template KIND",
        )
    try:
        with file.open("rb") as opened:
            if file.suffix.lower() in LINES:
                return b"", file
            return opened.read(LARGEST_BYTES + 1), file
    except (OSError, ValueError) as failure:
        what = getattr(failure, "strerror", None) or failure
        raise NoFile(what=f"{file}: {what}") from failure


def _said(
    columns: Path | None, dates: str | None, decimal: str | None, encoding: str | None
) -> Said:
    from hygiene.exchange.mapping import CHOICES, Said, read_mapping

    typed = {"dates": dates, "decimal": decimal, "encoding": encoding}
    for key, text in typed.items():
        if text is not None and text not in CHOICES.get(key, (text,)):
            raise WronglyPut(what=f"--{key} is one of {', '.join(CHOICES[key])}")
    said = read_mapping(columns) if columns else Said()
    return said._replace(
        dates=dates or said.dates,
        decimal=decimal or said.decimal,
        encoding=encoding or said.encoding,
    )


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


def _sheet(form: Form, path: Path, content: bytes, said: Said) -> tuple[Sheet, Matched]:
    from hygiene.exchange.columns import match
    from hygiene.exchange.sheet import open_sheet

    sheet = open_sheet(
        content, path.name, encoding=said.encoding, head_line=said.head_line
    )
    matched = match(
        form, sheet.heads, said.columns, line=sheet.begin, always=tuple(said.always)
    )
    return sheet, matched


def _agree(desk: Desk, matched: Matched, as_guessed: bool) -> None:
    """A guess is written down only when a person has said that it is right."""
    if as_guessed or not matched.guesses or matched.wrong:
        return
    told = "; ".join(f"{c.head!r} is read as {c.field.name}" for c in matched.guesses)
    if desk.world.asks:
        print("\n".join(f"  {c.head} = {c.field.name}?" for c in matched.guesses))
        if input("Are these columns right? [y/N]: ").strip().lower() in ("y", "yes"):
            return
    raise NotAgreed(
        guesses=told,
        way_out="if that is right: --as-guessed; if not, say it: --columns MAP.toml",
    )


# ---- reading and writing ---------------------------------------------------------


def _done_before(
    desk: Desk, form: Form, path: Path, digest: str, as_json: bool
) -> bool:
    from hygiene.acts.importing import imported_before

    before = imported_before(desk.record, form, digest)
    if before is None:
        return False
    if as_json:
        show_json({"kind": form.kind, "written": 0, "imported": before.name})
    else:
        print(f"{path.name} was imported as {before.name}: nothing to write.")
    return True


def _run(
    desk: Desk,
    form: Form,
    sheet: Sheet,
    matched: Matched,
    said: Said,
    content: bytes,
    by: str | None,
    write: bool,
) -> Outcome:
    from hygiene.acts.importing import Origin, Scene, run

    who = desk.person(by) if write or desk.world.by(by) else None
    origin = Origin(sheet.name, sha256(content).hexdigest(), content)
    found: list[Outcome] = []
    with suppress(_Undone), desk.writing() as writing:
        scene = Scene(writing, desk.setup, _manner(desk, sheet, said), origin, who)
        outcome = run(
            scene,
            form,
            matched,
            () if matched.wrong else sheet.rows(),
            always=said.always,
            values=said.values,
            told=_progress,
        )
        found.append(outcome)
        if outcome.wrong or not write or not outcome.written:
            raise _Undone
    return found[0]


def _manner(desk: Desk, sheet: Sheet, said: Said) -> Manner:
    from hygiene.exchange.cells import Manner

    profile = str((desk.farm.farm or {}).get("profile", ""))
    order = said.dates or ORDER_OF.get(profile)
    return Manner(order, said.decimal, desk.farm.zone, desk.now, sheet.delimiter == ";")  # type: ignore[arg-type]


def _progress(done: int) -> None:
    if sys.stderr is not None and sys.stderr.isatty():
        print(f"\r{done:,} lines", end="", file=sys.stderr, flush=True)


# ---- what is told ----------------------------------------------------------------


def _refuse(path: Path, form: Form, outcome: Outcome, as_json: bool) -> NoReturn:
    if as_json:
        show_json(
            {
                "kind": form.kind,
                "lines": outcome.lines,
                "written": 0,
                "wrong": [wrong._asdict() for wrong in outcome.wrong],
            }
        )
        raise typer.Exit(WrongFile.exit_code)
    lines = len({wrong.line for wrong in outcome.wrong})
    told = "\n".join(_told(path, wrong) for wrong in outcome.wrong)
    raise WrongLines(
        told=told,
        way_out=f"{lines} of {outcome.lines} lines are wrong; nothing was written. Put "
        "them right and do it again",
    )


def _told(path: Path, wrong: Wrong) -> str:
    return wrong.told(path.name)


def _tell(
    path: Path, form: Form, matched: Matched, outcome: Outcome, write: bool, again: str
) -> None:
    kind = form.kind.replace("_", " ")
    if not outcome.written:
        print(f"{path.name}: all {outcome.already} lines are recorded already.")
        return
    for column in matched.columns:
        if column.guessed and not write:
            print(f"  guessed: {column.head!r} is read as {column.field.name}")
    if matched.left_out:
        print(f"  left out: {', '.join(matched.left_out)}")
    first, last = _span(outcome)
    how = "Written" if write else "Would be written"
    print(f"{how}: {len(outcome.written):,} x {kind}, of {first} to {last}")
    if outcome.already:
        print(f"  recorded already: {outcome.already:,}")
    for what, count in sorted(outcome.also.items()):
        print(f"  and what follows: {count:,} x {what.replace('_', ' ')}")
    for mark, count in sorted(outcome.marks.items()):
        print(f"  marked for ever: {count:,} x {mark}")
    if outcome.no_time:
        print(f"  no time was written in {outcome.no_time:,} lines: noon stands there")
    if write:
        names = outcome.written[0].name, outcome.written[-1].name
        print(f"  {names[0]} to {names[1]}")
        return
    guess = " --as-guessed" if matched.guesses else ""
    print(f"Nothing was written. If it is right: {again}{guess} --write")


def _span(outcome: Outcome) -> tuple[str, str]:
    days = sorted(entry.happened_at[:10] for entry in outcome.written)
    return days[0], days[-1]


def _again(path: Path, form: Form, columns: Path | None, by: str | None) -> str:
    words = ["hygiene", "import", str(path), form.kind]
    words += ["--columns", str(columns)] if columns else []
    words += ["--by", by] if by else []
    return shlex.join(words)


def _json(form: Form, outcome: Outcome, write: bool) -> dict[str, object]:
    return {
        "kind": form.kind,
        "lines": outcome.lines,
        "written": len(outcome.written) if write else 0,
        "would_write": len(outcome.written),
        "already": outcome.already,
        "follows": outcome.also,
        "marks": outcome.marks,
        "entries": [entry.name for entry in outcome.written] if write else [],
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
        print(f"  hygiene import {shlex.quote(str(path))} --write")
