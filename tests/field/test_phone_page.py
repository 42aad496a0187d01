"""Every screen of the field page in every condition: for everybody's eyes and thumbs."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser import watch
from tests.field.contact_sheet import keep_row
from tests.field.gallery import CONDITIONS, SCREENS, opened, show
from tests.field.phone import Phone, play_day
from tests.field.studies import field_page, invented_readings, planned, sealed_study

SMALLEST_TARGET = 48
PRESSED = "button, input, summary, textarea, a[href], label:has(input[type=checkbox])"
TARGETS = """() => [...document.querySelectorAll("PRESSED")]
    .filter((one) => one.getClientRects().length && !one.closest("[hidden]") && one.type !== "checkbox")
    .map((one) => [one.textContent || one.id, one.getBoundingClientRect()])
    .filter(([, box]) => box.height < SMALLEST || box.width < SMALLEST)
    .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)
""".replace("SMALLEST", str(SMALLEST_TARGET)).replace("PRESSED", PRESSED)
SIDEWAYS = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
COVERED = """() => {
    scrollTo(0, document.documentElement.scrollHeight);
    return [...document.querySelectorAll("main button, main input, main h1")].filter((one) => {
        one.scrollIntoView({ block: "center" });
        const box = one.getBoundingClientRect();
        if (!box.width || box.height > innerHeight || one.closest("[hidden]")) return false;
        const met = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        return met && !one.contains(met) && !met.contains(one) && !met.closest("label")?.contains(one);
    }).map((one) => one.outerHTML.slice(0, 80));
}"""


SAYS = """() => {
    const said = document.querySelector("#page").textContent, focused = document.activeElement.tagName;
    return [document.querySelectorAll("h1").length === 1 ? "" : "not one heading",
        ["H1", "BUTTON", "BODY"].includes(focused) ? "" : `focus is on ${focused}`,
        ...["undefined", "NaN", "null"].map((word) => said.includes(word) ? word : "")].filter(Boolean);
}"""
AXE = "() => axe.run({ resultTypes: ['violations'] }).then((found) => found.violations)"


@pytest.mark.parametrize("condition", CONDITIONS)
def test_screens(chromium: Browser, condition: str, tmp_path: Path) -> None:
    """Nothing sideways, nothing too small for a glove, nothing covered; nobody shut out, by day or night."""
    found: list[tuple[str, str, object]] = []
    pictures: list[bytes] = []
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    seen = watch(context)
    page = context.new_page()
    opened(page, condition, tmp_path)
    page.evaluate(Axe().axe_script)  # one page through all screens: loading it anew costs more than looking
    for screen in SCREENS:
        show(page, screen, condition, tmp_path)
        found += [(screen.name, "says", one) for one in page.evaluate(SAYS)]
        found += [(screen.name, "sideways", page.evaluate(SIDEWAYS))] if page.evaluate(SIDEWAYS) > 0 else []
        found += [(screen.name, "small", one) for one in page.evaluate(TARGETS)]
        found += [(screen.name, "covered", one) for one in page.evaluate(COVERED)]
        for light in ("day", "night") if condition == "normal" else ("day",):
            page.evaluate("light => { document.documentElement.dataset.light = light; }", light)
            found += [
                (screen.name, f"axe, {light}", (one["id"], one["nodes"][0]["html"]))
                for one in page.evaluate(AXE)
            ]
        assert seen.failed == [], screen.name
        page.evaluate("() => { document.documentElement.dataset.light = 'day'; scrollTo(0, 0); }")
        pictures.append(page.screenshot())
    context.close()
    keep_row(pictures, CONDITIONS.index(condition))
    assert found == []


def test_a_whole_day_by_keyboard(tmp_path: Path, page: Page) -> None:
    """No pointer at all: the keys that everybody has lead through a round."""
    folder = sealed_study(tmp_path / "study", blocks=3, launches=1)
    _, schedule = planned(folder)
    phone = Phone(page, field_page(folder).as_uri())
    keyboard = Keyboard(phone)
    play_day(keyboard, invented_readings(schedule), until=4)
    assert phone.screen == "ready" and phone.saved() > 12


class Keyboard(Phone):
    """A phone that is worked with Tab, Enter and digits alone."""

    def __init__(self, phone: Phone) -> None:
        self.page = phone.page

    def record(self, name: str) -> None:
        count = self.saved()
        self._focus(name)
        self.page.keyboard.press("Enter")
        self.page.wait_for_function(
            "count => Number(document.querySelector('.saved').textContent.match(/\\d+/)[0]) > count",
            arg=count,
        )

    def read(self, peg: str, text: str) -> None:
        self._focus(peg, within="main .pegs")
        self.page.keyboard.press("Enter")
        self.page.keyboard.type(text)
        self.record("Save peg")

    def _focus(self, name: str, *, within: str = "#page") -> None:
        wanted = self.page.locator(within).get_by_role("button", name=name, exact=len(name) < 3).first
        for _ in range(60):
            if wanted.evaluate("one => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab does not reach “{name}”")
