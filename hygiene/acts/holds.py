"""Holds, and their release: the only thing that ends one."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from hygiene.acts.actions import answers_to
from hygiene.acts.resampling import not_taken_again, stopping
from hygiene.acts.roles import need_role
from hygiene.acts.standing import BatchFile, batch_file
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Refused, WronglyPut
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.find import Hold, Release
from hygiene.tracing import holds as reading

WORD: Final = "word"
ASSESSMENT: Final = "assessment"
PAPER: Final = "paper"
SAMPLE: Final = "sample"
NEEDS: Final = {
    "mould": WORD,
    "ill": WORD,
    "sow": ASSESSMENT,
    "feed": ASSESSMENT,
    "dispatch": ASSESSMENT,
    "discard": ASSESSMENT,
    "sample": ASSESSMENT,
    "seed": PAPER,
    "water": SAMPLE,
}
"""What ends a hold, by the kind of the entry that it follows from. Article 15(3) of
178/2002 (from memory): all of a batch is unsafe unless an assessment says otherwise."""


class NotAHold(WronglyPut):
    """An entry that is no hold."""

    sentence = "{name} is a {kind}, not a hold"


class ReleasedAlready(Refused):
    """A hold that somebody ended."""

    sentence = "refused: {name} was released by {by} ({release})"


class NeedsTheirWord(Refused):
    """After mould, only the vet or the authority ends a hold, by name and paper."""

    sentence = (
        "refused: {name} follows from {cause}; only the vet or the authority can say "
        "that it may go on"
    )


class WhoIsThat(Refused):
    """A name that is nobody's whose word would count."""

    sentence = "refused: {word_of} is no vet or authority that the farm file names"


class NeedsAssessment(Refused):
    """A precaution ends by a written assessment of somebody who signs it."""

    sentence = "refused: nobody has assessed {name} in writing"


class NeedsPaper(Refused):
    """A lot is let go on the paper that it lacked."""

    sentence = "refused: {name} waits for a paper: {why}"


class NeedsSample(Refused):
    """Water that stopped sowing is let go on a later sample that passed."""

    sentence = "refused: {name} waits for a sample that passes: {codes} at {point}"


def the_hold(record: Record, name: str) -> reading.Hold:
    """The hold of that name with all its versions; raises ``NotAHold``."""
    found = record.entry(record.entry(name).first)
    if found.kind != "hold":
        raise NotAHold(
            name=name, kind=found.kind, way_out="list them with: hygiene log hold"
        )
    return reading.Hold(found.name, tuple(record.history(found.name)))


def release(
    writing: Writing,
    name: str,
    *,
    why: str,
    by: str,
    word_of: str | None = None,
    word_role: str | None = None,
    document: str | None = None,
    keep: tuple[str, ...] = (),
    happened_at: datetime | None = None,
) -> tuple[Entry, ...]:
    """End a hold, on the word, the assessment or the paper that it needs.

    It is for a manager, or a vet who writes here (``NotTheirs``).

    Gives the release; with ``keep``, trays of the batch that stay held, also the hold
    on those.
    """
    record = writing.record
    held = the_hold(record, name)
    need_role(in_force(record.setup(), writing.clock()), by, "release")
    ended = answers_to(record, held.first, "release")
    if ended:
        raise ReleasedAlready(name=name, by=ended[-1].by, release=ended[-1].name)
    if not _nothing_left(record, held):
        _check(record, held, word_of, word_role, document)
    things: list[Kind] = [
        Release(
            hold=held.name,
            why=why,
            word_of=word_of,
            word_role=word_role,
            document=document,
        )
    ]
    if keep:
        things.append(_kept(record, held, keep))
    return tuple(writing.add(t, by=by, happened_at=happened_at) for t in things)


def _kept(record: Record, hold: reading.Hold, trays: tuple[str, ...]) -> Hold:
    first = hold.first
    batch = batch_file(record, str(first.get("held"))).batch
    if first.get("sort") != "batch" or batch is None:
        raise WronglyPut(what="only a hold on a batch can be kept for some trays")
    strange = [tray for tray in trays if tray not in batch.trays]
    if strange:
        raise WronglyPut(what=f"{strange[0]} is no tray of {batch.code}")
    return Hold(
        held=batch.code,
        sort="batch",
        why=str(first.get("why")),
        because=first.get("because"),
        trays=trays,
        shares=hold.shares,
    )


def whose_word(farm: InForce, name: str) -> str | None:
    """Whether somebody is the vet or the authority, by the farm file's own word."""
    for row in rows_of(farm.farm or {}, "contacts"):
        if row.get("role") in ("vet", "authority") and _same(row.get("name"), name):
            return str(row["role"])
    for code, person in farm.people.items():
        if "vet" in farm.roles(code) and _same(person.get("name"), name):
            return "vet"
    return None


def _same(one: object, other: str) -> bool:
    return isinstance(one, str) and one.strip().casefold() == other.strip().casefold()


def need(record: Record, hold: reading.Hold) -> tuple[str | None, str]:
    """What ends a hold, and the kind of what it follows from; the sternest wins."""
    kinds = {record.entry(cause).kind for cause in hold.causes}
    precaution = hold.shares is not None
    wanted = {kind: NEEDS.get(kind) for kind in kinds}
    for kind, need in wanted.items():
        if need == WORD and not precaution:
            return WORD, kind
    for sort in (WORD, ASSESSMENT, PAPER, SAMPLE):
        for kind, need in wanted.items():
            if need == sort:
                return (ASSESSMENT if sort == WORD else sort), kind
    return (ASSESSMENT if hold.is_precaution else None), ""


def _check(
    record: Record,
    hold: reading.Hold,
    word_of: str | None,
    word_role: str | None,
    document: str | None,
) -> None:
    sort, kind = need(record, hold)
    if sort == WORD:
        _check_word(hold, kind, word_of, word_role, document)
    if sort == ASSESSMENT and not answers_to(record, hold.first, "assess"):
        raise NeedsAssessment(
            name=hold.name,
            way_out=f"hygiene assess {hold.name} --found TEXT --by CODE",
        )
    if sort == PAPER and not document:
        raise NeedsPaper(
            name=hold.name,
            why=hold.first.get("why"),
            way_out="put the lot's entry right with: hygiene correct; then add "
            "--document 'paper of DATE'",
        )
    if sort == SAMPLE:
        _check_sample(record, hold, document)


def _check_sample(record: Record, hold: reading.Hold, document: str | None) -> None:
    """Every cause was sampled again and passed, or was a slip that a paper shows."""
    for cause in map(record.entry, sorted(hold.causes)):
        codes = not_taken_again(record, cause)
        slip = document and not stopping(record.standing(cause.name))
        if codes and not slip:
            point, again = cause.get("point"), " ".join(f"{c}=RESULT" for c in codes)
            raise NeedsSample(
                name=hold.name,
                codes=", ".join(codes),
                point=point,
                way_out=f"hygiene water {point} {again} --lab NAME; if mistyped: "
                f"hygiene correct {cause.name} ..., then add --document PAPER",
            )


def _check_word(
    hold: reading.Hold,
    kind: str,
    word_of: str | None,
    word_role: str | None,
    document: str | None,
) -> None:
    if not (word_of and document):
        raise NeedsTheirWord(
            name=hold.name,
            cause="mould" if kind == "mould" else "sick animals",
            way_out="add --word-of NAME --document 'letter of DATE'; "
            "do not feed, trim or dilute meanwhile",
        )
    if word_role is None:
        raise WhoIsThat(
            word_of=word_of, way_out="say what they are: --as vet, or --as authority"
        )


def _nothing_left(record: Record, hold: reading.Hold) -> bool:
    """Whether it holds batches alone, of which no tray grows any more.

    Also none that an older version of the sowing named.
    """
    codes = [code for sort, code in hold.held if sort == "batch"]
    if not codes or len(codes) != len(hold.held):
        return False
    return all(_all_ended(batch_file(record, code)) for code in codes)


def _all_ended(found: BatchFile) -> bool:
    if found.batch is None:
        return False
    sown = reading.ever(v for v in found.versions if v.kind == "sow")
    return {tray for tray, _ in sown.places} <= found.batch.ends.keys()
