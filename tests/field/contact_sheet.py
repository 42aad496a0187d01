"""One picture of every screen in every condition, to be looked at: ``build/screens/contact-sheet.png``."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from PIL import Image

from tests.house.tree import ROOT

FOLDER = ROOT / "build" / "screens"
WIDTH, HEIGHT, GAP = 390, 844, 12
BACK = (208, 211, 204)


def row_of(pictures: Sequence[bytes]) -> Image.Image:
    """Put pictures of screens side by side."""
    row = Image.new("RGB", (len(pictures) * (WIDTH + GAP) + GAP, HEIGHT + 2 * GAP), BACK)
    for place, picture in enumerate(pictures):
        row.paste(Image.open(io.BytesIO(picture)), (GAP + place * (WIDTH + GAP), GAP))
    return row


def keep_row(pictures: Sequence[bytes], number: int) -> Path:
    """Keep one row of the sheet, and put the sheet together from the rows that are there."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    row_of(pictures).save(FOLDER / f"row-{number}.png", compress_level=1)
    rows = [Image.open(path) for path in sorted(FOLDER.glob("row-*.png"))]
    sheet = Image.new("RGB", (max(row.width for row in rows), sum(row.height for row in rows)), BACK)
    top = 0
    for row in rows:
        sheet.paste(row, (0, top))
        top += row.height
    sheet.save(FOLDER / "contact-sheet.png", compress_level=1)
    return FOLDER / "contact-sheet.png"
