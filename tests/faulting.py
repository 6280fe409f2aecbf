"""The program as it is typed, in a child of its own, on a disk that is not as it was.

A child is forked and runs ``hygiene.cli.main``: the real boundary, the real clock, the
real streams. Where this process may do anything, the child gives that up first, so that
a folder that cannot be written cannot be written.
"""

from __future__ import annotations

import ctypes
import os
import resource
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

CAPABILITY_VERSION = 0x20080522
PASSES_OVER_RIGHTS = 0b1110
"""CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH and CAP_FOWNER."""
LONGEST_S = 60


class Said(NamedTuple):
    """How a command ended, and what it said on each stream."""

    code: int
    out: str
    err: str


def nothing() -> None:
    """What is done in the child before: nothing."""


def typed(
    words: tuple[str, ...],
    folder: Path,
    environ: dict[str, str],
    before: Callable[[], object] = nothing,
    out: Path | None = None,
) -> Said:
    """Run ``hygiene WORD ...`` in ``folder``; ``out`` stands in for the terminal."""
    told = [os.pipe(), os.pipe()]
    child = os.fork()
    if child == 0:
        ends = [end for _, end in told]
        if out is not None:
            ends[0] = os.open(out, os.O_WRONLY)
        _be(words, folder, environ, before, ends)
    said = []
    for begin, end in told:
        os.close(end)
        with os.fdopen(begin, encoding="utf-8", errors="replace") as pipe:
            said.append(pipe.read())
    _, status = os.waitpid(child, 0)
    code = -1 if os.WIFSIGNALED(status) else os.WEXITSTATUS(status)
    return Said(code, *said)


def _be(
    words: tuple[str, ...],
    folder: Path,
    environ: dict[str, str],
    before: Callable[[], object],
    ends: list[int],
) -> None:
    """The child: it never comes back, and is ended where it hangs."""
    code = 1
    try:
        signal.alarm(LONGEST_S)
        kept = {k: v for k, v in os.environ.items() if not k.startswith("HYGIENE_")}
        os.environ.clear()
        os.environ.update({**kept, **environ})
        os.chdir(folder)
        for number, end in enumerate(ends, 1):
            os.dup2(end, number)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.stdout = open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
        sys.stderr = open(2, "w", encoding="utf-8", closefd=False, buffering=1)  # noqa: SIM115
        sys.argv = ["hygiene", *words]
        before()
        from hygiene.cli import main

        code = _code(main)
    except BaseException as failure:
        print(f"NOT OURS: {failure!r}", file=sys.stderr)
    finally:
        sys.stderr.flush()
        os._exit(code)


def _code(main: Callable[[], None]) -> int:
    import traceback

    try:
        main()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 1
    except BaseException:
        traceback.print_exc()
        return 99
    return 0


def as_anybody() -> None:
    """Give up the rights of a superuser, for whom no folder is read-only."""
    if os.geteuid() or sys.platform != "linux":
        return
    libc = ctypes.CDLL(None, use_errno=True)
    head = (ctypes.c_uint32 * 2)(CAPABILITY_VERSION, 0)
    held = (ctypes.c_uint32 * 6)()
    libc.capget(head, held)
    for place in (0, 1):  # what it may do, and what it might allow itself
        held[place] &= ~PASSES_OVER_RIGHTS
    if libc.capset(head, held):
        raise OSError(ctypes.get_errno(), "capset")


def full(most_bytes: int) -> Callable[[], None]:
    """No file grows beyond that, as on a full disk."""

    def before() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))

    return before
