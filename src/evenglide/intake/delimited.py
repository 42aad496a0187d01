"""A text file (CSV, TSV) to a sheet: separator, quotes, lines."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from evenglide.intake.encoding import decode
from evenglide.intake.problems import table_error
from evenglide.intake.sheet import Record, Sheet, sheet_from_records

SEPARATORS = (",", ";", "\t")
"""In the order in which a tie is settled."""
LONGEST_HEADER = 1_000_000
"""Characters searched for separators: a file without line breaks must not take seconds."""


def read_delimited(content: bytes, *, encoding: str | None = None) -> Sheet:
    """Read a table that stands as text.

    Parameters
    ----------
    content : bytes
        The whole file.
    encoding : str or None
        A known encoding that was asked for.

    Returns
    -------
    Sheet

    Raises
    ------
    TableError
        If it cannot be decoded or split, or holds no rows.
    """
    text, remarks = decode(content, encoding)
    separator = find_separator(text)
    return sheet_from_records(
        _records(text, separator), kind="delimited", separator=separator, remarks=remarks
    )


def find_separator(text: str) -> str:
    """Find the separator that is most frequent in the header line, quoted text left out.

    Examples
    --------
    >>> find_separator('run;"glide, in m";board')
    ';'
    """
    counts = dict.fromkeys(SEPARATORS, 0)
    inside = closed = seen = False
    begins = True  # a quotation mark opens a quoted cell only where a cell begins
    for character in text[:LONGEST_HEADER]:
        if inside:
            inside = character != '"'
            closed = seen = True
        elif character == '"' and (begins or closed):  # a doubled one goes on inside the cell
            inside = True
            begins = False
        elif character in "\r\n":
            if seen:
                break
            counts = dict.fromkeys(SEPARATORS, 0)
            begins = True
        else:
            closed = False
            if character in counts:
                counts[character] += 1
                begins = True
            elif not character.isspace():
                seen = True
                begins = False
    return max(SEPARATORS, key=lambda separator: counts[separator])


def _records(text: str, separator: str) -> Iterator[Record]:
    """Split into records; a record of several lines has the number of its first one."""
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=separator, strict=True, skipinitialspace=separator != "\t"
    )
    row = 0
    line = 1
    try:
        for cells in reader:
            row += 1
            yield row, line, cells
            line = reader.line_num + 1
    except csv.Error as error:
        raise table_error(
            "damaged-quotes",
            where=f"line {line}" if reader.line_num <= line else f"lines {line} to {reader.line_num}",
            found=f"a row that cannot be split ({error})",
            expected="every quotation mark that opens a cell closed at its end, and doubled inside",
            remedy="Close the quotation mark, or save the table anew.",
        ) from None
