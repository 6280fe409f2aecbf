"""A command group that imports a command when it runs, and the one error boundary."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import Any, cast

import typer
from typer.core import TyperGroup
from typer.main import get_command

from hygiene.cli.table import DAY, Entry
from hygiene.cli.world import World
from hygiene.errors import HygieneError, NoRecord, WronglyPut

LONGEST_LINE = 700
NOBODY_READS = 141
"""The exit code of a program that SIGPIPE ends, as a shell counts it."""
COMPLETING = "_HYGIENE_COMPLETE"
"""The variable by which a shell's script asks what Tab may offer."""


class LazyGroup(TyperGroup):
    """Commands from a table; each module is imported when its command is called."""

    table: dict[str, Entry]

    def list_commands(self, ctx: typer.Context) -> list[str]:  # type: ignore[override]
        """Every name, in the table's order; no module is imported."""
        return list(self.table)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Import the command's module and hand over its command."""
        entry = self.table.get(cmd_name)
        if entry is None:
            return None
        module, _, name = entry.module.partition(":")
        app = getattr(import_module(module), name or "app")
        found = app if isinstance(app, LazyGroup) else get_command(app)
        found.name = entry.name
        if not isinstance(found, LazyGroup):
            if any("--by" in param.opts for param in found.params):  # it writes
                from hygiene.cli.as_json import give_json

                give_json(found)
            _help_along(found, ctx)
        return found

    def shell_complete(self, ctx: Any, incomplete: str) -> Any:
        """The commands that begin so; no module is imported for it."""
        from hygiene.cli.complete import Offer

        return [
            Offer(entry.name, entry.help)
            for entry in self.table.values()
            if entry.name.startswith(incomplete)
        ]

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write the table by sections, the day's commands first."""
        width = max(len(name) for name in self.table)
        sections = dict.fromkeys(
            [DAY, *(entry.section for entry in self.table.values())]
        )
        for section in sections:
            rows = [
                (entry.name.ljust(width), entry.help)
                for entry in self.table.values()
                if entry.section == section
            ]
            if rows:
                with formatter.section(section):
                    formatter.write_dl(rows)

    def invoke(self, ctx: Any) -> Any:
        """Run the command; every failure of ours ends here, in a line or two."""
        if ctx.obj is None:
            ctx.obj = World.from_process()
        try:
            if any("\0" in word for word in ctx.args):
                raise WronglyPut(what="what was typed holds a control character")
            ctx.args = _unscanned(ctx.args)
            return super().invoke(ctx)
        except HygieneError as failure:
            if ctx.params.get("debug"):
                raise
            print(f"hygiene: {_short(str(failure))}", file=sys.stderr)
            if failure.way_out:
                print(f"  {failure.way_out}", file=sys.stderr)
            raise typer.Exit(failure.exit_code) from failure
        except UnicodeEncodeError as failure:
            # the shell handed over bytes that are no UTF-8
            print(
                "hygiene: what was typed holds bytes that are no text", file=sys.stderr
            )
            raise typer.Exit(WronglyPut.exit_code) from failure
        except BrokenPipeError as failure:  # whoever read has had enough
            raise typer.Exit(NOBODY_READS) from failure
        except OSError as failure:
            if ctx.params.get("debug"):
                raise
            where = failure.filename or "something cannot be read or written"
            print(f"hygiene: {where}: {failure.strerror}", file=sys.stderr)
            raise typer.Exit(NoRecord.exit_code) from failure


def _help_along(command: Any, ctx: Any) -> None:
    """Where Tab was pressed, offer codes; where a person can be asked, ask."""
    if COMPLETING in os.environ:
        from hygiene.cli.complete import teach

        teach(command, command.name)
    elif ctx is not None and ctx.obj is not None and ctx.obj.asks:
        command.make_context = _asking(command.make_context)


def _asking(make: Callable[..., Any]) -> Callable[..., Any]:
    """A command's own reading of its words, which asks for what was not given."""

    def asking(name: str, args: list[str], parent: Any = None, **more: Any) -> Any:
        words = list(args)
        while True:
            try:
                return make(name, list(words), parent=parent, **more)
            except typer.BadParameter as fault:
                if fault.message or fault.param is None:  # given, and wrong
                    raise
                from hygiene.cli.guided import ask

                words += ask(fault, name)

    return asking


def _unscanned(words: list[str]) -> list[str]:
    """The words of the line with codes where labels were scanned."""
    if not any("hyg:" in word.lower() for word in words):
        return words
    from hygiene.kinds.codes import unscanned

    return [unscanned(word).strip() for word in words]


def _short(text: str) -> str:
    """A failure quotes what was typed, and that may be a page long."""
    lines = text.split("\n")
    return "\n".join(
        line if len(line) <= LONGEST_LINE else f"{line[: LONGEST_LINE - 3]}..."
        for line in lines
    )


def lazy_group(table: Sequence[Entry], text: str) -> LazyGroup:
    """Make a group of the commands in ``table``, with ``text`` as its help."""
    app = typer.Typer(
        cls=LazyGroup,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=False,
        no_args_is_help=True,
        context_settings={"help_option_names": ["-h", "--help"]},
    )

    @app.callback(help=text)
    def group(
        debug: bool = typer.Option(False, help="Show where a failure came from."),
    ) -> None:
        pass

    made = get_command(app)
    if not isinstance(made, LazyGroup):  # typer makes the class it was given
        raise TypeError(type(made))
    made.table = {entry.name: entry for entry in table}
    # typer suggests near names from the keys of this mapping
    made.commands = cast("dict[str, Any]", dict.fromkeys(made.table))
    return made


def one_command() -> typer.Typer:
    """The app of a module that holds one command: plain text, no options of its own."""
    return typer.Typer(
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        add_completion=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
