"""The marks of a status: one shape each, so that a black-and-white copy keeps them."""

from __future__ import annotations

from typing import NamedTuple


class Mark(NamedTuple):
    """A status on paper: its sign, and what the key says of it."""

    sign: str
    key: str


MARKS: dict[str, Mark] = {
    "done": Mark("", "done in time, by whom"),
    "typed later": Mark("~", "done in time, written down later"),
    "late": Mark("+", "done late"),
    "failed": Mark("▲", "done, and something was out of limit or not done"),
    "missed": Mark("✖", "not done, and the reason is written"),
    "not needed": Mark("○", "not needed, and the reason is written"),
    "gap": Mark("□", "nothing written"),
    "overdue": Mark("◧", "nothing written yet, and overdue"),
    "due": Mark("_", "still to do"),
    "not yet": Mark("_", "still to do"),
}
"""By status (``hygiene.rota.day.STATUSES``), in the order of the printed key."""
NOTHING_DUE = Mark("·", "not due")
NOT_RUNNING = Mark("–", "the shed did not run")
OWN_WORK = Mark("*", "a look at their own work, by somebody who did it")
