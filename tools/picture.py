"""Draw the pictures of the pages anew, from the demo: its report, its plan, its field page.

    python -m tools.picture

Needs the development environment and Chromium. Writes into ``docs/pictures``.
"""

from __future__ import annotations

import io
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tools.chromium import find_chromium, launch_arguments

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
DESK = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}
BELOW, BETWEEN = 24, 16
BACK = (208, 211, 204)
WORK = """async (count) => {
    const app = window.evenglide, launches = app.plan.launches;
    const of = (number) => launches[number - 1];
    const here = launches.filter((one) => one.set_up === of(1).set_up);
    const coats = new Set(here.map((one) => one.preparation));
    await app.records.save({ kind: "session", outing: of(1).outing });
    for (const preparation of coats) await app.records.save({ kind: "prepared", preparation });
    await app.records.save({ kind: "set_up", set_up: of(1).set_up });
    for (let number = 1; number <= count; number += 1) {
        await app.records.save({ kind: "launched", launch: number });
        await app.records.save({ kind: "landed", launch: number, peg: String(number) });
    }
    await app.refresh();
    app.show();
}"""
"""Record the morning and some launches that nobody has read yet."""


def main() -> int:
    """Play the demo in a folder that goes away, and take pictures of its pages."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        evenglide(scratch, "demo", "--no-browser")
        evenglide(scratch, "plan", "evenglide-demo", "--report", "plan.html")
        evenglide(scratch, "sheet", "evenglide-demo", "--phone", "phone.html")
        browser = playwright.chromium.launch(executable_path=find_chromium(), args=launch_arguments())
        folder = Path(scratch)
        report, plan = folder / "evenglide-demo/out/report.html", folder / "plan.html"
        first_screen(browser, report, last="section.first .would", name="report")
        first_screen(browser, plan, last="[aria-labelledby=buys] svg:visible", name="plan")
        side_by_side(list(field_page(browser, folder / "phone.html")), "phone")
        browser.close()
    for picture in sorted(PICTURES.glob("*.png")):
        print(picture.relative_to(ROOT), picture.stat().st_size, "bytes")
    return 0


def evenglide(folder: str, *words: str) -> None:
    """Run one command."""
    command = [sys.executable, "-m", "evenglide", *words]
    subprocess.run(command, cwd=folder, stdout=subprocess.DEVNULL, check=True)


def first_screen(browser: Browser, path: Path, *, last: str, name: str) -> None:
    """Take the picture of a page down to its part `last`."""
    page = browser.new_page(viewport=DESK, color_scheme="light")
    page.goto(path.as_uri())
    bottom = page.locator(last).evaluate("element => element.getBoundingClientRect().bottom") + BELOW
    clip = {"x": 0, "y": 0, "width": DESK["width"], "height": bottom}
    page.screenshot(path=PICTURES / f"{name}.png", clip=clip, full_page=True)
    page.close()


def field_page(browser: Browser, path: Path) -> Iterator[bytes]:
    """Take pictures of the field page before a launch, after it, and while pegs are read."""
    for made, presses, screen in (
        (2, "", "ready"),
        (2, "Launched", "landed"),
        (6, "5 . 9 4", "read"),
    ):
        page: Page = browser.new_page(viewport=PHONE, color_scheme="light")
        page.goto(path.as_uri())
        page.locator("#screen").wait_for()
        page.evaluate(WORK, made)
        for press in presses.split():
            page.get_by_role("button", name=press, exact=True).last.click()
        page.locator(f"#screen[data-screen={screen}]").wait_for()
        yield page.screenshot()
        page.context.close()


def side_by_side(pictures: list[bytes], name: str) -> None:
    """Put pictures of a phone side by side."""
    width = len(pictures) * (PHONE["width"] + BETWEEN) + BETWEEN
    sheet = Image.new("RGB", (width, PHONE["height"] + 2 * BETWEEN), BACK)
    for place, picture in enumerate(pictures):
        sheet.paste(Image.open(io.BytesIO(picture)), (BETWEEN + place * (PHONE["width"] + BETWEEN), BETWEEN))
    sheet.save(PICTURES / f"{name}.png", optimize=True)


if __name__ == "__main__":
    sys.exit(main())
