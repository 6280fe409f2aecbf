"""What is written on a day of the rota: done, not done, and seen by a second person."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import Kind, ref
from hygiene.kinds.checks import need_code, need_one_of, need_range, need_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One answered step. ``passed`` is judged against the version in force.

    A tick has ``done``, a choice ``chosen``, a reading ``value`` and ``unit``;
    ``of`` names the rack, room or line of a step asked once for each; ``did`` says
    what was done about a failed step; ``wrote`` names the entry that it wrote.
    """

    step: str
    passed: bool
    of: str | None = None
    done: bool | None = None
    chosen: str | None = None
    value: Decimal | None = None
    unit: str | None = None
    did: str | None = None
    wrote: str | None = ref(default=None)

    def __post_init__(self) -> None:
        need_code(self, "step")
        need_text(self, "chosen", "did")


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOff(Kind):
    """A task that was done. (``task``, ``due``) is what "twice" means.

    ``due`` is RFC 3339; ``version`` is the checklist's; ``marks`` are the rules that
    it stands against for ever: late, untrained, not-allowed, before-due,
    was-missed; ``paper`` marks what was typed from a sheet, whose line ``sheet`` names.
    """

    kind = "sign_off"
    task: str = ref()
    due: str = ref()
    version: int
    answers: tuple[Answer, ...] = ()
    note: str | None = None
    marks: tuple[str, ...] = ()
    sheet: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "task", "sheet")
        need_text(self, "note")
        need_range(self, "version", 1, 10_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Miss(Kind):
    """A task that was not done, and why; ``needed`` is false where it was not due.

    "Not needed today" (no trays emptied, say) is a reason like any other, and shows
    its own mark.
    """

    kind = "miss"
    task: str = ref()
    due: str = ref()
    why: str
    needed: bool = True

    def __post_init__(self) -> None:
        need_code(self, "task")
        need_text(self, "why")


@dataclass(frozen=True, slots=True, kw_only=True)
class Countersign(Kind):
    """A second person looked at an entry, or at a whole day.

    It names what it answers (``entries``) and, for a day, the day. A reviewer who did
    the work too writes ``how = "self-reviewed"``; that is never a countersignature.
    """

    kind = "countersign"
    entries: tuple[str, ...] = ref()
    day: str | None = None
    how: str = "countersigned"
    note: str | None = None

    def __post_init__(self) -> None:
        need_one_of(self, "how", "countersigned", "self-reviewed")
        need_text(self, "note")
