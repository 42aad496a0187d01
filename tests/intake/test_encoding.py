"""Bytes to text."""

from __future__ import annotations

import codecs

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import TableError
from evenglide.intake.encoding import decode, is_known_encoding

TEXT = "wax;gleit_m\nRübwachs µ – „;2,91\n"


@pytest.mark.parametrize(
    ("mark", "encoding"),
    [
        (codecs.BOM_UTF8, "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be"),
        (codecs.BOM_UTF32_LE, "utf-32-le"),
        (codecs.BOM_UTF32_BE, "utf-32-be"),
    ],
)
def test_a_mark_decides_and_is_taken_off(mark: bytes, encoding: str) -> None:
    content = mark + TEXT.encode(encoding)
    assert decode(content, None) == (TEXT, ())
    assert decode(content, encoding) == (TEXT, ())
    text, (remark,) = decode(content, "cp1252")
    assert text == TEXT
    assert remark.code == "encoding-by-mark"
    assert remark.facts["asked"] == "cp1252"


@pytest.mark.parametrize("encoding", ["utf-8", "cp1252", "utf-16-le", "utf-16-be", "UTF-16-LE", "latin-1"])
def test_without_a_mark_the_option_decides(encoding: str) -> None:
    text = TEXT if encoding != "latin-1" else "Rübwachs µ\n"
    assert decode(text.encode(encoding), encoding) == (text, ())


def test_else_utf_8() -> None:
    assert decode(TEXT.encode(), None) == (TEXT, ())


def problem_of(content: bytes, encoding: str | None = None):
    with pytest.raises(TableError) as caught:
        decode(content, encoding)
    (problem,) = caught.value.problems
    return problem


def test_else_refused_where_it_stops() -> None:
    problem = problem_of("wax\nplain\nRübwachs".encode("cp1252"))
    assert problem.code == "not-decodable"
    assert problem.where == "byte 12 (line 3)"
    assert "0xfc" in problem.found
    assert "--encoding" in problem.remedy


def test_a_marked_file_that_breaks_its_promise_has_another_remedy() -> None:
    problem = problem_of(codecs.BOM_UTF8 + b"\xff")
    assert problem.code == "not-decodable"
    assert "--encoding" not in problem.remedy


def test_wrong_option() -> None:
    assert problem_of(b"abc", "utf-16").code == "not-decodable"
    assert problem_of(b"\x81", "ascii").code == "not-decodable"


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_unmarked_utf_16_is_recognised_in_the_remedy(encoding: str) -> None:
    problem = problem_of(b"a,b\n1,2\n".decode().encode(encoding))
    assert problem.code == "binary"
    assert f"--encoding {encoding}." in problem.remedy


def test_binary_content() -> None:
    problem = problem_of(b"\x7fELF\x02\x01\x01\0\0\0 and more")
    assert problem.code == "binary"
    assert "--encoding" not in problem.remedy
    assert "\\x7f" in problem.found
    assert "\0" not in problem.found


@pytest.mark.parametrize("name", ["utf-8", "UTF8", "cp1252", "utf-16", "shift_jis", "mac_roman"])
def test_known(name: str) -> None:
    assert is_known_encoding(name)


@pytest.mark.parametrize("name", ["", "klingon", "hex", "zip", "rot13", "a\0b", "../x", "ü"])
def test_unknown_or_no_text_encoding(name: str) -> None:
    assert not is_known_encoding(name)


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0\ufeff"), min_size=1))
def test_round_trip(text: str) -> None:
    assert decode(text.encode(), None)[0] == text
    assert decode(text.encode("utf-16"), None)[0] == text
    assert decode(text.encode("utf-16-be"), "utf-16-be")[0] == text


@given(
    st.binary(max_size=60), st.sampled_from([None, "utf-16", "cp1252", "ascii", "utf-7", "idna", "utf-32-be"])
)
def test_any_bytes_are_text_or_one_problem(content: bytes, encoding: str | None) -> None:
    try:
        text, _ = decode(content, encoding)
    except TableError as error:
        assert len(error.problems) == 1
    else:
        assert "\0" not in text
