"""Measured times in place of stated ones: from how many on, and which."""

from __future__ import annotations

import pytest

from evenglide.fieldlog.pace import Measured, Pace
from evenglide.plan.measured import with_measured_times
from tests.fieldlog.made_up import study


def pace(*, launches: int, set_ups: int, preparations: int) -> Pace:
    return Pace(
        launch={"melt pan": Measured(seconds=90.0, count=launches)},
        set_up=Measured(seconds=700.0, count=set_ups),
        hands_on={"bare": Measured(seconds=500.0, count=preparations)},
        waiting={"bare": Measured(seconds=60.0, count=9)},
    )


def test_a_launch_of_ninety_seconds_takes_a_minute_and_a_half() -> None:
    found = with_measured_times(study(), pace(launches=5, set_ups=2, preparations=2))
    assert {one.name: one.minutes_per_launch for one in found.study.surfaces}["melt pan"] == 1.5
    assert found.study.costs.rig_set_up_s == 700.0
    assert {one.name: one.hands_on_s for one in found.study.treatments}["bare"] == 500.0
    assert [(one.code, one.count) for one in found.measured] == [
        ("hands_on", 2),
        ("rig_set_up", 2),
        ("launch", 5),
    ]


@pytest.mark.parametrize(
    ("counts", "left"),
    [
        ({"launches": 4, "set_ups": 2, "preparations": 2}, "launch"),
        ({"launches": 5, "set_ups": 1, "preparations": 2}, "rig_set_up"),
        ({"launches": 5, "set_ups": 2, "preparations": 1}, "hands_on"),
    ],
)
def test_what_was_timed_once_less_stays_as_stated(counts: dict[str, int], left: str) -> None:
    found = with_measured_times(study(), pace(**counts))
    assert {one.code for one in found.measured} == {"launch", "rig_set_up", "hands_on"} - {left}


def test_waiting_stays_as_stated() -> None:
    found = with_measured_times(study(), pace(launches=5, set_ups=2, preparations=2)).study
    assert [one.waiting_s for one in found.treatments] == [one.waiting_s for one in study().treatments]
