"""Sanitisers: a container that came in, what was drawn, measured, dosed and rinsed.

What must balance is a whole number of the smallest unit: tenths of a millilitre of a
liquid, milligrams of a solid. An entry's own moment is when the thing began.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import (
    need_code,
    need_moment,
    need_one_of,
    need_order,
    need_range,
    need_text,
)

TARGETS = ("tray", "line", "tank", "surface", "tool")
SPOTS = ("start", "mid", "end", "nozzle", "incoming", "rinsed")
WAYS = ("soak", "spray", "foam", "wipe")
MOST = 10_000_000_000
"""Of tenths of a millilitre, or of milligrams: a tanker, or ten tonnes."""


def _need_amount(of: Any) -> None:
    if (of.tenth_ml is None) == (of.mg is None):
        raise CannotBe(
            key="tenth_ml", what="say how much: a liquid by volume, a solid by weight"
        )
    need_range(of, "tenth_ml", 1, MOST, "tenths of a millilitre")
    need_range(of, "mg", 1, MOST, "milligrams")


def _need_named_once(of: Any, *keys: str) -> None:
    for key in keys:
        given = getattr(of, key)
        if len(set(given)) != len(given):
            twice = next(code for code in given if given.count(code) > 1)
            raise CannotBe(key=key, what=f"{twice} is named twice")


@dataclass(frozen=True, slots=True, kw_only=True)
class Container(Kind):
    """A container of a product that came in; ``maker_batch`` letter by letter.

    A liquid has its size in ``tenth_ml``, a solid in ``mg``. ``kept_at_c`` is how warm
    it is where it stands: the loss of strength hangs on that.
    """

    kind = "container"
    container: str = ref()
    product: str = ref()
    maker_batch: str | None = None
    tenth_ml: int | None = None
    mg: int | None = None
    made_on: date | None = None
    received_on: date | None = None
    expires_on: date | None = None
    kept_where: str | None = None
    kept_at_c: Decimal | None = None
    supplier: str | None = ref(default=None)
    document: str | None = None
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "container", "product", "supplier")
        need_text(self, "maker_batch", "kept_where", "document")
        need_range(self, "kept_at_c", -20, 60, "C")
        need_order(self, "made_on", "received_on")
        need_order(self, "made_on", "expires_on")
        _need_amount(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened(Kind):
    """A container was opened: from then on it keeps for as long as its label says."""

    kind = "opened"
    container: str = ref()

    def __post_init__(self) -> None:
        need_code(self, "container")


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength(Kind):
    """What a container was found to hold: g/L of the active, or g/kg of a solid.

    It replaces the model of ageing, which goes on from it.
    """

    kind = "strength"
    container: str = ref()
    value_g_per_l: Decimal | None = None
    value_g_per_kg: Decimal | None = None
    method: str | None = None
    kit: str | None = ref(default=None)
    note: str | None = None
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "container", "kit")
        need_text(self, "method", "note")
        need_range(self, "value_g_per_l", 0, 2000, "g/L")
        need_range(self, "value_g_per_kg", 0, 1000, "g/kg")
        if (self.value_g_per_l is None) == (self.value_g_per_kg is None):
            raise CannotBe(key="value_g_per_l", what="say the strength that was found")


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost(Kind):
    """Product that left a container and was not dosed: spilled, thrown away, gone."""

    kind = "lost"
    container: str = ref()
    tenth_ml: int | None = None
    mg: int | None = None
    why: str
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "container")
        need_text(self, "why")
        _need_amount(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What was measured out of a container: tenths of a millilitre, or milligrams."""

    container: str = ref()
    tenth_ml: int | None = None
    mg: int | None = None

    def __post_init__(self) -> None:
        need_code(self, "container")
        _need_amount(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A strength that was read, with the kit that read it, in mg/L of the active.

    ``spot``: at the start, in the middle or at the end of the tub; at the last
    ``nozzle`` of a line; of the ``incoming`` water; or what was left once
    ``rinsed``. ``read_at`` is RFC 3339; ``sign`` (< or >) says that the kit's
    scale ended there.
    """

    value_mg_per_l: Decimal
    spot: str
    sign: str | None = None
    kit: str | None = ref(default=None)
    read_at: str | None = None
    ph: Decimal | None = None
    temp_c: Decimal | None = None

    def __post_init__(self) -> None:
        need_one_of(self, "spot", *SPOTS)
        need_one_of(self, "sign", "<", ">")
        need_code(self, "kit")
        need_range(self, "value_mg_per_l", 0, 1_000_000, "mg/L")
        need_range(self, "ph", 0, 14)
        need_range(self, "temp_c", -10, 100, "C")
        need_moment(self, "read_at")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose(Kind):
    """A sanitiser, cleaner or descaler in use: on what, how much, how strong, how long.

    ``happened_at`` is when the contact began and ``ended_at`` when it ended; contact
    minutes are worked out. ``target`` says what was treated: trays, a line, a tank, a
    surface (``place``) or tools; ``tools`` are also the jugs, sprayers and drains that
    it went through. ``tub`` names the dose for which the tub was made up, where that
    was another one. ``finds`` are the mould records after which these trays need the
    deep variant. ``locked_off_by`` is who locked the timer of a line. ``marks`` are
    the rules that it stands against for ever.
    """

    kind = "dose"
    product: str = ref()
    drawn: tuple[Drawn, ...] = ()
    target: str
    trays: tuple[str, ...] = ref(default=())
    line: str | None = ref(default=None)
    tank: str | None = ref(default=None)
    place: str | None = None
    tools: tuple[str, ...] = ref(default=())
    way: str | None = None
    tub: str | None = ref(default=None)
    volume_l: Decimal | None = None
    target_mg_per_l: Decimal | None = None
    planned_tenth_ml: int | None = None
    planned_mg: int | None = None
    readings: tuple[Reading, ...] = ()
    ended_at: str | None = None
    washed_before: bool | None = None
    deep: bool = False
    finds: tuple[str, ...] = ref(default=())
    rinsed: bool | None = None
    tools_rinsed: bool | None = None
    dry: bool | None = None
    gear: tuple[str, ...] = ()
    locked_off_by: str | None = None
    note: str | None = None
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "product", "line", "tank", "locked_off_by")
        need_text(self, "place", "note")
        need_one_of(self, "target", *TARGETS)
        need_one_of(self, "way", *WAYS)
        need_range(self, "volume_l", 0.001, 1_000_000, "L")
        need_range(self, "target_mg_per_l", 0, 1_000_000, "mg/L")
        need_moment(self, "ended_at")
        _need_named_once(self, "trays", "tools")
        if not self._treated():
            raise CannotBe(key="target", what=f"say which {self.target} was treated")

    def _treated(self) -> bool:
        of = {
            "tray": self.trays,
            "line": self.line,
            "tank": self.tank,
            "surface": self.place,
            "tool": self.tools,
        }
        return bool(of[self.target])


@dataclass(frozen=True, slots=True, kw_only=True)
class Rinse(Kind):
    """Clean water over what was dosed: trays, a line, a tank, tools.

    ``doses`` names what it washes off. A line's rinse is its flush: ``readings`` at
    the last nozzle and of the incoming water, ``timer_on`` once it runs again.
    ``dry`` says that it stood until dry; ``rinsed`` false: dried only.
    """

    kind = "rinse"
    doses: tuple[str, ...] = ref(default=())
    trays: tuple[str, ...] = ref(default=())
    line: str | None = ref(default=None)
    tank: str | None = ref(default=None)
    tools: tuple[str, ...] = ref(default=())
    rinsed: bool = True
    dry: bool | None = None
    volume_l: Decimal | None = None
    readings: tuple[Reading, ...] = ()
    timer_on: bool | None = None
    note: str | None = None
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "line", "tank")
        need_text(self, "note")
        need_range(self, "volume_l", 0.001, 1_000_000, "L")
        _need_named_once(self, "trays", "tools")
        if not (self.trays or self.line or self.tank or self.tools):
            raise CannotBe(key="trays", what="say what was rinsed")
        if not (self.rinsed or self.dry or self.readings or self.timer_on):
            raise CannotBe(key="rinsed", what="neither rinsed, dried nor read")
