"""Every way in which a request can fail, with its exit code and its sentence.

One tree: the class carries the exit code, and the sentence is made from what is
handed to the constructor. A fault found *in the record* is never an exception: it
is a finding, a value that is listed. One boundary (``hygiene.cli``) prints these.
"""

from __future__ import annotations

from typing import Any, ClassVar

FOUND_SOMETHING = 3
"""Exit code of a command that did its work and has findings to show."""


class HygieneError(Exception):
    """A request that cannot be done; ``str()`` is the one line for the person.

    ``sentence`` is a format string over the keyword arguments; ``way_out``, when
    given, says what to type or do next and is printed on a line of its own.
    """

    exit_code: ClassVar[int] = 1
    sentence: ClassVar[str] = "{what}"

    def __init__(self, *, way_out: str | None = None, **details: Any) -> None:
        self.way_out = way_out
        self.details = details
        super().__init__(self.sentence.format(**details))


class WronglyPut(HygieneError):
    """The command was wrongly put, or a value cannot be true."""

    exit_code = 2


class CannotBe(WronglyPut):
    """A value that cannot be true; ``key`` is the field, ``what`` says why."""

    sentence = "{key}: {what}"


class Unknown(HygieneError):
    """A person, tray, batch, product or task that the record does not know."""

    exit_code = 4
    sentence = "there is no {sort} {given!r} in this record"


class Refused(HygieneError):
    """A plan that a rule of safety or of the record refuses. Facts never are."""

    exit_code = 5
    sentence = "refused: {why}"


class Damaged(HygieneError):
    """The record is damaged, or does not match what it is compared with."""

    exit_code = 6


class NoRecord(HygieneError):
    """There is no record there, or it is locked or cannot be written."""

    exit_code = 7


class WrongFile(HygieneError):
    """A farm file or a checklist is wrong: which file, which line, which key."""

    exit_code = 8
    sentence = "{file}{place}: {what}"


class ReportFailed(HygieneError):
    """A report could not be made."""

    exit_code = 9
