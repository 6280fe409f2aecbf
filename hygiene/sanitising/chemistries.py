"""Whether two products of the farm file must not meet, by their labels and actives.

The labels' own lists count first, then the table of what must not meet. A product that
the table does not know is never read as harmless.
"""

from __future__ import annotations

from typing import NamedTuple

from hygiene.kinds.entry import Body, rows_of, texts_of
from hygiene.sanitising.doses import text
from hygiene.sanitising.incompatible import Meeting, meetings
from hygiene.sanitising.substances import UnknownSubstance, known

RINSE_BETWEEN = "rinse with plenty of water between them"


class MustNotMeet(NamedTuple):
    """Two products that must not meet: in words, who says so, and how bad it is."""

    says: str
    source: str
    dangerous: bool
    instead: str = RINSE_BETWEEN


def between(one: Body, other: Body) -> MustNotMeet | None:
    """What happens where two products meet, the gravest; None: no rule speaks of it.

    Products of the same code never count; one without a known active always does.
    """
    if one.get("code") == other.get("code"):
        return None
    names = f"{one.get('name')} and {other.get('name')}"
    found = [m for a in _stuffs(one) for b in _stuffs(other) for m in meetings(a, b)]
    grave = sorted(found, key=lambda m: not m.dangerous)
    if grave and grave[0].dangerous:
        return _by_table(names, grave[0])
    if _listed(one, other) or _listed(other, one):
        what = grave[0].forms if grave else "the label forbids it"
        says = f"{names} must not meet: {what}"
        return MustNotMeet(says, "the label's own list in the farm file", True)
    if grave:
        return _by_table(names, grave[0])
    strange = [body for body in (one, other) if not _stuffs(body)]
    if strange:
        says = f"{names}: nobody can tell what {strange[0].get('name')} does"
        return MustNotMeet(says, "an unknown name is never read as harmless", False)
    return None


def _by_table(names: str, meeting: Meeting) -> MustNotMeet:
    says = f"{names} must not meet: {meeting.forms}"
    return MustNotMeet(says, meeting.source, meeting.dangerous, meeting.instead)


def _stuffs(product: Body) -> list[str]:
    """The names of a product that the table knows: its actives, else its own name."""
    actives = [text(row, "name") or "" for row in rows_of(product, "actives")]
    found = [name for name in actives if _is_known(name)]
    own = text(product, "name") or ""
    return found or [own] * _is_known(own)


def _is_known(name: str) -> bool:
    try:
        known(name)
    except UnknownSubstance:
        return False
    return True


def _listed(one: Body, other: Body) -> bool:
    """Whether the first label lists the other product, by code, name or sort."""
    codes = {str(other.get("code")).casefold(), str(other.get("name")).casefold()}
    traits = frozenset[str]().union(*(known(name).traits for name in _stuffs(other)))
    for word in texts_of(one, "incompatible_with"):
        singular = word.removesuffix("s")
        if word.casefold() in codes:
            return True
        for name in (word, singular):
            if _is_known(name) and known(name).traits & traits:
                return True
    return False
