"""Files: found or not, told by their content, bounded."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import OptionError, Problem, TableError
from evenglide.intake.launches import launches_from_table
from evenglide.intake.options import JudgeOptions
from evenglide.store import tables
from evenglide.store.tables import read_table
from tests.intake.tables import PLAIN, ROLES, SLIDERS, codes
from tests.store.workbooks import workbook

TABLE = "rub,glide_m\nbare,1\nwax,2\n"


def options(**chosen: Any) -> JudgeOptions:
    return JudgeOptions(**(PLAIN | chosen))


def problems_of(path: Path | str, **chosen: Any) -> tuple[Problem, ...]:
    with pytest.raises(TableError) as caught:
        read_table(path, options(**chosen))
    return caught.value.problems


@pytest.mark.parametrize("name", ["launches.csv", "launches.txt", "launches.xlsx", "launches"])
def test_text_whatever_its_name(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_text(SLIDERS, encoding="utf-8")
    sheet, sha256 = read_table(path, options(**ROLES))
    assert sheet.kind == "delimited"
    assert sha256 == hashlib.sha256(SLIDERS.encode()).hexdigest()
    assert len(launches_from_table(sheet, options(**ROLES)).launches.value) == 8


@pytest.mark.parametrize("name", ["launches.xlsx", "launches.csv"])
def test_workbooks_whatever_their_name(tmp_path: Path, name: str) -> None:
    content = workbook()
    (tmp_path / name).write_bytes(content)
    sheet, sha256 = read_table(str(tmp_path / name), options())
    assert (sheet.kind, sheet.name) == ("workbook", "Runs")
    assert sha256 == hashlib.sha256(content).hexdigest()


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig", "utf-16-be", "cp1252"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "launches.csv"
    path.write_text("rüb;glide_m\nbare;1,5\nwax;2,5\n", encoding=encoding)
    asked = encoding if encoding in ("utf-16-be", "cp1252") else None
    sheet, _ = read_table(path, options(encoding=asked, treatment="rüb"))
    assert sheet.header == ("rüb", "glide_m")
    if asked:
        (problem,) = problems_of(path)
        assert problem.code == "not-decodable"
        assert f"--encoding {asked}" in problem.remedy


def test_no_such_file_names_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "launches.csv").write_text(TABLE, encoding="utf-8")
    (problem,) = problems_of(tmp_path / "lanches.csv")
    assert problem.code == "no-such-file"
    assert '"launches.csv"' in problem.remedy
    assert codes(problems_of(tmp_path / "no" / "such")) == ["no-such-file"]


def test_a_folder(tmp_path: Path) -> None:
    assert codes(problems_of(tmp_path)) == ["not-a-file"]


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    (problem,) = problems_of(tmp_path / "launches.csv")
    assert problem.code == "unreadable-file"
    assert "Permission denied" in problem.found


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_a_name_that_no_file_can_have(tmp_path: Path, name: str) -> None:
    (problem,) = problems_of(tmp_path / name)
    assert problem.code == "unreadable-file"
    assert "\0" not in problem.where


def test_a_path_like_object(tmp_path: Path) -> None:
    class Elsewhere(os.PathLike[str]):
        def __fspath__(self) -> str:
            return str(tmp_path / "launches.csv")

    (tmp_path / "launches.csv").write_text(TABLE, encoding="utf-8")
    assert read_table(Elsewhere(), options())[0].header == ("rub", "glide_m")


def test_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "launches.csv").write_text(TABLE, encoding="utf-8")
    monkeypatch.setattr(tables, "MAX_FILE_BYTES", len(TABLE) - 1)
    assert codes(problems_of(tmp_path / "launches.csv")) == ["too-large"]
    monkeypatch.setattr(tables, "MAX_FILE_BYTES", len(TABLE))
    assert read_table(tmp_path / "launches.csv", options())[0].header == ("rub", "glide_m")


def test_old_and_encrypted_workbooks(tmp_path: Path) -> None:
    path = tmp_path / "launches.xls"
    path.write_bytes(tables.COMPOUND_FILE_SIGNATURE + b"\0" * 600)
    (problem,) = problems_of(path)
    assert problem.code == "not-a-workbook"
    assert ".xls" in problem.found
    path.write_bytes(tables.COMPOUND_FILE_SIGNATURE + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le"))
    assert codes(problems_of(path)) == ["encrypted-workbook"]


def test_empty_and_binary_files(tmp_path: Path) -> None:
    path = tmp_path / "launches.csv"
    path.write_bytes(b"")
    assert codes(problems_of(path)) == ["empty-table"]
    path.write_bytes(bytes(range(128)) * 4)
    assert codes(problems_of(path)) == ["binary"]


@pytest.mark.parametrize(("content", "name"), [(TABLE.encode(), "sheet"), (workbook(), "encoding")])
def test_options_against_the_kind_of_file(tmp_path: Path, content: bytes, name: str) -> None:
    path = tmp_path / "launches"
    path.write_bytes(content)
    with pytest.raises(OptionError) as caught:
        read_table(path, options(**{name: "utf-8"}))
    assert [(problem.code, problem.where) for problem in caught.value.problems] == [
        ("option-against-file", f"--{name}")
    ]


def test_options_are_checked_before_the_file_is_looked_for(tmp_path: Path) -> None:
    with pytest.raises(OptionError):
        read_table(tmp_path / "no-such-file", options(level=2.0))


PIECES = st.sampled_from(
    [
        *TABLE.encode().split(b"\n"),
        b"rub;glide_m",
        b"bare;1,5",
        b'"',
        b",",
        b";",
        b"\n",
        b"\r",
        b"\0",
        b"\xff\xfe",
        b"\xef\xbb\xbf",
    ]
)


@given(
    st.binary(max_size=40)
    | st.lists(PIECES, max_size=8).map(b"\n".join)
    | st.lists(PIECES, max_size=12).map(b"".join)
)
def test_any_bytes_are_launches_or_a_table_error(
    tmp_path_factory: pytest.TempPathFactory, content: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzz"
    for prefix in (b"", TABLE.encode(), b"PK\x03\x04"):
        path.write_bytes(prefix + content)
        try:
            sheet, _ = read_table(path, options())
            launches = launches_from_table(sheet, options()).launches
        except TableError as error:
            assert error.problems
        else:
            assert len(launches.value) == len(sheet.row) > 1
