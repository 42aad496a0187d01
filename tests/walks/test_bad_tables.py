"""Every bad table through the real command line: status 1, an address, a remedy, nothing written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.walks.command import PLAIN, names_in, problems_of, run

GOOD = ["rub,glide_m,round", "bare,2.91,1", "wax,3.12,1", "bare,2.5,2", "wax,2.75,2"]


def with_cell(cell: str, *, line: int = 2) -> bytes:
    """A sound table in which one reading is another text."""
    lines = list(GOOD)
    rub, _, block = lines[line].split(",")
    lines[line] = f'{rub},"{cell}",{block}'
    return "\n".join([*lines, ""]).encode()


def text(*lines: str) -> bytes:
    return "\n".join([*lines, ""]).encode()


CELLS = [
    ("long", "not-a-number"),
    ("1,234", "doubtful-comma"),
    ("31,4", "doubtful-comma"),
    ("31.4m", "unit-in-cell"),
    ("31.4 m", "unit-in-cell"),
    ("NaN", "not-finite"),
    ("inf", "not-finite"),
    ("-Infinity", "not-finite"),
    ("1e400", "number-too-large"),
    ("1e-400", "number-too-small"),
    ("2026-01-17", "date-in-cell"),
    ("", "blank-cell"),
    ("#DIV/0!", "error-value"),
    ("3.1?", "not-a-number"),
    ("٣٫١", "not-a-number"),
]


@pytest.mark.parametrize(("cell", "code"), CELLS)
def test_a_bad_reading_is_shown_with_its_address(cell: str, code: str, tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(with_cell(cell))
    (problem,) = problems_of(run("judge", table, *PLAIN, "--json"))
    assert problem["code"] == code
    assert problem["where"] == "B3 (glide_m, line 3)"
    assert cell in problem["found"]


@pytest.mark.parametrize(("cell", "code"), CELLS)
def test_people_read_the_same_on_the_error_stream(cell: str, code: str, tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(with_cell(cell))
    result = run("judge", table, *PLAIN, "--report", tmp_path / "report.html")
    assert result.exit_code == 1 and code
    assert result.stdout == ""
    assert "1 problem; nothing was written." in result.stderr
    assert "B3 (glide_m, line 3)" in result.stderr
    for word in ("found", "expected", "do"):
        assert f"\n  {word} " in result.stderr
    assert names_in(tmp_path) == ["runs.csv"]


@pytest.mark.parametrize("reading", ["0", "-2.5", "0.0"])
@pytest.mark.parametrize("asked", [("--matters", "5 %"), ("--scale", "ratio")])
def test_ratios_need_readings_above_nought(reading: str, asked: tuple[str, str], tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(with_cell(reading, line=3))
    (problem,) = problems_of(run("judge", table, *PLAIN, *asked, "--json"))
    assert (problem["code"], problem["where"]) == ("not-positive", "B4 (glide_m, line 4)")
    assert "--scale difference" in problem["remedy"]
    assert run("judge", table, *PLAIN).exit_code == 0  # differences are fine


TABLES: dict[str, tuple[bytes, str, str]] = {
    "one treatment": (text("rub,glide_m", "bare,2.9", "bare,3.1"), "one-treatment", "bare"),
    "empty": (b"", "empty-table", ""),
    "blank": (b" \n\n  \n", "empty-table", ""),
    "header only": (b"rub,glide_m\n", "no-rows", ""),
    "binary": (bytes(range(256)) * 4, "not-decodable", "0x80"),
    "NUL characters": (b"rub,glide_m\nbare,\x00\n", "binary", "NUL"),
    "UTF-16 without a mark": ("\n".join(GOOD).encode("utf-16-le"), "binary", "NUL"),
    "Latin letters": ("rub,glide_m\nbare,1\nwäx,2\n".encode("cp1252"), "not-decodable", "0xe4"),
    "two columns of one name": (text("rub,glide_m,glide_m", "bare,1,2"), "column-twice", "glide_m"),
    "no treatment named": (text("rub,glide_m", ",1", "wax,2", "bare,2"), "blank-cell", ""),
    "a row too long": (text("rub,glide_m", "bare,3,1", "wax,3,4"), "row-too-long", "1"),
    "an open quote": (text("rub,glide_m", '"bare,1', "wax,2"), "damaged-quotes", ""),
    "a web page": (b"<!doctype html><html><body>no table</body></html>", "no-rows", ""),
    "an old workbook": (bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600), "not-a-workbook", ".xls"),
    "a broken workbook": (b"PK\x03\x04" + bytes(600), "damaged-workbook", ""),
}  # fmt: skip


@pytest.mark.parametrize("name", TABLES)
def test_a_bad_table_is_refused(name: str, tmp_path: Path) -> None:
    content, code, found = TABLES[name]
    table = tmp_path / "runs.csv"
    table.write_bytes(content)
    problems = problems_of(run("judge", table, *PLAIN, "--report", tmp_path / "report.html", "--json"))
    assert code in [problem["code"] for problem in problems]
    assert any(found in problem["found"] for problem in problems)
    assert names_in(tmp_path) == ["runs.csv"]


def test_a_column_that_is_not_there_names_the_nearest(tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(text(*GOOD))
    result = run(
        *("judge", table, "--response", "glide", "--treatment", "rubb", "--block", "Round", "--item", "x"),
        "--json",
    )
    problems = {problem["where"]: problem for problem in problems_of(result)}
    assert {problem["code"] for problem in problems.values()} == {"no-such-column"}
    assert sorted(problems) == ["--block", "--item", "--response", "--treatment"]
    for flag, nearest in (("--response", "glide_m"), ("--treatment", "rub"), ("--block", "round")):
        assert nearest in problems[flag]["remedy"]


def test_a_reference_that_is_not_there_names_the_nearest(tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(text(*GOOD))
    (problem,) = problems_of(run("judge", table, *PLAIN, "--reference", "bear", "--json"))
    assert (problem["code"], problem["where"]) == ("no-such-treatment", "--reference")
    assert "bare" in problem["remedy"]


def test_a_file_that_is_not_there_names_the_nearest(tmp_path: Path) -> None:
    (tmp_path / "runs.csv").write_bytes(text(*GOOD))
    (problem,) = problems_of(run("judge", tmp_path / "run.csv", *PLAIN, "--json"))
    assert problem["code"] == "no-such-file"
    assert "runs.csv" in problem["remedy"]
    (problem,) = problems_of(run("judge", tmp_path, *PLAIN, "--json"))
    assert problem["code"] == "not-a-file"


def test_all_problems_come_at_once(tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(text("rub,glide_m,n", "bare,long,1", ",3.1,2", "wax,31.4m,x", "wax,1e400,4"))
    problems = problems_of(run("judge", table, *PLAIN, "--order", "n", "--json"))
    assert sorted(problem["where"] for problem in problems) == [
        "A3 (rub, line 3)",
        "B2 (glide_m, line 2)",
        "B4 (glide_m, line 4)",
        "B5 (glide_m, line 5)",
        "C4 (n, line 4)",
    ]
    told = run("judge", table, *PLAIN, "--order", "n").stderr
    assert told.startswith("5 problems; nothing was written.")


def workbook(path: Path, cells: dict[str, Any]) -> Path:
    """A small workbook with some cells written over."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Runs"
    for line in GOOD:
        rub, glide, block = line.split(",")
        number = float(glide) if glide[0].isdigit() else glide
        sheet.append([rub, number, block])
    for address, value in cells.items():
        sheet[address] = value
    book.save(path)
    return path


def test_a_formula_never_calculated(tmp_path: Path) -> None:
    table = workbook(tmp_path / "runs.xlsx", {"B3": "=B2*1.1"})
    (problem,) = problems_of(run("judge", table, *PLAIN, "--json"))
    assert problem["code"] == "formula-not-calculated"
    assert problem["where"] == "B3 (glide_m, sheet Runs)"
    assert "=B2*1.1" in problem["found"]


@pytest.mark.parametrize(
    ("value", "code"), [("31.4m", "unit-in-cell"), ("long", "not-a-number"), (1e101, "number-too-large")]
)
def test_bad_cells_of_a_workbook(value: Any, code: str, tmp_path: Path) -> None:
    table = workbook(tmp_path / "runs.xlsx", {"B4": value})
    (problem,) = problems_of(run("judge", table, *PLAIN, "--json"))
    assert (problem["code"], problem["where"]) == (code, "B4 (glide_m, sheet Runs)")


def test_no_such_sheet_names_the_nearest(tmp_path: Path) -> None:
    table = workbook(tmp_path / "runs.xlsx", {})
    (problem,) = problems_of(run("judge", table, *PLAIN, "--sheet", "Run", "--json"))
    assert problem["where"] == "--sheet" and "Runs" in problem["remedy"]


def test_no_surface_with_two_treatments(tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(text("rub,glide_m,snow", "bare,2.9,wet", "wax,3.1,dry"))
    (problem,) = problems_of(run("judge", table, *PLAIN, "--surface", "snow", "--json"))
    assert problem["code"] == "no-surface-with-two-treatments"


def test_three_directions(tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(
        text("rub,glide_m,coat,way", "bare,2.9,a,out", "wax,3.1,b,back", "wax,3.1,b,up", "bare,3,a,up")
    )
    (problem,) = problems_of(
        run("judge", table, *PLAIN, "--preparation", "coat", "--direction", "way", "--json")
    )
    assert problem["code"] == "too-many-directions"


def test_everything_set_aside(tmp_path: Path) -> None:
    table = tmp_path / "runs.csv"
    table.write_bytes(text("rub,glide_m,out", "bare,2.9,x", "wax,3.1,y"))
    (problem,) = problems_of(run("judge", table, *PLAIN, "--void", "out", "--json"))
    assert problem["code"] == "no-valid-launches"
