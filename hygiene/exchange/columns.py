"""Which column of a spreadsheet is which: as its heading says, as a file says, or as a
person agrees.

A heading that is a column's own name, or is said in a mapping file, is certain. One
that is called otherwise is guessed, and a guess is only ever a proposal.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Final, NamedTuple

from hygiene.errors import HygieneError
from hygiene.exchange.forms import PARAMETER, STEP, Field, Form
from hygiene.exchange.sheet import Wrong
from hygiene.water.parameters import parameter_of

LEFT_OUT: Final = "-"
"""What a mapping file says of a column that is not read."""
OTHERWISE: Final[Mapping[str, tuple[str, ...]]] = {
    "date": ("day", "when", "datum", "on", "date_of", "tag"),
    "time": ("at", "hour", "uhrzeit", "clock"),
    "by": ("who", "initials", "signed", "signature", "sign", "person", "done_by",
           "operator", "worker", "fed_by", "sown_by", "name"),
    "kg": ("weight", "weight_kg", "kilos", "kilo", "kilograms", "amount_kg", "kgs",
           "fresh_weight", "gewicht", "quantity_kg"),
    "note": ("notes", "remark", "remarks", "comment", "comments", "bemerkung"),
    "trays": ("tray", "tray_no", "tray_nos", "tray_numbers", "which_trays"),
    "batch": ("batch_no", "batch_number", "batch_code", "charge", "our_batch"),
    "lot": ("lot_no", "lot_number", "seed_lot", "our_lot", "seed"),
    "animals": ("group", "fed_to", "to", "pen", "stock", "herd", "flock"),
    "buyer": ("customer", "sent_to", "sold_to", "to"),
    "supplier": ("from", "bought_from", "vendor"),
    "supplier_lot": ("their_lot", "supplier_lot_no", "bag_no", "supplier_batch"),
    "document": ("delivery_note", "invoice", "ticket", "docket"),
    "look_ok": ("looks", "looks_ok", "look", "appearance", "visual"),
    "smell_ok": ("smells", "smells_ok", "smell", "odour", "odor"),
    "why": ("reason_why", "cause", "because"),
    "point": ("sample_point", "tap", "where", "sampling_point", "location"),
    "laboratory": ("lab", "labor"),
    "certificate": ("report_no", "certificate_no", "cert"),
    "minutes": ("contact", "contact_minutes", "contact_time", "mins", "stood"),
    "target_mg_per_l": ("ppm", "target", "target_ppm", "strength", "mg_l"),
    "start_mg_per_l": ("start", "start_ppm", "ppm_start", "first_reading"),
    "end_mg_per_l": ("end", "end_ppm", "ppm_end", "last_reading"),
    "amount": ("drawn", "measured", "ml", "quantity", "size"),
    "volume_l": ("volume", "litres", "tub", "made_up_to"),
    "container": ("can", "can_no", "drum"),
    "task": ("job", "checklist", "what_done"),
    "what": ("pest", "found", "description"),
    "place": ("where", "location"),
    "did": ("action_taken", "done_about_it", "measure"),
    "written_by": ("typed_by", "entered_by"),
}  # fmt: skip
SURE_ENOUGH: Final = 0.82


class Column(NamedTuple):
    """A column of the file: where it stands, its heading, and what it is read as.

    ``step`` is the name of a checklist's step or a water parameter, as it is headed.
    """

    place: int
    head: str
    field: Field
    guessed: bool = False

    @property
    def told(self) -> str:
        """Its heading, and what it is read as."""
        return f"{self.head} = {self.field.name}"


class Matched(NamedTuple):
    """What the headings were taken for, what was left out, and what is wrong."""

    columns: tuple[Column, ...]
    left_out: tuple[str, ...]
    wrong: tuple[Wrong, ...]

    @property
    def guesses(self) -> tuple[Column, ...]:
        """The columns of which only the person can say whether it is so."""
        return tuple(column for column in self.columns if column.guessed)


def match(
    form: Form,
    heads: Sequence[str],
    said: Mapping[str, str],
    *,
    line: int = 1,
    always: Sequence[str] = (),
) -> Matched:
    """Find a column of the form for each heading.

    ``said`` is what a mapping file says of a heading: a column's name, or ``-``;
    ``always`` are the columns of which it says what stands in every line.
    """
    wanted = {key.casefold(): value for key, value in said.items()}
    columns: list[Column] = []
    left_out: list[str] = []
    wrong: list[Wrong] = []
    taken: dict[str, str] = {}
    for place, head in _certain_first(form, heads, wanted):
        name = wanted.get(head.casefold())
        if name == LEFT_OUT:
            left_out.append(head)
            continue
        found = _field(form, name or head, taken, guess=name is None)
        if found is None:
            wrong.append(_unknown(form, head, name, line))
        elif found.field.name in taken:
            wrong.append(_twice(head, taken[found.field.name], found.field, line))
        else:
            taken[found.field.name] = head
            columns.append(found._replace(place=place, head=head))
    wrong += _missing(form, {*taken, *always}, line)
    columns.sort(key=lambda column: column.place)
    unsaid = [key for key in said if key.casefold() not in map(str.casefold, heads)]
    wrong += (_no_such_head(key, heads, line) for key in unsaid)
    return Matched(tuple(columns), tuple(left_out), tuple(wrong))


def _certain_first(
    form: Form, heads: Sequence[str], wanted: Mapping[str, str]
) -> Iterator[tuple[int, str]]:
    """Headings that are certain take their columns before any is guessed."""
    named = [(place, head) for place, head in enumerate(heads) if head]
    sure = [
        each for each in named
        if each[1].casefold() in wanted or form.field(plain(each[1]))
    ]  # fmt: skip
    yield from sure
    yield from (each for each in named if each not in sure)


def plain(head: str) -> str:
    """A heading as a name: small letters, no units, no signs."""
    bare = re.sub(r"\(.*?\)|\[.*?\]", " ", head.casefold())
    return re.sub(r"[^\w.]+", "_", bare).strip("_.")


def _field(
    form: Form, head: str, taken: Mapping[str, str], *, guess: bool
) -> Column | None:
    name = plain(head)
    found = form.field(name) or form.field(head.strip())
    if found is not None:
        return Column(0, head, found)
    more = _further(form, head)
    if more is not None:
        return Column(0, head, more)
    if not guess:
        return None
    free = [field for field in form.fields if field.name not in taken]
    for field in free:
        if name in OTHERWISE.get(field.name, ()):
            return Column(0, head, field, guessed=True)
    close = get_close_matches(name, [f.name for f in free], 1, SURE_ENOUGH)
    for field in free:
        if field.name in close:
            return Column(0, head, field, guessed=True)
    return None


def _further(form: Form, head: str) -> Field | None:
    """A parameter of water, or a step: ``temp.GROW``, which its checklist judges."""
    if form.more == PARAMETER:
        bare = re.sub(r"\(.*?\)|\[.*?\]", " ", head)
        try:
            code = parameter_of(bare).code
        except HygieneError:
            return None
        return Field(f"{PARAMETER} {code}", "text", "a result of water")
    if form.more == STEP and "." in head and " " not in head:
        return Field(f"{STEP} {head}", "text", "an answer to a step")
    if form.more == STEP and head.casefold().startswith("step "):
        return Field(f"{STEP} {head[5:].strip()}", "text", "an answer to a step")
    return None


def _unknown(form: Form, head: str, name: str | None, line: int) -> Wrong:
    names = ", ".join(field.name for field in form.fields)
    close = get_close_matches(plain(name or head), [f.name for f in form.fields], 1)
    hint = f"is it {close[0]!r}? " if close else ""
    step = " A step of the checklist is headed STEP NAME." if form.more == STEP else ""
    return Wrong(
        line, head, name or head,
        f"{form.kind} has no column {name or head!r}",
        f"{hint}rename it, or leave it out in a mapping file: "
        f'"{head}" = "-".{step} The columns: {names}',
    )  # fmt: skip


def _twice(head: str, other: str, field: Field, line: int) -> Wrong:
    return Wrong(
        line, head, head, f"both {other!r} and {head!r} are read as {field.name!r}",
        f'leave one out in a mapping file: "{head}" = "-"',
    )  # fmt: skip


def _missing(form: Form, there: set[str], line: int) -> Iterator[Wrong]:
    for field in form.fields:
        if field.required and field.name not in there:
            yield Wrong(
                line, field.name, "", f"there is no column {field.name!r}",
                f"add it ({field.says}), or say it in a mapping file under [always]",
            )  # fmt: skip


def _no_such_head(key: str, heads: Sequence[str], line: int) -> Wrong:
    close = get_close_matches(key, list(heads), 1)
    return Wrong(
        line, key, key, f"the mapping file names a heading {key!r} that is not there",
        f"is it {close[0]!r}?" if close else f"the headings: {', '.join(heads)[:200]}",
    )  # fmt: skip
