"""Collecting problems, and showing what people typed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import TableError
from evenglide.intake.problems import SHOWN_PER_CODE, Problems
from evenglide.intake.sheet import column_letters
from evenglide.show.typed import did_you_mean, listing, nearest, quoted


def add(problems: Problems, code: str, count: int) -> None:
    for number in range(count):
        problems.add(code, where=f"A{number}", found="x", expected="y", remedy="Z.")


def test_none_raise_nothing() -> None:
    problems = Problems()
    problems.raise_if_any()
    assert not problems


def test_a_kind_is_shown_so_many_times_and_then_counted() -> None:
    problems = Problems()
    add(problems, "first", SHOWN_PER_CODE + 7)
    add(problems, "second", SHOWN_PER_CODE)
    with pytest.raises(TableError) as caught:
        problems.raise_if_any()
    listed = caught.value.problems
    assert [problem.code for problem in listed] == ["first"] * (SHOWN_PER_CODE + 1) + [
        "second"
    ] * SHOWN_PER_CODE
    assert listed[SHOWN_PER_CODE].found == "and 7 more of this kind"
    assert listed[SHOWN_PER_CODE].remedy == "Z."


def test_problems_met_earlier_come_first() -> None:
    earlier = Problems()
    add(earlier, "first", 2)
    later = Problems(earlier.listed())
    add(later, "second", 1)
    assert [problem.code for problem in later.listed()] == ["first", "first", "second"]


@given(st.text(max_size=80))
def test_quoted_text_is_one_printable_line(text: str) -> None:
    assert quoted(text).isprintable()
    if text.isprintable() and len(text) <= 60:
        assert quoted(text) == f'"{text}"'


def test_long_text_is_cut() -> None:
    assert quoted("x" * 100) == '"' + "x" * 60 + '..."'


def test_nearest_names() -> None:
    names = ["glide_m", "Treatment", "surface", "x" * 100_000]
    assert nearest("glide", names) == ["glide_m"]
    assert nearest("TREATMENT", names) == ["Treatment"]
    assert nearest("zzz", names) == []
    assert did_you_mean("surfaces", names, otherwise="No.") == 'Did you mean "surface"?'
    assert did_you_mean("zzz", names, otherwise="No.") == "No."


def test_listing() -> None:
    assert listing(["a", "b"]) == '"a", "b"'
    assert listing([str(number) for number in range(25)]).endswith('"19" and 5 more')


@given(st.integers(0, 20_000))
def test_column_letters_count_in_twenty_six(column: int) -> None:
    value = 0
    for letter in column_letters(column):
        value = value * 26 + ord(letter) - ord("A") + 1
    assert value == column + 1
