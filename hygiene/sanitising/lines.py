"""Water lines: what they hold, a shock dose, how long it takes, how to flush it.

V = pi d^2 / 4 x length, d being the **inside**. Polyethylene pipe is named by its
outside (ISO 4427-2, EN 12201-2): 25 x 2.3 mm leaves 20.4 mm, and taken as 25 mm it is
overdosed by half.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from hygiene.answers import Answer, figure, litres
from hygiene.errors import WronglyPut
from hygiene.quantities import BadQuantity, length_m
from hygiene.sanitising.dilution import SOURCE, cautions, product_needed
from hygiene.sanitising.strength import CHLORINE, Strength
from hygiene.sanitising.verdict import hold_of

OUTSIDE_SIZES_MM: Final = (12, 16, 20, 25, 32, 40, 50, 63, 75, 90, 110, 125, 160)
"""Outside diameters by which plastic pressure pipe is named (ISO 161-1 series)."""

WALLS_MM: Final[dict[float, dict[int, float]]] = {
    7.4: {20: 3.0, 25: 3.5, 32: 4.4, 40: 5.5, 50: 6.9, 63: 8.6, 75: 10.3, 90: 12.3,
          110: 15.1},
    9.0: {20: 2.3, 25: 3.0, 32: 3.6, 40: 4.5, 50: 5.6, 63: 7.1, 75: 8.4, 90: 10.1,
          110: 12.3},
    11.0: {20: 2.0, 25: 2.3, 32: 3.0, 40: 3.7, 50: 4.6, 63: 5.8, 75: 6.8, 90: 8.2,
           110: 10.0},
    13.6: {25: 2.0, 32: 2.4, 40: 3.0, 50: 3.7, 63: 4.7, 75: 5.6, 90: 6.7, 110: 8.1},
    17.0: {32: 2.0, 40: 2.4, 50: 3.0, 63: 3.8, 75: 4.5, 90: 5.4, 110: 6.6},
}  # fmt: skip
"""Nominal (least) walls of the standard series, as makers print them."""

FLUSH_TIMES: Final = 3
"""Pipe volumes to flush; common practice, no source: the strip has the last word."""


class BadPipe(WronglyPut):
    """A pipe run that cannot be read."""

    sentence = "{given!r} {fault}"


class CannotDose(WronglyPut):
    """A line that cannot be dosed as asked."""

    sentence = "{why}"


@dataclass(frozen=True, slots=True)
class Pipe:
    """One pipe run: its inside diameter and length."""

    as_written: str
    inside_mm: float
    length_m: float
    warning: str = ""

    @property
    def volume_l(self) -> float:
        """What it holds when it is full."""
        return math.pi / 4 * (self.inside_mm / 1000) ** 2 * self.length_m * 1000

    @property
    def step(self) -> str:
        """The working, on one line."""
        return (
            f"{self.as_written}: 0.7854 x ({figure(self.inside_mm)} mm)^2 x "
            f"{figure(self.length_m)} m / 1000 = {figure(self.volume_l)} L"
        )


_BY: Final = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_SIZE: Final = re.compile(
    r"(?P<size>[\d.]+\s*[a-z\"]*?)\s*"
    r"(?:(?P<inside>id|inside|bore)|sdr\s*(?P<sdr>[\d.]+))?",
    re.IGNORECASE,
)


def read_pipe(text: str) -> Pipe:
    """Read a run: ``25mm x 40m`` (inside), ``25mm SDR11 x 40m``, ``25x2.3mm x 40m``.

    ``25mm inside x 40m`` says that 25 mm is the inside, and is not warned about.
    """
    written = " ".join(text.split())[:60]
    parts = _BY.split(text.strip())
    if len(parts) not in (2, 3):
        fault = "is not a pipe run: write 25mm x 40m, 25mm SDR11 x 40m or "
        raise BadPipe(given=written, fault=fault + "25x2.3mm x 40m")
    run_m = _length(parts[-1], written, "40m")
    if len(parts) == 3:
        pipe = _walled(written, parts[0], parts[1], run_m)
    else:
        pipe = _sized(written, parts[0], run_m)
    if not 1 <= pipe.inside_mm <= 2000 or run_m > 100_000:
        raise BadPipe(given=written, fault="cannot be true: check size and length")
    return pipe


def _length(text: str, written: str, example: str) -> float:
    try:
        return length_m(text)
    except BadQuantity as odd:
        fault = f"has no plain length in {text.strip()[:20]!r}: write it as {example}"
        raise BadPipe(given=written, fault=fault) from odd


def _walled(written: str, outside: str, wall: str, run_m: float) -> Pipe:
    unit = re.sub(r"[\d.\s]", "", wall)
    if re.fullmatch(r"[\d.]+", outside.strip()):
        outside += unit
    outside_mm = 1000 * _length(outside, written, "25x2.3mm")
    wall_mm = 1000 * _length(wall, written, "25x2.3mm")
    if 2 * wall_mm >= outside_mm:
        raise BadPipe(given=written, fault="has a wall that leaves no room for water")
    return Pipe(written, outside_mm - 2 * wall_mm, run_m)


def _sized(written: str, spec: str, run_m: float) -> Pipe:
    size = _SIZE.fullmatch(spec.strip())
    if size is None:
        fault = "has no plain size: write 25mm, 25mm SDR11 or 25x2.3mm"
        raise BadPipe(given=written, fault=fault)
    size_mm = 1000 * _length(size["size"], written, "25mm")
    if size["sdr"]:
        return _of_sdr(written, size_mm, size["sdr"], run_m)
    warning = "" if size["inside"] else _outside_warning(size_mm, run_m)
    return Pipe(written, size_mm, run_m, warning)


def _of_sdr(written: str, size_mm: float, sdr_text: str, run_m: float) -> Pipe:
    try:
        sdr = float(sdr_text)
    except ValueError:
        sdr = 0.0
    if not 5 <= sdr <= 51:
        raise BadPipe(given=written, fault="has an SDR that is not one: write SDR11")
    wall_mm = WALLS_MM.get(sdr, {}).get(round(size_mm))
    warning = ""
    if wall_mm is None or abs(size_mm - round(size_mm)) > 1e-6:
        wall_mm = size_mm / sdr
        warning = (
            f"{written}: not in the standard list; wall taken as "
            f"{figure(size_mm)} / {figure(sdr)} = {figure(wall_mm, 3)} mm."
        )
    return Pipe(written, size_mm - 2 * wall_mm, run_m, warning)


def _outside_warning(size_mm: float, run_m: float) -> str:
    size = round(size_mm)
    if abs(size_mm - size) > 1e-6 or size not in OUTSIDE_SIZES_MM:
        return ""
    walls = [by[size] for by in (WALLS_MM[11.0], WALLS_MM[13.6]) if size in by]
    wall_mm = walls[0] if walls else 1.5
    real = Pipe("", size_mm - 2 * wall_mm, run_m)
    taken = Pipe("", size_mm, run_m)
    over = taken.volume_l / real.volume_l - 1
    return (
        f"{size} mm is taken as the inside, but plastic pipe of that name is {size} mm "
        f"outside: {size}x{figure(wall_mm)}mm holds {figure(real.volume_l, 3)} L, not "
        f"{figure(taken.volume_l, 3)} L, so this overdoses by {over:.0%}. Write "
        f"{size}mm SDR11 or {size}x{figure(wall_mm)}mm, or '{size}mm inside'."
    )


def shock(
    pipes: Sequence[Pipe],
    tanks_l: Sequence[float],
    target_mg_per_l: float,
    stock: Strength,
    *,
    flow_l_per_min: float | None = None,
    background_mg_per_l: float = 0.0,
) -> Answer:
    """Answer a shock dose for pipes and tanks: product, waiting and flushing.

    ``fill_minutes`` is the pipes' volume over the flow at the end: when the dose
    reaches the last nozzle. Branches that run together count as one volume.
    """
    if not pipes and not tanks_l:
        raise CannotDose(why="name a --pipe or a --tank: there is nothing to fill")
    pipes_l = sum(pipe.volume_l for pipe in pipes)
    volume = pipes_l + sum(tanks_l)
    product = product_needed(stock, target_mg_per_l, volume, background_mg_per_l)
    minutes = pipes_l / flow_l_per_min if flow_l_per_min else None
    flush_l = FLUSH_TIMES * pipes_l + sum(tanks_l)
    hours, keep, rule = _hold(target_mg_per_l, stock.active)
    values: dict[str, Any] = {
        "volume_l": volume,
        f"product_{stock.unit}": product,
        "fill_minutes": minutes,
        "flush_l": flush_l,
        "pipes_l": pipes_l,
        "tanks_l": sum(tanks_l),
        "hold_hours": hours,
        "keep_above_mg_per_l": keep,
    }
    amount = f"{figure(product)} {stock.unit}"
    says = [
        f"It holds {litres(volume)}: {amount} of product gives "
        f"{figure(target_mg_per_l)} mg/L {stock.name}."
    ]
    if minutes is not None:
        says.append(
            f"The dose is at the last nozzle after about {figure(minutes, 3)} minutes: "
            "strip-test it there before you shut and hold."
        )
    says += [rule, _flush_words(flush_l, pipes_l, tanks_l)]
    return Answer(
        values=values,
        says=tuple(says),
        steps=_shock_steps(
            pipes, tanks_l, stock, target_mg_per_l, background_mg_per_l,
            product, volume, pipes_l, flow_l_per_min,
        ),
        source="pi/4 d^2 x length, d inside (walls: ISO 4427-2, EN 12201-2); "
        f"{SOURCE}; hold: AWWA C651, C652 (25 mg/L for 24 h seen, slug from memory)",
        valid="Full, clean lines without air or biofilm; flow even at all nozzles. "
        "Scale and slime use the dose up: strip-test at the last nozzle.",
        warnings=tuple(pipe.warning for pipe in pipes if pipe.warning) + stock.warnings,
        cautions=cautions(stock, "line"),
    )  # fmt: skip


def _shock_steps(
    pipes: Sequence[Pipe],
    tanks_l: Sequence[float],
    stock: Strength,
    target: float,
    background: float,
    product: float,
    volume: float,
    pipes_l: float,
    flow: float | None,
) -> tuple[str, ...]:
    steps = [pipe.step for pipe in pipes]
    parts = [figure(pipe.volume_l) for pipe in pipes] + [figure(t) for t in tanks_l]
    steps.append(f"volume = {' + '.join(parts)} = {figure(volume)} L")
    wanted = figure(target)
    if background:
        wanted = f"({figure(target)} - {figure(background)})"
    steps += stock.steps
    steps.append(
        f"product = {figure(volume)} L x {wanted} mg/L / {figure(stock.mg_per_unit)} "
        f"mg per {stock.unit} = {figure(product)} {stock.unit}"
    )
    if flow:
        steps.append(
            f"to the last nozzle = {figure(pipes_l)} L / {figure(flow)} L/min = "
            f"{figure(pipes_l / flow, 3)} min"
        )
    steps.append(
        f"flush = {FLUSH_TIMES} x {figure(pipes_l)} + {figure(sum(tanks_l))} = "
        f"{figure(FLUSH_TIMES * pipes_l + sum(tanks_l))} L"
    )
    return tuple(steps)


def _hold(target: float, active: str) -> tuple[float | None, float | None, str]:
    if active != CHLORINE:
        return None, None, "Hold it for as long as the product's label says."
    rule = hold_of(target)
    if rule is not None:
        hours, keep = rule
        meanwhile = "it must not fall below" if hours < 24 else "at the end at least"
        return hours, keep, (
            f"Hold {figure(hours)} hours; {meanwhile} {figure(keep)} mg/L."
        )  # fmt: skip
    return None, None, (
        f"{figure(target)} mg/L is no shock dose (25 mg/L for 24 h, 100 mg/L for 3 h)."
    )  # fmt: skip


def _flush_words(flush_l: float, pipes_l: float, tanks_l: Sequence[float]) -> str:
    drain = f"drain and rinse the tank ({figure(sum(tanks_l))} L), " if tanks_l else ""
    return (
        f"Then {drain}flush the pipes with {litres(FLUSH_TIMES * pipes_l)}: "
        f"{litres(flush_l)} in all, until a strip at the last nozzle shows tap water. "
        "Neutralise it before it leaves (calc neutralise)."
    )
