"""The report in a real browser: for everybody's eyes, on a phone, on a desk, in the dark, on paper."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.report.pages import CASES, report, report_without_unit

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}
BOTH = [
    pytest.param({"viewport": viewport, "color_scheme": scheme}, id=f"{name}, {scheme}")
    for name, viewport in (("phone", PHONE), ("desk", DESK))
    for scheme in ("light", "dark")
]


def show(page: Page, text: str, folder: Path) -> None:
    file = folder / "report.html"
    file.write_text(text, encoding="utf-8")
    page.goto(file.as_uri())


def opened(page: Page) -> None:
    """Open every table, so that it is looked at too."""
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")


@pytest.mark.parametrize("page", BOTH, indirect=True)
@pytest.mark.parametrize("name", ["four surfaces", "bad news"])
def test_nobody_is_shut_out(page: Page, name: str, tmp_path: Path) -> None:
    show(page, report(name), tmp_path)
    opened(page)
    found = Axe().run(page)
    assert [(one["id"], one["nodes"][0]["html"]) for one in found.response["violations"]] == []


@pytest.mark.parametrize("page", BOTH[::2], indirect=True)
@pytest.mark.parametrize("name", list(CASES))
def test_nothing_hangs_over_the_edge(page: Page, name: str, tmp_path: Path) -> None:
    show(page, report(name), tmp_path)
    opened(page)
    width = page.viewport_size["width"] if page.viewport_size else 0
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    over = page.evaluate(
        """width => [...document.querySelectorAll('h1,h2,h3,h4,p,li,dd,dt,svg,summary')]
        .filter(one => !one.closest('.scroll') && one.getClientRects().length)
        .filter(one => !one.closest('.skip') && one.getBoundingClientRect().right > width + 0.5)
        .map(one => one.outerHTML.slice(0, 80))""",
        width,
    )
    assert over == []


@pytest.mark.parametrize("page", BOTH[::2], indirect=True)
def test_the_page_fetches_nothing_at_all(page: Page, tmp_path: Path) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    show(page, report("bad news"), tmp_path)
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    assert sum(url.startswith("file:") for url in asked) == 1
    assert complaints == []


@pytest.mark.parametrize("page", BOTH[::2], indirect=True)
def test_the_typeface_inside_the_page_is_the_one_that_is_seen(page: Page, tmp_path: Path) -> None:
    show(page, report("four surfaces"), tmp_path)
    page.evaluate("document.fonts.ready")
    assert page.evaluate("[...document.fonts].map(face => [face.family, face.status])") == [
        ["IBM Plex Sans", "loaded"]
    ]


@pytest.mark.parametrize("page", [{"viewport": DESK, "java_script_enabled": False}], indirect=True)
def test_no_script_is_needed(page: Page, tmp_path: Path) -> None:
    show(page, report_without_unit(), tmp_path)
    page.get_by_text("Table: every launch").click()
    assert page.get_by_role("table", name="Every launch").is_visible()


@pytest.mark.parametrize("page", BOTH, indirect=True)
def test_dark_and_light_take_their_tokens(page: Page, tmp_path: Path) -> None:
    show(page, report("four surfaces"), tmp_path)
    dark = page.evaluate("matchMedia('(prefers-color-scheme: dark)').matches")
    flag = page.locator(".lane .fill-farther").first.evaluate("one => getComputedStyle(one).fill")
    assert flag == ("rgb(88, 182, 211)" if dark else "rgb(10, 108, 140)")


@pytest.mark.parametrize("page", BOTH[:1], indirect=True)
def test_the_skip_link_leads_to_the_answer(page: Page, tmp_path: Path) -> None:
    show(page, report("four surfaces"), tmp_path)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the answer"
    page.keyboard.press("Enter")
    assert page.url.endswith("#answer")


def shown(page: Page, selector: str) -> list[bool]:
    found: list[bool] = page.evaluate(
        "selector => [...document.querySelectorAll(selector)].map(one => one.checkVisibility())",
        selector,
    )
    return found


@pytest.mark.parametrize(
    ("page", "wide"), [(BOTH[0].values[0], False), (BOTH[2].values[0], True)], indirect=["page"]
)
def test_one_drawing_of_each_chart_is_seen(page: Page, wide: bool, tmp_path: Path) -> None:
    show(page, report("four surfaces"), tmp_path)
    assert set(shown(page, ".wide svg")) == {wide}
    assert set(shown(page, ".narrow svg")) == {not wide}


@pytest.mark.parametrize("page", BOTH[2:], indirect=True)
def test_it_prints_with_its_tables_in_ink_on_white(page: Page, tmp_path: Path) -> None:
    show(page, report("no surface"), tmp_path)
    pdf = page.pdf(format="A4")
    assert pdf.startswith(b"%PDF-")
    page.emulate_media(media="print")
    assert set(shown(page, "details:not(.long) td")) == {True}
    assert set(shown(page, "details.long td")) == {False}  # pages of launches: only for who opened them
    style: dict[str, Any] = page.evaluate(
        "(s => ({paper: s.backgroundColor, ink: s.color}))(getComputedStyle(document.body))"
    )
    assert style == {"paper": "rgb(255, 255, 255)", "ink": "rgb(0, 0, 0)"}


@pytest.mark.parametrize("page", BOTH[2:3], indirect=True)
def test_the_first_screen_fits_a_desk(page: Page, tmp_path: Path) -> None:
    show(page, report("four surfaces"), tmp_path)
    foot = page.locator(".four").evaluate("one => one.getBoundingClientRect().bottom")
    assert foot <= DESK["height"]
