"""The line that an entry is: its bytes, and what has no place on it."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as some

from hygiene.kinds.entry import (
    LONGEST_LINE_BYTES,
    Entry,
    NotALine,
    Unwritable,
    check_line,
    read_line,
    write_line,
)

WHEN = "2026-03-02T07:00:00+00:00"
FULL = Entry(
    book="shed-k7q2",
    seq=1042,
    kind="pest",
    happened_at=WHEN,
    recorded_at="2026-03-02T07:05:00+00:00",
    by="AB",
    body={"what": "rat", "count": 2, "share": Decimal("0.50"), "seen": True},
    written_by="CD",
    corrects="shed-k7q2/1040",
    reason="it was two",
)
LINE = (
    '{"book":"shed-k7q2","seq":1042,"v":1,"kind":"pest",'
    '"happened_at":"2026-03-02T07:00:00+00:00",'
    '"recorded_at":"2026-03-02T07:05:00+00:00","by":"AB","written_by":"CD",'
    '"corrects":"shed-k7q2/1040","reason":"it was two",'
    '"body":{"what":"rat","count":2,"share":0.50,"seen":true}}'
)


def with_body(**body: object) -> Entry:
    return Entry("shed-k7q2", 1, "pest", WHEN, WHEN, "AB", body)


def body_of(entry: Entry) -> str:
    return write_line(entry).partition('"body":')[2][:-1]


def test_a_line_is_written_in_just_one_way():
    """No spaces, keys in their order, digits as typed."""
    assert write_line(FULL) == LINE


def test_what_is_not_said_is_left_out():
    """Absent rather than null, in the envelope and in the body."""
    line = write_line(with_body(what="rat", did=None))
    assert "null" not in line
    assert "written_by" not in line
    assert json.loads(line)["body"] == {"what": "rat"}


def test_a_line_is_read_back_as_it_was():
    """Also what the name and the first entry of the matter are."""
    assert read_line(LINE) == FULL
    assert FULL.name == "shed-k7q2/1042"
    assert FULL.first == "shed-k7q2/1040"
    assert with_body().first == "shed-k7q2/1"


@pytest.mark.parametrize(
    "digits", ["0.50", "21.5", "100", "-3", "0.000001", "1.0", "123456789.123456789"]
)
def test_numbers_keep_their_digits(digits: str):
    """0.50 is not 0.5: somebody read the second digit."""
    number = Decimal(digits)
    assert body_of(with_body(x=number)) == f'{{"x":{digits}}}'
    assert str(read_line(write_line(with_body(x=number))).get("x")) == digits


def test_a_number_is_written_without_an_exponent():
    """However it was worked out."""
    assert body_of(with_body(x=Decimal("1E+3"))) == '{"x":1000}'
    assert body_of(with_body(x=Decimal("5E-7"))) == '{"x":0.0000005}'


def test_whole_numbers_and_answers_keep_their_sort():
    """A tick is true or false, and never 1."""
    read = read_line(write_line(with_body(a=1, b=True, c=False, d=[1, True])))
    assert str(dict(read.body)) == "{'a': 1, 'b': True, 'c': False, 'd': [1, True]}"


BEYOND = ["NaN", "sNaN", "Infinity", "-Infinity", "1E+18", "1E-18", "1E+999999"]


@pytest.mark.parametrize(
    "number", [*map(Decimal, BEYOND), 10**18, -(10**5000)], ids=[*BEYOND, "int", "long"]
)
def test_a_number_that_nobody_measures_is_refused(number: object):
    """Not finite, or beyond what any reader of JSON counts."""
    with pytest.raises(Unwritable, match=r"^x: "):
        write_line(with_body(x=number))


@pytest.mark.parametrize("value", [1.5, None, {1}, b"x", object()])
def test_what_is_neither_text_nor_number_is_refused(value: object):
    """A float has digits that nobody typed; an item cannot be absent."""
    with pytest.raises(Unwritable):
        write_line(with_body(x=[value]))


@pytest.mark.parametrize("char", "\n\r\t\0\x1f\x7f\x85\u2028\u2029\ud800")
def test_a_text_is_one_line(char: str):
    """No control character, no end of a line, no half of a character."""
    for entry in (
        with_body(note=f"a{char}b"),
        with_body(**{f"a{char}b": 1}),
        with_body(list=[f"{char}"]),
        with_body()._replace(by=f"A{char}"),
        with_body()._replace(reason=char),
    ):
        with pytest.raises(Unwritable, match="on one line"):
            write_line(entry)


@pytest.mark.parametrize("text", ["", *'"\\/éß日🐄\u00a0'])
def test_any_other_text_is_kept_as_it_is(text: str):
    """Written as itself, not as \\u escapes."""
    line = write_line(with_body(note=text))
    assert read_line(line).get("note") == text
    assert "\\u" not in line


def test_accents_are_written_in_one_way():
    """NFC, so that two keyboards write the same bytes (Unicode Annex 15)."""
    assert write_line(with_body(note="e\u0301")) == write_line(with_body(note="\u00e9"))


@pytest.mark.parametrize(
    "moment",
    [
        "",
        "soon",
        "2026-03-02",
        "2026-03-02T07:00:00",
        "2026-03-02T07:00+00:00",
        "2026-03-02 07:00:00+00:00",
        "2026-03-02T07:00:00.5+00:00",
        "2026-03-02T07:00:00+00:00:30",
        "2026-03-02T07:00:00+15:00",
        f"{WHEN}\n",
    ],
)
def test_a_moment_has_seconds_and_an_offset(moment: str):
    """RFC 3339; an offset lies within 14 hours."""
    for key in ("happened_at", "recorded_at"):
        with pytest.raises(Unwritable, match=key):
            write_line(with_body()._replace(**{key: moment}))


def test_a_line_is_at_most_64_kib():
    """Counted in bytes: an accent has two."""
    short = len(write_line(with_body(note="")).encode())
    write_line(with_body(note="x" * (LONGEST_LINE_BYTES - short)))
    with pytest.raises(Unwritable, match="64 KiB"):
        write_line(with_body(note="é" * ((LONGEST_LINE_BYTES - short) // 2 + 1)))


plain_text = some.text(
    some.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=8
)
numbers = some.integers(-(10**9), 10**9) | some.decimals(
    -1000, 1000, places=3, allow_nan=False
)
values = some.recursive(
    plain_text | numbers | some.booleans(),
    lambda inner: (
        some.lists(inner, max_size=3)
        | some.dictionaries(some.sampled_from("abc"), inner, max_size=3)
    ),
    max_leaves=6,
)
entries = some.builds(
    lambda seconds, by, body, reason: Entry(
        "shed-k7q2",
        7,
        "pest",
        (datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)).isoformat(),
        WHEN,
        by,
        body,
        reason=reason,
    ),
    some.integers(0, 10**9),
    plain_text,
    some.dictionaries(some.sampled_from(["x", "y", "z"]), values, max_size=3),
    some.none() | plain_text,
)


@given(entries)
def test_what_is_written_is_taken_in_again(entry: Entry):
    """Whatever a body holds: written, read and written again, the same bytes."""
    line = write_line(entry)
    assert "\n" not in line
    assert write_line(read_line(line)) == line
    assert check_line(line) == read_line(line)


# the door for lines from elsewhere

FOREIGN = {
    "a repeated key": LINE.replace('"seq"', '"by":"XY","seq"', 1),
    "a repeated key in the body": LINE.replace('"what"', '"what":"a cat","what"'),
    "NaN": LINE.replace("0.50", "NaN"),
    "an exponent": LINE.replace("0.50", "5E-1"),
    "minus nothing": LINE.replace(":2,", ":-0,"),
    "a blank": LINE.replace(",", ", ", 1),
    "an escape": LINE.replace("rat", "r\\u0061t"),
    "an escaped solidus": LINE.replace("k7q2/", "k7q2\\/"),
    "an accent of two parts": LINE.replace("rat", "re\u0301t"),
    "null": LINE.replace('"rat"', "null"),
    "an unknown key": LINE.replace('"body"', '"mood":1,"body"'),
    "another order": LINE.replace(
        '"by":"AB","written_by":"CD"', '"written_by":"CD"'
    ).replace('"reason"', '"by":"AB","reason"'),
    "a later version": LINE.replace('"v":1', '"v":2'),
    "no body": LINE[: LINE.index(',"body"')] + "}",
    "an end of line": f"{LINE}\n",
    "more after it": f"{LINE}{LINE}",
    "no offset": LINE.replace("07:00:00+00:00", "07:00:00"),
    "a list": "[]",
    "a number": "7",
    "nothing": "",
    "nesting": "[" * 100_000,
    "too many digits": LINE.replace("0.50", "9" * 5000),
}


@pytest.mark.parametrize("line", FOREIGN.values(), ids=FOREIGN)
def test_the_door_refuses_a_line_that_we_would_not_write(line: str):
    """Import and merge take in the very bytes that this program writes, no others."""
    assert check_line(LINE) == FULL
    with pytest.raises(Unwritable):
        check_line(line)


@pytest.mark.parametrize(
    "line",
    [
        "", "tea", "[]", "7", "{}", '{"book":"x"}', LINE[:-9], "[" * 100_000,
        f"1e{'9' * 30}",
    ],
)  # fmt: skip
def test_bytes_that_are_no_entry_are_one_kind_of_failure(line: str):
    """So that a reader of the record can say where they stand."""
    with pytest.raises(NotALine):
        read_line(line)


@pytest.mark.parametrize("body", ["[]", '"rat"', "7", "null"])
def test_a_body_is_a_table(body: str):
    """Whatever asks it for a key gets an answer."""
    with pytest.raises(NotALine):
        read_line(f"{LINE[: LINE.index('{', 1)]}{body}}}")


def test_a_body_of_another_age_is_read_as_it_stands():
    """Unknown keys, odd values: nothing raises, and what is missing has a default."""
    entry = read_line(LINE.replace('"v":1', '"v":9').replace('"rat"', '[1,{"x":null}]'))
    assert entry.get("what") == [1, {"x": None}]
    assert entry.get("colour", "grey") == "grey"
