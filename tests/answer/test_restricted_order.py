"""A study whose order was drawn under a restriction is tested over the orders that could have been drawn."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from evenglide.answer.results import Contrast
from evenglide.answer.study import answer_study
from evenglide.fieldlog.bodies import Body, Read, SetAside
from evenglide.plan.schedule import plan_schedule
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study
from evenglide.study.writing import write_study
from tests.fieldlog import made_up
from tests.study.made_up import made_up_study

TWELVE_DIGITS = 1e-12
BLOCKS, LARGEST = 8, 4


def planned(**design: Any) -> tuple[Study, Schedule]:
    study = made_up_study(items=1, order="balanced", **design)
    return study, plan_schedule(study, blocks=BLOCKS, launches=2, seed=11)


def contrasts(study: Study, schedule: Schedule, void: frozenset[str] = frozenset()) -> list[Contrast]:
    """Comparisons of a log in which every launch was read; some preparations are set aside as a whole."""
    bodies: list[Body] = []
    for one in schedule.launches:
        bodies.append(Read(launch=one.number, text=text_of(one.number), value=float(text_of(one.number))))
        if one.preparation in void:
            bodies.append(SetAside(launch=one.number, cause="rig moved", value_seen=False))
    events = made_up.log_of(schedule, bodies, text=write_study(study))
    return [surface.contrasts[0] for surface in answer_study(study, schedule, events).answer.surfaces]


def text_of(number: int) -> str:
    return f"{6 * random.Random(number).uniform(0.9, 1.1):.2f}"


def differences(schedule: Schedule) -> tuple[np.ndarray, np.ndarray]:
    """Second preparation of each round less the first, and whether the second was treated."""
    values: dict[str, dict[str, list[float]]] = {}
    treatment = {one.preparation: one.treatment for one in schedule.launches}
    for one in schedule.launches:
        logs = values.setdefault(one.block, {}).setdefault(one.preparation, [])
        logs.append(float(np.log(float(text_of(one.number)))))
    pairs = [list(preparations.items()) for preparations in values.values()]
    late = [treatment[second] != "bare" for (_, _), (second, _) in pairs]
    return np.array([np.mean(b) - np.mean(a) for (_, a), (_, b) in pairs]), np.array(late)


def test_p_is_the_share_of_the_orders_that_could_have_been_drawn() -> None:
    study, schedule = planned(surfaces=1)
    assert schedule.largest_imbalance == LARGEST
    (found,) = contrasts(study, schedule)
    difference, late = differences(schedule)
    signs = np.array([s for s in itertools.product((-1, 1), repeat=BLOCKS) if abs(sum(s)) <= LARGEST])
    statistic = np.abs(signs @ difference)
    own = abs(float(np.where(late, 1, -1) @ difference))
    assert (found.assignments, found.smallest_p) == (238, 2 / 238)
    assert found.p_randomisation == pytest.approx(np.mean(statistic >= own - 1e-9), abs=TWELVE_DIGITS)


def test_a_round_that_lost_a_preparation_is_held_as_it_was() -> None:
    study, schedule = planned(surfaces=1)
    _, late = differences(schedule)
    last = schedule.launches[-1]
    held = 1 if late[-1] else -1
    (found,) = contrasts(study, schedule, frozenset({last.preparation}))
    counted = sum(abs(held + sum(s)) <= LARGEST for s in itertools.product((-1, 1), repeat=BLOCKS - 1))
    assert found.assignments == counted
    assert found.smallest_p == 1 / counted


def test_the_joint_test_of_shared_preparations_keeps_the_restriction() -> None:
    study, schedule = planned(surfaces=2)
    found = contrasts(study, schedule)
    late, observed, reached = None, None, []
    by_surface = []
    for surface in study.surfaces:
        own = replace(
            schedule, launches=tuple(one for one in schedule.launches if one.surface == surface.name)
        )
        difference, late = differences(own)
        by_surface.append(difference)
    drawn = tuple(np.where(late, 1, -1))
    for signs in itertools.product((-1, 1), repeat=BLOCKS):
        if abs(sum(signs)) <= LARGEST:
            t = [abs(np.mean(d * signs)) / np.std(d * signs, ddof=1) for d in by_surface]
            reached.append(max(t))
            observed = max(t) if signs == drawn else observed
    assert observed is not None
    expected = np.mean(np.array(reached) >= observed * (1 - 1e-9))
    for one in found:
        assert one.assignments == len(reached) == 238
        assert one.p_randomisation_joint == pytest.approx(expected, abs=TWELVE_DIGITS)


def test_an_order_without_restriction_counts_all() -> None:
    study = made_up_study(items=1, surfaces=1)
    schedule = plan_schedule(study, blocks=BLOCKS, launches=2, seed=11)
    (found,) = contrasts(study, schedule)
    assert found.assignments == 2**BLOCKS
