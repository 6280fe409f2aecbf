"""Containers: taken in, opened, measured, lost; and what stands against drawing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any, Final, NamedTuple

from hygiene.acts.clearance import rules_of
from hygiene.acts.codes import known, meant, mint, need_free
from hygiene.acts.how import How
from hygiene.acts.rules import Against, in_words, marks
from hygiene.acts.store import container_of
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import HygieneError, WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.action import Action
from hygiene.kinds.entry import Body, Entry
from hygiene.kinds.moments import moment_of
from hygiene.kinds.sanitising import Container, Lost, Opened, Strength
from hygiene.sanitising import containers as reading
from hygiene.sanitising.doses import read_label
from hygiene.sanitising.labels import Fault, register_faults

FARM_KEYS: Final = {
    "expired": "on_expired",
    "empty": "on_empty",
    "stale-sds": "on_stale_sds",
}
"""Which key of the farm file says whether a plan is refused for it."""


MOST_TIMES: Final = 1.5
"""How many times its label's strength a container may be found to hold."""


class TooStrong(WronglyPut):
    """A strength that no container of this product can have."""

    sentence = "{code} cannot hold {found}: its label says {labelled}"


class Written(NamedTuple):
    """What an act on a container wrote; the action where something is against it."""

    entry: Entry
    action: Entry | None = None
    already: bool = False


def receive(
    writing: Writing,
    farm: InForce,
    how: How,
    *,
    product: str,
    count: int = 1,
    own: str | None = None,
    **described: Any,
) -> list[Written]:
    """Take containers in, all alike, each under a code of our own.

    ``own`` is the number of a single one on an old paper, where it has one.

    ``described`` are the fields of the kind. One that came past its expiry date is
    written, marked, and to be put right.
    """
    supplier = described.pop("supplier", None)
    bare = Container(
        container=own or mint(writing, "container"),
        product=known(farm, "product", product),
        supplier=None if supplier is None else known(farm, "supplier", supplier),
        **described,
    )
    before = how.retried(writing, bare, "marks" if own else "container", "marks")
    if before is not None:
        return [Written(before, already=True)]
    if own is not None:
        need_free(writing.record, farm, own)
    against = _against_coming(bare, how.at(writing).astimezone(farm.zone).date())
    thing = replace(bare, marks=marks(against))
    done = []
    for _ in range(count):
        code = own or mint(writing, "container")
        made = how.add(writing, replace(thing, container=code))
        done.append(Written(made, _action(writing, made, against, how)))
    return done


def _against_coming(thing: Container, on: date) -> list[Against]:
    if thing.expires_on is None or thing.expires_on >= on:
        return []
    return [
        Against(
            "expired",
            f"it came past its expiry date, {thing.expires_on}",
            "the label of the container",
            "send it back; do not dose from it",
        )
    ]


def _action(
    writing: Writing, made: Entry, against: Sequence[Against], how: How
) -> Entry | None:
    if not against:
        return None
    code = str(made.get("container"))
    action = Action(about=made.name, problem=in_words(against), concerns=code)
    return how.add(writing, action)


def open_(writing: Writing, code: str, how: How) -> Written:
    """Write that a container was opened."""
    thing = Opened(container=meant(writing.record, "container", code))
    return _once(writing, thing, how)


def check_strength(writing: Writing, thing: Strength, how: How) -> Written:
    """Write what a container was found to hold."""
    code = meant(writing.record, "container", thing.container)
    _need_possible(writing.record, code, thing, how.at(writing))
    return _once(writing, replace(thing, container=code), how)


def _need_possible(record: Record, code: str, thing: Strength, at: datetime) -> None:
    """A slip of the decimal point would make every later dose ten times too weak."""
    # the sums are imported only where a strength is written
    from hygiene.sanitising.dosing import labelled

    held = container_of(record, code)
    farm = in_force(record.setup(), at)
    product = None if held is None else farm.get("product", held.product)
    found = thing.value_g_per_l or thing.value_g_per_kg
    try:
        label = None if product is None else labelled(product)
    except HygieneError:
        return
    if found is None or label is None or found <= MOST_TIMES * label.mg_per_unit:
        return
    raise TooStrong(
        code=code,
        found=f"{found:f}",
        labelled=f"{label.mg_per_unit:g}",
        way_out="it loses strength with age, it gains none: look for the decimal point",
    )


def _once(writing: Writing, thing: Opened | Strength, how: How) -> Written:
    before = how.retried(writing, thing)
    if before is not None:
        return Written(before, already=True)
    return Written(how.add(writing, thing))


def lose(writing: Writing, thing: Lost, how: How) -> Written:
    """Write that product is gone that was not dosed; more than was left is marked."""
    code = meant(writing.record, "container", thing.container)
    thing = replace(thing, container=code)
    before = how.retried(writing, thing, "marks")
    if before is not None:
        return Written(before, already=True)
    held = container_of(writing.record, code)
    many = thing.tenth_ml if thing.mg is None else thing.mg
    against = []
    if held is not None and (many or 0) > held.left:
        left = reading.amount(held.unit, max(held.left, 0))
        against = [
            Against(
                "empty",
                f"{code} held only {left}",
                "received = drawn + lost + left",
                "put the entry that is wrong right: hygiene correct",
            )
        ]
    made = how.add(writing, replace(thing, marks=marks(against)))
    return Written(made, _action(writing, made, against, how))


def against_drawing(
    farm: InForce, wanted: Iterable[tuple[reading.Container, int]], on: date
) -> tuple[list[Fault], list[Fault]]:
    """What stands against drawing so much: what is refused, and what is warned about.

    The farm file says which: on_expired, on_empty, on_stale_sds.
    """
    faults: list[Fault] = []
    said: Body = farm.farm or {}
    months = said.get("sds_months")
    products = []
    for held, need in wanted:
        product = farm.get("product", held.product)
        faults += reading.container_faults(held, product, on, need)
        products += [product] * (product not in products)
    for product in products:
        faults += reading.sheet_faults(
            product, on, months if isinstance(months, int) else 12
        )
    refused: list[Fault] = []
    warned: list[Fault] = []
    for fault in faults:
        mild = said.get(FARM_KEYS[fault.mark]) == "warn"
        (warned if mild else refused).append(fault)
    return refused, warned


def register_odd(
    record: Record, setup: Sequence[Entry], farm: InForce, came: Entry
) -> list[Fault]:
    """What does not hang together in the product of a container that came in."""
    body = farm.get("product", str(came.get("product")))
    if came.kind != "container" or body is None:
        return []
    rules = rules_of(record, setup, farm, moment_of(came.happened_at))
    return list(register_faults(read_label(body), rules))
