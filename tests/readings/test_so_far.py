"""How a day goes: scatter on one coat and drift over the launches, reckoned by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import pytest

from evenglide.fieldlog.bodies import Body, Launched, Read, SetAside
from evenglide.fieldlog.fold import replay
from evenglide.readings.from_log import readings_from_log
from evenglide.readings.so_far import SurfaceSoFar, so_far
from tests.fieldlog.made_up import CAUSE, log_of, schedule, study

PLAN = schedule(blocks=1, launches=3)
HERE = [one for one in PLAN.launches if one.surface == "cold powder"]
COATS = {one.number: one.preparation for one in HERE}
BASE = {"P1": 5.0, "P2": 7.0}


def powder(
    values: Mapping[int, float], *, made: Sequence[int] = (), aside: Sequence[int] = ()
) -> SurfaceSoFar:
    bodies: list[Body] = [Launched(launch=number) for number in made or values]
    bodies += [Read(launch=number, text=repr(value), value=value) for number, value in values.items()]
    bodies += [SetAside(launch=number, cause=CAUSE, value_seen=True) for number in aside]
    launches = readings_from_log(study(), PLAN, replay(log_of(PLAN, bodies))).launches
    assert launches is not None
    (found,) = so_far(launches, scale="difference")
    return found


def test_a_steady_drift_is_that_drift_and_what_two_coats_differ_by_is_no_scatter() -> None:
    """Each launch goes 0.1 farther than the one before it; about its coat's mean that is all there is."""
    found = powder({number: BASE[COATS[number]] + 0.1 * number for number in COATS})
    assert found.drift_per_ten == pytest.approx(1.0)
    turns = [[number for number, coat in COATS.items() if coat == name] for name in BASE]
    squares = sum((0.1 * (n - sum(turn) / 3)) ** 2 for turn in turns for n in turn)
    assert found.scatter == pytest.approx(math.sqrt(squares / 4))  # six launches on two coats
    assert found.read == 6


def test_drift_goes_by_the_order_in_which_launches_were_made() -> None:
    made = [6, 5, 4, 3, 2, 1]
    values = {number: BASE[COATS[number]] + 0.1 * place for place, number in enumerate(made)}
    assert powder(dict(sorted(values.items())), made=made).drift_per_ten == pytest.approx(1.0)


def test_a_launch_that_was_set_aside_says_nothing() -> None:
    values = {number: BASE[COATS[number]] + 0.1 * number for number in COATS}
    found = powder(values | {6: 99.0}, aside=[6])
    assert (found.read, found.drift_per_ten) == (5, pytest.approx(1.0))


def test_two_degrees_of_freedom_tell_nothing() -> None:
    few = dict.fromkeys(list(COATS)[:4], 5.0)
    assert powder(few) == SurfaceSoFar(surface="cold powder", read=4, scatter=None, drift_per_ten=None)
