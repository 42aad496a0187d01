"""Readings far from the others on their surface: held to middles taken by hand."""

from __future__ import annotations

import pytest

from evenglide.fieldlog.bodies import Read
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.oddities import far_readings
from evenglide.fieldlog.phone_plan import phone_plan
from tests.fieldlog.made_up import drafts, schedule, study

PLAN = phone_plan(study(), schedule(), fingerprint="")
HERE = [one["number"] for one in PLAN["launches"] if one["surface"] == "cold powder"]


@pytest.mark.parametrize(
    ("values", "far"),
    [
        ([6.0, 6.2, 5.8, 20.0], []),  # three others are too few
        ([6.1, 5.8, 7.0, 6.0, 10.0], [(4, 6.1)]),  # of 5.8, 6.0, 6.1, 7.0 the third
        ([6.1, 5.8, 7.0, 6.0, 3.0], [(4, 6.1)]),
        ([6.1, 5.8, 7.0, 6.0, 9.7], []),  # 1.6 times 6.1 is 9.76
        ([6.1, 5.8, 7.0, 6.0, 9.8], [(4, 6.1)]),
        ([6.1, 5.8, 7.0, 6.0, 0.0], [(4, 6.1)]),
        ([6.0, 6.0, 6.0, 6.0, 6.0], []),
    ],
)
def test_a_reading_is_held_against_the_middle_of_the_others(
    values: list[float], far: list[tuple[int, float]]
) -> None:
    bodies = [Read(launch=HERE[place], text=str(value), value=value) for place, value in enumerate(values)]
    found = far_readings(PLAN, replay(chain(drafts(bodies))).launches)
    assert [(HERE.index(one.launch), one.middle) for one in found] == far
