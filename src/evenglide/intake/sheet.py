"""A table as it stands: header, columns of cells, and the address of each cell.

Columns of text hold a hundred thousand rows in little memory; addresses are worked out when a
problem needs one.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from evenglide.errors import Problem, TableError
from evenglide.intake.problems import Problems, table_error
from evenglide.intake.remarks import Remark
from evenglide.show.typed import quoted
from evenglide.typing import IntArray

MAX_CELLS = 5_000_000
"""Cells taken in, blank ones included: fifty times a large table, about half a gigabyte."""


@dataclass(frozen=True, slots=True)
class UncalculatedFormula:
    """A cell of a workbook that holds a formula and no result."""

    formula: str


Cell = str | float | int | UncalculatedFormula | None
"""Text as written (not trimmed), a number that arrived as one, a formula without result, or blank."""
Kind = Literal["delimited", "workbook", "columns", "typed"]
Record = tuple[int, int, Sequence[Cell]]
"""Row as a spreadsheet numbers it, first line in the file, cells."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One table before anybody has said which column is what.

    Parameters
    ----------
    kind : {"delimited", "workbook", "columns", "typed"}
        Text file, worksheet, columns handed over from Python, or a list of launches typed on a page.
    name : str or None
        Name of the worksheet.
    header : tuple of str
        Trimmed names of all columns; may repeat, may be empty.
    columns : tuple of sequence of cells
        Cells below the header, column by column, wholly blank rows left out. Columns handed over
        from Python that nobody named are empty.
    row : array of int, shape (rows,)
        Number of each row, as a spreadsheet shows it; of a typed list, the launch.
    line : array of int, shape (rows,)
        First line of each row in the file: more than `row` after a line break inside quotes.
    separator : str or None
        Between cells of a text file.
    problems : tuple of Problem
        Met while the rows were split.
    remarks : tuple of Remark
    """

    kind: Kind
    name: str | None
    header: tuple[str, ...]
    columns: tuple[Sequence[Cell], ...]
    row: IntArray
    line: IntArray
    separator: str | None
    problems: tuple[Problem, ...] = ()
    remarks: tuple[Remark, ...] = ()

    def address(self, index: int, column: int) -> str:
        """Say where the cell in record `index` (from 0) and `column` (from 0) stands.

        ``C7 (glide_m, line 7)`` in a text file, ``C7 (glide_m, sheet Runs)`` in a workbook,
        ``glide_m[5]`` in columns handed over from Python, ``launch 7 (distance)`` in a typed list.
        """
        name = self.header[column]
        if self.kind == "columns":
            return f"{name}[{index}]"
        if self.kind == "typed":
            return f"launch {self.row[index]} ({name})"
        return cell_address(
            int(self.row[index]),
            column,
            column_name=name,
            place=f"line {self.line[index]}" if self.kind == "delimited" else f"sheet {self.name}",
        )


def cell_address(row: int, column: int, *, column_name: str, place: str) -> str:
    """Write an address: spreadsheet letters and row, then what people may know the cell by."""
    return f"{column_letters(column)}{row} ({column_name or 'no name'}, {place})"


def column_letters(column: int) -> str:
    """Spell the number of a column, from 0, as spreadsheets do.

    Examples
    --------
    >>> column_letters(0), column_letters(25), column_letters(26), column_letters(701)
    ('A', 'Z', 'AA', 'ZZ')
    """
    letters = ""
    rest = column + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def is_blank(cell: Cell) -> bool:
    """Whether nothing, or nothing but spaces, stands in a cell."""
    return cell is None or (isinstance(cell, str) and (not cell or cell.isspace()))


def cell_text(cell: Cell) -> str:
    """Write a cell as text: trimmed; whole numbers without a decimal point."""
    if isinstance(cell, str):
        return cell.strip()
    if cell is None:
        return ""
    if isinstance(cell, UncalculatedFormula):
        return cell.formula
    if (
        isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e16
    ):  # repr would write 1e16 and above so
        return str(int(cell))
    return repr(cell)


def moment_text(moment: datetime.date | datetime.time | datetime.timedelta) -> str:
    """Write a date or a time as text; a date that came with midnight is a date.

    Examples
    --------
    >>> moment_text(datetime.datetime(2026, 1, 17)), moment_text(datetime.datetime(2026, 1, 17, 8, 30))
    ('2026-01-17', '2026-01-17 08:30:00')
    """
    if isinstance(moment, datetime.datetime) and moment.time() == datetime.time():
        return moment.date().isoformat()
    return str(moment)


def sheet_from_records(
    records: Iterable[Record],
    *,
    kind: Kind,
    name: str | None = None,
    separator: str | None = None,
    remarks: tuple[Remark, ...] = (),
) -> Sheet:
    """Stand the records of a file up as columns; the first one that is not blank is the header.

    Parameters
    ----------
    records : iterable of (int, int, sequence of cells)
        Row, line and cells, in the order of the file.
    kind, name, separator, remarks
        As in `Sheet`.

    Returns
    -------
    Sheet
        In a text file, cells beyond the header that hold something are its `problems` (a separator
        inside a cell has moved the rest of the row); in a workbook they are notes beside the table.

    Raises
    ------
    TableError
        ``empty-table``, ``no-rows`` or ``too-large``.
    """
    header: tuple[str, ...] | None = None
    kept: list[Sequence[Cell]] = []
    rows: list[int] = []
    lines: list[int] = []
    problems = Problems()
    for row, line, cells in records:
        if all(map(is_blank, cells)):
            continue
        if header is None:
            header = _header(cells, kind=kind)
            continue
        if len(cells) == len(header):
            kept.append(cells)
        else:
            if kind == "delimited":
                _check_length(problems, cells, row=row, line=line, width=len(header))
            kept.append([*cells[: len(header)], *[None] * (len(header) - len(cells))])
        rows.append(row)
        lines.append(line)
        if len(kept) * len(header) > MAX_CELLS:
            raise too_large()
    if header is None:
        raise _nothing("empty-table", found="nothing", expected="a header row with the names of the columns")
    if not kept:
        raise _nothing("no-rows", found="a header and no row below it", expected="one row for each launch")
    return Sheet(
        kind=kind,
        name=name,
        header=header,
        columns=tuple(zip(*kept, strict=True)),
        row=np.array(rows, dtype=np.int64),
        line=np.array(lines, dtype=np.int64),
        separator=separator,
        problems=problems.listed(),
        remarks=remarks,
    )


def _header(cells: Sequence[Cell], *, kind: Kind) -> tuple[str, ...]:
    """Trim the names; formatted cells right of a worksheet's last name are no columns."""
    names = [cell_text(cell) for cell in cells]
    while kind == "workbook" and not names[-1]:
        names.pop()
    return tuple(names)


def _check_length(problems: Problems, cells: Sequence[Cell], *, row: int, line: int, width: int) -> None:
    """Note the first cell beyond the header that holds something."""
    for column in range(width, len(cells)):
        if not is_blank(cells[column]):
            problems.add(
                "row-too-long",
                where=cell_address(row, column, column_name="", place=f"line {line}"),
                found=f"{quoted(cell_text(cells[column]))} beyond the last of {width} columns",
                expected=f"at most {width} cells, as in the header",
                remedy="Put quotation marks around a cell that holds the separator "
                "(31,4 in a table separated by commas), or name the column.",
            )
            return


def _nothing(code: str, *, found: str, expected: str) -> TableError:
    return table_error(
        code,
        where="the table",
        found=found,
        expected=expected,
        remedy="Name the file that holds the launches.",
    )


def too_large() -> TableError:
    """Make the error of a table with more cells than are taken in."""
    return table_error(
        "too-large",
        where="the table",
        found=f"more than {MAX_CELLS:,} cells",
        expected=f"at most {MAX_CELLS:,} cells",
        remedy="Keep only the rows of launches and the columns that are named.",
    )
