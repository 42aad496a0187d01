"""Where treatments were not given as drawn, the randomisation test says nothing, and says so."""

from __future__ import annotations

from dataclasses import replace

import pytest

import evenglide
from evenglide.answer.draw import FIELDS, draw_was_left, without_randomisation
from evenglide.rehearsal.hill_club_world import hill_club_study
from tests.answer.json_checks import check_answer
from tests.tables import paired


@pytest.mark.parametrize(
    ("layout", "departures", "left"),
    [
        ("in parallel", {"treatment-otherwise"}, True),
        ("in parallel", {"items-otherwise", "incident"}, True),
        ("in parallel", {"order-changed"}, False),
        ("in sequence", {"order-changed"}, True),
        ("in sequence", {"launches-missing"}, False),
    ],
)
def test_what_leaves_the_draw(layout: str, departures: set[str], left: bool) -> None:
    study = hill_club_study()
    study = replace(study, design=replace(study.design, layout=layout))  # type: ignore[arg-type]
    assert draw_was_left(study, departures) is left


def test_nothing_of_the_test_is_left_and_a_note_says_why() -> None:
    answer = evenglide.judge(
        paired(6, 3), response="response", treatment="treatment", block="block", preparation="preparation"
    )
    document = without_randomisation(answer).to_dict()
    check_answer(document)
    (contrast,) = document["surfaces"][0]["contrasts"]  # type: ignore[index]
    assert all(contrast[name] is None for name in FIELDS)
    assert [one["code"] for one in contrast["notes"] if set(one["fields"]) & set(FIELDS)] == ["order-changed"]
    assert contrast["p_difference"] == answer.surfaces[0].contrasts[0].p_difference
