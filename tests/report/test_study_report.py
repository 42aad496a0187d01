"""The report of a sealed study: how it was carried out, and what will be objected."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page
from syrupy.assertion import SnapshotAssertion

from evenglide.answer.results import Conduct
from evenglide.fieldlog.bodies import Corrected, Launched, Read
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.fold import replay
from evenglide.report.carried_out import day_words, guesses_words, set_aside_table, wear_table
from evenglide.report.first_screen import first_screen
from evenglide.report.odd_entries import ABOUT, odd_entries, questions_words
from evenglide.report.page import report_html
from evenglide.report.surroundings import Course, course_chart, course_finding, courses_of
from evenglide.report.wording import DISTANCE
from evenglide.show.departures import departure
from evenglide.show.numbers import MINUS, NO_BREAK
from tests.fieldlog.made_up import drafts
from tests.report import made_up
from tests.report.carried import CLEAN, CONDUCT, LAST_HASH, NOTED, SEAL, carried_answer, carried_state
from tests.report.test_page import Reader


@cache
def study_report(clean: bool = False) -> str:
    return report_html(
        carried_answer(CLEAN if clean else CONDUCT),
        made_up.launches(),
        wording=DISTANCE,
        source_name="sealed study",
        repeat_with="evenglide answer my-study",
        state=replace(carried_state(), conditions=()) if clean else carried_state(),
    )


def words(clean: bool = False) -> list[str]:
    return [word.replace(NO_BREAK, " ") for word in Reader(study_report(clean)).words]


def section(name: str, *, clean: bool = False) -> str:
    page = study_report(clean)
    start = page.index(f'<section aria-labelledby="{name}"')
    return page[start : page.index("</section>", start)]


def test_a_study_has_its_two_sections_and_a_table_has_not() -> None:
    heads = re.findall(r"<h2 id=\"([a-z]+)\"", study_report())
    assert heads[:4] == ["object", "launches", "scatter", "carried"]
    table = report_html(
        made_up.answer(), made_up.launches(), wording=DISTANCE, source_name="t.csv", repeat_with="x"
    )
    assert not {"object", "carried"} & set(re.findall(r"<h2 id=\"([a-z]+)\"", table))


def test_objections_are_answered_and_what_was_not_checked_is_marked() -> None:
    told = section("object")
    assert told.count("<li>") == len(CONDUCT.objections)
    assert told.count("not checked") == sum(not one.checked for one in CONDUCT.objections)
    assert "<p>Slider 1 and slider 2 carried both treatments in turn.</p>" in told
    assert "<p>Nobody noted the batch.</p>" in told


def test_the_sections_of_a_study_in_words(snapshot: SnapshotAssertion) -> None:
    """Golden print: objections, how it was carried out, and where it came from."""
    told = "\n".join(section(name) for name in ("object", "carried", "check"))
    assert "\n".join(Reader(told).words).replace(NO_BREAK, "~") == snapshot


def test_departures_stand_with_the_gravest_first() -> None:
    told = section("carried")
    assert told.index("by somebody who knew") < told.index("marks were lost")
    assert "Nothing, as far as the log and the files tell." in section("carried", clean=True)


def test_where_nothing_was_recorded_it_says_so() -> None:
    told = words(clean=True)
    for line in (
        "No launch was set aside.",
        "Every planned launch was made and read.",
        "Nobody noted any.",
        "Nobody was asked for a guess at what a preparation carried.",
        "Nothing in the log contradicts itself.",
    ):
        assert line in told


def test_corner_and_foot_say_when_it_was_sealed_and_where_that_was_posted() -> None:
    told = words()
    assert any(word.startswith("sealed 9 January 2026, fingerprint ab12…") for word in told)
    assert {SEAL, LAST_HASH, "7", "1070", "the club's notice board, 9 January 2026"} <= set(told)
    page = report_html(
        carried_answer(),
        made_up.launches(),
        wording=DISTANCE,
        source_name="sealed study",
        repeat_with="evenglide answer my-study",
    )
    assert "nobody recorded where the fingerprint was shown" in page


@pytest.mark.parametrize(
    ("conduct", "ending"),
    [
        (CLEAN, "(fingerprint ab12…). Nothing went otherwise."),
        (CONDUCT, "2 things went otherwise; the report lists them."),
        (
            replace(CLEAN, departures=(departure("launched-before-seal", count=1, numbers=(1,)),)),
            "but not shown to be so before the first launch.",
        ),
    ],
)
def test_the_first_screen_counts_what_was_done_otherwise(conduct: Conduct, ending: str) -> None:
    checking = first_screen(carried_answer(conduct), DISTANCE, sealed_on="9 January 2026").checking
    assert checking[0].replace(NO_BREAK, " ").endswith(ending)


def test_a_departure_that_limits_stands_on_the_first_screen() -> None:
    answer = replace(carried_answer(), audit=())
    assert "by somebody who knew" in first_screen(answer, DISTANCE).cannot_say[0]


def test_wear_is_told_in_percent_per_launch() -> None:
    table = wear_table(carried_answer())
    assert table is not None
    assert [row[1].replace(NO_BREAK, " ") for row in table.rows] == [
        f"+{100 * math.expm1(0.0049):.2f} %",
        f"{MINUS}{100 * -math.expm1(-0.0018):.2f} %",
    ]
    assert [row[2].replace(NO_BREAK, " ") for row in table.rows] == ["+0.09 % to +0.89 %", "–"]
    assert wear_table(carried_answer(CLEAN)) is None


def test_guesses_stand_beside_blind_guessing() -> None:
    told = guesses_words(CONDUCT, treatments=2).replace(NO_BREAK, " ")
    assert told.endswith("right 12 of 20 times; guessing blindly would be right about 10 times.")


def test_questions_of_the_log_are_counted() -> None:
    assert questions_words(CONDUCT).startswith("1 entry looks odd")
    assert questions_words(replace(CONDUCT, questions=3)).startswith("3 entries look odd")


def test_each_odd_entry_is_named_by_its_launch_and_its_record() -> None:
    bodies = [
        Launched(launch=4),
        Launched(launch=4),
        Read(launch=4, text="6.1", value=6.1),
        Read(launch=4, text="1.6", value=1.6),
        Corrected(target="elsewhere"),
    ]
    state = replay(chain(drafts(bodies)))
    assert odd_entries(state) == (
        "Record 5 of phone: a correction of a record that the log does not hold.",
        "Launch 4 (record 2 of phone): recorded as made twice.",
        "Launch 4 (record 4 of phone): read twice: 6.1, then 1.6.",
    )
    html = report_html(
        carried_answer(replace(CLEAN, questions=3)),
        made_up.launches(),
        wording=DISTANCE,
        source_name="sealed study",
        repeat_with="evenglide answer my-study",
        state=replace(carried_state(), facts=state.facts, questions=state.questions),
    )
    assert "<li>Launch 4 (record 2 of phone): recorded as made twice.</li>" in html


def test_every_kind_of_question_has_its_words() -> None:
    source = files("evenglide.fieldlog")
    texts = [one.read_text("utf-8") for one in source.iterdir() if one.name.endswith(".py")]
    asked = {code for text in texts for code in re.findall(r'(?:_question|_told_twice)\(\s*"([\w-]+)"', text)}
    asked |= {"correction-does-not-fit", "corrected-differently"}
    assert asked == set(ABOUT) and len(asked) > 15


def test_a_cause_of_which_nobody_said_whether_the_distance_was_known_is_told_so() -> None:
    aside = (replace(CONDUCT.set_aside[0], value_unsaid=1), CONDUCT.set_aside[1])
    table = set_aside_table(replace(CONDUCT, set_aside=aside))
    assert table is not None
    assert [row[-2] for row in table.rows] == ["0; not known for 1", "1"]


def test_days_are_written_out_and_other_texts_left() -> None:
    assert day_words("2026-11-03").replace(NO_BREAK, " ") == "3 November 2026"
    assert day_words("last week") == "last week"


def test_a_condition_is_drawn_over_the_launches() -> None:
    (course,) = courses_of(carried_state())
    assert course.values == NOTED
    assert course_finding(course).replace(NO_BREAK, " ") == f"Air temperature lay between {MINUS}4 and 3 °C"
    layers = course_chart(course, width=740)["layer"]
    assert isinstance(layers, list)
    (dots,) = [layer for layer in layers if layer["mark"]["type"] == "point"]
    depths = [row["y"] for row in dots["data"]["values"]]
    assert [row["at"] for row in dots["data"]["values"]] == [launch for launch, _ in NOTED]
    assert sorted(range(4), key=depths.__getitem__) == [2, 3, 1, 0]  # the warmest uppermost


def test_few_values_are_told_in_words_alone() -> None:
    state = carried_state()
    assert courses_of(replace(state, conditions=state.conditions[:2])) == ()
    assert courses_of(None) == ()
    same = Course(name="wind", unit=None, values=((1, 2.0), (2, 2.0), (3, 2.0)))
    assert course_finding(same) == "Wind stayed at 2"
    assert course_chart(same, width=342)["height"]


@pytest.mark.parametrize("page", [{"viewport": {"width": 390, "height": 844}}], indirect=True)
def test_nobody_is_shut_out_of_a_study(page: Page, tmp_path: Path) -> None:
    file = tmp_path / "report.html"
    file.write_text(study_report(), encoding="utf-8")
    page.goto(file.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    found = Axe().run(page)
    assert [(one["id"], one["nodes"][0]["html"]) for one in found.response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    tables = page.locator(".carried .scroll")
    assert tables.count() == 3, "set aside, wear, a condition as noted"
    for one in tables.all():
        assert one.evaluate("one => one.scrollWidth - one.clientWidth") <= 0, one.get_attribute("aria-label")
