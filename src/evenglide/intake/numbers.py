"""Columns of plain numbers: what counts as one, what does not and why.

A cell holds a number if it arrived as one, or is written with the digits 0 to 9, a sign, one
decimal mark and an exponent, and nothing else. A comma is the decimal mark of a column if that was
asked for, or if the separator of the file is no comma and some cell of the column has other than
three digits after its comma: `31,4` can be read in one way, `1,234` in two. Nothing is guessed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from evenglide.intake.sheet import Cell, UncalculatedFormula, is_blank
from evenglide.typing import BoolArray, FloatArray

Mark = Literal[".", ","]

_MARKS: tuple[tuple[Mark, str], ...] = ((".", r"\."), (",", ","))
_NUMBER: Mapping[Mark, re.Pattern[str]] = {
    mark: re.compile(rf"[+-]?(?:[0-9]+(?:{escaped}[0-9]*)?|{escaped}[0-9]+)(?:[eE][+-]?[0-9]{{1,6}})?")
    for mark, escaped in _MARKS
}
_AFTER_COMMA = re.compile(r",([0-9]*)")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)", re.IGNORECASE)
_THOUSANDS = re.compile(r"[+-]?[0-9]{1,3}(?:[,.' ’\u00a0\u2009\u202f][0-9]{3})+(?:[.,][0-9]+)?")
_DATE_OR_TIME = re.compile(
    r"[0-9]{1,4}([-/.])[0-9]{1,2}\1[0-9]{1,4}(?:[T ].*)?|[0-9]{1,2}:[0-9]{2}(?::.*)?.*"
)
_WITH_UNIT = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*(?:[^\W\d_]|[%°'\"′″])[^\d_]*[²³23]?")
LARGEST, SMALLEST = 1e100, 1e-100
"""Sizes between which squares of differences, summed over any table, neither overflow nor vanish."""
LONGEST_NAMED = 200
"""Characters of a faulty text that are looked at to name its fault."""

_ERROR_VALUES = frozenset(
    {"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#SPILL!", "#CALC!", "#GETTING_DATA"}
)
"""Error values as spreadsheets write them (Office Open XML, ECMA-376 part 1, 18.17.3, and two later ones)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One way in which a cell fails to be what its column needs."""

    code: str
    expected: str
    remedy: str


_PLAIN = "a plain number, such as 31.4"
_ASK = "Say --decimal , if the comma is the decimal mark; take the comma out if it parts thousands."
FAULTS: Mapping[str, Fault] = {
    fault.code: fault
    for fault in (
        Fault(code="blank-cell", expected=_PLAIN, remedy="Write the number."),
        Fault(
            code="unit-in-cell",
            expected=_PLAIN + " without its unit",
            remedy='Take the unit out of the cell; the unit may be said in --matters "0.3 m".',
        ),
        Fault(code="date-in-cell", expected=_PLAIN + ", not a date or a time", remedy="Write the number."),
        Fault(
            code="not-finite",
            expected="a finite number",
            remedy="Write what was measured, or set the launch aside (--void) with its cause.",
        ),
        Fault(
            code="number-too-large",
            expected="a number that can be reckoned with, at most 1e100",
            remedy="Correct the number, or use a larger unit.",
        ),
        Fault(
            code="number-too-small",
            expected="nought, or a number that can be reckoned with, at least 1e-100",
            remedy="Correct the number, or use a smaller unit.",
        ),
        Fault(code="doubtful-comma", expected="a number that can be read in one way only", remedy=_ASK),
        Fault(
            code="thousands-separator",
            expected=_PLAIN + " without thousands separators",
            remedy="Take the thousands separator out.",
        ),
        Fault(
            code="mixed-decimal-marks",
            expected="one decimal mark throughout the column",
            remedy="Write the whole column with one decimal mark.",
        ),
        Fault(
            code="formula-not-calculated",
            expected="the result of the formula",
            remedy="Open the workbook in a spreadsheet program, let it calculate, and save it.",
        ),
        Fault(
            code="error-value",
            expected="a value, not a spreadsheet's error",
            remedy="Mend the formula, or write the value.",
        ),
        Fault(
            code="not-a-number",
            expected=_PLAIN + ", in the digits 0 to 9",
            remedy="Write the number and nothing else; remarks belong in a column of their own.",
        ),
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """A column read as numbers.

    Parameters
    ----------
    values : array of float, shape (rows,)
        NaN where the cell is blank or faulty.
    blank : array of bool, shape (rows,)
    faults : tuple of (int, Fault)
        Record, from 0, and what is wrong with it.
    decimals : int
        Most decimals that any cell is written with.
    comma : bool
        A decimal comma was recognised without being asked for.
    """

    values: FloatArray
    blank: BoolArray
    faults: tuple[tuple[int, Fault], ...]
    decimals: int
    comma: bool


def read_numbers(cells: Sequence[Cell], *, separator: str | None, asked: str | None) -> Numbers:
    """Read a column of numbers.

    Parameters
    ----------
    cells : sequence of cells
    separator : str or None
        Between the cells of the file; None if the cells did not stand in one line.
    asked : {",", "."} or None
        Decimal mark that was asked for.

    Returns
    -------
    Numbers
    """
    mark = decimal_mark(cells, separator=separator, asked=asked)
    writing = _Writing(mark=mark, asked=asked, separator=separator)
    pattern = _NUMBER[mark]
    values = np.full(len(cells), np.nan)
    blank = np.zeros(len(cells), dtype=np.bool_)
    faults: list[tuple[int, Fault]] = []
    decimals = 0
    for index, cell in enumerate(cells):
        if is_blank(cell):
            blank[index] = True
            continue
        text = cell.strip() if isinstance(cell, str) else None
        number = _float(cell if text is None else text if pattern.fullmatch(text) else None, mark=mark)
        if number is None or not SMALLEST <= abs(number) <= LARGEST:
            code = _fault_code(cell, number, writing)
            if code is not None:
                faults.append((index, FAULTS[code]))
                continue
        assert number is not None
        values[index] = number
        decimals = max(
            decimals, _decimals(repr(number) if text is None else text, "." if text is None else mark)
        )
    return Numbers(
        values=values,
        blank=blank,
        faults=tuple(faults),
        decimals=decimals,
        comma=mark == "," and asked is None,
    )


def decimal_mark(cells: Sequence[Cell], *, separator: str | None, asked: str | None) -> Mark:
    """Decide the decimal mark of a column.

    Parameters
    ----------
    cells, separator, asked
        As in `read_numbers`.

    Returns
    -------
    {".", ","}
        The comma if asked for; or if the separator is none, some number has other than three
        digits after its comma, and not more numbers are written with a point.

    Examples
    --------
    >>> decimal_mark(["31,4"], separator=";", asked=None), decimal_mark(["1,234"], separator=";", asked=None)
    (',', '.')
    """
    if asked is not None:
        return "," if asked == "," else "."
    if separator == ",":
        return "."
    commas = points = 0
    telling = False
    for cell in cells:
        if not isinstance(cell, str):
            continue
        if "," in cell and _NUMBER[","].fullmatch(text := cell.strip()):
            commas += 1
            telling = telling or _tells(text)
        elif "." in cell and _NUMBER["."].fullmatch(cell.strip()):
            points += 1
    return "," if telling and commas >= points else "."


def is_error_value(text: str) -> bool:
    """Whether a cell holds what a spreadsheet writes where a formula failed."""
    return text in _ERROR_VALUES


def _float(written: Cell, *, mark: Mark) -> float | None:
    """Turn a matched text or a number into a float; None where there is none."""
    if isinstance(written, str):
        return float(written.replace(mark, "."))
    if isinstance(written, float | int):
        try:
            return float(written)
        except OverflowError:
            return math.inf if written > 0 else -math.inf
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Writing:
    """How the numbers of a column are written: decimal mark, the one asked for, separator of the file."""

    mark: Mark
    asked: str | None
    separator: str | None


def _fault_code(cell: Cell, number: float | None, writing: _Writing) -> str | None:
    """Name what is wrong with a cell that gave no usable number; None if it is a true nought."""
    if isinstance(cell, UncalculatedFormula):
        return "formula-not-calculated"
    text = cell.strip() if isinstance(cell, str) else ""
    if number is not None and abs(number) < SMALLEST:
        nought = number == 0 and not re.search("[1-9]", text.lower().partition("e")[0])
        return None if nought else "number-too-small"
    if number is not None:  # infinite: handed over as a float, or written with too many digits
        return "not-finite" if isinstance(cell, float) and not math.isfinite(number) else "number-too-large"
    if _NUMBER["." if writing.mark == "," else ","].fullmatch(text):
        return _other_mark(text, writing)
    return _text_fault(text[:LONGEST_NAMED])


def _other_mark(text: str, writing: _Writing) -> str:
    """Name what is wrong with a number that is written with the mark this column does not have."""
    if writing.mark == ",":
        return "mixed-decimal-marks"
    if writing.asked == ".":
        return "thousands-separator" if _THOUSANDS.fullmatch(text) else "mixed-decimal-marks"
    outvoted = writing.separator != "," and _tells(text)
    return "mixed-decimal-marks" if outvoted else "doubtful-comma"


def _text_fault(text: str) -> str:
    """Name what is wrong with a text that is no number under either mark."""
    if is_error_value(text):
        return "error-value"
    for code, pattern in (
        ("not-finite", _NOT_FINITE),
        ("date-in-cell", _DATE_OR_TIME),
        ("thousands-separator", _THOUSANDS),
        ("unit-in-cell", _WITH_UNIT),
    ):
        if pattern.fullmatch(text):
            return code
    return "not-a-number"


def _tells(text: str) -> bool:
    """Whether a number with a comma can only be meant as a decimal: other than three digits follow."""
    digits = _AFTER_COMMA.search(text)
    return digits is not None and len(digits[1]) != 3


def _decimals(text: str, mark: str) -> int:
    """Count the decimals a number is written with; an exponent shifts them.

    Examples
    --------
    >>> _decimals("31.40", "."), _decimals("31", "."), _decimals("3.14e1", "."), _decimals("2e-3", ".")
    (2, 0, 1, 3)
    """
    significand, _, exponent = text.lower().partition("e")
    written = len(significand.partition(mark)[2])
    return max(0, written - int(exponent)) if exponent else written
