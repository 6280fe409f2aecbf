"""How a line of a spreadsheet that answers an entry, or a day, goes through its act."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from hygiene.acts import actions, papers, signing
from hygiene.acts.day import answers
from hygiene.acts.import_scene import Said, Scene, of_column, one_line
from hygiene.acts.recipe_parts import done, fields_of
from hygiene.errors import HygieneError
from hygiene.exchange.cells import bad
from hygiene.kinds.action import Recheck
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import stamp
from hygiene.kinds.papers import Season


def _envelope(said: Said) -> dict[str, Any]:
    """Who did it and when, who typed it, and of which line."""
    how = said.how
    return {
        "by": how.by,
        "happened_at": said.at,
        "written_by": how.written_by,
        "reason": how.reason,
    }


def is_entry(given: str) -> bool:
    """A name such as shed-k7q2/1042; 24/117 is a number of an old paper."""
    book, slash, seq = given.partition("/")
    return bool(slash) and seq.isdigit() and "-" in book


def season(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """The shed starts or stops; the lines after it are read by that."""
    turn = said.get("turn")
    if turn not in ("start", "stop"):
        raise of_column("turn", bad(f"{turn!r} is no turn", "write start or stop"))
    day = said.at.astimezone(scene.farm.zone).date()
    thing = Season(runs=turn == "start", day=day, why=said.get("why"))
    try:
        made = papers.turn(scene.writing, scene.farm, said.how, thing)
    except papers.RunsAlready as failure:
        remedy = "put its day right; the season stands in the farm file"
        raise of_column("turn", bad(one_line(failure), remedy)) from failure
    scene.read_again()
    return done(made)


def recheck(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """A second look at an action."""
    name = _action(scene, said)
    thing = Recheck(**fields_of(Recheck, said, action=name))
    return _counted(
        scene, lambda: actions.look_again(scene.writing, thing, **_envelope(said))
    )


def close(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """The end of an action, which a recheck has passed."""
    name = _action(scene, said)
    words = {key: said.get(key) for key in ("did", "cause", "cleaned", "effect")}
    cleaned = words["cleaned"]
    if cleaned and is_entry(cleaned):
        words["cleaned"] = _entry(scene, said, "cleaned").first
    first = scene.record.entry(name)
    for ended in actions.answers_to(scene.record, first, "close"):
        if _says(ended, said, words):
            return ended, True
    try:
        made = actions.close(scene.writing, name, **_envelope(said), **words)
    except actions.NotAllSaid as failure:
        empty = next(key for key, text in words.items() if not text)
        raise of_column(empty, failure) from failure
    except (actions.NotRechecked, actions.ClosedAlready) as failure:
        raise of_column("action", failure) from failure
    return made, False


def _says(ended: Entry, said: Said, words: Mapping[str, str | None]) -> bool:
    """Whether an action was closed by this very line already."""
    return (ended.by, ended.happened_at) == (
        said.how.by, stamp(said.at),
    ) and all(ended.get(key) == text for key, text in words.items())  # fmt: skip


def countersign(scene: Scene, said: Said) -> tuple[Entry, bool]:
    """A second look at a day, or at one entry, by another person."""
    entries, day = _looked_at(scene, said)
    alone = said.get("self_review") is True
    if alone:
        signing.need_alone(scene.farm, entries, said.how.by, scene.now)
    try:
        return _counted(
            scene,
            lambda: signing.countersign(
                scene.writing,
                entries,
                day=day,
                alone=alone,
                note=said.get("note"),
                **_envelope(said),
            ),
        )
    except signing.DoerCannot as failure:
        raise of_column("by", failure) from failure


def _looked_at(scene: Scene, said: Said) -> tuple[list[Entry], str | None]:
    """The entries that are looked at, and the day where it is the whole of one."""
    day: date | None = said.get("day")
    if (day is None) == (said.get("entry") is None):
        raise of_column(
            "day", bad("a day or an entry is wanted", "fill one of the two")
        )
    if day is None:
        return [_entry(scene, said, "entry")], None
    dues = scene.dues_on(day)
    found = answers(scene.record, dues)
    entries = [entry for due in dues for entry in found.get(due.key, ())]
    if not entries:
        raise of_column(
            "day",
            bad(
                f"nothing is signed for {day}", "import what was signed that day first"
            ),
        )
    return entries, day.isoformat()


def _action(scene: Scene, said: Said) -> str:
    """The first name of the action that a line answers."""
    try:
        return actions.the_action(scene.record, str(said.get("action")).strip()).name
    except HygieneError as failure:
        raise of_column("action", failure) from failure


def _entry(scene: Scene, said: Said, column: str) -> Entry:
    try:
        return scene.record.entry(str(said.get(column)).strip())
    except HygieneError as failure:
        raise of_column(column, failure) from failure


def _counted(scene: Scene, act: Callable[[], Entry]) -> tuple[Entry, bool]:
    """What an act wrote, and whether it found that written already."""
    before = scene.writing.head.seq
    made = act()
    return made, scene.writing.head.seq == before
