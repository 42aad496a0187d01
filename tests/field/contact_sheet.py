"""One picture of every screen in every condition: ``python -m tests.field.contact_sheet OUT.png``."""

from __future__ import annotations

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, sync_playwright

from tests.field.gallery import CONDITIONS, SCREENS, show
from tools.chromium import find_chromium, launch_arguments

WIDTH, HEIGHT, GAP = 390, 844, 12
BACK = (208, 211, 204)


def contact_sheet(browser: Browser, folder: Path) -> Image.Image:
    """Draw all screens, a row for each condition."""
    size = (len(SCREENS) * (WIDTH + GAP) + GAP, len(CONDITIONS) * (HEIGHT + GAP) + GAP)
    sheet = Image.new("RGB", size, BACK)
    for row, condition in enumerate(CONDITIONS):
        for column, screen in enumerate(SCREENS):
            context = browser.new_context(viewport={"width": WIDTH, "height": HEIGHT})
            page = context.new_page()
            show(page, screen, condition, folder)
            picture = Image.open(io.BytesIO(page.screenshot()))
            sheet.paste(picture, (GAP + column * (WIDTH + GAP), GAP + row * (HEIGHT + GAP)))
            context.close()
    return sheet


def main() -> None:
    """Write the picture."""
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as folder:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=launch_arguments())
        contact_sheet(browser, Path(folder)).save(sys.argv[1])
        browser.close()


if __name__ == "__main__":
    main()
