"""How a line of a spreadsheet about sanitisers goes through its act."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta

from hygiene.acts import containers, dosing
from hygiene.acts.import_scene import Said, Scene, of_column
from hygiene.acts.recipe_parts import (
    all_known,
    done,
    fields_of,
    known_in,
    meant_in,
    trays_of,
)
from hygiene.acts.store import container_of
from hygiene.exchange.cells import bad
from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import stamp
from hygiene.kinds.sanitising import (
    Container,
    Dose,
    Drawn,
    Lost,
    Reading,
    Rinse,
    Strength,
)


def container(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """A container that came in."""
    farm = scene.farm_with(said, product="product", supplier="supplier")
    described = fields_of(Container, said, **said.get("amount"))
    own = described.pop("container", None)
    product = known_in(farm, "product", said, "product")
    described["product"] = product
    made = containers.receive(scene.writing, farm, said.how, own=own, **described)
    return made[0].entry, made[0].already


def opened(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """A container that was opened."""
    code = meant_in(scene, "container", said, "container")
    made = containers.open_(scene.writing, code, said.how)
    return made.entry, made.already


def strength(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """What a container was found to hold."""
    code = meant_in(scene, "container", said, "container")
    thing = Strength(**fields_of(Strength, said, container=code))
    return done(containers.check_strength(scene.writing, thing, said.how))


def lost(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """Product that is gone and was not dosed."""
    code = meant_in(scene, "container", said, "container")
    given = fields_of(Lost, said, container=code, **said.get("amount"))
    return done(containers.lose(scene.writing, Lost(**given), said.how))


def dose(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """A dose, as it was done."""
    farm = scene.farm_with(said, line="line", tank="tank", product="product")
    drawn, product = _drawn(scene, farm, said)
    minutes = said.get("minutes")
    ended = said.at + timedelta(minutes=float(minutes)) if minutes else None
    thing = Dose(
        **fields_of(
            Dose,
            said,
            product=product,
            drawn=drawn,
            target=_target(said),
            trays=trays_of(farm, said),
            tools=all_known(farm, "tool", said, "tools", said.get("tools") or ()),
            readings=tuple(_readings(farm, said)),
            ended_at=None if ended is None else stamp(ended),
        )
    )
    return done(dosing.dose(scene.writing, scene.setup, farm, thing, said.how))


def _drawn(
    scene: Scene, farm: InForce, said: Said
) -> tuple[tuple[Drawn, ...], str | None]:
    amount: Mapping[str, int] | None = said.get("amount")
    if not said.get("container"):
        if amount is not None:
            raise of_column(
                "amount",
                bad(
                    "an amount of no container", "name the container, or say no amount"
                ),
            )
        if not said.get("product"):
            raise of_column("product", bad("is empty", "name product or container"))
        return (), known_in(farm, "product", said, "product")
    code = meant_in(scene, "container", said, "container")
    held = container_of(scene.record, code)
    product = held.product if held else None
    if said.get("product"):
        product = known_in(farm, "product", said, "product")
    return ((Drawn(container=code, **amount),) if amount else ()), product


def _target(said: Said) -> str:
    for column, target in (
        ("line", "line"), ("tank", "tank"), ("trays", "tray"), ("place", "surface"),
    ):  # fmt: skip
        if said.get(column):
            return target
    return "tool"


def _readings(farm: InForce, said: Said) -> Iterator[Reading]:
    kit = known_in(farm, "kit", said, "kit") if said.get("kit") else None
    for spot in ("start", "end"):
        value = said.get(f"{spot}_mg_per_l")
        if value is not None:
            yield Reading(
                value_mg_per_l=value,
                spot=spot,
                kit=kit,
                ph=said.get("ph"),
                temp_c=said.get("temp_c"),
            )


def rinse(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """A rinse, or that something is dry."""
    farm = scene.farm_with(said, line="line", tank="tank")
    tools = all_known(farm, "tool", said, "tools", said.get("tools") or ())
    thing = Rinse(**fields_of(Rinse, said, trays=trays_of(farm, said), tools=tools))
    return done(dosing.rinse(scene.writing, scene.setup, farm, thing, said.how))
