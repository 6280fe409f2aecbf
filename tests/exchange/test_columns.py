"""Which heading is which column: certain, said, guessed, or asked for."""

from __future__ import annotations

from hygiene.exchange.columns import Matched, match
from hygiene.exchange.forms import FORMS, more_columns


def found(matched: Matched) -> dict[str, str]:
    return {column.head: column.field.name for column in matched.columns}


def feed(*heads: str, **said: str) -> Matched:
    return match(FORMS["feed"], heads, said)


def test_a_column_s_own_name_is_certain_in_any_writing():
    """Small or large letters, spaces or hyphens for underscores, a unit behind."""
    made = feed("DATE", "Animals", "KG (fresh)", "Look ok", "smell-ok")
    assert made.guesses == ()
    assert list(found(made).values()) == [
        "date",
        "animals",
        "kg",
        "look_ok",
        "smell_ok",
    ]


def test_other_words_and_slips_are_guesses():
    """Said otherwise, or mistyped; never certain."""
    made = feed("Day", "Fed to", "Weight (kg)", "Bach")
    assert list(found(made).values()) == ["date", "animals", "kg", "batch"]
    assert [column.head for column in made.guesses] == list(found(made))


def test_a_guess_never_takes_what_another_heading_is_called():
    """'Weight' is no second kg where a kg stands already."""
    made = feed("Weight", "kg", "date", "animals")
    assert [wrong.given for wrong in made.wrong] == ["Weight"]


def test_a_mapping_wins_over_a_name():
    """The farm's own word for a column, whatever it is called."""
    made = feed("date", "kg", "Animals", "Group", Animals="-", Group="animals")
    assert found(made)["Group"] == "animals"
    assert made.left_out == ("Animals",)


def test_what_stands_in_every_line_need_be_no_column():
    """As the mapping file's [always] says."""
    made = match(FORMS["feed"], ["date", "kg"], {}, always=("animals",))
    assert made.wrong == ()


def test_parameters_of_water_are_columns_by_their_names():
    """By code, by name, with a unit in brackets."""
    heads = ["date", "point", "Free chlorine (mg/L)", "pH", "E. coli"]
    made = match(FORMS["water"], heads, {})
    assert list(found(made).values())[2:] == [
        "PARAMETER free", "PARAMETER ph", "PARAMETER ecoli",
    ]  # fmt: skip


def test_every_further_column_that_a_template_names_is_read():
    """What --template lists is what the importer knows."""
    form = FORMS["water"]
    heads = ["date", "point", *(field.name for field in more_columns(form))]
    assert match(form, heads, {}).wrong == ()


def test_no_column_means_two_things():
    """Names within a form are unique, and each says what it means."""
    for form in FORMS.values():
        names = [field.name for field in form.fields]
        assert len(set(names)) == len(names)
        assert all(field.says for field in form.fields)
