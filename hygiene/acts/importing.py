"""A spreadsheet's lines as records: each goes through the act that typing it would.

What an import needs of the farm is read once. The lines are written in one transaction;
where one of them is wrong, none is written and every wrong one is told. The file itself
is an entry of its own, and each entry says which line of it says so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import time
from functools import lru_cache
from typing import Any, NamedTuple

from hygiene.acts.how import How
from hygiene.acts.import_scene import (
    File,
    Said,
    Scene,
    Source,
    one_line,
)
from hygiene.book.record import Record
from hygiene.errors import HygieneError
from hygiene.exchange.cells import (
    READERS,
    bad,
    clock,
    day_and_time,
    grams,
    moment,
    own_code,
)
from hygiene.exchange.forms import PARAMETER, STEP, Field, Form
from hygiene.exchange.sheet import Row, Wrong
from hygiene.kinds.action import Action
from hygiene.kinds.attached import Attached
from hygiene.kinds.entry import Entry
from hygiene.kinds.imported import Imported

LARGEST_ATTACHED = 10 * 1024 * 1024
CELLS_KEPT = 4096
"""So many of the cells that were read last are not read again."""
COLUMN_OF = {
    "grams": "kg", "tenth_ml": "amount", "mg": "amount", "happened_at": "date",
    "due": "date", "places": "trays", "seeds": "lot", "drawn": "container",
    "body": "note", "had_on": "date", "target": "trays",
}  # fmt: skip
"""In which column the field of an entry was said, where that has another name."""
REMEDY = "see what each column means: hygiene import --template {kind}"


class Outcome(NamedTuple):
    """What an import wrote, or would have written, and every line that is wrong.

    ``written`` are the names of the entries, ``kinds`` how many there are of each,
    ``days`` the first and the last on which they happened. ``wrong`` are the names of
    the files, each with what is wrong in it.
    """

    lines: int
    written: tuple[str, ...]
    kinds: Mapping[str, int]
    days: tuple[str, str]
    already: int
    also: Mapping[str, int]
    marks: Mapping[str, int]
    no_time: int
    wrong: tuple[tuple[str, Wrong], ...]


def run(
    scene: Scene,
    sources: Sequence[Source],
    *,
    told: Callable[[int], None] = lambda done: None,
) -> Outcome:
    """Write every line in the open transaction; the caller keeps it or rolls it back.

    Several files are written in the order in which things happened.
    """
    from hygiene.acts.recipes import RECIPES

    tally = _Tally()
    for said in _in_order(scene, sources, tally):
        if tally.lines % 500 == 0:
            told(tally.lines)
        before = scene.writing.head.seq
        form = said.file.source.form
        try:
            entry, already = RECIPES[form.kind](scene, said)
        except HygieneError as failure:
            tally.wrong.append((said.file.source.origin.name, _wrong(said, failure)))
            continue
        tally.no_time += not said.timed
        tally.take(entry, already, scene, before)
    outcome = tally.outcome()
    return _answer_for_all(scene, sources, outcome)


class _Tally:
    """What was read and written so far; no entry is held, so that it stays small."""

    def __init__(self) -> None:
        self.lines = self.no_time = self.already = 0
        self.names: list[str] = []
        self.days = ("", "")
        self.kinds: Counter[str] = Counter()
        self.also: Counter[str] = Counter()
        self.marks: Counter[str] = Counter()
        self.wrong: list[tuple[str, Wrong]] = []

    def take(self, entry: Entry, already: bool, scene: Scene, before: int) -> None:
        """Count an entry of a line, and what was written after ``before`` with it."""
        if already:
            self.already += 1
            return
        day = entry.happened_at[:10]
        first, last = self.days
        self.days = min(first or day, day), max(last, day)
        self.names.append(entry.name)
        self.kinds[entry.kind] += 1
        if marks := entry.body.get("marks"):
            self.marks.update(marks)
        if scene.writing.head.seq - before > 1:
            self.also.update(_also(scene, before, entry))

    def outcome(self) -> Outcome:
        """All of it, as it is told."""
        return Outcome(
            self.lines,
            tuple(self.names),
            self.kinds,
            self.days,
            self.already,
            self.also,
            self.marks,
            self.no_time,
            tuple(sorted(self.wrong, key=lambda each: (each[0], each[1].line))),
        )


def _in_order(scene: Scene, sources: Sequence[Source], tally: _Tally) -> Iterator[Said]:
    files = [_write_file(scene, source) for source in sources]
    if len(files) == 1:
        yield from _said(scene, files[0], tally)
        return
    every = [said for file in files for said in _said(scene, file, tally)]
    yield from sorted(every, key=lambda said: said.at)


def _said(scene: Scene, file: File, tally: _Tally) -> Iterator[Said]:
    name = file.source.origin.name
    tally.wrong += ((name, wrong) for wrong in file.source.matched.wrong)
    reader = _Reader(scene, file)
    for row in () if file.source.matched.wrong else file.source.rows:
        tally.lines += 1
        found = [row] if isinstance(row, Wrong) else reader.read(row)
        if isinstance(found, Said):
            yield found
        else:
            tally.wrong += ((name, wrong) for wrong in found)


def _answer_for_all(
    scene: Scene, sources: Sequence[Source], outcome: Outcome
) -> Outcome:
    """One action for all that the lines stand against: each bears its marks for ever.

    Incidents, and what a later water test answers, have their own.
    """
    if not scene.gathered or outcome.wrong:
        return outcome
    names = ", ".join(source.origin.name for source in sources)
    marks = ", ".join(f"{n} x {mark}" for mark, n in sorted(outcome.marks.items()))
    first = str(scene.gathered[0].body()["about"])
    action = Action(
        about=first,
        problem=f"{len(scene.gathered)} lines imported from {names} stand against "
        f"rules: {marks}",
    )
    scene.writing.add(action, by=scene.by or "hygiene")
    return outcome._replace(also=Counter(outcome.also) + Counter(["action"]))


def _also(scene: Scene, before: int, entry: Entry) -> Iterator[str]:
    """The kinds of what a line wrote beside its own entry."""
    book, last = scene.writing.head.book, scene.writing.head.seq
    for name in (f"{book}/{seq}" for seq in range(before + 1, last + 1)):
        if name != entry.name:
            yield scene.record.entry(name).kind


def _write_file(scene: Scene, source: Source) -> File:
    """Write the entry of the file itself, and keep the file."""
    origin = source.origin
    attached: tuple[Attached, ...] = ()
    if len(origin.content) <= LARGEST_ATTACHED:
        scene.writing.keep(origin.sha256, origin.content)
        size = len(origin.content)
        attached = (Attached(sha256=origin.sha256, name=origin.name, bytes=size),)
    thing = Imported(
        sort=source.form.kind,
        name=origin.name,
        sha256=origin.sha256,
        # the headings are no line of it
        line_count=max(len(origin.content.splitlines()) - 1, 1),
        read_as=tuple(column.told for column in source.matched.columns),
        dates=source.manner.order,
        attached=attached,
    )
    return File(source, scene.writing.add(thing, by=scene.by or "hygiene"), attached)


def imported_before(record: Record, form: Form, sha256: str) -> Entry | None:
    """The standing entry of this very file, read in as this kind before."""
    for entry in record.entries(["imported"]):
        if (entry.get("sha256"), entry.get("sort")) == (sha256, form.kind):
            return entry
    return None


# ---- from cells to values --------------------------------------------------------


class _Reader:
    """Reads the cells of a line by the columns of its form."""

    def __init__(self, scene: Scene, file: File) -> None:
        self.scene = scene
        self.file = file
        self.form = file.source.form
        self.columns = file.source.matched.columns
        self.manner = file.source.manner
        self.values = {
            name: {cell.casefold(): meant for cell, meant in said.items()}
            for name, said in file.source.values.items()
        }
        self.heads = {column.field.name: column.head for column in self.columns}
        # a day, a name or a yes stands in many lines
        self._value = lru_cache(maxsize=CELLS_KEPT)(self._read_value)

    def read(self, row: Row) -> Said | list[Wrong]:
        """The line's values, or everything that is wrong in it."""
        texts, further = self._texts(row)
        wrong: list[Wrong] = []
        values: dict[str, Any] = {}
        for field in self.form.fields:
            text = texts.get(field.name)
            try:
                if text:
                    values[field.name] = self._value(field, text)
                elif field.required:
                    raise bad("is empty", f"write {field.says}")
            except HygieneError as failure:
                wrong.append(self._told(row.line, field.name, text or "", failure))
        return wrong or self._said(row.line, values, texts, further)

    def _texts(self, row: Row) -> tuple[dict[str, str], dict[str, str]]:
        texts = dict(self.file.source.always)
        further: dict[str, str] = {}
        for column in self.columns:
            text, name = row.cells[column.place], column.field.name
            text = self.values.get(name, {}).get(text.casefold(), text)
            head, gap, rest = name.partition(" ")
            if gap and head in (STEP, PARAMETER):
                if text:
                    further[rest] = text
            elif text or name not in texts:
                texts[name] = text
        return texts, further

    def _read_value(self, field: Field, text: str) -> Any:
        match field.sort:
            case "when":
                return day_and_time(self.manner, text)
            case "clock":
                return clock(text)
            case "person":
                return self.scene.person(text)
            case "own":
                code = own_code(text)
                if not code:
                    raise bad(f"{text!r} is no number of yours", "write it as 24-117")
                return code
            case "grams":
                return grams(self.manner, text)
        return READERS[field.sort](self.manner, text)

    def _said(
        self,
        line: int,
        values: dict[str, Any],
        texts: Mapping[str, str],
        further: Mapping[str, str],
    ) -> Said | list[Wrong]:
        day, beside = values.pop("date")
        at_time: time | None = values.pop("time", None) or beside
        scene = self.scene
        by = values.pop("by", None) or scene.by
        try:
            if by is None:
                raise bad("nobody is said", "add a column 'by', or say --by CODE")
            column = "date"
            at = moment(self.manner, day, at_time)
        except HygieneError as failure:
            column = "by" if by is None else "date"
            return [self._told(line, column, texts.get(column) or "", failure)]
        name = self.file.source.origin.name
        told = f"imported from {name} line {line} ({self.file.entry.name})"
        reason = values.pop("reason", None)
        how = How(
            by,
            at,
            values.pop("written_by", None) or scene.by,
            f"{reason}; {told}" if reason else told,
            scene.gathered,
            scene.is_fresh(self.form.kind, at),
        )
        timed = at_time is not None
        return Said(self.file, line, values, texts, further, at, timed, how)

    def _told(self, line: int, name: str, given: str, failure: HygieneError) -> Wrong:
        return Wrong(
            line,
            self.heads.get(name, name),
            given,
            one_line(failure),
            failure.way_out or REMEDY.format(kind=self.form.kind),
        )


def _wrong(said: Said, failure: HygieneError) -> Wrong:
    """What an act says against a line, beside the column that it is about."""
    form = said.file.source.form
    column = _column_of(form, said, failure)
    given = said.texts.get(column or "", "")
    remedy = failure.way_out or REMEDY.format(kind=form.kind)
    return Wrong(said.line, column, given, one_line(failure), " ".join(remedy.split()))


def _column_of(form: Form, said: Said, failure: HygieneError) -> str | None:
    details = failure.details
    for key in ("column", "key", "where"):
        name = details.get(key)
        if isinstance(name, str):
            name = name if said.texts.get(name) else COLUMN_OF.get(name, name)
            if form.field(name) or name in said.further:
                return name
    given = str(details.get("given") or "").casefold()
    for name, text in (*said.texts.items(), *said.further.items()):
        if given and text and (given in text.casefold() or text.casefold() in given):
            return name
    sort = details.get("sort")
    return sort if isinstance(sort, str) and form.field(sort) else None
