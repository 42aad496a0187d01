"""Draw the picture of the first page anew: the first screen of the demo's report.

    python -m tools.picture

Needs the development environment and Chromium. Writes ``docs/pictures/report.png``.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from tools.chromium import find_chromium, launch_arguments

ROOT = Path(__file__).resolve().parent.parent
PICTURE = ROOT / "docs" / "pictures" / "report.png"
VIEWPORT = {"width": 1280, "height": 900}
LAST_OF_THE_FIRST_SCREEN = "section.first .would"
BELOW = 24


def main() -> int:
    """Play the demo in a folder that goes away, and take the picture of its report."""
    with tempfile.TemporaryDirectory() as scratch:
        command = [sys.executable, "-m", "evenglide", "demo", "--no-browser"]
        subprocess.run(command, cwd=scratch, stdout=subprocess.DEVNULL, check=True)
        draw(Path(scratch) / "evenglide-demo" / "out" / "report.html", PICTURE)
    print(PICTURE.relative_to(ROOT), PICTURE.stat().st_size, "bytes")
    return 0


def draw(report: Path, picture: Path) -> None:
    """Take the picture of the first screen of a report."""
    picture.parent.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=launch_arguments())
        page = browser.new_page(viewport=VIEWPORT, color_scheme="light")
        page.goto(report.as_uri())
        last = page.locator(LAST_OF_THE_FIRST_SCREEN)
        bottom = last.evaluate("element => element.getBoundingClientRect().bottom") + BELOW
        page.screenshot(
            path=picture, clip={"x": 0, "y": 0, "width": VIEWPORT["width"], "height": bottom}, full_page=True
        )
        browser.close()


if __name__ == "__main__":
    sys.exit(main())
