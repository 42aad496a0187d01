"""A fingerprint of columns that come from no file."""

from __future__ import annotations

import hashlib
import json

from evenglide.intake.sheet import Cell, Sheet, cell_text, is_blank

EXACT_BELOW = 2**53
"""Whole numbers below this are the same as float and as int (IEEE 754 binary64)."""


def sheet_sha256(sheet: Sheet) -> str:
    """Fingerprint the cells that were taken from columns handed over.

    SHA-256 of the UTF-8 text of one JSON array, ``[[name, [cell, ...]], ...]``: columns in order of
    their names, text trimmed, blank as null, numbers as the shortest text that reads back as the
    same binary64 (1 and 1.0 alike), no spaces, everything but ASCII escaped. Neither the order of
    the columns nor columns that nobody named change it.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    str
        64 hexadecimal digits.
    """
    named = sorted(
        ((name, cells) for name, cells in zip(sheet.header, sheet.columns, strict=True) if len(cells)),
        key=lambda column: column[0],
    )
    document = [[name, [_canonical(cell) for cell in cells]] for name, cells in named]
    return hashlib.sha256(json.dumps(document, separators=(",", ":")).encode("ascii")).hexdigest()


def _canonical(cell: Cell) -> str | float | None:
    if is_blank(cell):
        return None
    if isinstance(cell, float):
        return cell
    if isinstance(cell, int) and abs(cell) < EXACT_BELOW:
        return float(cell)
    return cell_text(cell)
