"""Small invented workbooks, sound and not."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from typing import Any

import openpyxl

ROWS: tuple[tuple[Any, ...], ...] = (
    ("rub", "glide_m", "round", "out"),
    ("bare", 2.91, 1, None),
    ("paraffin", 3.12, 1.0, False),
    ("bare", 2.5, 2, "rig moved"),
    ("paraffin", 3, 2, 0),
)


def workbook(rows: Sequence[Sequence[Any]] = ROWS, **sheets: Sequence[Sequence[Any]]) -> bytes:
    """Write a workbook whose first worksheet, Runs, holds `rows`; further ones by name."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, cells in {"Runs": rows, **sheets}.items():
        sheet = book.create_sheet(name)
        for row in cells:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def rewritten(content: bytes, change: Callable[[str, bytes], bytes | None]) -> bytes:
    """Write the archive again with each part changed; None leaves a part out."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = change(name, old.read(name))
            if part is not None:
                new.writestr(name, part)
    return out.getvalue()


def with_runs(content: bytes, old: str, new: str) -> bytes:
    """Replace text in the XML of the first worksheet."""

    def change(name: str, part: bytes) -> bytes:
        if name != "xl/worksheets/sheet1.xml":
            return part
        assert old.encode() in part, part
        return part.replace(old.encode(), new.encode())

    return rewritten(content, change)
