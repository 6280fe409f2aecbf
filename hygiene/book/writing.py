"""Writing a record: create one, and append lines in one short transaction.

Gather and ask first; then ``with record.writing(...)`` takes the write lock, the rules
are checked on what stands now, the lines are added, and all of it is kept or none. An
acknowledged line outlives a power cut (journal_mode=delete, synchronous=extra).
"""

from __future__ import annotations

import os
import secrets
import sqlite3
from contextlib import closing, suppress
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from types import TracebackType

from hygiene.book import chain, keys
from hygiene.book.record import (
    APPLICATION_ID,
    VERSION,
    Clock,
    Head,
    Record,
    connect,
    translated,
)
from hygiene.errors import NoRecord, Refused, WronglyPut
from hygiene.kinds.base import Kind
from hygiene.kinds.book import Opening, Strike
from hygiene.kinds.entry import Entry, read_line, write_line
from hygiene.kinds.moments import CLOCKS_DIFFER, moment_of, stamp
from hygiene.plain_file import content_of

PLACE_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
LARGEST_FILE_BYTES = 10 * 1024 * 1024
RETRY = timedelta(seconds=60)
"""How long the same act, with no time given, counts as a retry of itself."""


class AlreadyThere(NoRecord):
    """A record is to be made where a file stands already."""

    sentence = "there is a file at {path} already"


class FileTooLarge(WronglyPut):
    """An attached file over the limit."""

    sentence = "{path} is larger than 10 MB"


class StandsLater(Refused):
    """A correction that would not stand, since this device's clock is behind."""

    sentence = (
        "refused: {name} was last corrected at {then}, which is later than this "
        "device's clock ({now})"
    )


def create(
    path: Path,
    clock: Clock,
    folder: Path,
    *,
    place: str = "shed",
    demonstration: bool = False,
) -> None:
    """Make a record with its first book, for its owner only; ``AlreadyThere``.

    It is built beside and moved into place, so that nothing half made is left.
    """
    if path.exists():
        raise _already_there(path)
    waiting = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        waiting.touch(mode=0o600)
        with translated(path), closing(connect(waiting)) as db:
            lay_out(db)
            made = Writing(
                Record(waiting, db),
                clock,
                folder,
                place=place,
                demonstration=demonstration,
            )
            with made:
                pass
        _move(waiting, path)
    except OSError as failure:
        raise NoRecord(what=f"{path}: {failure.strerror}") from failure
    finally:
        with suppress(OSError):  # a disk that cannot be written has nothing to remove
            waiting.unlink(missing_ok=True)


def _move(waiting: Path, path: Path) -> None:
    """Give it its name, unless somebody else took that meanwhile."""
    try:
        os.link(waiting, path)
    except FileExistsError:
        raise _already_there(path) from None
    except OSError:  # a file system without links
        waiting.rename(path)


def _already_there(path: Path) -> AlreadyThere:
    return AlreadyThere(path=path, way_out="give another place with --record FILE")


def lay_out(db: sqlite3.Connection) -> None:
    """Make the tables, triggers and views of an empty record."""
    from hygiene.book.schema import statements  # makes every kind: not on the hot path

    db.execute(f"pragma application_id = {APPLICATION_ID}")
    db.execute(f"pragma user_version = {VERSION}")
    db.execute("begin immediate")
    for statement in statements():
        db.execute(statement)
    db.execute("commit")


class Writing:
    """One transaction on a record, in the book that this device may write.

    ``opened`` is the book's name where a new one had to be opened, and ``why``.
    """

    def __init__(
        self,
        record: Record,
        clock: Clock,
        folder: Path,
        *,
        place: str = "shed",
        demonstration: bool = False,
    ) -> None:
        self.record = record
        self.clock = clock
        self.folder = folder
        self.place = place
        self.demonstration = demonstration
        self.opened: str | None = None
        self.why: str | None = None
        self.ahead: str | None = None
        """When the last line was recorded, where this device's clock is behind it."""

    def __enter__(self) -> Writing:
        with translated(self.record.path):
            self._need_plain_journal()
            self.record.db.execute("pragma synchronous = extra")
            self.record.db.execute("begin immediate")
        try:
            heads = self.record.heads()
            found = (keys.read(self.folder, head.book) for head in heads)
            held = [key for key in found if key is not None]
            self.head = self._my_head(heads, held) or self._open_book(heads, held)
            self.ahead = self._ahead()
        except BaseException:
            self._roll_back()
            raise
        return self

    def _ahead(self) -> str | None:
        last = self.record.entry(f"{self.head.book}/{self.head.seq}")
        early = moment_of(last.recorded_at).timestamp() - self.clock().timestamp()
        return last.recorded_at if early > CLOCKS_DIFFER.total_seconds() else None

    def _need_plain_journal(self) -> None:
        """Undo another tool's WAL mode, in which a copy of the file loses lines.

        Where that tool still holds the record, the line is written as safely in WAL.
        """
        with suppress(sqlite3.OperationalError):
            self.record.db.execute("pragma journal_mode = delete").fetchone()

    def __exit__(
        self,
        kind: type[BaseException] | None,
        failure: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        if failure is not None:
            self._roll_back()
            return
        try:
            self._commit()
        except BaseException:
            self._roll_back()
            raise

    def _commit(self) -> None:
        key = keys.Kept(self.folder, keys.Key(*self.head))
        if self.opened:
            # the key to a new book goes first: whoever waits for the lock shall find it
            key.put()
        try:
            with translated(self.record.path):
                self.record.db.execute("commit")
        except BaseException:
            key.drop()
            raise
        if not self.opened:
            key.put()

    def _roll_back(self) -> None:
        if self.record.db.in_transaction:
            self.record.db.execute("rollback")

    def _my_head(self, heads: list[Head], held: list[keys.Key]) -> Head | None:
        """The end of a book whose key lies on its chain, the last one by name."""
        good = {key.book for key in held if self.record.holds(Head(*key))}
        return next((head for head in reversed(heads) if head.book in good), None)

    def _open_book(self, heads: list[Head], held: list[keys.Key]) -> Head:
        name = _new_name(self.place, {head.book for head in heads})
        self.opened = name
        self.head = Head(name, 0, chain.start(name))
        if not heads:
            self.why = "the first book of this record"
        elif held:
            self.why = (
                "this device's key is ahead of the record, which was copied or restored"
            )
        else:
            self.why = "this device has no key to a book of this record"
        self.add(
            Opening(
                record=self._record_name(heads),
                why=self.why,
                demonstration=self.demonstration,
            ),
            by="hygiene",
        )
        return self.head

    def _record_name(self, heads: list[Head]) -> str:
        if not heads:
            return secrets.token_hex(8)
        opening = self.record.entry(f"{heads[0].book}/1")
        self.demonstration = bool(opening.get("demonstration"))
        return str(opening.get("record"))

    def add(
        self,
        thing: Kind,
        *,
        by: str,
        happened_at: datetime | None = None,
        written_by: str | None = None,
        corrects: str | None = None,
        reason: str | None = None,
    ) -> Entry:
        """Append one entry as the next line; ``happened_at`` is now, if not given.

        ``corrects`` may name any version of a matter: the line names the first.
        """
        now = self.clock()
        if corrects is not None:
            corrects = self._may_correct(corrects, thing, now)
        entry = Entry(
            book=self.head.book,
            seq=self.head.seq + 1,
            kind=thing.kind,
            happened_at=stamp(happened_at or now),
            recorded_at=stamp(now),
            by=by,
            body=thing.body(),
            written_by=None if written_by == by else written_by,
            corrects=corrects,
            reason=reason,
        )
        return self._append(entry)

    def _append(self, entry: Entry) -> Entry:
        line = write_line(entry)
        head = Head(entry.book, entry.seq, chain.follow(self.head.hash, line.encode()))
        with translated(self.record.path):
            self.record.db.execute(
                "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)",
                (entry.book, entry.seq, line, head.hash),
            )
        self.head = head
        return read_line(line)

    def _may_correct(self, name: str, thing: Kind, now: datetime) -> str:
        history = self.record.history(name)
        first, last = history[0], history[-1]
        if first.kind == "opening":
            raise WronglyPut(what=f"{first.name} opens its book and is never corrected")
        if isinstance(thing, Strike):
            if first.kind != thing.struck:
                raise WronglyPut(what=f"{first.name} is a {first.kind}")
        elif thing.kind != first.kind:
            raise WronglyPut(
                what=f"{first.name} is a {first.kind}; a {thing.kind} cannot correct it"
            )
        mine = (int(now.timestamp()), self.head.book, self.head.seq + 1)
        if len(history) > 1 and mine < (_instant(last), last.book, last.seq):
            raise StandsLater(
                name=first.name,
                then=last.recorded_at,
                now=stamp(now),
                way_out="set this device's clock right and do it again",
            )
        return first.name

    def same(
        self,
        thing: Kind,
        *,
        by: str,
        happened_at: datetime | None,
        corrects: str | None = None,
    ) -> Entry | None:
        """A standing entry that says just this: it was recorded already.

        After a crash the person does the same again; that is no second act. Where
        no time was given, any entry of this kind, body and person of the last
        minute counts. With ``corrects``, only a correction or strike of that matter.
        """
        now = (happened_at or self.clock()).replace(microsecond=0)
        since = now if happened_at else now - RETRY
        first = self.record.entry(corrects).first if corrects else None
        at = stamp(now)
        wanted = read_line(
            write_line(Entry("", 0, thing.kind, at, at, by, thing.body()))
        )
        for found in self.record.entries(
            [thing.kind], since=since, before=now + timedelta(seconds=1)
        ):
            if (found.by, found.body) == (wanted.by, wanted.body) and (
                first is None or found.corrects == first
            ):
                return found
        return None

    def attach(self, path: Path) -> str:
        """Store a file's bytes, once; returns its SHA-256 in hex."""
        return self.store(to_keep(path))

    def store(self, content: bytes) -> str:
        """Store bytes, once; returns their SHA-256 in hex."""
        digest = sha256(content).hexdigest()
        self.keep(digest, content)
        return digest

    def keep(self, digest: str, content: bytes) -> None:
        """Store bytes of which the SHA-256 is known, once."""
        with translated(self.record.path):
            self.record.db.execute(
                "insert into attachment(sha256, bytes) select ?1, ?2 "
                "where not exists (select 1 from attachment where sha256 = ?1)",
                (digest, content),
            )


def to_keep(path: Path) -> bytes:
    """The bytes of a file that is attached; raises ``FileTooLarge``, ``WronglyPut``."""
    try:
        content = content_of(path, LARGEST_FILE_BYTES)
    except OSError as failure:
        raise WronglyPut(what=f"{path}: {failure.strerror}") from failure
    if len(content) > LARGEST_FILE_BYTES:
        raise FileTooLarge(path=path)
    return content


def _instant(entry: Entry) -> int:
    return int(datetime.fromisoformat(entry.recorded_at).timestamp())


def _new_name(place: str, taken: set[str]) -> str:
    """A name of no other book; nor its first two characters, which minted codes bear.

    Those two repeat only where hundreds of books have used up most of them.
    """
    pairs = {_letters(book)[:2] for book in taken}
    while True:
        letters = "".join(secrets.choice(PLACE_LETTERS) for _ in range(4))
        free = letters[:2] not in pairs or len(pairs) > len(PLACE_LETTERS) ** 2 / 2
        if free and f"{place}-{letters}" not in taken:
            return f"{place}-{letters}"


def _letters(book: str) -> str:
    return book.rpartition("-")[2]
