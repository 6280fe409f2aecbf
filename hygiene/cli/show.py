"""``hygiene show``: one entry, whole, with all that corrected or answered it."""

from __future__ import annotations

from typing import Annotated

import typer

from hygiene.cli.desk import AsJson, RecordPath, entry_json, reading, show_json
from hygiene.cli.lazy import one_command
from hygiene.kinds.words import in_a_line, whole

app = one_command()


@app.command()
def show(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(help="The entry, such as shed-k7q2/1042.")],
    record: RecordPath = None,
    as_json: AsJson = False,
) -> None:
    """Show an entry as it was written, its corrections, and what names it.

    Example: hygiene show shed-k7q2/1042
    """
    with reading(ctx, record) as desk:
        history = desk.record.history(name)
        naming = desk.record.mentioning(*(entry.name for entry in history))
    if as_json:
        show_json(
            {
                "versions": [entry_json(entry) for entry in history],
                "stands": history[-1].name if history[-1].kind != "strike" else None,
                "named_by": [entry_json(entry) for entry in naming],
            }
        )
        return
    for place, entry in enumerate(history):
        standing = place == len(history) - 1
        if len(history) > 1:
            print(_heading(entry.kind == "strike", place, standing))
        print("\n".join(whole(entry)))
    if naming:
        print("Named by:")
        for entry in naming:
            print(f"  {in_a_line(entry)}")


def _heading(struck: bool, place: int, standing: bool) -> str:
    if struck:
        return "Ruled through:" if standing else "Ruled through, and set right later:"
    if standing:
        return "As it stands now, corrected:"
    return (
        "As it was first written (no longer stands):"
        if place == 0
        else ("A correction that no longer stands:")
    )
