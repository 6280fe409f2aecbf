"""What a person types of a dose: what it is on, from which can, what was read."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Annotated, Any

import typer

from hygiene.acts.against_dosing import container
from hygiene.acts.codes import UnknownCode, known, meant
from hygiene.cli.containers import smallest
from hygiene.cli.desk import Desk, NotYet
from hygiene.cli.fields import decimal
from hygiene.errors import WronglyPut
from hygiene.kinds.base import CannotBe
from hygiene.kinds.checks import expand
from hygiene.kinds.moments import stamp, typed_moment
from hygiene.kinds.sanitising import Dose, Drawn, Reading
from hygiene.quantities import duration_min, level_mg_per_l, temperature_c, volume_l

SORTS = ("tray", "line", "tank", "tool")
READ = re.compile(r"([a-z]+)=([<>]?)\s*([0-9.]+)\s*(?:@(.+))?", re.IGNORECASE)

What = Annotated[
    list[str] | None,
    typer.Argument(metavar="[CODES]...", help="T001..T012, a line, a tank, a tool."),
]
From = Annotated[
    list[str] | None,
    typer.Option(
        "--from", metavar="CODE[=AMOUNT]", help="The container, and what was drawn."
    ),
]
Product = Annotated[
    str | None, typer.Option(help="The product, where no container is named.")
]
To = Annotated[str | None, typer.Option(metavar="PPM", help="The strength wanted.")]
Volume = Annotated[
    str | None, typer.Option("--in", metavar="VOLUME", help="Made up to: '60 L'.")
]
Surface = Annotated[str | None, typer.Option(help="A surface: which.")]
Tools = Annotated[
    str | None, typer.Option(metavar="CODES", help="Jugs, tub, sprayer, drain.")
]
Way = Annotated[str | None, typer.Option(help="soak, spray, foam or wipe.")]
Tub = Annotated[
    str | None,
    typer.Option(metavar="ENTRY", help="From the tub that this dose made up."),
]
Start = Annotated[
    str | None, typer.Option(metavar="PPM", help="Read before the first tray.")
]
End = Annotated[
    str | None, typer.Option(metavar="PPM", help="Read after the last tray.")
]
Read = Annotated[
    list[str] | None,
    typer.Option(
        "--read",
        metavar="SPOT=MG_PER_L[@TIME]",
        help="start, mid, end, nozzle, incoming, rinsed; may be repeated.",
    ),
]
KitCode = Annotated[
    str | None, typer.Option("--kit", help="The kit that read it, by its code.")
]
Ph = Annotated[str | None, typer.Option("--ph", help="The solution's pH.")]
Temp = Annotated[
    str | None, typer.Option("--temp", metavar="TEMP", help="The solution's: '14 C'.")
]
Ended = Annotated[
    str | None, typer.Option(metavar="TIME", help="When the contact ended.")
]
Stood = Annotated[
    str | None, typer.Option(metavar="TIME", help="Or how long: '12 min'.")
]
Washed = Annotated[
    bool | None, typer.Option("--washed/--not-washed", help="Washed first.")
]
Deep = Annotated[bool, typer.Option("--deep", help="The deep variant, after mould.")]
Rinsed = Annotated[
    bool | None, typer.Option("--rinsed/--not-rinsed", help="Rinsed after.")
]
ToolsRinsed = Annotated[
    bool | None,
    typer.Option("--tools-rinsed/--tools-not-rinsed", help="The tools as well."),
]
Dry = Annotated[bool | None, typer.Option("--dry/--not-dry", help="Stood until dry.")]
Gear = Annotated[
    str | None, typer.Option(metavar="LIST", help="Worn: gloves, goggles ...")
]
LockedOffBy = Annotated[
    str | None, typer.Option(metavar="CODE", help="Who locked the line's timer.")
]
Measure = Annotated[
    str | None,
    typer.Option(metavar="TOOL", help="Plan for a '100 ml jug, 10 ml marks'."),
]
Note = Annotated[str | None, typer.Option(help="A remark.")]


class NotAReading(WronglyPut):
    """A text that is no reading at a spot."""

    sentence = "{given!r}: write a reading as start=190, or end=150@08:12"


class NotFrom(WronglyPut):
    """A text that names no container, or no amount of it."""

    sentence = "{given!r}: write the container and how much, as C-K7-3-X=96ml"


class Mixed(WronglyPut):
    """Trays and a line in one dose."""

    sentence = "one dose is for trays, or for a line or tank, or for a surface"


class NoProduct(WronglyPut):
    """A dose of nobody knows what."""

    sentence = "of which product? say --from C-K7-3-X=96ml, or --product CODE"


def number(reader: Any, given: str | None) -> Decimal | None:
    """A quantity by its own reader, as the record keeps it, or None."""
    return None if given is None else Decimal(str(round(reader(given), 6)))


def listed(given: str | None) -> tuple[str, ...]:
    """Words with commas between, in small letters, each once."""
    parts = (part.strip().lower() for part in (given or "").split(","))
    return tuple(dict.fromkeys(part for part in parts if part))


def drawn_of(desk: Desk, text: str) -> dict[str, Any]:
    """``C-K7-3-X=96ml`` as a container and its smallest units; raises ``NotFrom``."""
    code, equals, much = text.partition("=")
    made: dict[str, Any] = {"container": meant(desk.record, "container", code)}
    if equals:
        if not much.strip():
            raise NotFrom(given=text)
        held = container(desk.record, code)
        made |= smallest(much, solid=held.unit == "mg")
    return made


def product_of(
    desk: Desk, given: str | None, drawn: Sequence[Mapping[str, Any]]
) -> str:
    """The product that was named, or that the first container holds."""
    if given is not None:
        return known(desk.farm, "product", given)
    if not drawn:
        raise NoProduct
    return container(desk.record, str(drawn[0]["container"])).product


def targets(
    desk: Desk, what: Iterable[str] | None, surface: str | None, tools: str | None
) -> dict[str, Any]:
    """What is treated, told apart by the farm's own codes."""
    found = sorted_codes(desk, what or ())
    listed = [known(desk.farm, "tool", code) for code in _upper(tools)]
    line, tank = found["line"], found["tank"]
    if len(line) > 1 or len(tank) > 1:
        raise WronglyPut(what="one line, and one tank, in one dose")
    sorts = [bool(line or tank), bool(found["tray"]), surface is not None]
    if sum(sorts) > 1:
        raise Mixed
    target = (
        "line" if line else "tank" if tank else "tray" if found["tray"]
        else "surface" if surface else "tool"
    )  # fmt: skip
    return {
        "target": target,
        "trays": tuple(found["tray"]),
        "line": line[0] if line else None,
        "tank": tank[0] if tank else None,
        "place": surface,
        "tools": tuple(dict.fromkeys([*found["tool"], *listed])),
    }


def _upper(given: str | None) -> list[str]:
    return [part.strip() for part in (given or "").split(",") if part.strip()]


def sorted_codes(desk: Desk, words: Iterable[str]) -> dict[str, list[str]]:
    """Codes and ranges by what they are: trays, lines, tanks, tools.

    Raises ``UnknownCode`` for what is none of them.
    """
    names = {
        code.upper(): (sort, code) for sort in SORTS for code in desk.farm.things(sort)
    }
    found: dict[str, list[str]] = {sort: [] for sort in SORTS}
    for word in words:
        for code in _expanded(word):
            if code.upper() not in names:
                raise UnknownCode(
                    sort="tray, line, tank or tool",
                    given=code,
                    way_out="they stand in the farm file; a surface: --surface TEXT",
                )
            sort, name = names[code.upper()]
            if name not in found[sort]:
                found[sort].append(name)
    return found


def _expanded(word: str) -> Iterator[str]:
    for part in word.split(","):
        try:
            yield from expand(part.strip())
        except CannotBe as odd:
            raise WronglyPut(what=odd.details["what"]) from odd


def readings_of(
    desk: Desk, began: datetime, given: Iterable[str], words: Mapping[str, Any]
) -> tuple[Reading, ...]:
    """Readings such as ``start=190`` or ``end=>150@08:12``, with what read them."""
    kit, ph, temp = (words.get(key) for key in ("kit", "ph", "temp"))
    by_kit = None if kit is None else known(desk.farm, "kit", kit)
    made = []
    for text in given:
        found = READ.fullmatch(text.strip())
        if found is None:
            raise NotAReading(given=text)
        spot, sign, value, at = found.groups()
        made.append(
            Reading(
                spot=spot.lower(),
                value_mg_per_l=decimal("--read", value),
                sign=sign or None,
                kit=by_kit,
                read_at=None if at is None else stamp(_later(desk, began, at)),
                ph=None if ph is None else decimal("--ph", ph),
                temp_c=number(temperature_c, temp),
            )
        )
    return tuple(made)


def _later(desk: Desk, began: datetime, given: str) -> datetime:
    """A time after the dose began: of the next day where the clock went past 12."""
    at = typed_moment(given, began, desk.farm.zone)
    if at < began and len(given.strip()) <= 8:
        at = typed_moment(given, began + timedelta(days=1), desk.farm.zone)
    if at > desk.now:
        raise NotYet(
            given=f"{at:%Y-%m-%d %H:%M}",
            now=f"{desk.now:%H:%M}",
            way_out=f"it began {began:%Y-%m-%d %H:%M}; if not, say when: --at TIME",
        )
    return at


def ended_at(
    desk: Desk, began: datetime, ended: str | None, stood: str | None
) -> str | None:
    """When a contact ended, by the clock or by how long it stood."""
    if stood is not None:
        return stamp(began + timedelta(minutes=duration_min(stood)))
    return None if ended is None else stamp(_later(desk, began, ended))


def dose_of(
    desk: Desk,
    began: datetime,
    drawn: Sequence[Mapping[str, Any]],
    words: Mapping[str, Any],
) -> Dose:
    """A dose from the words of its command, each under its option's name."""
    locked_off_by = words["locked_off_by"]
    spots = [f"{s}={words[s]}" for s in ("start", "end") if words[s] is not None]
    treated = targets(desk, words["what"], words["surface"], words["tools"])
    return Dose(
        product=product_of(desk, words["product"], drawn),
        drawn=tuple(Drawn(**row) for row in drawn if len(row) > 1),
        **treated,
        way=words["way"],
        tub=words["tub"],
        volume_l=number(volume_l, words["volume"]),
        target_mg_per_l=number(level_mg_per_l, words["to"]),
        readings=readings_of(desk, began, [*spots, *(words["read"] or ())], words),
        ended_at=ended_at(desk, began, words["ended"], words["stood"]),
        washed_before=words["washed"],
        deep=words["deep"],
        rinsed=words["rinsed"],
        tools_rinsed=words["tools_rinsed"],
        dry=words["dry"],
        gear=listed(words["gear"]),
        locked_off_by=desk.person(locked_off_by, began) if locked_off_by else None,
        note=words["note"],
    )
