"""Run something in a child that is killed just before its n-th write to the disk.

The child is traced (ptrace, Linux): every call that writes a file or changes a name is
counted as it begins, so the points lie just where they are said to, in the middle of a
commit as well, and the same run is killed at the same point again.
"""

from __future__ import annotations

import ctypes
import os
import platform
import signal
import struct
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

TRACE_ME, SET_OPTIONS, GO_ON, ASK = 0, 0x4200, 24, 0x420E
TELL_CALLS, DIE_WITH_ME = 1, 0x100000
AT_A_CALL = signal.SIGTRAP | 0x80
ENTRY = 1
CALLS = {
    # write, pwrite64, writev, fsync, fdatasync, truncate, ftruncate, rename, mkdir,
    # link, unlink, unlinkat, renameat, linkat, renameat2
    "x86_64": {1, 18, 20, 74, 75, 76, 77, 82, 83, 86, 87, 263, 264, 265, 316},
    "aarch64": {64, 68, 66, 82, 83, 45, 46, 38, 34, 37, 35, 276},
}.get(platform.machine(), set())


def can_trace() -> bool:
    """Whether this machine lets a child be traced: Linux, and no sandbox against it."""
    if sys.platform != "linux" or not CALLS:
        return False
    child = os.fork()
    if child == 0:
        try:
            _ptrace(TRACE_ME, 0, 0)
        except OSError:
            os._exit(1)
        os._exit(0)
    return os.WEXITSTATUS(os.waitpid(child, 0)[1]) == 0


class Ran(NamedTuple):
    """How it ended, what it had said by then, and how many writes it had begun."""

    killed: bool
    code: int
    said: str
    writes: int


def traced(act: Callable[[], object], said: Path, kill_at: int = 0) -> Ran:
    """Do ``act`` in a child whose words go to the file ``said``; 0: never killed."""
    child = os.fork()
    if child == 0:
        _be_traced(act, said)
    os.waitpid(child, 0)
    _ptrace(SET_OPTIONS, child, TELL_CALLS | DIE_WITH_ME)
    writes, deliver = 0, 0
    while True:
        _ptrace(GO_ON, child, deliver)
        _, status = os.waitpid(child, 0)
        if not os.WIFSTOPPED(status):
            break
        stopped = os.WSTOPSIG(status)
        deliver = 0 if stopped in (AT_A_CALL, signal.SIGTRAP) else stopped
        if stopped == AT_A_CALL and _begins_a_write(child):
            writes += 1
            if writes == kill_at:
                os.kill(child, signal.SIGKILL)
                _, status = os.waitpid(child, 0)
                break
    killed = os.WIFSIGNALED(status)
    code = -1 if killed else os.WEXITSTATUS(status)
    return Ran(killed, code, said.read_text("utf-8", "replace"), writes)


def _be_traced(act: Callable[[], object], said: Path) -> None:
    """The child: it never comes back."""
    code = 1
    try:
        # by the line: each is said when the person would see it
        sys.stdout = sys.stderr = said.open("w", buffering=1, encoding="utf-8")
        for end in (1, 2):
            os.dup2(sys.stdout.fileno(), end)
        _ptrace(TRACE_ME, 0, 0)
        os.kill(os.getpid(), signal.SIGSTOP)
        made = act()
        code = made if isinstance(made, int) else 0
    finally:
        os._exit(code)


def _begins_a_write(child: int) -> bool:
    told = ctypes.create_string_buffer(88)
    _ptrace(ASK, child, 88, told)
    return told.raw[0] == ENTRY and struct.unpack_from("Q", told.raw, 24)[0] in CALLS


def _ptrace(what: int, child: int, value: int, told: object = None) -> None:
    place = ctypes.byref(told) if told is not None else value  # type: ignore[arg-type]
    where = value if told is not None else 0
    ask = _LIBC.ptrace
    ask.argtypes = [ctypes.c_long, ctypes.c_long, ctypes.c_void_p, ctypes.c_void_p]
    ask.restype = ctypes.c_long
    if ask(what, child, where, place) < 0:
        raise OSError(ctypes.get_errno(), "ptrace")


_LIBC = ctypes.CDLL(None, use_errno=True)
