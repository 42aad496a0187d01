"""Columns handed over from Python, a data frame among them, to a sheet."""

from __future__ import annotations

import datetime
import math
import numbers
from collections.abc import Iterable, Sequence
from typing import Any, Protocol

import numpy as np

from evenglide.errors import OptionError, Problem
from evenglide.intake.options import ROLES, JudgeOptions, flag_of
from evenglide.intake.problems import Problems, table_error
from evenglide.intake.sheet import Cell, Sheet, moment_text
from evenglide.show.typed import quoted


class Columns(Protocol):
    """Named columns: a mapping of sequences, or anything with the same two methods."""

    def keys(self) -> Iterable[Any]:
        """Return the names."""

    def __getitem__(self, name: Any, /) -> Any:
        """Return a column: a sequence of text, numbers, truth values and None."""


def sheet_from_columns(columns: Columns, options: JudgeOptions) -> Sheet:
    """Take the columns that the options name.

    Parameters
    ----------
    columns : mapping of str to sequence
        Cells may be text, numbers, truth values, dates, None; NaN counts as blank.
    options : JudgeOptions
        Checked.

    Returns
    -------
    Sheet
        Columns that no option names are never touched. The first row is row 2, as if the names
        stood above it.

    Raises
    ------
    OptionError
        If an option for files is given.
    TableError
        If these are no columns, they differ in length, are empty, or hold something else.
    """
    _refuse_file_options(options)
    keys = _keys(columns)
    header = tuple(str(key).strip() for key in keys)
    named = {column for role in ROLES if (column := options.column(role)) is not None}
    problems = Problems()
    cells: list[Sequence[Cell]] = [()] * len(header)
    lengths: dict[str, int] = {}
    for place, (key, name) in enumerate(zip(keys, header, strict=True)):
        if name in named and header.count(name) == 1:
            cells[place] = _column(columns[key], name, problems)
            lengths[name] = len(cells[place])
    if len(set(lengths.values())) > 1:
        problems.add(
            "columns-of-unequal-length",
            where="the columns",
            found=", ".join(f"{quoted(name)}: {length} cells" for name, length in lengths.items()),
            expected="as many cells in each column as there are launches",
            remedy="Hand over columns of one length, with None where a cell is blank.",
        )
    problems.raise_if_any()
    rows = max(lengths.values(), default=0)
    if lengths and not rows:
        raise table_error(
            "no-rows",
            where="the columns",
            found="no cell",
            expected="one cell for each launch",
            remedy="Hand over the columns that hold the launches.",
        )
    row = np.arange(2, rows + 2, dtype=np.int64)
    return Sheet(
        kind="columns", name=None, header=header, columns=tuple(cells), row=row, line=row, separator=None
    )


def _refuse_file_options(options: JudgeOptions) -> None:
    """Refuse options that say how to read a file."""
    given = [name for name in ("sheet", "encoding") if getattr(options, name) is not None]
    if given:
        raise OptionError(
            Problem(
                code="not-a-file",
                where=flag_of(name),
                found=f"{flag_of(name)} for columns that come from no file",
                expected="this option with a file only",
                remedy=f"Leave {flag_of(name)} out.",
            )
            for name in given
        )


def _keys(columns: Columns) -> list[Any]:
    """Return the names of the columns."""
    if not (hasattr(columns, "keys") and hasattr(columns, "__getitem__")):
        raise table_error(
            "no-columns",
            where="the table",
            found=f"an object of type {type(columns).__name__}",
            expected="a mapping of names to columns, or a data frame",
            remedy="Hand over a dict such as {'glide_m': [2.9, 3.1], 'wax': ['bare', 'rubbed']}.",
        )
    return list(columns.keys())


def _column(column: Any, name: str, problems: Problems) -> list[Cell]:
    """Turn one column into cells; note what cannot be one."""
    if isinstance(column, np.ndarray) and column.dtype.kind in "Mm":
        column = column.astype(str)  # as numbers, dates would pass for readings
    if isinstance(column, str | bytes) or not (hasattr(column, "tolist") or isinstance(column, Iterable)):
        problems.add(
            "no-column",
            where=name,
            found=f"an object of type {type(column).__name__}",
            expected="a sequence of cells, one for each launch",
            remedy="Hand over a list, a tuple, an array or a column of a data frame.",
        )
        return []
    values = column.tolist() if hasattr(column, "tolist") else column
    cells: list[Cell] = []
    for index, value in enumerate(values if isinstance(values, Iterable) else [values]):
        cell, known = _cell(value)
        if not known:
            problems.add(
                "bad-cell",
                where=f"{name}[{index}]",
                found=f"an object of type {type(value).__name__}",
                expected="text, a number, a truth value, a date or None",
                remedy="Hand over one of these.",
            )
        cells.append(cell)
    return cells


def _cell(value: Any) -> tuple[Cell, bool]:
    """Turn a value into a cell, and say whether it is of a known kind."""
    if value is None or isinstance(value, str):
        return value, True
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, bool):
        return str(value), True
    if isinstance(value, int):
        return value, True
    if isinstance(value, numbers.Real) or hasattr(value, "is_nan"):
        number = float(value)  # floats, and decimal and rational numbers
        return (None if math.isnan(number) else number), True
    if type(value).__name__ in ("NAType", "NaTType"):  # a data frame's own blanks
        return None, True
    if isinstance(value, datetime.date | datetime.time | datetime.timedelta):
        return moment_text(value), True
    return None, False
