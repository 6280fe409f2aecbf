from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.kinds.codes import (
    ALPHABET,
    WrongCode,
    bare,
    check_character,
    check_of,
    minted,
    near,
    read_minted,
    scannable,
    unscanned,
)


@pytest.mark.parametrize(
    ("text", "check"),
    [
        # the worked example of the Global Release Identifier, A1-2425G-ABC1234002-M
        ("A12425GABC1234002", "M"),
        # two of the vectors of a public Go implementation of ISO/IEC 7064
        ("RABD", "A"),
        ("X0H", "X"),
    ],
)
def test_check_character_is_that_of_iso_7064_mod_37_36(text: str, check: str) -> None:
    """Published examples give their published check character."""
    assert check_character(text) == check


def test_a_code_is_prefix_book_number_and_check_character() -> None:
    """Two characters of the book's four stand in the code, in upper case."""
    head = minted("batch", "shed-k7q2", 42)
    assert head == f"B-K7-42-{check_character('BK742')}"


@pytest.mark.parametrize("write", [str.upper, str.lower, lambda c: c.replace("-", "")])
def test_a_code_is_read_in_any_case_and_without_hyphens(write) -> None:
    """A farm hand need not find the shift key or the hyphen."""
    code = minted("lot", "shed-k7q2", 7)
    assert read_minted(write(code)) == code


def test_another_code_of_the_farm_is_left_alone() -> None:
    """A tray or a line bears the farm's own code, which is no minted one."""
    assert read_minted("T014") is None


def test_a_wrong_check_character_is_refused() -> None:
    """What looks like a minted code and does not fit is never guessed."""
    code = minted("batch", "shed-k7q2", 42)
    wrong = code[:-1] + ALPHABET[ALPHABET.index(code[-1]) - 1]
    with pytest.raises(WrongCode):
        read_minted(wrong)


@given(number=st.integers(1, 99_999), data=st.data())
@settings(max_examples=60, deadline=None)
def test_one_wrong_character_is_always_noticed_and_found(number: int, data) -> None:
    """One substituted character never gives another right code, and leads back."""
    code = minted("batch", "shed-k7q2", number)
    bare = code.replace("-", "")
    place = data.draw(st.integers(0, len(bare) - 1))
    char = data.draw(st.sampled_from([c for c in ALPHABET if c != bare[place]]))
    slip = bare[:place] + char + bare[place + 1 :]
    assert check_character(slip[:-1]) != slip[-1]
    assert code in near(slip)


def test_two_swapped_digits_lead_back_to_the_code() -> None:
    """The commonest slip after a wrong character is two that changed places."""
    code = minted("batch", "shed-k7q2", 4213)
    assert code in near(code.replace("42", "24"))


@pytest.mark.parametrize("code", ["T001", "R-1", "line_2", "B-K7-42-L", "L1"])
def test_what_a_label_holds_is_read_as_its_code(code: str) -> None:
    """In any case, with the newline that a scanner sends."""
    held = scannable(code)
    assert bare(held) == code.upper()
    assert bare(f"{held.lower()}\r\n").upper() == code.upper()


def test_a_label_holds_the_code_and_its_check_alone() -> None:
    """A minted code has its check character within; one of the farm's has a star."""
    code = minted("batch", "shed-k7q2", 42)
    assert scannable(code) == f"HYG:{code}"
    assert scannable("t001") == f"HYG:T001*{check_character('T001')}"


def test_labels_are_read_wherever_they_stand_in_a_word() -> None:
    """A range, a list and a pair scanned into one word."""
    first, last = scannable("T001"), scannable("T006")
    assert unscanned(f"{first}..{last},{scannable('R1')}=12") == "T001..T006,R1=12"


@pytest.mark.parametrize("read", [bare, unscanned])
def test_a_label_that_was_misread_is_refused(read) -> None:
    """The check character notices what the scanner did not."""
    held = scannable("T001")
    with pytest.raises(WrongCode):
        read(held.replace("T001", "T007"))


def test_the_check_character_may_be_typed_as_the_label_shows_it() -> None:
    """Without the prefix, which only the QR code holds."""
    assert bare(f"T001*{check_of('T001')}") == "T001"
    with pytest.raises(WrongCode):
        bare("T001*")


def test_other_words_are_left_alone() -> None:
    """A remark, a path, an empty word."""
    for word in ("", "was dripping", "temp=21.3", "a*b", "HYGIENE: note"):
        assert unscanned(word) == word


@given(text=st.text(max_size=30))
@settings(max_examples=80, deadline=None)
def test_no_text_makes_reading_fall_over(text: str) -> None:
    """It is a code, or it is refused as one."""
    for read in (bare, unscanned):
        try:
            read(text)
        except WrongCode:
            assert "*" in text


def test_a_code_without_its_last_character_is_near_the_whole_one() -> None:
    """Whoever leaves the check character out is shown the code that has it."""
    whole = minted("batch", "shed-k7q2", 42)
    assert next(near(whole[:-2])) == whole
    assert next(near(whole.lower()[:-2])) == whole
