"""A table as facts, and its two faces: aligned plain text and escaped HTML."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Literal

GAP = "   "

Align = Literal["left", "right"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """What a table says, cell by cell, already written out.

    Parameters
    ----------
    caption : str
        What the table holds; always told, also in HTML.
    columns : tuple of str
        Headings; the first column names the row.
    rows : tuple of tuple of str
        As many cells as columns in each.
    align : tuple of {"left", "right"}, optional
        One per column; numbers stand to the right. Left everywhere if empty.
    """

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: tuple[Align, ...] = ()

    def side(self, column: int) -> Align:
        """Side on which a column's cells stand."""
        return self.align[column] if self.align else "left"


def text_table(table: Table) -> str:
    """Set a table as aligned plain text under its caption."""
    grid = [table.columns, *table.rows]
    widths = [max(len(line[column]) for line in grid) for column in range(len(table.columns))]
    lines = [table.caption, *(_text_line(table, line, widths) for line in grid)]
    return "\n".join(lines)


def _text_line(table: Table, cells: Sequence[str], widths: Sequence[int]) -> str:
    set_cells = [
        cell.rjust(width) if table.side(column) == "right" else cell.ljust(width)
        for column, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    return GAP.join(set_cells).rstrip()


def text_block(rows: Sequence[tuple[str, str]], *, width: int = 88, indent: str = "") -> str:
    """Set pairs of a name and a text in two columns, the text folded at `width` characters.

    Parameters
    ----------
    rows : sequence of (str, str)
        Name and text of each entry. An empty name continues the entry above.
    width : int, optional
        Characters in a line. Spaces that do not break are kept together.
    indent : str, optional
        Put before every line.

    Returns
    -------
    str
    """
    widest = max((len(name) for name, _ in rows), default=0)
    name_width = min(widest, max(width // 3, 1))
    lines: list[str] = []
    for name, text in rows:
        hanging = " " * name_width + GAP
        if len(name) > name_width:  # a name too long for its column gets a line of its own
            lines.append(indent + name)
        first = (name if len(name) <= name_width else "").ljust(name_width) + GAP
        folded = textwrap.fill(
            text, max(width, name_width + 20), initial_indent=first, subsequent_indent=hanging,
            break_long_words=False, break_on_hyphens=False,
        )  # fmt: skip
        lines.extend(indent + line.rstrip() for line in (folded or first).splitlines())
    return "\n".join(lines)


def html_table(table: Table, *, caption_hidden: bool = False) -> str:
    """Write a table as HTML: caption, column and row headings with their scope, everything escaped.

    Parameters
    ----------
    table : Table
    caption_hidden : bool, optional
        Keep the caption for screen readers only, where a heading already says it.
    """
    heads = "".join(
        f'<th scope="col"{_side(table, column)}>{escape(name)}</th>'
        for column, name in enumerate(table.columns)
    )
    body = "".join(f"<tr>{_html_cells(table, row)}</tr>" for row in table.rows)
    hidden = ' class="for-readers"' if caption_hidden else ""
    return (
        f"<table><caption{hidden}>{escape(table.caption)}</caption>"
        f"<thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>"
    )


def _html_cells(table: Table, row: Sequence[str]) -> str:
    first, *rest = row
    cells = [f'<th scope="row">{escape(first)}</th>']
    cells += [f"<td{_side(table, column)}>{escape(cell)}</td>" for column, cell in enumerate(rest, start=1)]
    return "".join(cells)


def _side(table: Table, column: int) -> str:
    return ' class="figure"' if table.side(column) == "right" else ""
