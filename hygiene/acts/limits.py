"""The published limits of water, read from the file that came with the program."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from pathlib import Path

from hygiene.farm.in_force import InForce
from hygiene.water import limits
from hygiene.water.limits import WaterLimit, limits_at, read_limits


@cache
def published() -> tuple[WaterLimit, ...]:
    """Every published limit, with its source and status."""
    import tomllib

    text = Path(limits.__file__).with_name("limits.toml").read_text("utf-8")
    return read_limits(tomllib.loads(text, parse_float=Decimal))


def limits_of(farm: InForce, point: str) -> tuple[WaterLimit, ...]:
    """Every limit that counts at a point, the farm's own among them."""
    body = farm.get("point", point) or {}
    return limits_at(published(), farm.farm or {}, body)
