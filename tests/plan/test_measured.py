"""Measured times stand in place of stated ones, by name, where there are enough of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evenglide.fieldlog.pace import Measured, Pace
from evenglide.plan.measured import with_measured_times
from evenglide.plan.offer import make_offer
from evenglide.plan.results import MeasuredTime
from evenglide.study.document import read_study
from evenglide.study.study import Study
from tests.field.studies import STUDY

NOTHING = Pace(launch={}, set_up=None, hands_on={}, waiting={})


@pytest.fixture
def study() -> Study:
    return read_study(STUDY.encode())


def test_each_time_takes_its_place_and_is_told(study: Study) -> None:
    pace = Pace(
        launch={"melt pan": Measured(seconds=204.0, count=110), "elsewhere": Measured(seconds=9.0, count=99)},
        set_up=Measured(seconds=900.0, count=4),
        hands_on={"paraffin rub": Measured(seconds=1500.0, count=3), "wax": Measured(seconds=1.0, count=9)},
        waiting={"paraffin rub": Measured(seconds=5000.0, count=30)},
    )
    found = with_measured_times(study, pace)
    assert found.measured == (
        MeasuredTime(code="hands_on", whose="paraffin rub", seconds=1500.0, count=3),
        MeasuredTime(code="rig_set_up", whose="", seconds=900.0, count=4),
        MeasuredTime(code="launch", whose="melt pan", seconds=204.0, count=110),
    )
    surfaces = {one.name: one.minutes_per_launch for one in found.study.surfaces}
    assert surfaces == {"cold powder": 2.0, "melt pan": pytest.approx(3.4)}
    assert found.study.costs.rig_set_up_s == 900.0
    treatments = {one.name: (one.hands_on_s, one.waiting_s) for one in found.study.treatments}
    assert treatments == {"bare": (None, None), "paraffin rub": (1500.0, 900.0)}, "waiting is as stated"


@pytest.mark.parametrize(
    "pace",
    [
        NOTHING,
        replace(NOTHING, launch={"melt pan": Measured(seconds=60.0, count=4)}),
        replace(NOTHING, set_up=Measured(seconds=60.0, count=1)),
        replace(NOTHING, hands_on={"bare": Measured(seconds=60.0, count=1)}),
    ],
)
def test_too_few_change_nothing(study: Study, pace: Pace) -> None:
    found = with_measured_times(study, pace)
    assert found.study == study and found.measured == ()


def test_slower_launches_leave_room_for_fewer(study: Study) -> None:
    quick = make_offer(study)
    slow = with_measured_times(
        study, replace(NOTHING, launch={"melt pan": Measured(seconds=600.0, count=50)})
    )
    offered = make_offer(slow.study, measured=slow.measured)
    assert offered.measured == slow.measured and quick.measured == ()
    largest = [max(one.rounds * one.launches for one in offer.candidates) for offer in (offered, quick)]
    assert largest[0] < largest[1]
