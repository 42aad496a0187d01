"""The plan page: its numbers are the offer's, and everybody can read it anywhere."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from evenglide.plan.results import Offer
from evenglide.report.plan_frontier import frontier_buys, frontier_chart, frontier_table, shown_layouts
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
        own = one.curve
        for row, differs, alike, settled in zip(
            truths_table(one).rows, own.differs, own.alike, own.settled, strict=True
        ):
            assert (row[1], row[3], row[4]) == (percent(differs), percent(alike), percent(1.0 - settled))
        assert truths_chart(one)["width"] == 352.0


def test_the_lanes_hold_every_step() -> None:
    made = CASES["hill club"]
    assert len(timeline_table(made).rows) >= sum(len(one.steps) > 0 for one in made.timelines)
    drawn = str(timeline_chart(made, width=740.0))
    for one in made.timelines:
        for step in one.steps:
            if step.minutes > 0:
                assert f"{step.start!r}" in drawn and f"{step.start + step.minutes!r}" in drawn


def test_with_a_main_surface_the_chances_are_that_surface_s() -> None:
    made = CASES["a main surface"]
    for one in made.frontier:
        own = next(each for each in one.comparisons if each.surface == made.main)
        assert (if_none(made, one), if_it_matters(made, one)) == (own.alike_if_none, own.differs_if_margin)


def test_the_flag_marks_what_is_recommended_not_what_is_best() -> None:
    made = next(one for one in CASES.values() if one.recommendation.number != one.recommendation.best)
    page = plan_page_html(made)
    taken = page.partition('class="layout taken"')[2].partition("</b>")[0]
    assert taken.endswith(f"<b>{made.recommendation.number}")


def numbers_in(page: Page, places: str) -> list[str]:
    """Numbers that stand in some places of the page, in their order."""
    return [text.replace("\u00a0", " ") for text in page.locator(f"{places} .number").all_inner_texts()]


def plain(share: float) -> str:
    return percent(share).replace("\u00a0", " ")


@pytest.mark.parametrize("name", ["hill club", "a main surface", "three treatments"])
def test_every_bar_has_the_offer_s_number(page: Page, name: str, tmp_path: Path) -> None:
    made = CASES[name]
    opened(page, made, tmp_path)
    wanted = [
        plain(share)
        for one in made.recommended.comparisons
        for share in (one.alike_if_none, one.differs_if_margin)
    ]
    assert numbers_in(page, ".expected .row") == wanted
    layouts = [
        f"{plain(if_none(made, one))} · {plain(if_it_matters(made, one))}" for one in shown_layouts(made)
    ]
    assert numbers_in(page, "[aria-labelledby=buys] .layout") == layouts
    assert numbers_in(page, "[aria-labelledby=lost] .layout") == [plain(one.chance) for one in made.dropped]
    marked = page.locator(".layout.taken b").inner_text()
    assert int(marked) == made.recommendation.number
    widths = page.locator(".expected .chance i").evaluate_all(
        "all => all.map(one => parseFloat(one.style.width))"
    )
    shares = [
        share for one in made.recommended.comparisons for share in (one.alike_if_none, one.differs_if_margin)
    ]
    assert widths == pytest.approx([100 * share for share in shares], abs=0.06)


def test_what_was_typed_is_text() -> None:
    made = replace(CASES["hill club"], title="<script>alert(1)</script>")
    page = plan_page_html(made)
    assert "<script>alert" not in page and "&lt;script&gt;alert" in page


def test_the_same_offer_gives_the_same_bytes() -> None:
    assert plan_page_html(CASES["hill club"]) == plan_page_html(offer())
