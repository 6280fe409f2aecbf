"""``--json`` on the commands that write: what was written, and what was said of it."""

from __future__ import annotations

import io
from contextlib import redirect_stdout
from typing import Any

import typer
from typer.core import TyperOption

from hygiene.cli.desk import entry_json, show_json


def give_json(command: Any) -> None:
    """Give a command that writes the option, where it has none of its own."""
    options = {name for param in command.params for name in param.opts}
    if "--json" in options:
        return
    command.params.append(
        TyperOption(
            param_decls=["--json"],
            is_flag=True,
            default=False,
            expose_value=False,
            callback=_collect,
            help="Write the entries that were written as JSON, for a program.",
        )
    )
    command.invoke = _showing(command.invoke)


def _collect(ctx: Any, param: Any, value: bool) -> None:
    if value:
        ctx.obj = ctx.obj._replace(entries=[], asks=False)


def _showing(invoke: Any) -> Any:
    """A command's own work; what it refuses is said as ever, on stderr."""

    def shown(ctx: Any) -> Any:
        if ctx.obj.entries is None:
            return invoke(ctx)
        said = io.StringIO()
        try:
            with redirect_stdout(said):
                invoke(ctx)
        except typer.Exit:
            _show(ctx, said)
            raise
        return _show(ctx, said)

    return shown


def _show(ctx: Any, said: io.StringIO) -> None:
    written = [entry_json(entry) for entry in ctx.obj.entries]
    show_json({"written": written, "says": said.getvalue().splitlines()})
