"""The command line: parse, call, show. Nothing is worked out here."""

from __future__ import annotations

import gc
import os
import sys

from hygiene.cli.lazy import COMPLETING, LazyGroup, lazy_group
from hygiene.cli.screen import guard
from hygiene.cli.table import COMMANDS

command: LazyGroup = lazy_group(
    COMMANDS,
    """The hygiene and feed-safety record of a shed that sprouts barley for fodder.

    It computes from the label's numbers and never tells you to use a product: the
    label, local rules, the authority and the vet come first.
    """,
)
"""The whole program as one command; tests hand it to ``invoke``."""


def main() -> None:
    """Run the program; the process ends with the documented exit code."""
    # a process that lives for a tenth of a second need not look for what it no longer
    # uses: 10 ms of a day's page, half of them at its end
    gc.set_threshold(100_000)
    guard()
    if COMPLETING in os.environ:
        from hygiene.cli.completion import begin

        begin()
    try:
        command(prog_name="hygiene")
    except Exception as fault:
        if "--debug" in sys.argv:
            raise
        _say_ours(fault)
        raise SystemExit(1) from None
    finally:
        _say_all()
        gc.freeze()


def _say_ours(fault: Exception) -> None:
    """A fault that is the program's own, in two lines as well."""
    where = fault.__traceback__
    while where is not None and where.tb_next is not None:
        where = where.tb_next
    file = where.tb_frame.f_code.co_filename if where else "?"
    line = where.tb_lineno if where else 0
    print(
        f"hygiene: a fault of this program, not of yours: {type(fault).__name__} in "
        f"{os.path.basename(file)}, line {line}\n"
        "  nothing is half written; to show more of it: hygiene --debug ...",
        file=sys.stderr,
    )


def _say_all() -> None:
    """Hand over what was printed; on a full disk say that it did not arrive."""
    out = sys.stdout
    if out is None:  # it was closed before we began
        return
    try:
        out.flush()
    except OSError as failure:
        # what could not be written is dropped, or Python would try again at its end
        os.dup2(os.open(os.devnull, os.O_WRONLY), out.fileno())
        if isinstance(failure, BrokenPipeError):  # whoever read has had enough
            return
        print(
            f"hygiene: not all was printed: {failure.strerror}\n"
            "  what it was to say of the record is in the record: hygiene log",
            file=sys.stderr,
        )
        raise SystemExit(7) from None
