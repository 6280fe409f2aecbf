"""Who may release, countersign and change the set-up, by the roles of the farm file.

It keeps honest people in order, and no more: whoever can open the record can give
another's code. What answers that is a second person who countersigns, and the head of
each book in somebody else's hands.
"""

from __future__ import annotations

from typing import Final

from hygiene.errors import Refused
from hygiene.farm.in_force import InForce

MAY: Final = {
    "release": ("manager", "vet"),
    "countersign": ("manager", "worker", "vet", "adviser"),
    "set-up": ("manager",),
}
"""Which roles may, by the command's name; common practice, no source. The vet's or the
authority's word after mould is another matter, and is asked for whoever writes it."""


class NotTheirs(Refused):
    """Something that is for other roles than this person has."""

    sentence = "refused: {by} is {roles} here, and {what} is for: {allowed}"


def need_role(farm: InForce, by: str, what: str) -> None:
    """Raises ``NotTheirs`` where none of the person's roles may do it."""
    allowed, roles = MAY[what], farm.roles(by)
    if set(allowed) & set(roles):
        return
    others = [code for code in farm.people if set(allowed) & set(farm.roles(code))]
    raise NotTheirs(
        by=by,
        roles=" and ".join(roles) or "nobody",
        what=what,
        allowed=", ".join(allowed),
        way_out=f"it is for: {', '.join(others)} (--by CODE)"
        if others
        else "say who may in the farm file: hygiene set-up FARM.toml",
    )
