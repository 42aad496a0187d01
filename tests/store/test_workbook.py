"""Workbooks: what cells hold, which worksheet, what is refused."""

from __future__ import annotations

import datetime
import io
import zipfile
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.formula import ArrayFormula

from evenglide.errors import Problem, TableError
from evenglide.intake.launches import Intake, launches_from_table
from evenglide.intake.options import JudgeOptions
from evenglide.intake.sheet import UncalculatedFormula
from evenglide.store import workbook as workbooks
from evenglide.store.workbook import read_workbook
from tests.intake.tables import PLAIN, codes, take
from tests.store.workbooks import ROWS, rewritten, with_runs, workbook


def judged(content: bytes, **options: Any) -> Intake:
    chosen = JudgeOptions(**(PLAIN | options))
    return launches_from_table(read_workbook(content, sheet=chosen.sheet), chosen)


def problems_of(content: bytes, **options: Any) -> tuple[Problem, ...]:
    with pytest.raises(TableError) as caught:
        judged(content, **options)
    return caught.value.problems


def with_cell(value: Any) -> bytes:
    """Write a workbook whose last reading is `value`."""
    return workbook([*ROWS[:-1], ("paraffin", value, 2, None)])


def test_numbers_names_and_flags() -> None:
    intake = judged(workbook(), block="round", void="out")
    launches = intake.launches
    assert launches.value.tolist() == [2.91, 3.12, 2.5, 3.0]
    assert launches.decimals == 2
    assert launches.block.labels == ("1", "2")
    assert launches.void.tolist() == [False, False, True, False]
    assert launches.cause == ("", "", "rig moved", "")
    assert intake.remarks == ()


def test_a_workbook_and_the_same_table_as_text_give_the_same_launches() -> None:
    text = "\n".join(",".join("" if cell is None else str(cell) for cell in row) for row in ROWS)
    one = judged(workbook(), block="round", void="out").launches
    other = take(text.replace("1.0", "1"), block="round", void="out").launches
    assert one.value.tolist() == other.value.tolist()
    assert one.block.labels == other.block.labels
    assert (one.cause, one.decimals, one.row.tolist()) == (other.cause, other.decimals, other.row.tolist())


def test_openpyxl_reads_with_defusedxml() -> None:
    assert openpyxl.DEFUSEDXML


@pytest.mark.parametrize(
    ("value", "code"),
    [
        (datetime.datetime(2026, 1, 17), "date-in-cell"),
        (datetime.datetime(2026, 1, 17, 8, 30), "date-in-cell"),
        (datetime.time(8, 30), "date-in-cell"),
        (datetime.timedelta(minutes=5), "date-in-cell"),
        (True, "not-a-number"),
        ("31.4m", "unit-in-cell"),
        ("1,234", "doubtful-comma"),
        (None, "blank-cell"),
        ("#DIV/0!", "error-value"),
        ("=B2*2", "formula-not-calculated"),
        ("far", "not-a-number"),
    ],
)
def test_a_bad_response_cell(value: Any, code: str) -> None:
    (problem,) = problems_of(with_cell(value))
    assert (problem.code, problem.where) == (code, "B5 (glide_m, sheet Runs)")


def test_text_that_is_a_number_is_taken() -> None:
    assert judged(with_cell("31.40")).launches.decimals == 2
    comma = judged(with_cell("31,4"))
    assert comma.launches.value[-1] == 31.4
    assert [remark.code for remark in comma.remarks] == ["decimal-comma"]


def test_dates_are_good_names() -> None:
    day = datetime.datetime(2026, 1, 17)
    rows = [("rub", "glide_m", "day"), ("bare", 1, day), ("wax", 2, day.replace(hour=8, minute=30))]
    session = judged(workbook(rows), session="day").launches.session
    assert session.labels == ("2026-01-17", "2026-01-17 08:30:00")


def test_formulas_with_a_result_are_their_result() -> None:
    formula = with_runs(with_cell("=B2*2"), "<f>B2*2</f><v />", "<f>B2*2</f><v>5.82</v>")
    assert judged(formula).launches.value[-1] == 5.82
    failed = with_runs(with_cell("=B2/0"), "<f>B2/0</f><v />", "<f>B2/0</f><v>#DIV/0!</v>")
    failed = with_runs(failed, '<c r="B5">', '<c r="B5" t="e">')
    assert codes(problems_of(failed)) == ["error-value"]


def test_a_formula_whose_result_is_an_empty_text_is_calculated() -> None:
    blank = with_runs(with_cell('=IF(TRUE,"",1)'), '<c r="B5">', '<c r="B5" t="str">')
    assert codes(problems_of(blank)) == ["blank-cell"]


def test_formulas_never_calculated_are_found_everywhere() -> None:
    rows = [("rub", "glide_m", "day"), ("bare", "=1+1", "=A1"), ("wax", 2, None), (None, "=B2", None)]
    problems = problems_of(workbook(rows), session="day")
    assert [(problem.code, problem.where) for problem in problems] == [
        ("formula-not-calculated", "B2 (glide_m, sheet Runs)"),
        ("formula-not-calculated", "B4 (glide_m, sheet Runs)"),
        ("formula-not-calculated", "C2 (day, sheet Runs)"),
        ("blank-cell", "A4 (rub, sheet Runs)"),
        ("blank-cell", "C3 (day, sheet Runs)"),
        ("blank-cell", "C4 (day, sheet Runs)"),
    ]
    assert judged(workbook([*rows[:1], ("bare", 1, "=A1"), ("wax", 2, None)])).scale == "ratio"
    sheet = read_workbook(workbook(rows))
    assert sheet.columns[1][0] == UncalculatedFormula("=1+1")


def test_formulas_over_several_cells_and_under_a_prefix_are_found() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook()))
    book["Runs"]["B5"] = ArrayFormula("B5:B5", "=SUM(B2:B3*2)")
    out = io.BytesIO()
    book.save(out)
    (problem,) = problems_of(out.getvalue())
    assert (problem.code, problem.where) == ("formula-not-calculated", "B5 (glide_m, sheet Runs)")
    assert '"=SUM(B2:B3*2)"' in problem.found
    assert workbooks._has_formulas(out.getvalue())
    assert not workbooks._has_formulas(workbook())
    assert workbooks._has_formulas(with_runs(workbook(), "</sheetData>", "<x:f>A1</x:f></sheetData>"))


def test_without_defusedxml_no_workbook_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(openpyxl, "DEFUSEDXML", False)
    with pytest.raises(RuntimeError, match="not safe"):
        judged(workbook())


def test_blank_rows_and_notes_beside_the_table() -> None:
    rows = [(), ("rub", "glide_m"), (), ("bare", 1, None, "windy"), (None, None), ("wax", 2)]
    launches = judged(workbook(rows)).launches
    assert launches.row.tolist() == [4, 6]


def test_merged_cells_are_told() -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook()))
    book["Runs"].merge_cells("A2:A3")
    out = io.BytesIO()
    book.save(out)
    (problem,) = problems_of(out.getvalue())
    assert problem.where == "A3 (rub, sheet Runs)"
    assert "merged" in problem.remedy


def test_the_first_worksheet_is_read_and_that_is_said() -> None:
    both = workbook(Notes=[("x",)], Empty=[])
    (remark,) = judged(both).remarks
    assert (remark.code, dict(remark.facts)) == ("sheet-chosen", {"sheet": "Runs", "others": ("Notes",)})
    assert judged(both, sheet="Runs").remarks == ()
    assert judged(workbook(Empty=[])).remarks == ()


def test_another_worksheet() -> None:
    book = workbook([("x",), (1,)], Second=ROWS)
    assert judged(book, sheet="Second").launches.value[0] == 2.91
    (problem,) = problems_of(book, sheet="second")
    assert (problem.code, problem.where) == ("no-such-sheet", "--sheet")
    assert '"Second"' in problem.remedy


def test_nothing_in_it() -> None:
    assert codes(problems_of(workbook([]))) == ["empty-table"]
    assert codes(problems_of(workbook([("rub", "glide_m")]))) == ["no-rows"]
    (problem,) = problems_of(workbook([], Second=ROWS))
    assert problem.code == "empty-table"
    assert "--sheet" in problem.remedy


def test_too_large(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbooks, "MAX_CELLS", 12)
    assert codes(problems_of(workbook())) == ["too-large"]
    monkeypatch.undo()
    monkeypatch.setattr(workbooks, "MAX_ROWS", 4)
    assert codes(problems_of(workbook())) == ["too-large"]
    monkeypatch.undo()
    monkeypatch.setattr(workbooks, "MAX_UNPACKED_BYTES", 1000)
    assert codes(problems_of(workbook())) == ["too-large"]


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    out = io.BytesIO(workbook())
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/bomb.xml", b"\0" * (workbooks.MAX_UNPACKED_BYTES + 1))
    assert len(out.getvalue()) < 1_000_000
    assert codes(problems_of(out.getvalue())) == ["too-large"]


def test_a_row_number_beyond_any_worksheet() -> None:
    assert codes(problems_of(with_runs(workbook(), '<row r="5"', '<row r="99999999999"'))) == ["too-large"]


def test_entities_are_refused() -> None:
    laughs = '<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><worksheet '
    (problem,) = problems_of(with_runs(workbook(), "<worksheet ", laughs))
    assert problem.code == "damaged-workbook"


def test_damaged_and_foreign_archives() -> None:
    book = workbook()
    assert codes(problems_of(book[: len(book) // 2])) == ["damaged-workbook"]
    assert codes(problems_of(with_runs(book, "<sheetData>", "<sheetData><row"))) == ["damaged-workbook"]
    gone = rewritten(book, lambda name, part: None if name == "xl/worksheets/sheet1.xml" else part)
    assert codes(problems_of(gone)) == ["not-a-workbook"]


def archive(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as written:
        for name, part in parts.items():
            written.writestr(name, part)
    return out.getvalue()


def test_other_archives_are_named() -> None:
    (problem,) = problems_of(archive(mimetype=b"application/vnd.oasis.opendocument.spreadsheet"))
    assert problem.code == "not-a-workbook"
    assert "OpenDocument" in problem.found
    assert codes(problems_of(archive(readme=b"hello"))) == ["not-a-workbook"]
    binary = {"[Content_Types].xml": b"<Types/>", "xl/workbook.bin": b""}
    assert codes(problems_of(archive(**binary))) == ["not-a-workbook"]


def test_an_encrypted_member() -> None:
    book = bytearray(workbook())
    entry = book.rindex(b"PK\x01\x02")  # central directory: general purpose bit flag at offset 8
    book[entry + 8] |= 1
    assert codes(problems_of(bytes(book))) == ["encrypted-workbook"]


BOOK = workbook()


@settings(max_examples=60)
@given(st.integers(0, len(BOOK) - 1), st.integers(1, 255), st.integers(0, 40))
def test_damage_anywhere_is_a_table_or_a_table_error(place: int, change: int, cut: int) -> None:
    damaged = bytearray(BOOK)
    damaged[place] ^= change
    del damaged[place + 1 : place + 1 + cut]
    try:
        launches = judged(bytes(damaged)).launches
    except TableError as error:
        assert error.problems
    else:
        assert len(launches.value) > 0


XML = zipfile.ZipFile(io.BytesIO(BOOK)).read("xl/worksheets/sheet1.xml")


@settings(max_examples=60)
@given(
    st.integers(0, len(XML) - 1),
    st.sampled_from([b"", b"<", b'"', b"9", b"-", b" ", b"&#x0;", b"r", b"</c>"]),
)
def test_damaged_xml_is_a_table_or_a_table_error(place: int, instead: bytes) -> None:
    xml = XML[:place] + instead + XML[place + 1 :]
    content = rewritten(BOOK, lambda name, part: xml if name == "xl/worksheets/sheet1.xml" else part)
    try:
        launches = judged(content).launches
    except TableError as error:
        assert error.problems
    else:
        assert len(launches.value) > 0


SIZES = st.just(0.0) | st.floats(1e-99, 1e99) | st.floats(-1e99, -1e-99)
FIFTEEN_DIGITS = SIZES.map(lambda value: float(f"{value:.15g}"))  # what XLSX writers keep


@settings(max_examples=25)
@given(st.lists(FIFTEEN_DIGITS, min_size=2, max_size=5))
def test_readings_come_back(values: list[float]) -> None:
    rows = [("rub", "glide_m"), *((("bare", "wax")[index % 2], value) for index, value in enumerate(values))]
    assert judged(workbook(rows)).launches.value.tolist() == values
