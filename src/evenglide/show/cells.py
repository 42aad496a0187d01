"""Typed text in the cells of a table that people open in a spreadsheet: it stays text there.

A spreadsheet takes a cell that begins with one of a few signs for a formula and runs it. An apostrophe
before the sign makes it text. Where a spreadsheet parts columns by another mark than the comma, what comes
after that mark begins a cell too.
"""

from __future__ import annotations

import re

SIGNS = "=+\\-@＝＋－＠"
PARTS = ";\t\r\n|"
"""Marks other than the comma by which some spreadsheets part columns; a cell with a comma is quoted."""
_PLAIN = re.compile(rf"(^|[{PARTS}])([ ']*)(?=[{SIGNS}])")
_MARKED = re.compile(rf"(^|[{PARTS}])([ ']*)'(?=[{SIGNS}])")


def as_text(cell: str) -> str:
    """Mark a cell so that no spreadsheet takes it, or a part of it, for a formula.

    Parameters
    ----------
    cell : str

    Returns
    -------
    str

    Examples
    --------
    >>> as_text("paraffin rub"), as_text("=1+1")
    ('paraffin rub', "'=1+1")
    """
    return _PLAIN.sub(r"\1\2'", cell)


def from_text(cell: str) -> str:
    """Take the marks of `as_text` off again.

    Parameters
    ----------
    cell : str

    Returns
    -------
    str

    Examples
    --------
    >>> from_text(as_text("-10 wax"))
    '-10 wax'
    """
    return _MARKED.sub(r"\1\2", cell)
