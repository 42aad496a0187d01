"""A rider's answers become a study; starting sets and cautions."""

from __future__ import annotations

import math
from typing import Any

import pytest

from evenglide.errors import OptionError
from evenglide.study.cautions import DEFER, usual_cautions
from evenglide.study.document import read_study
from evenglide.study.first_draft import Answers, first_draft, percent_between
from evenglide.study.starting_sets import SET_NAMES, STARTING_SETS
from evenglide.study.writing import write_study


def answers(**said: Any) -> Answers:
    return Answers(**{"ground": "shore", "treatments": ("wax",), **said})


@pytest.mark.parametrize("ground", SET_NAMES)
@pytest.mark.parametrize("items", [(), ("one",)])
def test_every_starting_set_makes_a_study_that_can_be_read(ground: Any, items: tuple[str, ...]) -> None:
    study = first_draft(answers(ground=ground, items=items))
    assert read_study(write_study(study)) == study
    assert study.surfaces == STARTING_SETS[ground].surfaces
    assert study.void_reasons


def test_still_water_is_marked_after_a_time() -> None:
    water = next(one for one in STARTING_SETS["shore"].surfaces if one.name == "still water")
    # about 7 s after release: common practice, no source
    assert (water.mark, water.after_s) == ("timed mark", 7.0)
    assert {one.mark for one in STARTING_SETS["shore"].surfaces if one != water} == {"run-out"}


def test_two_stopping_points_are_a_margin_in_percent() -> None:
    study = first_draft(answers(stops=(6.0, 6.3)))
    assert study.margin == (-math.log1p(0.05), math.log1p(0.05))
    assert percent_between(6.4, 6.0) == "6.67 %"


def test_a_margin_in_metres_makes_a_study_of_differences() -> None:
    study = first_draft(answers(matters="0.25 m"))
    assert (study.scale, study.unit, study.margin) == ("difference", "m", (-0.25, 0.25))


def test_rules_about_surfaces_that_are_not_met_are_left_out() -> None:
    study = first_draft(answers(surfaces=("dry sand", "still water", "mud")))
    assert [one.name for one in study.surfaces] == ["dry sand", "still water", "mud"]
    assert study.surfaces[0].not_after == ("still water",)


@pytest.mark.parametrize(
    ("treatments", "title"),
    [
        (("wax",), "Does wax make a board go farther than bare?"),
        (("wax", "oil"), "Do wax or oil make a board go farther than bare?"),
    ],
)
def test_the_question_is_made_of_the_treatments(treatments: tuple[str, ...], title: str) -> None:
    assert first_draft(answers(treatments=treatments)).title == title


@pytest.mark.parametrize(
    ("said", "where"),
    [
        ({"stops": (6.0, 6.0)}, "--stops"),
        ({"stops": (0.0, 6.0)}, "--stops"),
        ({"stops": (6.0, math.inf)}, "--stops"),
        ({"stops": (6.0, math.nan)}, "--stops"),
        ({"stops": (6.0, 6.3), "matters": "5 %"}, "--stops"),
        ({"stops": (1.0, 9.0)}, "--matters"),
        ({"matters": "much"}, "--matters"),
        ({"main": "ice"}, "--main"),
    ],
)
def test_answers_that_cannot_be(said: dict[str, Any], where: str) -> None:
    with pytest.raises(OptionError) as caught:
        first_draft(answers(**said))
    assert [problem.where for problem in caught.value.problems] == [where]


@pytest.mark.parametrize(
    ("said", "words", "missing"),
    [
        ({"rig": "springs"}, ["trigger", "breaking waves", "alone", "solvent", "fluorine"], ["catch net"]),
        ({"ground": "snow", "rig": "bungee"}, ["recoil", "catch net"], ["breaking waves"]),
        ({"ground": "turf", "treatments": ("sanding",)}, ["Lift"], ["fluorine", "ice", "trigger"]),
        ({"ground": "rink", "rig": "tow"}, ["stop signal", "ice"], ["Lift"]),
    ],
)
def test_cautions_belong_to_the_study(said: dict[str, Any], words: list[str], missing: list[str]) -> None:
    told = usual_cautions(first_draft(answers(**said)))
    text = " ".join(told).casefold()
    assert [word for word in words if word.casefold() not in text] == []
    assert [word for word in missing if f" {word.casefold()}" in " ".join(told[:-1]).casefold()] == []
    assert told[-1] == DEFER
