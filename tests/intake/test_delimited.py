"""Text to a sheet: separators, quotes, lines, addresses, what is missing."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import TableError
from evenglide.intake import sheet as sheets
from evenglide.intake.delimited import find_separator, read_delimited
from evenglide.intake.sheet import Sheet
from tests.intake.tables import codes


def read(text: str) -> Sheet:
    return read_delimited(text.encode())


def problems_of(text: str):
    with pytest.raises(TableError) as caught:
        read(text)
    return caught.value.problems


@pytest.mark.parametrize(
    ("text", "separator"),
    [
        ("a,b,c\n1;2;3;4;5", ","),
        ("a;b;c,d\n", ";"),
        ("a\tb\tc,d\n", "\t"),
        ('"a;b;c;d",e\n', ","),
        ('"say ""a;b;c;d""; e;f",g\n', ","),
        ('a," b;c;d",e\n', ","),
        ('12" sled;coat\n,,,,', ";"),
        ("\n\n;;\r\n a,b\n", ","),
        ("alone\n1,2", ","),
        ("", ","),
        ('"never closed;a;b', ","),
        ("a;b,c", ","),
    ],
)
def test_the_most_frequent_in_the_header_line(text: str, separator: str) -> None:
    assert find_separator(text) == separator


def test_header_is_trimmed_and_cells_are_kept_as_written() -> None:
    sheet = read(" rub ,glide_m\u00a0,\nbare , 2.91,x\n")
    assert sheet.header == ("rub", "glide_m", "")
    assert sheet.columns == (("bare ",), ("2.91",), ("x",))
    assert sheet.kind == "delimited"


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings(ending: str) -> None:
    sheet = read(ending.join(["a,b", "1,2", "3,4"]))
    assert sheet.columns == (("1", "3"), ("2", "4"))


def test_blank_rows_are_skipped_and_counted() -> None:
    sheet = read("\n , \na,b\n\n1,2\n,\n  ,\t\n3,4\n\n")
    assert sheet.header == ("a", "b")
    assert sheet.row.tolist() == [5, 8]
    assert sheet.address(1, 1) == "B8 (b, line 8)"


def test_line_breaks_inside_quotes_part_rows_from_lines() -> None:
    sheet = read('rub,"glide,\nin m"\n"bare\n\nwood",2.91\nbare,3\n')
    assert sheet.header[1] == "glide,\nin m"
    assert sheet.row.tolist() == [2, 3]
    assert sheet.line.tolist() == [3, 6]
    assert sheet.address(1, 0) == "A3 (rub, line 6)"


def test_short_rows_are_filled_and_long_ones_are_problems() -> None:
    sheet = read("a,b,c\n1\n1,2,3,,\n1,2,3, ,x,y\n")
    assert sheet.columns[2] == (None, "3", "3")
    (problem,) = sheet.problems
    assert problem.code == "row-too-long"
    assert problem.where == "E4 (no name, line 4)"
    assert '"x"' in problem.found


@pytest.mark.parametrize("text", ["", "\n\n", " ,, \n,\n", "\ufeff"])
def test_nothing(text: str) -> None:
    assert codes(problems_of(text)) == ["empty-table"]


@pytest.mark.parametrize("text", ["a,b", "a,b\n\n,\n"])
def test_header_only(text: str) -> None:
    assert codes(problems_of(text)) == ["no-rows"]


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ('a,b\n1,"2\n3,4\n', "lines 2 to 3"),
        ('a,b\n1,2\n1,"2"x\n', "line 3"),
        ('"a,b', "line 1"),
    ],
)
def test_damaged_quotes(text: str, where: str) -> None:
    (problem,) = problems_of(text)
    assert (problem.code, problem.where) == ("damaged-quotes", where)


def test_a_cell_longer_than_any_cell() -> None:
    assert codes(problems_of(f"a,b\n1,{'x' * (csv.field_size_limit() + 1)}\n")) == ["damaged-quotes"]


def test_too_many_cells(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets, "MAX_CELLS", 6)
    assert len(read("a,b\n" + "1,2\n" * 3).row) == 3
    assert codes(problems_of("a,b\n" + "1,2\n" * 4)) == ["too-large"]


CELLS = st.text(
    st.characters(exclude_categories=["Cs", "Cc"], exclude_characters="\ufeff")
    | st.sampled_from('";\t,\n\r '),
    max_size=6,
)


@given(
    st.sampled_from([",", ";", "\t"]),
    st.lists(st.tuples(CELLS, CELLS, st.integers(0, 99).map(str)), min_size=1, max_size=6),
)
def test_whatever_is_written_is_read_again(separator: str, rows: list[tuple[str, str, str]]) -> None:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, quoting=csv.QUOTE_ALL)
    writer.writerows([("first", "second", "third"), *rows])
    sheet = read(out.getvalue())
    assert sheet.separator == separator
    assert list(zip(*sheet.columns, strict=True)) == rows
    assert sheet.row.tolist() == list(range(2, len(rows) + 2))
