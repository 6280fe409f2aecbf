"""What must hold of merging, for any work of three devices; raises where not."""

from __future__ import annotations

import shutil
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from devices import another, read, take
from hypothesis import strategies as st
from shed import Clock, Shed, rat

from hygiene.book.merge import Forked
from hygiene.kinds.book import Strike
from hygiene.kinds.find import Hold, Release

DEVICE = st.integers(0, 2)
WORK = st.lists(st.tuples(st.integers(0, 4), DEVICE, DEVICE), min_size=1, max_size=7)
"""What is done (0 a find, 1 a hold, 2 a release, 3 a strike, 4 a merge), by which
device, and from which other one it merges."""
Forks = st.tuples(st.integers(0, 3), st.integers(1, 4), st.integers(1, 4))
"""Lines that both have, and the lines that each then writes in the same book."""


def worked(base: Path, work: list[tuple[int, int, int]]) -> int:
    """Do the work, and merge what comes of it in every order; the merges made."""
    with TemporaryDirectory() as folder:
        devices = _devices(Path(folder), base, 3)
        merges = sum(_do(devices, *each) for each in work)
        a, b, c = devices
        one, other = _copy(a, "one"), _copy(b, "other")
        take(one, b)
        take(other, a)
        assert read(one) == read(other), "not commutative in what is read"
        assert take(one, b) == [], "not idempotent"
        take(one, c)
        both = _copy(b, "both")
        take(both, c)
        last = _copy(a, "last")
        take(last, both)
        assert read(one) == read(last), "not associative"
        for shed in (*devices, one, other, both, last):
            assert shed.faults() == []
        return merges + 6


def forked(base: Path, common: int, here: int, there: int) -> None:
    """Two that write the same book on from the same line; each refuses the other."""
    with TemporaryDirectory() as folder:
        (mine,) = _devices(Path(folder), base, 1)
        mine.write(*(rat(f"common {n}") for n in range(common + 1)))
        theirs = _copy(mine, "theirs")
        shutil.copytree(mine.keys, theirs.keys)
        first = mine.write(*(rat(f"here {n}") for n in range(here)))[0]
        theirs.write(*(rat(f"there {n}") for n in range(there)))
        for one, other in ((mine, theirs), (theirs, mine)):
            before = one.path.read_bytes()
            with pytest.raises(Forked, match=f"^{first.name} was written twice"):
                take(one, other)
            assert one.path.read_bytes() == before


def _devices(folder: Path, base: Path, count: int) -> list[Shed]:
    made = []
    for n in range(count):
        (folder / str(n)).mkdir()
        path = folder / str(n) / "farm.db"
        shutil.copy(base, path)
        made.append(Shed(path, path.with_name("keys"), Clock()))
        made[-1].clock.on(minutes=7 * n)  # no two clocks agree
    return made


def _copy(shed: Shed, name: str) -> Shed:
    return another(shed, name)


def _do(devices: list[Shed], what: int, which: int, other: int) -> int:
    shed = devices[which]
    if what == 4:
        if which != other:
            take(shed, devices[other])
        return which != other
    with shed.to_read() as record:
        holds = record.unanswered("hold", "release")
        finds = [e for e in record.entries(["pest"]) if not e.corrects]
    if what == 2 and holds:
        shed.write(Release(hold=holds[-1].name, why="looked at"))
    elif what == 3 and finds:
        name = finds[-1].name
        shed.clock.on(days=1)  # later than any other clock: it may be corrected
        shed.write(Strike(struck="pest"), corrects=name, reason="a mouse")
    elif what == 1:
        shed.write(Hold(held="B-1", sort="batch", why="musty"))
    else:
        shed.write(rat(f"bay {which}"))
    return 0
