"""``hygiene completion``: the script by which a shell completes our words."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from hygiene.cli.lazy import COMPLETING, one_command

app = one_command()


class Shell(StrEnum):
    """The shells that can ask."""

    bash = "bash"
    zsh = "zsh"
    fish = "fish"
    powershell = "powershell"


@app.command()
def completion(
    shell: Annotated[Shell, typer.Argument(help="Your shell.")] = Shell.bash,
) -> None:
    """Print the script that lets Tab complete commands, codes, tasks and people.

    Codes are those of the record that is meant (HYGIENE_RECORD, ./farm.db). Add the
    script to what your shell reads when it starts.

    Example: hygiene completion bash >> ~/.bashrc
    """
    from typer.completion import get_completion_script  # type: ignore[attr-defined]

    print(
        get_completion_script(
            prog_name="hygiene", complete_var=COMPLETING, shell=shell.value
        )
    )


def begin() -> None:
    """Make ready to answer a shell's script: its form is that of the library."""
    from typer.completion import completion_init  # type: ignore[attr-defined]

    completion_init()
