"""Starting is quick because little is imported: guarded here, not with a stopwatch."""

from __future__ import annotations

import json
import signal
import subprocess
import sys

import pytest
from small_farm import SmallFarm

HEAVY = (
    "weasyprint", "pypdf", "jinja2", "sqlite_utils", "rich", "pydantic", "click",
    "numpy", "dateutil", "dataclasses", "hygiene.kinds.base", "hygiene.kinds.setup",
    "hygiene.kinds.checklist", "hygiene.kinds.day", "hygiene.book.writing",
    "hygiene.book.schema",
)  # fmt: skip
PROBE = """
import sys, json, os
sys.argv = ["hygiene", *json.loads(os.environ["WORDS"])]
try:
    from hygiene.cli import main
    main()
except SystemExit:
    pass
print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""


def imported(shed: SmallFarm, *words: str) -> set[str]:
    made = subprocess.run(
        [sys.executable, "-c", PROBE],
        env={**shed.world().environ, "WORDS": json.dumps(words), "PATH": ""},
        capture_output=True,
        text=True,
        check=True,
    )
    return set(json.loads(made.stderr.splitlines()[-1]))


@pytest.mark.parametrize("words", [("today",), ("--help",), ("log", "sign_off")])
def test_reading_the_day_imports_nothing_heavy(
    shed: SmallFarm, words: tuple[str, ...]
) -> None:
    """No PDF, no template, no bulk library, and no kind's dataclass."""
    found = imported(shed, *words)
    of_a_kind = {"hygiene.kinds.day", "hygiene.kinds.base", "dataclasses"}
    allowed = of_a_kind if words[0] == "log" else set()
    assert [name for name in HEAVY if name in found and name not in allowed] == []


def test_help_imports_no_command(shed: SmallFarm) -> None:
    """It is written from the table."""
    found = imported(shed, "--help")
    assert "sqlite3" not in found
    assert "hygiene.cli.today" not in found


def test_a_closed_stdin_is_no_terminal(shed: SmallFarm) -> None:
    """A job without any input runs as in a pipe."""
    main = "from hygiene.cli import main; main()"
    made = subprocess.run(
        ["/bin/sh", "-c", f"exec {sys.executable} -c '{main}' today <&-"],
        env=dict(shed.world().environ),
        capture_output=True,
        text=True,
        check=True,
    )
    assert "Low Meadow" in made.stdout


INTERRUPTED = """
import os, signal, sys
class Interrupting:
    def find_spec(self, name, path=None, target=None):
        if name == "typer":
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Interrupting())
from hygiene.__main__ import main
main()
"""


def test_ctrl_c_while_it_is_loaded_ends_it_without_a_word() -> None:
    """As the signal itself does, which a shell shows as 130."""
    made = subprocess.run(
        [sys.executable, "-c", INTERRUPTED], capture_output=True, text=True, check=False
    )
    assert (made.returncode, made.stderr) == (-signal.SIGINT, "")


def test_the_package_is_run_as_the_program_is() -> None:
    """``python -m hygiene`` where the program is not on the path."""
    words = [sys.executable, "-m", "hygiene", "calc", "active", "--ph", "7", "--temp"]
    made = subprocess.run([*words, "20 C"], capture_output=True, text=True, check=True)
    assert "HOCl" in made.stdout
