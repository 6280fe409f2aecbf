"""Whether water that stopped sowing was sampled again, and passed. Reading only."""

from __future__ import annotations

from collections.abc import Iterable

from hygiene.book.record import Record, UnknownEntry
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.moments import moment_of
from hygiene.tracing.holds import SOWING


def not_taken_again(record: Record, cause: Entry) -> list[str]:
    """The parameters for which a test stops sowing and no later sample has passed.

    Every version of the test counts, and of the samples after it: one that any
    version calls out of limit, or that was ruled through, has not passed.
    """
    versions = record.history(cause.first)
    stopped = {code for version in versions for code in stopping(version)}
    later = _later_tests(record, versions[0])
    return sorted(code for code in stopped if not _last_passed(later, code))


def failed_water(record: Record, action: Entry) -> Entry | None:
    """The water test, as it was first written, of which an action has a parameter."""
    about = action.get("about")
    if not action.get("step") or not isinstance(about, str):
        return None
    try:
        cause = record.entry(about)
    except UnknownEntry:
        return None
    return record.entry(cause.first) if cause.kind == "water" else None


def later_says(record: Record, failed: Entry, code: str) -> bool | None:
    """Whether the last later sample passed, by all its versions; None without one."""
    later = _later_tests(record, failed)
    spoken = [test for test in later if any(_verdict(v, code) for v in test)]
    return _last_passed(spoken, code) if spoken else None


def was_a_slip(record: Record, failed: Entry, code: str) -> bool:
    """Whether the test was put right since, and no longer calls it out of limit."""
    stands = record.standing(failed.name)
    return stands.name != failed.name and _verdict(stands, code) in ("", "within")


def stopping(test: Entry) -> set[str]:
    """The parameters for which one version of a test stops sowing."""
    rows = rows_of(test, "results")
    return {str(row.get("parameter")) for row in rows if row.get("stops") == SOWING}


def later_and_as_good(water: Entry, failed: Entry) -> bool:
    """Whether a test can be the second look at one that failed.

    It was sampled later, and a laboratory's result is not rechecked with a kit.
    """
    if moment_of(water.happened_at) <= moment_of(failed.happened_at):
        return False
    return bool(water.get("laboratory")) or not failed.get("laboratory")


def _later_tests(record: Record, failed: Entry) -> list[list[Entry]]:
    """The tests at the same point after one that failed, each with all versions."""
    names = dict.fromkeys(
        entry.first
        for entry in record.mentioning(str(failed.get("point")), every_version=True)
        if entry.kind == "water" and later_and_as_good(entry, failed)
    )
    tests = [record.history(name) for name in names if name != failed.first]
    return sorted(tests, key=lambda test: moment_of(test[0].happened_at))


def _last_passed(tests: Iterable[list[Entry]], code: str) -> bool:
    said = [[_verdict(version, code) for version in test] for test in tests]
    spoken = [verdicts for verdicts in said if any(verdicts)]
    return bool(spoken) and set(spoken[-1]) == {"within"}


def _verdict(version: Entry, code: str) -> str:
    """What a version says of a parameter; empty where it does not speak of it."""
    for row in rows_of(version, "results"):
        if row.get("parameter") == code:
            return "doubtful" if version.get("marks") else str(row.get("verdict"))
    return ""
