"""A product of the farm's register, and the farm's own gallon, for a calculation.

The record is opened only where a product is named, or where a bare ``gal`` is typed.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import Annotated, Any

import typer

from hygiene.cli.calc import options as opt
from hygiene.cli.calc.show import read_gallon
from hygiene.cli.world import World
from hygiene.errors import Unknown, WronglyPut
from hygiene.quantities import Gallon
from hygiene.sanitising.measuring import Label
from hygiene.sanitising.strength import Strength, read_active, read_strength

Product = Annotated[
    str | None,
    typer.Option(
        metavar="CODE",
        help="A product of the register: its strength, and its label's limits.",
    ),
]


class NoStock(WronglyPut):
    """Neither a strength nor a product was named."""

    sentence = "of what? give --stock, such as '125 g/L', or --product CODE"


class UnknownProduct(Unknown):
    """A code that no product of the register has."""

    sentence = "there is no product {given!r} in the register{near}"


class NoActive(WronglyPut):
    """A product whose register entry says no strength."""

    sentence = "the register does not say how strong {product} is: give --stock"


def strength_and_label(
    ctx: typer.Context,
    product: str | None,
    *,
    stock: str | None,
    density: str | None,
    solid: bool,
    active: str,
    least: str | None = None,
    most: str | None = None,
) -> tuple[Strength, Label | None]:
    """The strength and the label's limits, as typed or from the register.

    What is typed beside a product (a measured strength, say) wins over the register.
    Raises ``NoStock``, ``UnknownProduct`` or ``NoActive``.
    """
    if product is None:
        if stock is None:
            raise NoStock
        strength = opt.read_stock(stock, density, solid, active)
        return strength, opt.read_label(least, most)
    body = _registered(ctx.obj, product)
    typed = opt.read_label(least, most) or Label()
    label = Label(
        _first(typed.least_mg_per_l, body.get("label_min_mg_per_l")),
        _first(typed.most_mg_per_l, body.get("label_max_mg_per_l")),
        str(body.get("name")),
    )
    return _strength(body, stock, density), label


def gallon_of(
    ctx: typer.Context, given: str | None, *texts: str | None
) -> Gallon | None:
    """Whose gallon a bare ``gal`` is: as typed, else as the farm's set-up says."""
    if given is not None or not any(t and "gal" in t.lower() for t in texts):
        return read_gallon(given)
    world: World = ctx.obj
    if not world.record(None).is_file():
        return None
    said = _farm(world).farm
    return read_gallon((said or {}).get("gallon"))


def _first(typed: float | None, registered: Any) -> float | None:
    if typed is not None:
        return typed
    return None if registered is None else float(registered)


def _strength(
    body: Mapping[str, Any], stock: str | None, density: str | None
) -> Strength:
    actives = body.get("actives") or ()
    row: Mapping[str, Any] = actives[0] if actives else {}
    text = stock or row.get("strength")
    if text is None:
        raise NoActive(product=body.get("code"))
    kg_per_l = density or row.get("density_kg_per_l")
    return read_strength(
        str(text),
        active=read_active(str(row.get("name", "chlorine"))),
        density_kg_per_l=None if kg_per_l is None else float(kg_per_l),
        solid=bool(body.get("solid")),
    )


def _registered(world: World, code: str) -> Mapping[str, Any]:
    known = _farm(world).things("product")
    body: Mapping[str, Any]
    for each, body in known.items():
        if each.lower() == code.strip().lower():
            return body
    near = get_close_matches(code, known, 1)
    raise UnknownProduct(
        given=code,
        near=f"; did you mean {near[0]}?" if near else "",
        way_out=f"there are: {', '.join(known)}" if known else None,
    )


def _farm(world: World) -> Any:
    from hygiene.book.record import Record
    from hygiene.farm.in_force import in_force

    with Record.open(world.record(None)) as record:
        return in_force(record.setup(), world.now())
