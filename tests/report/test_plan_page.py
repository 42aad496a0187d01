"""The plan page: its numbers are the offer's, and everybody can read it anywhere."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from evenglide.plan.results import Offer
from evenglide.report.plan_frontier import frontier_buys, frontier_chart, frontier_table
from evenglide.report.plan_page import plan_page_html
from evenglide.report.plan_timeline import timeline_chart, timeline_table
from evenglide.report.plan_truths import truths_chart, truths_of, truths_table
from evenglide.report.plan_words import if_it_matters, if_none, percent
from tests.report.offers import HILLS, Wanted, many_layouts, offer

LONG = "Schneeschlittenbelagsvergleichsflaeche with a very long name indeed, north side"
VIEWS = [
    pytest.param(
        {"viewport": {"width": width, "height": 900}, "color_scheme": scheme}, id=f"{width}, {scheme}"
    )
    for width in (390, 1280)
    for scheme in ("light", "dark")
]
CASES = {
    "hill club": offer(),
    "thirty layouts": many_layouts(),
    "one surface": offer(Wanted(surfaces=HILLS[:1])),
    "a main surface": offer(Wanted(main=HILLS[2])),
    "six surfaces": offer(Wanted(surfaces=(*HILLS, "ice", "firn"))),
    "long names": offer(Wanted(surfaces=(LONG, *HILLS[1:]))),
    "three treatments": offer(Wanted(treatments=("bare", "paraffin rub", "hard wax"))),
    "no days named": offer(Wanted(days=None)),
}


def opened(page: Page, made: Offer, folder: Path) -> None:
    file = folder / "plan.html"
    file.write_text(plan_page_html(made), encoding="utf-8")
    page.goto(file.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")


@pytest.mark.parametrize("page", VIEWS, indirect=True)
def test_nobody_is_shut_out(page: Page, tmp_path: Path) -> None:
    opened(page, CASES["hill club"], tmp_path)
    found = Axe().run(page).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []


@pytest.mark.parametrize("page", VIEWS[::2], indirect=True)
@pytest.mark.parametrize("name", list(CASES))
def test_nothing_hangs_over_the_edge(page: Page, name: str, tmp_path: Path) -> None:
    opened(page, CASES[name], tmp_path)
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    words = page.inner_text("main")
    assert "None" not in words and "nan" not in words
    assert page.locator("h1").count() == 1


@pytest.mark.parametrize("name", list(CASES))
def test_the_first_screen_is_a_rider_s(page: Page, name: str, tmp_path: Path) -> None:
    opened(page, CASES[name], tmp_path)
    words = page.inner_text("section.first").lower().split()
    assert not {"p", "df", "contrast", "level", "look", "void", "application"} & set(words)
    assert percent(CASES[name].recommended.chance).replace("\u00a0", " ") in page.inner_text(
        ".headline"
    ).replace("\u00a0", " ")


def test_every_number_of_the_frontier_is_the_offer_s() -> None:
    made = CASES["thirty layouts"]
    buys = {one.number: one for one in frontier_buys(made)}
    for one in made.frontier:
        own = buys[one.number]
        assert own.hours == one.minutes / 60 and own.chance == one.chance
        assert (own.none, own.matters) == (if_none(made, one), if_it_matters(made, one))
    drawn = str(frontier_chart(made, width=740.0))
    assert all(f"'at': {one.minutes / 60!r}" in drawn for one in made.frontier)
    told = {row[0]: row for row in frontier_table(made).rows}
    assert told[str(made.recommended.number)][8] == percent(made.recommended.chance)


def test_every_chance_over_the_true_effect_is_the_offer_s() -> None:
    made = CASES["hill club"]
    drawn = {name for one in truths_of(made) for name in one.names}
    assert drawn == {one.surface for one in made.recommended.comparisons}
    for one in truths_of(made):
        for row, differs, alike in zip(
            truths_table(one).rows, one.curve.differs, one.curve.alike, strict=True
        ):
            assert row[1] == percent(differs) and row[3] == percent(alike)
        assert truths_chart(one)["width"] == 352.0


def test_the_lanes_hold_every_step() -> None:
    made = CASES["hill club"]
    assert len(timeline_table(made).rows) >= sum(len(one.steps) > 0 for one in made.timelines)
    drawn = str(timeline_chart(made, width=740.0))
    for one in made.timelines:
        for step in one.steps:
            if step.minutes > 0:
                assert f"{step.start!r}" in drawn and f"{step.start + step.minutes!r}" in drawn


def test_what_was_typed_is_text() -> None:
    made = replace(CASES["hill club"], title="<script>alert(1)</script>")
    page = plan_page_html(made)
    assert "<script>alert" not in page and "&lt;script&gt;alert" in page


def test_the_same_offer_gives_the_same_bytes() -> None:
    assert plan_page_html(CASES["hill club"]) == plan_page_html(offer())
