from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from hygiene.errors import WrongFile
from hygiene.kinds.base import Problem
from hygiene.toml_file import Document, KeyPath, read_toml, wrong_files

FARM = """\
# the farm
[farm]
name = "Hill"
"odd key".inner = 1
contacts = [
  { role = "vet", name = "V" },   # first
  { role = "authority",
    name = "A" },
]

[[farm.season]]
first = 2024-10-01

[[person]]
code = "AB"

[[person]]
code = '''
CD'''
roles = [
  "manager", "worker",
  "vet",
]
[person.more]
x.y = 2
[[person.training]]
topic = "wash [[not a table]] = # no"
[[person.training]]
topic = "nozzles"
"""
ONE_LINE = FARM.replace(',\n    name = "A"', ', name = "A"')


def document(text: str, tmp_path: Path, name: str = "FARM.toml") -> Document:
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return read_toml(path)


def refused(content: bytes | str, tmp_path: Path) -> str:
    path = tmp_path / "FARM.toml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(WrongFile) as failure:
        read_toml(path)
    assert failure.value.exit_code == 8
    return str(failure.value)


@pytest.mark.parametrize(
    ("key", "line"),
    [
        (("farm",), 2),
        (("farm", "name"), 3),
        (("farm", "odd key", "inner"), 4),
        (("farm", "contacts"), 5),
        (("farm", "contacts", 0, "name"), 6),
        (("farm", "contacts", 1), 7),
        (("farm", "season", 0), 10),
        (("farm", "season", 0, "first"), 11),
        (("person",), 13),
        (("person", 0, "code"), 14),
        (("person", 1), 16),
        (("person", 1, "code"), 17),
        (("person", 1, "roles", 1), 20),
        (("person", 1, "roles", 2), 21),
        (("person", 1, "more", "x", "y"), 24),
        (("person", 1, "training", 0, "topic"), 26),
        (("person", 1, "training", 1), 27),
    ],
)
def test_a_key_is_found_on_its_line(key: KeyPath, line: int, tmp_path: Path) -> None:
    """Tables, lists of tables, dotted and quoted keys, inline tables and items."""
    assert document(ONE_LINE, tmp_path).line_of(key) == line


@pytest.mark.parametrize(
    ("key", "line"),
    [
        (("person", 1, "name"), 16),
        (("farm", "contacts", 0, "telephone"), 6),
        (("farm", "address"), 2),
        (("person", 7), 13),
        (("tank", 0, "code"), None),
        ((), None),
    ],
)
def test_a_missing_key_is_told_at_its_table(
    key: KeyPath, line: int | None, tmp_path: Path
) -> None:
    """The nearest table above has a line; where there is none, none is told."""
    assert document(ONE_LINE, tmp_path).line_of(key) == line


def test_every_problem_is_told_at_once_by_line(tmp_path: Path) -> None:
    """One line a problem, with file, line and key; places are counted from 1."""
    problems = [
        Problem(("person", 1, "role"), "there is no such key here"),
        Problem(("tank",), "is missing"),
        Problem(("farm", "name"), "is empty"),
    ]
    assert str(document(ONE_LINE, tmp_path).wrong(problems)).split("\n") == [
        "FARM.toml tank: is missing",
        "FARM.toml line 3, farm.name: is empty",
        "FARM.toml line 16, person[2].role: there is no such key here",
    ]


def test_problems_of_two_files_stand_together(tmp_path: Path) -> None:
    """Each line names its own file."""
    walk, wash = (document("code = 1", tmp_path, n) for n in ("walk.toml", "wash.toml"))
    told = wrong_files(
        [(wash, Problem(("code",), "b")), (walk, Problem(("code",), "a"))]
    )
    assert str(told) == "walk.toml line 1, code: a\nwash.toml line 1, code: b"


def test_what_was_typed_is_not_quoted_by_the_page(tmp_path: Path) -> None:
    """A problem is a line or two; beyond forty the rest is counted."""
    read = document("code = 1", tmp_path)
    told = str(read.wrong(Problem(("code",), "x" * 5000) for _ in range(50)))
    rows = told.split("\n")
    assert len(rows) == 41
    assert rows[-1] == "and 10 more"
    assert max(map(len, rows)) < 300


def test_numbers_keep_their_digits(tmp_path: Path) -> None:
    """A number with a point is the decimal that was typed."""
    assert str(document("x = 0.50", tmp_path).values["x"]) == str(Decimal("0.50"))


def test_a_file_from_a_windows_editor_is_read(tmp_path: Path) -> None:
    """A byte order mark and CRLF line ends change neither values nor lines."""
    path = tmp_path / "FARM.toml"
    path.write_bytes(b"\xef\xbb\xbf[farm]\r\nname = 'x'\r\n")
    read = read_toml(path)
    assert read.values == {"farm": {"name": "x"}}
    assert read.line_of(("farm", "name")) == 2


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[farm]\nname = Hill", "FARM.toml line 2, name: the value cannot be read"),
        ('a = 1\nb = "x\n', "FARM.toml line 2, b: the closing quote is missing"),
        ("a = 1\na = 2", "FARM.toml line 2, a: this key is written twice"),
        ("[a]\n[a]", "FARM.toml line 2, a: this [table] is written twice"),
        ("name Hill", "FARM.toml line 1: a key wants = and a value"),
        ("a = 1 2", "FARM.toml line 1, a: more stands here than one value"),
        ("\n= 3", "FARM.toml line 2: a key or a [table] is wanted here"),
        ("a = [1,\n", "FARM.toml line 2: the value cannot be read"),
    ],
)
def test_what_is_not_toml_is_told_with_line_and_key(
    text: str, told: str, tmp_path: Path
) -> None:
    """Where the parser stops, the line and the key in it are said in plain words."""
    assert refused(text, tmp_path).startswith(told)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"a = 1\nb = '\xff'\n", "line 2: is not UTF-8 text"),
        ("a = 1".encode("utf-16"), "line 1: is not UTF-8 text"),
        (b"#" * 1_000_001, "is over 1 MB"),
        ("a = " + "[" * 5000 + "]" * 5000, "nested too deep"),
        ("\na = " + "[" * 9 + "]" * 9, "line 2, a"),
        ("\na = " + "[" * 250 + "]" * 250, "line 2, a"),
        ("\n" + "a." * 100_000 + "a = 1", "line 2: keys, tables or lists are nested"),
        ("[" + "'a'." * 100_000 + "a]", "line 1: keys, tables or lists are nested"),
        ("a = " + "1" * 5000, "too long to be read"),
        ("a = 1e99999999999999999999999", "too long to be read"),
    ],
    ids=lambda given: None if isinstance(given, bytes) or len(given) > 60 else given,
)
def test_what_would_choke_the_reader_is_refused(
    content: bytes | str, told: str, tmp_path: Path
) -> None:
    """No text, however odd, gets past the reader as anything but a plain refusal."""
    assert told in refused(content, tmp_path)


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    """What cannot be opened is a wrong file as well."""
    for path, what in (
        (tmp_path / "no.toml", "no such file"),
        (tmp_path, "no plain file"),
    ):
        with pytest.raises(WrongFile, match=what):
            read_toml(path)


def paths(value: Any, at: KeyPath = ()) -> list[KeyPath]:
    """Every path in the values, asked of the parser and not of our walk."""
    pairs: list[tuple[str | int, Any]] = []
    if isinstance(value, dict):
        pairs = list(value.items())
    elif isinstance(value, list):
        pairs = list(enumerate(value))
    below = [path for part, item in pairs for path in paths(item, (*at, part))]
    return [(*at, part) for part, _ in pairs] + below


numbers = st.integers(0, 10_000)
strings = st.sampled_from(
    ['"a"', "'#'", '"""x]\n"y" = \\" }"""', "'''[[z]]\n'q'''''", '""', '"\\\\"']
)
plain = strings | st.sampled_from(["1", "-0.5", "true", "2024-10-01 07:00:00", "nan"])
lists = st.lists(plain, max_size=3).map(lambda i: f"[ {', '.join(i)}\n# ]\n]")
values = plain | lists | st.just("{ in1 = [1, {in2 = 2}], in3.in4 = '}' }")
keys = st.builds(
    lambda n, form: form.format(n),
    numbers,
    st.sampled_from(["k{}", '"k {}"', "k{}.sub", "'k#{}'  .  sub"]),
)
pairs = st.builds("{} = {}  # [no]".format, keys, values)
headers = st.builds(
    lambda n, form: form.format(n),
    numbers,
    st.sampled_from(
        ["[t{}]", "[[l]]", "[l.t{}]", "[[l.m]]", "[ 'l' . m.t{} ]", "[u.t{}]"]
    ),
)
texts = st.lists(pairs | headers | st.just("# x = 1") | st.just(""), max_size=12).map(
    lambda rows: "\n".join(["[[l]]", "[[l.m]]", *rows, ""])
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=texts)
def test_every_key_that_was_read_has_its_line(text: str, tmp_path: Path) -> None:
    """The line that is told for a key holds that key, in whatever form it stands."""
    try:
        read = document(text, tmp_path)
    except WrongFile:
        return
    rows = text.split("\n")
    for path in paths(read.values):
        line = read.line_of(path)
        assert line is not None
        if isinstance(path[-1], str):
            assert path[-1] in rows[line - 1]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=texts, place=st.integers(0, 200), put=st.binary(max_size=3))
def test_a_broken_file_is_read_or_refused(
    text: str, place: int, put: bytes, tmp_path: Path
) -> None:
    """A few bytes changed anywhere never end in anything but values or a refusal."""
    content = text.encode()
    path = tmp_path / "FARM.toml"
    path.write_bytes(content[:place] + put + content[place + len(put) :])
    try:
        read = read_toml(path)
    except WrongFile as failure:
        told = str(failure)
    else:
        told = f"FARM.toml {[read.line_of(path) for path in paths(read.values)]}"
    assert told.startswith("FARM.toml")
    assert "None" not in told
