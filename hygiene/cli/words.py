"""Entries in words, for the terminal: one line, or the whole of one."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from hygiene.kinds.entry import Entry


def in_a_line(entry: Entry, *, standing: bool = True) -> str:
    """One line: when, who, what, and the entry's name; ruled through if superseded."""
    when = entry.happened_at[:16].replace("T", " ")
    kind = entry.kind.replace("_", " ")
    said = gist(entry)
    mark = "" if standing else " [no longer stands]"
    return f"{when}  {entry.by:<4} {kind}: {said}{mark}  ({entry.name})"


def gist(entry: Entry) -> str:
    """What an entry says, in a few words; an odd body is shown as it stands."""
    made = _GISTS.get(entry.kind)
    text = made(entry) if made else ""
    return text or ", ".join(f"{k} {inline(v)}" for k, v in entry.body.items())


def _sign_off(entry: Entry) -> str:
    failed = [a for a in _tables(entry.get("answers")) if a.get("passed") is False]
    marks = entry.get("marks") or []
    said = f"{entry.get('task')} done"
    if failed:
        said += "; failed: " + ", ".join(answered(a) for a in failed)
    if marks:
        said += f" [{', '.join(map(str, marks))}]"
    return said


def _miss(entry: Entry) -> str:
    how = "not done" if entry.get("needed", True) else "not needed"
    return f"{entry.get('task')} {how}: {entry.get('why')}"


def _action(entry: Entry) -> str:
    did = f"; done: {entry.get('did')}" if entry.get("did") else ""
    return f"{entry.get('problem')}{did} (about {entry.get('about')})"


def _recheck(entry: Entry) -> str:
    how = "passed" if entry.get("passed") else "FAILED"
    return f"{how}: {entry.get('seen')} (action {entry.get('action')})"


def _close(entry: Entry) -> str:
    return f"closed {entry.get('action')}: {entry.get('did')}"


def _hold(entry: Entry) -> str:
    return f"{entry.get('sort')} {entry.get('held')} held: {entry.get('why')}"


def _release(entry: Entry) -> str:
    return f"released {entry.get('hold')}: {entry.get('why')}"


def _strike(entry: Entry) -> str:
    return f"ruled through {entry.corrects}: {entry.reason}"


def _countersign(entry: Entry) -> str:
    what = entry.get("day") or ", ".join(map(str, entry.get("entries") or []))
    return f"{entry.get('how')} {what}"


_GISTS = {
    "sign_off": _sign_off,
    "miss": _miss,
    "action": _action,
    "recheck": _recheck,
    "close": _close,
    "hold": _hold,
    "release": _release,
    "strike": _strike,
    "countersign": _countersign,
}


def answered(answer: Mapping[str, Any]) -> str:
    """One answer in words: the step, of what, and what was answered."""
    of = f" {answer['of']}" if answer.get("of") else ""
    if "value" in answer:
        said = f"{answer['value']} {answer.get('unit', '')}".rstrip()
    elif "chosen" in answer:
        said = str(answer["chosen"])
    else:
        said = "yes" if answer.get("done") else "no"
    return f"{answer.get('step')}{of} {said}"


def inline(value: Any) -> str:
    """A plain value on one line."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return "(" + ", ".join(f"{k} {inline(v)}" for k, v in value.items()) + ")"
    if isinstance(value, list):
        return ", ".join(inline(item) for item in value)
    if isinstance(value, Decimal):
        return format(value, "f")
    return str(value)


def whole(entry: Entry) -> list[str]:
    """All that an entry says, a field to a line."""
    lines = [
        f"{entry.name}  {entry.kind.replace('_', ' ')}",
        f"  happened  {entry.happened_at}",
        f"  recorded  {entry.recorded_at}",
        f"  by        {entry.by}"
        + (f", typed by {entry.written_by}" if entry.written_by else ""),
    ]
    if entry.reason:
        lines.append(f"  reason    {entry.reason}")
    for key, value in entry.body.items():
        items = _tables(value)
        if items and isinstance(value, list):
            lines.append(f"  {key}:")
            lines += [f"    {_item(item)}" for item in items]
        else:
            lines.append(f"  {key.replace('_', ' '):<9} {inline(value)}")
    return lines


def _item(item: Mapping[str, Any]) -> str:
    if "step" not in item:
        return inline(item).strip("()")
    did = f"; done: {item['did']}" if item.get("did") else ""
    wrote = f"; wrote {item['wrote']}" if item.get("wrote") else ""
    mark = "" if item.get("passed", True) else "  FAILED"
    return f"{answered(item)}{mark}{did}{wrote}"


def _tables(value: Any) -> list[Mapping[str, Any]]:
    if not isinstance(value, list):
        return []
    return [item for item in value if isinstance(item, Mapping)]
