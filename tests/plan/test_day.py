"""How long a day takes: by hand, and as the clock of invented studies counts it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from evenglide.plan.day import minutes_taken, steps_of, with_usual_times
from evenglide.plan.rounds import make_round
from evenglide.plan.schedule import plan_schedule, undrawn_launches
from evenglide.rehearsal.clock import moments
from evenglide.study.study import Outing, Study
from tests.rehearsal.worlds import WORLD
from tests.study.made_up import made_up_study


def timed_study(**more: object) -> Study:
    """Bare takes 10 min and waits as long; a rub 10 min and half an hour; everything else as made up."""
    study = made_up_study(**more)  # type: ignore[arg-type]
    treatments = [replace(one, waiting_s=600.0 if one.reference else 1800.0) for one in study.treatments]
    return replace(study, treatments=tuple(treatments))


def test_a_round_by_hand() -> None:
    study = timed_study(surfaces=2)
    launches = undrawn_launches(study, make_round(study, 0, outing=0), launches=3)
    told = [(one.kind, one.start, one.minutes, one.count) for one in steps_of(study, launches)]
    assert told == [
        ("prepare", 0, 20, 2),
        ("wait", 20, 30, 2),
        ("set up", 50, 12, 1),
        ("launch", 62, 18, 6),
        ("set up", 80, 12, 1),
        ("launch", 92, 18, 6),
    ]
    assert minutes_taken(study, launches) == 110


def test_one_item_is_prepared_twice_and_the_rig_stands_twice() -> None:
    study = timed_study(items=1, surfaces=1)
    launches = undrawn_launches(study, make_round(study, 0, outing=0), launches=2)
    kinds = [one.kind for one in steps_of(study, launches)]
    assert kinds == ["prepare", "wait", "set up", "launch"] * 2
    assert minutes_taken(study, launches) == 10 + 10 + 12 + 6 + 10 + 30 + 12 + 6


@pytest.mark.parametrize(
    "design",
    [
        {},
        {"directions": ("out", "back"), "practice_launches": 1, "wear_check": 2, "return_to_bare": 1},
        {"preparations": "fresh on each surface"},
        {"items": 1, "surfaces": 3},
        {"treatments": 3, "items": 3, "blocks": "complete blocks"},
    ],
    ids=str,
)
def test_what_is_told_is_what_the_clock_counts(design: dict[str, object]) -> None:
    outings = tuple(Outing(day=f"2026-01-1{at}", start="08:00", end="20:00", surfaces=()) for at in (0, 1))
    study = timed_study(outings=outings, **design)
    schedule = plan_schedule(study, blocks=5, launches=4, seed=1)
    clock = moments(study, schedule, WORLD)
    for outing in (1, 2):
        mine = [one for one in schedule.launches if one.outing == outing]
        hours = [
            moment.hours for moment, one in zip(clock, schedule.launches, strict=True) if one.outing == outing
        ]
        assert minutes_taken(study, mine) == pytest.approx(60 * max(hours), abs=1e-9)
        steps = steps_of(study, mine)
        assert steps[-1].start + steps[-1].minutes == pytest.approx(60 * max(hours), abs=1e-9)
        assert all(one.start + one.minutes == pytest.approx(after.start) for one, after in pairwise(steps))


def test_what_the_study_does_not_say_is_filled_in_and_told() -> None:
    study = made_up_study(timed=False)
    bare = replace(study, costs=replace(study.costs, rig_set_up_s=None))
    filled = with_usual_times(bare)
    assert [(one.code, one.whose) for one in filled.assumed] == [
        ("rig_set_up", ""),
        ("minutes_per_launch", "surface 0"),
        ("minutes_per_launch", "surface 1"),
        ("voids", ""),
        ("reserve", ""),
        ("outings", ""),
    ]
    assert filled.study.costs.rig_set_up_s == 720
    assert with_usual_times(filled.study).assumed[0].code == "outings"
