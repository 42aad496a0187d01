"""An XLSX workbook to a sheet: which worksheet, what its cells hold, what was never calculated.

openpyxl reads, with the XML parser of defusedxml underneath; what is refused before it sees a byte
(size, encryption, another kind of file) is decided here.
"""

from __future__ import annotations

import datetime
import io
import re
import warnings
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from typing import Any

import openpyxl

from evenglide.errors import TableError
from evenglide.intake.problems import table_error
from evenglide.intake.remarks import Remark
from evenglide.intake.sheet import (
    MAX_CELLS,
    Cell,
    Record,
    Sheet,
    UncalculatedFormula,
    moment_text,
    sheet_from_records,
    too_large,
)
from evenglide.show.typed import did_you_mean, listing, quoted

MAX_UNPACKED_BYTES = 200_000_000
"""All parts of a workbook together, unpacked: 100,000 launches of ten columns need some 60 MB."""
MAX_ROWS = 1_048_576
"""Rows of a worksheet (Office Open XML as spreadsheet programs implement it)."""

_FORMULA = re.compile(rb"<(?:\w+:)?f[\s>/]")
_OPEN_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"


def read_workbook(content: bytes, *, sheet: str | None = None) -> Sheet:
    """Read one worksheet of an XLSX workbook.

    Parameters
    ----------
    content : bytes
        The whole file, a zip archive.
    sheet : str or None
        Name of the worksheet; default: the first one.

    Returns
    -------
    Sheet
        Dates are text (``2026-01-17``), truth values ``TRUE`` and ``FALSE``. Formulas without a
        result are `UncalculatedFormula`.

    Raises
    ------
    TableError
        If it is damaged, encrypted, too large, no XLSX workbook, has no such worksheet, or the
        worksheet holds no rows.
    """
    _check_archive(content)
    if not openpyxl.DEFUSEDXML:  # switched off in the environment, or not installed
        raise RuntimeError("openpyxl does not use defusedxml: a workbook from elsewhere is not safe to open")
    with _damage_told(), closing(_open(content, results=True)) as workbook:
        name, remarks = _choose(workbook, sheet)
        if _has_formulas(content):
            with closing(_open(content, results=False)) as formulas:
                rows = list(_with_formulas(workbook[name], formulas[name]))
        else:
            rows = [tuple(map(_cell, row)) for row in _rows(workbook[name])]
    records: Iterator[Record] = ((number, number, row) for number, row in enumerate(rows, start=1))
    return sheet_from_records(records, kind="workbook", name=name, remarks=remarks)


def _check_archive(content: bytes) -> None:
    """Refuse what is no XLSX workbook, or would unpack to too much."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = {part.filename: part for part in archive.infolist()}
            unpacked = sum(part.file_size for part in archive.infolist())
            encrypted = any(part.flag_bits & 1 for part in archive.infolist())
            mimetype = parts.get("mimetype")
            open_document = (
                mimetype is not None
                and not encrypted
                and mimetype.file_size < 1000
                and archive.read(mimetype).strip() == _OPEN_DOCUMENT
            )
    except Exception as error:  # whatever a damaged archive makes zipfile raise
        raise damaged(error) from None
    if unpacked > MAX_UNPACKED_BYTES:
        raise table_error(
            "too-large",
            where="the workbook",
            found=f"{unpacked:,} bytes once unpacked",
            expected=f"at most {MAX_UNPACKED_BYTES:,} bytes",
            remedy="Save the one worksheet that holds the launches as CSV.",
        )
    if encrypted:
        raise encrypted_workbook()
    if open_document or "xl/workbook.bin" in parts or "[Content_Types].xml" not in parts:
        raise other_kind("an OpenDocument spreadsheet" if open_document else "a zip archive of another kind")


def damaged(error: Exception) -> TableError:
    """Make the error of a workbook that cannot be read to its end."""
    return table_error(
        "damaged-workbook",
        where="the workbook",
        found=f"a file that cannot be read to its end ({type(error).__name__})",
        expected="an undamaged XLSX workbook",
        remedy="Open it in a spreadsheet program and save it anew, or save the worksheet as CSV.",
    )


def encrypted_workbook() -> TableError:
    """Make the error of a workbook that asks for a password."""
    return table_error(
        "encrypted-workbook",
        where="the workbook",
        found="a workbook protected by a password",
        expected="a workbook that opens without one",
        remedy="Save it without a password, or save the worksheet as CSV.",
    )


def other_kind(found: str) -> TableError:
    """Make the error of a spreadsheet file of another kind."""
    return table_error(
        "not-a-workbook",
        where="the file",
        found=found,
        expected="an XLSX workbook, or a table as text (CSV, TSV)",
        remedy="Open it in a spreadsheet program and save it as XLSX or CSV.",
    )


@contextmanager
def _damage_told() -> Iterator[None]:
    """Turn whatever a damaged workbook raises into one error; silence remarks on formatting."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except TableError:
        raise
    except Exception as error:  # openpyxl lets every kind through
        raise damaged(error) from None


def _open(content: bytes, *, results: bool) -> Any:
    return openpyxl.load_workbook(
        io.BytesIO(content), read_only=True, data_only=results, keep_links=False, keep_vba=False
    )


def _choose(workbook: Any, asked: str | None) -> tuple[str, tuple[Remark, ...]]:
    """Choose the worksheet; say so if another one holds data too."""
    names = [worksheet.title for worksheet in workbook.worksheets]
    if asked is not None:
        if asked in names:
            return asked, ()
        raise table_error(
            "no-such-sheet",
            where="--sheet",
            found=quoted(asked),
            expected=f"one of the worksheets {listing(names)}",
            remedy=did_you_mean(asked, names, otherwise="Name one of these."),
        )
    if not names:
        raise other_kind("a workbook without a worksheet")
    others = tuple(name for name in names[1:] if _holds_data(workbook[name]))
    if not _holds_data(workbook[names[0]]) and others:
        raise table_error(
            "empty-table",
            where=f"sheet {names[0]}",
            found="nothing",
            expected="a header row with the names of the columns",
            remedy=f"Name the worksheet that holds the launches with --sheet: {listing(others)}.",
        )
    remark = Remark(code="sheet-chosen", facts={"sheet": names[0], "others": others})
    return names[0], (remark,) if others else ()


def _holds_data(worksheet: Any) -> bool:
    return any(value is not None for row in _rows(worksheet) for value in row)


def _rows(worksheet: Any, *, values_only: bool = True) -> Iterator[Sequence[Any]]:
    """Read rows of their own lengths; the size that a file states of itself is not trusted."""
    worksheet.reset_dimensions()
    cells = 0
    for count, row in enumerate(worksheet.iter_rows(values_only=values_only)):
        cells += len(row)
        if count >= MAX_ROWS or cells > MAX_CELLS:
            raise too_large()
        yield row


def _cell(value: Any) -> Cell:
    """Turn what openpyxl gives into a cell."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if value is None or isinstance(value, str | float | int):
        return value
    if isinstance(value, datetime.date | datetime.time | datetime.timedelta):
        return moment_text(value)
    return str(value)


def _has_formulas(content: bytes) -> bool:
    """Whether some worksheet may hold a formula; reading results and formulas takes twice as long."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = (archive.read(name) for name in archive.namelist() if name.lower().endswith(".xml"))
        return any(_FORMULA.search(part) or b"\0" in part[:4] for part in parts)  # a NUL: no UTF-8


def _with_formulas(results: Any, formulas: Any) -> Iterator[tuple[Cell, ...]]:
    """Read results, and formulas where there is none.

    A formula whose result is an empty text is calculated: its type says text though its value is
    empty.
    """
    pairs = zip(_rows(results, values_only=False), _rows(formulas, values_only=False), strict=True)
    for calculated, written in pairs:
        yield tuple(
            UncalculatedFormula(_formula_text(formula.value))
            if formula.data_type == "f" and result.value is None and result.data_type == "n"
            else _cell(result.value)
            for result, formula in zip(calculated, written, strict=True)
        )


def _formula_text(formula: Any) -> str:
    """Write a formula; array formulas come as objects that hold their text."""
    return str(getattr(formula, "text", None) or formula)
