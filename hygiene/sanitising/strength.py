"""How strong a product is, whichever basis its label uses.

A bare percentage is never read: by volume, by weight, or by weight as the salt, the
same figure differs by up to a fifth. Every strength ends as grams of the active in a
litre of liquid, or in a kilogram of solid, with the working that led there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from hygiene.answers import Answer, figure
from hygiene.errors import WronglyPut
from hygiene.quantities import number
from hygiene.sanitising.cautions import cautions_for

CHLORINE: Final = "chlorine"
PERACETIC: Final = "peracetic acid"
PEROXIDE: Final = "hydrogen peroxide"
QUAT: Final = "quat"
IODINE: Final = "iodine"
CHLORINE_DIOXIDE: Final = "chlorine dioxide"

ACTIVES: Final[dict[str, str]] = {
    CHLORINE: "available chlorine",
    PERACETIC: "peracetic acid",
    PEROXIDE: "hydrogen peroxide",
    QUAT: "quaternary ammonium",
    IODINE: "iodine",
    CHLORINE_DIOXIDE: "chlorine dioxide",
}
"""Every active that can be worked out here, with the words that stand for it."""

_SYNONYMS: Final = {
    "bleach": CHLORINE, "hypochlorite": CHLORINE, "available chlorine": CHLORINE,
    "active chlorine": CHLORINE, "cl": CHLORINE, "cl2": CHLORINE, "hypo": CHLORINE,
    "sodium hypochlorite": CHLORINE, "peracetic": PERACETIC, "paa": PERACETIC,
    "peroxyacetic acid": PERACETIC, "peroxide": PEROXIDE, "h2o2": PEROXIDE,
    "quats": QUAT, "qac": QUAT, "quaternary ammonium": QUAT, "iodophor": IODINE,
    "available iodine": IODINE, "clo2": CHLORINE_DIOXIDE,
}  # fmt: skip

CL2_G_PER_MOL: Final = 70.906
NAOCL_G_PER_MOL: Final = 74.442

CHLORINE_IN: Final[dict[str, float]] = {
    "NaOCl": CL2_G_PER_MOL / NAOCL_G_PER_MOL,
    "Ca(OCl)2": 2 * CL2_G_PER_MOL / 142.98,
    "NaDCC": 2 * CL2_G_PER_MOL / 219.95,
    "NaDCC dihydrate": 2 * CL2_G_PER_MOL / 255.98,
}
"""Grams of available chlorine in a gram of the pure salt, from molar masses."""

_SALTS: Final = {
    "naocl": "NaOCl", "naclo": "NaOCl", "sodiumhypochlorite": "NaOCl",
    "ca(ocl)2": "Ca(OCl)2", "ca(clo)2": "Ca(OCl)2", "calciumhypochlorite": "Ca(OCl)2",
    "nadcc": "NaDCC", "nadccdihydrate": "NaDCC dihydrate",
}  # fmt: skip

CHLOROMETRIC_G_PER_L: Final = 3.17
"""One chlorometric degree: a litre of chlorine gas, at 0 C and 1 atm, in a litre."""

_BASES: Final = {
    "g/l": "g/L", "gpl": "g/L", "mg/l": "mg/L", "ppm": "ppm", "mg/ml": "g/L",
    "g/kg": "g/kg", "%w/v": "% w/v", "%m/v": "% w/v", "%wt/vol": "% w/v",
    "%trade": "% w/v", "trade%": "% w/v", "%w/w": "% w/w", "%m/m": "% w/w",
    "%wt": "% w/w", "wt%": "% w/w", "%byweight": "% w/w", "%wt/wt": "% w/w",
    "chl": "chl", "degchl": "chl", "degreeschl": "chl", "degreechl": "chl",
    "chlorometricdegrees": "chl", "degreeschlorometric": "chl", "chlorum": "chl",
    "degreeschlorum": "chl",
}  # fmt: skip
_G_PER_L_OF: Final = {
    "g/L": 1.0, "mg/L": 0.001, "ppm": 0.001, "% w/v": 10.0,
    "chl": CHLOROMETRIC_G_PER_L,
}  # fmt: skip

_STRONGEST_HYPOCHLORITE_G_PER_L: Final = 250.0


class BadStrength(WronglyPut):
    """A strength whose basis is not said, or that cannot be true."""

    sentence = "{given!r} {fault}"


@dataclass(frozen=True, slots=True)
class Strength:
    """How much of its active a product holds.

    ``mg_per_unit`` is milligrams of active in a millilitre of a liquid or in a gram of
    a solid; ``unit`` says which. It is also grams a litre, or grams a kilogram.
    """

    as_written: str
    active: str
    mg_per_unit: float
    unit: Literal["ml", "g"]
    density_kg_per_l: float | None = None
    steps: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def solid(self) -> bool:
        """Whether it is weighed, not measured by volume."""
        return self.unit == "g"

    @property
    def name(self) -> str:
        """The active in plain words."""
        return ACTIVES[self.active]

    @property
    def mg_per_l(self) -> float:
        """The strength of the liquid itself; of a solid, as if it were all there is."""
        return self.mg_per_unit * 1000


def read_active(text: str) -> str:
    """Read the name of an active; raises :class:`WronglyPut` with those known."""
    name = " ".join(text.lower().split())
    found = _SYNONYMS.get(name, name)
    if found not in ACTIVES:
        known = ", ".join(ACTIVES)
        raise BadStrength(
            given=text[:40], fault=f"is not an active: say one of {known}"
        )
    return found


def read_strength(
    text: str,
    *,
    active: str = CHLORINE,
    density_kg_per_l: float | None = None,
    solid: bool = False,
) -> Strength:
    """Read a strength with its basis, such as ``12.5 % w/v`` or ``11.3 % w/w NaOCl``.

    A liquid by weight needs its density; a bare percentage is refused with what it
    could mean. Chlorine strengths end as *available* chlorine.
    """
    value, rest = number(text, "a strength: write it as 125 g/L or 12.5 % w/v")
    written = f"{figure(value, 6)} {' '.join(rest.split())}"
    if value <= 0:
        raise BadStrength(given=text[:40], fault="must be more than zero")
    basis, salt = _basis(written, value, rest, active, density_kg_per_l)
    held = 1.0 if salt is None else CHLORINE_IN[salt]
    read = _Reading(written, active, value, basis, salt, held)
    if solid:
        return read.of_solid(density_kg_per_l)
    return read.of_liquid(density_kg_per_l)


@dataclass(frozen=True, slots=True)
class _Reading:
    """A strength split into its parts, on the way to one unit."""

    written: str
    active: str
    value: float
    basis: str
    salt: str | None
    held: float

    def of_solid(self, density_kg_per_l: float | None) -> Strength:
        if density_kg_per_l is not None:
            fault = "is a solid: it needs no density, it is weighed"
            raise BadStrength(given=self.written, fault=fault)
        by_weight = {"% w/w": 10.0, "g/kg": 1.0}.get(self.basis)
        if by_weight is None:
            fault = "is not by weight: a solid's strength is written as 65 % w/w"
            raise BadStrength(given=self.written, fault=fault)
        mg_per_g = self.value * by_weight * self.held
        if self.value * by_weight > 1000 or mg_per_g > 1000:
            raise BadStrength(given=self.written, fault="is more than the whole")
        step = (
            f"{self.written} x {figure(by_weight)}{self._as_chlorine()} = "
            f"{figure(mg_per_g)} g/kg {ACTIVES[self.active]}"
        )
        return Strength(self.written, self.active, mg_per_g, "g", None, (step,))

    def of_liquid(self, density_kg_per_l: float | None) -> Strength:
        by_volume = _G_PER_L_OF.get(self.basis)
        if by_volume is None and density_kg_per_l is None:
            fault = (
                "is by weight: give --density (kg/L, on the data sheet), "
                "or --solid if it is a powder or tablet"
            )
            raise BadStrength(given=self.written, fault=fault)
        by_weight = {"% w/w": 10.0, "g/kg": 1.0}.get(self.basis, 0.0)
        density = density_kg_per_l or 0.0
        scale = by_weight * density if by_volume is None else by_volume
        whole_g_per_l = self.value * scale
        if whole_g_per_l > 1000 * (density_kg_per_l or 2.0):
            raise BadStrength(given=self.written, fault="is more than the whole")
        g_per_l = whole_g_per_l * self.held
        times = f" x {figure(scale)}" if scale != 1 else ""
        if by_volume is None:
            times = f" x {figure(by_weight)} x {figure(density)} kg/L"
        step = (
            f"{self.written}{times}{self._as_chlorine()} = {figure(g_per_l)} g/L "
            f"{ACTIVES[self.active]}"
        )
        return Strength(
            self.written, self.active, g_per_l, "ml", density_kg_per_l,
            (step,), self._oddities(g_per_l),
        )  # fmt: skip

    def _as_chlorine(self) -> str:
        if self.salt is None:
            return ""
        return f" x {self.held:.4f} g chlorine per g {self.salt}"

    def _oddities(self, g_per_l: float) -> tuple[str, ...]:
        if self.active == CHLORINE and g_per_l > _STRONGEST_HYPOCHLORITE_G_PER_L:
            return (
                f"{figure(g_per_l)} g/L is stronger than any hypochlorite sold "
                "(about 180 g/L): check the label.",
            )
        return ()


def _basis(
    written: str, value: float, rest: str, active: str, density: float | None
) -> tuple[str, str | None]:
    joined = rest.lower().replace(" ", "").replace("(w/w)", "w/w")
    joined = joined.replace("(w/v)", "w/v")
    for said in (*_own_words(active), ""):
        unit, salt = _split_salt(joined.removesuffix(said), active)
        if unit in _BASES:
            return _BASES[unit], salt
        if unit == "%":
            raise _bare(written, value, active, density)
    if not joined:
        fault = "has no unit: write it as 125 g/L, 12.5 % w/v or 10.8 % w/w"
        raise BadStrength(given=written.strip(), fault=fault)
    fault = "is not a strength: write it as 125 g/L, 12.5 % w/v or 10.8 % w/w"
    raise BadStrength(given=written[:40], fault=fault)


def _own_words(active: str) -> tuple[str, ...]:
    names = [active, ACTIVES[active]]
    names += [name for name, of in _SYNONYMS.items() if of == active]
    joined = {name.replace(" ", "") for name in names} - set(_SALTS)
    every = joined | {"as" + name for name in joined}
    return tuple(sorted(every, key=len, reverse=True))


def _split_salt(joined: str, active: str) -> tuple[str, str | None]:
    if active == CHLORINE:
        for word in sorted(_SALTS, key=len, reverse=True):
            if joined.endswith(word):
                unit = joined.removesuffix(word).removesuffix("as")
                return unit, _SALTS[word]
    return joined, None


def _bare(
    written: str, value: float, active: str, density: float | None
) -> BadStrength:
    # densities of common hypochlorite run from 1.07 at 5 % to 1.2 at 15 % (memory)
    assumed = density or 1 + 0.013 * min(value, 20.0)
    meanings = {"w/v": 10 * value, "w/w": 10 * value * assumed}
    if active == CHLORINE:
        meanings["w/w NaOCl"] = meanings["w/w"] * CHLORINE_IN["NaOCl"]
    told = ", ".join(f"% {name} ({figure(g, 3)} g/L)" for name, g in meanings.items())
    apart = max(meanings.values()) / min(meanings.values()) - 1
    return BadStrength(
        given=written,
        fault=f"of what? {told}: up to {apart * 100:.0f} % apart",
        way_out=f"(By weight at {figure(assumed, 3)} kg/L.) Read the label or data "
        f"sheet, and write the words after the %: {figure(value)} % w/v.",
    )


def strength_answer(stock: Strength) -> Answer:
    """Show one strength in every basis that can be worked out from what is known."""
    values: dict[str, float | None] = {}
    if stock.solid:
        values["g_per_kg"] = stock.mg_per_unit
        values["percent_w_w"] = stock.mg_per_unit / 10
    else:
        values["g_per_l"] = stock.mg_per_unit
        values["percent_w_v"] = stock.mg_per_unit / 10
        if stock.density_kg_per_l is not None:
            values["percent_w_w"] = stock.mg_per_unit / 10 / stock.density_kg_per_l
    if stock.active == CHLORINE:
        values |= _chlorine_bases(stock, values.get("percent_w_w"))
    steps = [*stock.steps]
    steps += [f"{_SAID[key]}: {figure(v)}" for key, v in values.items() if v]
    return Answer(
        values=values,
        says=(f"{stock.as_written} is {figure(stock.mg_per_unit)} "
              f"{'g/kg' if stock.solid else 'g/L'} {stock.name}.",),
        steps=tuple(steps),
        source="molar masses; trade % = g/L / 10; chlorometric degree 3.17 g/L "
        "(CDC, Best Practices for Environmental Cleaning, App. E: about 0.3 %)",
        valid="as labelled, fresh",
        warnings=stock.warnings,
        cautions=cautions_for(stock.active, "strength"),
    )  # fmt: skip


_SAID: Final = {
    "g_per_kg": "g/kg", "g_per_l": "g/L", "percent_w_v": "% w/v (trade %)",
    "percent_w_w": "% w/w", "percent_w_w_naocl": "% w/w as NaOCl",
    "chlorometric_degrees": "chlorometric degrees", "mol_per_l": "mol/L",
}  # fmt: skip


def _chlorine_bases(stock: Strength, by_weight: float | None) -> dict[str, float]:
    values = {}
    if by_weight is not None and not stock.solid:
        values["percent_w_w_naocl"] = by_weight / CHLORINE_IN["NaOCl"]
    if not stock.solid:
        values["chlorometric_degrees"] = stock.mg_per_unit / CHLOROMETRIC_G_PER_L
        values["mol_per_l"] = stock.mg_per_unit / CL2_G_PER_MOL
    return values
