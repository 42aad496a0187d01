"""Usual cautions: only those of the ground that a study has."""

from __future__ import annotations

import re
from dataclasses import replace

from evenglide.study.cautions import usual_cautions
from evenglide.study.starting_sets import STARTING_SETS, SetName
from tests.fieldlog.made_up import study


def told(name: SetName, *, without: str = "no surface") -> str:
    surfaces = tuple(one for one in STARTING_SETS[name].surfaces if one.name != without)
    return " ".join(usual_cautions(replace(study(), surfaces=surfaces)))


def test_water_is_warned_of_where_a_surface_has_it_and_by_its_name() -> None:
    assert "Where there is water (melt pan): nobody works alone" in told("snow")
    assert "water (" not in told("snow", without="melt pan")
    assert "water (wet sand under a film of water and still water)" in told("shore")
    assert "{" not in told("shore") + told("snow") + told("rink") + told("turf")


def test_nothing_of_the_beach_is_told_on_snow() -> None:
    for name in ("snow", "rink", "turf"):
        assert re.search(r"\b(sand|beach|tide|waves)\b", told(name)) is None, name
    assert "rising tide" in told("shore")
