"""``hygiene container``: cans and drums of sanitiser, from coming in to empty."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Annotated, Any

import typer

from hygiene.acts import containers as acts
from hygiene.acts import store
from hygiene.acts.codes import known, meant
from hygiene.acts.how import How
from hygiene.acts.rules import Against
from hygiene.book.writing import Writing
from hygiene.cli.attach import Attach, attached
from hygiene.cli.batches import tell
from hygiene.cli.desk import (
    AsJson,
    At,
    By,
    Desk,
    RecordPath,
    WrittenBy,
    at_work,
    entry_json,
    note,
    reading,
    show_json,
    written,
)
from hygiene.cli.lazy import one_command
from hygiene.cli.typed import how
from hygiene.errors import HygieneError, WronglyPut
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.moments import typed_day
from hygiene.kinds.sanitising import Lost, Strength
from hygiene.kinds.words import gist
from hygiene.quantities import Gallon, mass_g, number, temperature_c, volume_l
from hygiene.sanitising.containers import Container, amount, last_day

container_app = one_command()


class OneThing(WronglyPut):
    """Several things about a container at once, or nothing about it."""

    sentence = "say one thing about a container: --size, --open, --strength or --lost"


class NotAStrength(WronglyPut):
    """A text that is no strength of a container."""

    sentence = "{given!r} is no strength: write what was found as '112 g/L' or g/kg"


Size = Annotated[
    str | None, typer.Option(help="It came in: how much is in it, as '10 L'.")
]
Count = Annotated[int, typer.Option(min=1, max=50, help="How many alike came.")]
MakerBatch = Annotated[
    str | None, typer.Option(help="The maker's batch, letter by letter.")
]
Made = Annotated[
    str | None, typer.Option(metavar="DATE", help="Made on, by its label.")
]
Expires = Annotated[
    str | None, typer.Option(metavar="DATE", help="To be used by, by its label.")
]
KeptWhere = Annotated[str | None, typer.Option(help="Where it stands.")]
KeptAt = Annotated[
    str | None, typer.Option(metavar="TEMP", help="How warm it is there: '15 C'.")
]
Supplier = Annotated[str | None, typer.Option(help="The supplier's code.")]
Document = Annotated[str | None, typer.Option(help="The delivery note.")]
Open = Annotated[bool, typer.Option("--open", help="It was opened.")]
Found = Annotated[
    str | None, typer.Option(metavar="STRENGTH", help="It was found to hold this.")
]
Method = Annotated[str | None, typer.Option(help="How the strength was found.")]
KitCode = Annotated[str | None, typer.Option(help="With which kit.")]
Gone = Annotated[
    str | None, typer.Option(metavar="AMOUNT", help="So much is gone, not dosed.")
]
Why = Annotated[str | None, typer.Option(help="Why it is gone.")]
Everything = Annotated[bool, typer.Option("--all", help="List the empty ones as well.")]


@container_app.command()
def container(
    ctx: typer.Context,
    what: Annotated[
        str | None,
        typer.Argument(metavar="[CODE]", help="A product that came in; or C-K7-3-X."),
    ] = None,
    size: Size = None,
    count: Count = 1,
    maker_batch: MakerBatch = None,
    made: Made = None,
    expires: Expires = None,
    kept_where: KeptWhere = None,
    kept_at: KeptAt = None,
    supplier: Supplier = None,
    document: Document = None,
    opened: Open = False,
    strength: Found = None,
    method: Method = None,
    kit: KitCode = None,
    lost: Gone = None,
    why: Why = None,
    everything: Everything = False,
    attach: Attach = None,
    as_json: AsJson = False,
    by: By = None,
    written_by: WrittenBy = None,
    at: At = None,
    record: RecordPath = None,
) -> None:
    """Take a container in, open it, measure it, write off what is gone; or list them.

    Examples: hygiene container hypo --size "10 L" --maker-batch "HX 26/2" --by AB

      hygiene container C-K7-3-X --open --by AB

      hygiene container C-K7-3-X --strength "112 g/L" --method titration --by AB
    """
    said = [size is not None, opened, strength is not None, lost is not None]
    if what is None or not any(said):
        with reading(ctx, record) as desk:
            _show(desk, what, everything, as_json)
        return
    if sum(said) > 1:
        raise OneThing
    with at_work(ctx, record) as desk:
        act = how(desk, by, at, written_by)
        with desk.writing() as writing:
            # the words are read by what is done with the container
            words = {**ctx.params, "attach": attach}  # there it is text still
            done = _write(desk, writing, what, act, words)
        odd = acts.register_odd(desk.record, desk.setup, desk.farm, done[0].entry)
    if as_json:
        for fault in odd:
            note(f"Note: {fault.says} ({fault.source})")
        show_json([entry_json(each.entry) for each in done])
        if any(each.action is not None and not each.already for each in done):
            raise typer.Exit(3)
        return
    for fault in odd:
        print(f"Note: {fault.says} ({fault.source})")
    _told(done)


def _write(
    desk: Desk, writing: Writing, what: str, act: How, words: Mapping[str, Any]
) -> list[acts.Written]:
    gallon = _gallon(desk)
    if words["size"] is not None:
        described = _described(desk, what, words)
        described["attached"] = attached(writing, words["attach"])
        described["count"] = words["count"]
        return acts.receive(writing, desk.farm, act, product=what, **described)
    if words["opened"]:
        return [acts.open_(writing, what, act)]
    if words["strength"] is not None:
        found = Strength(
            container=what,
            method=words["method"],
            kit=None if words["kit"] is None else known(desk.farm, "kit", words["kit"]),
            attached=attached(writing, words["attach"]),
            **_found(words["strength"]),
        )
        return [acts.check_strength(writing, found, act)]
    gone: dict[str, Any] = smallest(words["lost"], gallon=gallon)
    lost = Lost(container=what, why=words["why"] or "", **gone)
    return [acts.lose(writing, lost, act)]


def _described(desk: Desk, product: str, words: Mapping[str, Any]) -> dict[str, Any]:
    """What is said of a container that came in, as its kind holds it."""
    body = desk.farm.get("product", known(desk.farm, "product", product)) or {}
    solid = body.get("solid") is True
    return {
        "maker_batch": words["maker_batch"],
        "made_on": _day(desk, words["made"]),
        "received_on": desk.moment(words["at"]).date(),
        "expires_on": _day(desk, words["expires"]),
        "kept_where": words["kept_where"],
        "kept_at_c": _celsius(words["kept_at"]),
        "supplier": words["supplier"],
        "document": words["document"],
        **smallest(words["size"], solid=solid, gallon=_gallon(desk)),
    }


def _told(done: Iterable[acts.Written]) -> None:
    found = False
    for made in done:
        if made.already:
            print(f"Already recorded as {made.entry.name}: {gist(made.entry)}")
            continue
        written(made.entry, gist(made.entry))
        if made.entry.kind == "container":
            print(f"Write {made.entry.get('container')} on it.")
        if made.action is not None:
            tell(_marked(made.entry), made.action)
            found = True
    if found:
        raise typer.Exit(3)


def _marked(entry: Entry) -> Iterator[Against]:
    for mark in items(entry, "marks"):
        yield Against(mark, mark.replace("-", " "), "the label and the record", "")


def _gallon(desk: Desk) -> Gallon | None:
    said = (desk.farm.farm or {}).get("gallon")
    return said if said in ("us", "imp") else None


def _day(desk: Desk, given: str | None) -> date | None:
    return None if given is None else typed_day(given, desk.now.date())


def _celsius(given: str | None) -> Decimal | None:
    return None if given is None else Decimal(str(round(temperature_c(given), 2)))


def _found(given: str) -> dict[str, Any]:
    value, unit = number(given, "a strength: write it as 112 g/L")
    keys = {"g/l": "value_g_per_l", "g/kg": "value_g_per_kg"}
    key = keys.get(unit.replace(" ", "").lower())
    if key is None:
        raise NotAStrength(given=given)
    return {key: Decimal(str(value))}


def smallest(
    given: str, *, solid: bool | None = None, gallon: Gallon | None = None
) -> dict[str, int]:
    """An amount in its smallest whole unit: tenths of a millilitre, or milligrams.

    ``solid`` None: the unit that was typed says whether it is weighed.
    """
    if solid is None:
        try:
            return smallest(given, solid=False, gallon=gallon)
        except HygieneError:
            return smallest(given, solid=True)
    if solid:
        return {"mg": max(round(mass_g(given) * 1000), 1)}
    return {"tenth_ml": max(round(volume_l(given, gallon=gallon) * 10_000), 1)}


# reading


def _show(desk: Desk, what: str | None, everything: bool, as_json: bool) -> None:
    if what is not None:
        code = meant(desk.record, "container", what)
        held = store.container_of(desk.record, code)
        named = desk.record.mentioning(code)
        rows = [] if held is None else [_row(desk, held)]
        if as_json:
            show_json({**(rows[0] if rows else {}), "entries": [e.name for e in named]})
            return
        for line in _whole(rows[0] if rows else {}, named):
            print(line)
        return
    every = store.containers_since(desk.record, None).values()
    kept = [held for held in every if everything or held.left > 0]
    rows = [_row(desk, held) for held in kept]
    if as_json:
        show_json(rows)
        return
    for line in _table(rows):
        print(line)


def _row(desk: Desk, held: Container) -> dict[str, Any]:
    """A container with what is left of it and how strong it may be today."""
    product = desk.farm.get("product", held.product)
    last = last_day(held, product)
    strong = weak = None
    if product is not None:
        # the sums are imported only where a container is shown
        from hygiene.sanitising.dosing import ends_of

        try:
            ends = ends_of(held, product, desk.now.date())
            strong, weak = ends.strong.mg_per_unit, ends.weak.mg_per_unit
        except HygieneError:
            pass
    return {
        "container": held.code,
        "product": held.product,
        "maker_batch": held.maker_batch,
        held.unit: held.size,
        "drawn": held.drawn,
        "lost": held.lost,
        "left": held.left,
        "unit": held.unit,
        "came_on": held.came_on,
        "made_on": held.made_on,
        "opened_on": held.opened_on,
        "use_by": last[0] if last else None,
        "use_by_why": last[1] if last else None,
        "kept_where": held.kept_where,
        "strength_at_most": strong,
        "strength_at_least": weak,
        "odd": list(held.odd),
    }


def _table(rows: list[dict[str, Any]]) -> Iterator[str]:
    if not rows:
        yield "No container is in the store. One comes in:"
        yield '  hygiene container PRODUCT --size "10 L" --maker-batch TEXT'
        return
    yield f"{'container':<12}{'product':<10}{'left of size':<20}{'use by':<12}strength"
    for row in rows:
        of = f"{amount(row['unit'], row['left'])} of "
        of += amount(row["unit"], row[row["unit"]])
        yield (
            f"{row['container']:<12}{row['product']:<10}{of:<20}"
            f"{row['use_by'] or '-'!s:<12}{_strength(row)}"
        ).rstrip()


def _strength(row: Mapping[str, Any]) -> str:
    high, low = row.get("strength_at_most"), row.get("strength_at_least")
    if high is None or low is None:
        return ""
    unit = "g/kg" if row["unit"] == "mg" else "g/L"
    return f"{high:.4g} {unit}" if high == low else f"{low:.3g} to {high:.3g} {unit}"


def _whole(row: dict[str, Any], named: list[Entry]) -> Iterator[str]:
    if row:
        yield from _table([row])
        if row["use_by_why"]:
            yield f"  use by {row['use_by']}: {row['use_by_why']}"
        for key in ("maker_batch", "made_on", "opened_on", "kept_where"):
            if row[key] is not None:
                yield f"  {key.replace('_', ' ')}: {row[key]}"
        yield (
            f"  drawn {amount(row['unit'], row['drawn'])}, lost "
            f"{amount(row['unit'], row['lost'])}"
        )
        yield from (f"  DOES NOT ADD UP: {odd}" for odd in row["odd"])
        if row["left"] < 0:
            yield "  DOES NOT ADD UP: more was drawn or lost than it held"
    for entry in named:
        when = entry.happened_at[:16].replace("T", " ")
        yield f"  {when}  {entry.by:<4} {entry.kind}: {gist(entry)}  ({entry.name})"
