"""A schedule made ready for playing many times over: who stands where, and the rule of the answer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenglide.analysis.rule import Rule
from evenglide.answer.study_rule import rule_of_study
from evenglide.plan.rounds import items_stay
from evenglide.readings.from_schedule import planned_launches
from evenglide.readings.launches import Launches
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study
from evenglide.typing import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """Everything about a schedule that does not change from one rehearsed study to the next.

    Parameters
    ----------
    study : Study
    schedule : Schedule
        The launches that are made.
    coat : array of int, shape (launches,)
        What scatters as one: a preparation, or an item where treatments never come off.
    place : array of int, shape (launches,)
        The same on one surface.
    item, surface : array of int, shape (launches,)
        Code in the order of the study.
    treated : array of bool, shape (launches,)
        Any treatment but the reference.
    bared : array of bool, shape (launches,)
        Made to show whether a strip is complete: nothing is left of the effect.
    used : array of float, shape (launches,)
        Launches that the preparation has made before.
    hour : array of float, shape (launches,)
        Place in its outing, 0 for the first launch and 1 for the last.
    counted : array of int
        Rows that enter the answer.
    launches : Launches
        Of `counted`, without readings.
    rule : Rule
        By which the answer is given.
    """

    study: Study
    schedule: Schedule
    coat: IntArray
    place: IntArray
    item: IntArray
    surface: IntArray
    treated: BoolArray
    bared: BoolArray
    used: FloatArray
    hour: FloatArray
    counted: IntArray
    launches: Launches
    rule: Rule


def set_stage(study: Study, schedule: Schedule) -> Stage:
    """Make a schedule ready.

    Parameters
    ----------
    study : Study
    schedule : Schedule
        With at least one launch that counts.

    Returns
    -------
    Stage
    """
    rows = schedule.launches
    stays = items_stay(study)
    coats = [row.item if stays else row.preparation for row in rows]
    surfaces = [row.surface for row in rows]
    launches = planned_launches(study, schedule)
    return Stage(
        study=study,
        schedule=schedule,
        coat=_codes(coats),
        place=_codes(zip(coats, surfaces, strict=True)),
        item=_codes((row.item for row in rows), [item.name for item in study.items]),
        surface=_codes(surfaces, [surface.name for surface in study.surfaces]),
        treated=np.array([row.treatment != study.reference.name for row in rows]),
        bared=np.array([row.kind == "return to bare" for row in rows]),
        used=_used(rows),
        hour=_hour(rows),
        counted=np.flatnonzero([row.kind == "launch" for row in rows]),
        launches=launches,
        rule=rule_of_study(study, schedule, launches, order_drawn=True),
    )


def without_last_outing(schedule: Schedule) -> Schedule | None:
    """What is left of a schedule if nothing is launched on its last outing; None if nothing that counts is.

    Parameters
    ----------
    schedule : Schedule

    Returns
    -------
    Schedule or None
    """
    last = max((row.outing for row in schedule.launches), default=0)
    left = tuple(row for row in schedule.launches if row.outing < last)
    return replace(schedule, launches=left) if any(row.kind == "launch" for row in left) else None


def _codes(names: Iterable[object], first: Sequence[object] = ()) -> IntArray:
    """Code names in order of first appearance, behind those that come first."""
    known = {name: code for code, name in enumerate(first)}
    return np.array([known.setdefault(name, len(known)) for name in names], dtype=np.int64)


def _used(rows: Sequence[ScheduledLaunch]) -> FloatArray:
    """Launches that each row's preparation has made before."""
    made: dict[str, int] = {}
    found = []
    for row in rows:
        found.append(made.get(row.preparation, 0))
        made[row.preparation] = found[-1] + 1
    return np.array(found, dtype=np.float64)


def _hour(rows: Sequence[ScheduledLaunch]) -> FloatArray:
    """Place of each row in its outing, from 0 to 1."""
    outing = np.array([row.outing for row in rows])
    found = np.zeros(len(rows))
    for one in np.unique(outing):
        here = np.flatnonzero(outing == one)
        found[here] = np.linspace(0.0, 1.0, len(here)) if len(here) > 1 else 0.0
    return found
