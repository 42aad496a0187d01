"""What a plan can find at best, and what it takes: least possible p per comparison, and the effort."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.maths.blocks import compact
from evenglide.maths.order_sets import Restriction
from evenglide.maths.randomisation import possible_orders
from evenglide.plan.day import minutes_taken, window_minutes, with_usual_times
from evenglide.plan.rounds import items_stay, make_rounds
from evenglide.plan.schedule import plan_schedule, wear_checked
from evenglide.study.schedule import Schedule, ScheduledLaunch, places_in_rounds
from evenglide.study.study import Study
from evenglide.typing import BoolArray

MOST_LISTED = 2**12
"""More orders than this are multiplied out; the few without an estimate make no difference there."""
WITHIN = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What the randomisation test of one comparison on one surface can give at best.

    Parameters
    ----------
    surface, treatment : str
    rounds : int
        Rounds that hold the treatment and the reference there.
    launches : int
        Launches that count, of both together.
    orders : int
        Orders that could have been drawn.
    smallest_p : float
        Least p that any readings could give. [1]
    needed : float
        Level divided by the comparisons that share it: the largest p that is sure to count. [1]
    """

    surface: str
    treatment: str
    rounds: int
    launches: int
    orders: int
    smallest_p: float
    needed: float

    @property
    def can_reject(self) -> bool:
        """Whether the best possible readings would count."""
        return self.smallest_p <= self.needed + WITHIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """What a plan takes.

    Parameters
    ----------
    outings, rounds, preparations, set_ups, launches : int
        Launches: of every kind.
    seconds : float
        From the first step to the last of every outing. [s]
    untimed : tuple of str
        What has no time in the study: `seconds` holds what is usual.
    available : float or None
        Time from first to last hour of the outings that are used; None if the study names too few. [s]
    """

    outings: int
    rounds: int
    preparations: int
    set_ups: int
    launches: int
    seconds: float
    untimed: tuple[str, ...]
    available: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A schedule with what it can find at best and what it takes.

    Parameters
    ----------
    schedule : Schedule
    reach : tuple of Reach
        Surface by surface, treatment by treatment.
    effort : Effort
    joint_p : float or None
        Least p of the test over all surfaces at once; None unless two treatments share preparations over
        several surfaces. [1]
    unrestricted : bool
        A balanced order was asked for, but too few orders would be left.
    wear_unchecked : bool
        Wear checks were asked for, but on some round no coat can go back to its first surface.
    """

    schedule: Schedule
    reach: tuple[Reach, ...]
    effort: Effort
    joint_p: float | None
    unrestricted: bool
    wear_unchecked: bool


def plan_study(
    study: Study,
    *,
    blocks: int,
    launches: int,
    seed: int,
    outings: int | None = None,
    spread: Sequence[int] | None = None,
) -> Plan:
    """Plan the launches of a study and say what they can find at best.

    Parameters
    ----------
    study : Study
    blocks, launches, seed, outings, spread
        As for `plan_schedule`.

    Returns
    -------
    Plan

    Raises
    ------
    StudyError
        If such a plan cannot be made.
    """
    schedule = plan_schedule(
        study, blocks=blocks, launches=launches, seed=seed, outings=outings, spread=spread
    )
    rounds = make_rounds(study, blocks=blocks, outings=outings, spread=spread)
    fresh = study.design.preparations == "fresh on each surface"
    unchecked = any(fresh or not wear_checked(study, one.path) for one in rounds)
    reach = reach_of(study, schedule)
    joint = not fresh and len(study.treatments) == 2 and len(study.surfaces) > 1
    return Plan(
        schedule=schedule,
        reach=reach,
        joint_p=min(one.smallest_p for one in reach) if joint else None,
        effort=effort_of(study, schedule),
        unrestricted=study.design.order == "balanced" and schedule.largest_imbalance is None,
        wear_unchecked=bool(study.design.wear_check) and unchecked,
    )


# ----------------------------------------------------------------------------------------- reach


def reach_of(study: Study, schedule: Schedule) -> tuple[Reach, ...]:
    """Find the least possible p of every comparison on every surface, from the list itself.

    Parameters
    ----------
    study : Study
    schedule : Schedule

    Returns
    -------
    tuple of Reach
    """
    counted = [launch for launch in schedule.launches if launch.kind == "launch"]
    return tuple(
        _reach(study, schedule, [one for one in counted if one.surface == surface.name], treatment=other.name)
        for surface in study.surfaces
        for other in study.treatments[1:]
    )


def _reach(study: Study, schedule: Schedule, here: Sequence[ScheduledLaunch], *, treatment: str) -> Reach:
    reference, surface = study.treatments[0].name, here[0].surface if here else ""
    pair = [one for one in here if one.treatment in {treatment, reference}]
    both = {one.block for one in pair if one.treatment == treatment}
    both &= {one.block for one in pair if one.treatment == reference}
    used = [one for one in pair if one.block in both]
    orders, smallest = _orders(study, schedule, used, treatment=treatment)
    return Reach(
        surface=surface,
        treatment=treatment,
        rounds=len(both),
        launches=len(used),
        orders=orders,
        smallest_p=smallest,
        needed=study.level / sharing(study, surface),
    )


def _orders(
    study: Study, schedule: Schedule, used: Sequence[ScheduledLaunch], *, treatment: str
) -> tuple[int, float]:
    """Count the orders that could have been drawn, the others' slots held, and the least p they allow."""
    first = {one.preparation: one for one in reversed(used)}
    if not first:
        return 0, 1.0
    gear = list(first.values())
    treated = np.array([one.treatment == treatment for one in gear])
    alike = items_stay(study) or study.design.layout == "in sequence"
    possible = possible_orders(
        treated,
        block=compact([one.block for one in gear]),
        item=None if alike else compact([one.item for one in gear]),
        restriction=_restriction(study, schedule, gear, treated=treated),
        limit=MOST_LISTED,
    )
    return (0, 1.0) if possible is None else (possible.assignments, possible.smallest_p)


def _restriction(
    study: Study, schedule: Schedule, gear: Sequence[ScheduledLaunch], *, treated: BoolArray
) -> Restriction | None:
    """Rule of a restricted draw; what the draw gave to rounds that are not here is held."""
    if schedule.largest_imbalance is None:
        return None
    shared = study.design.preparations == "shared over surfaces"
    places = places_in_rounds(schedule, surface=None if shared else gear[0].surface)
    treatments = {one.preparation: one.treatment for one in schedule.launches}
    planned = sum(at for label, at in places.items() if treatments[label] != study.treatments[0].name)
    weights = np.array([places[one.preparation] for one in gear], dtype=np.int64)
    held = planned - int(weights[treated].sum())
    return Restriction(weights=weights, largest=schedule.largest_imbalance, offset=held)


def sharing(study: Study, surface: str) -> int:
    """Count the comparisons that share the level with one on a surface.

    Parameters
    ----------
    study : Study
    surface : str

    Returns
    -------
    int
        One where nothing is shared; the main surface forms a family of its own.
    """
    if study.adjust == "none":
        return 1
    others = len(study.treatments) - 1
    if study.main is None:
        return others * len(study.surfaces)
    return others if surface == study.main else others * (len(study.surfaces) - 1)


# ---------------------------------------------------------------------------------------- effort


def effort_of(study: Study, schedule: Schedule) -> Effort:
    """Add up what a schedule takes; where the study gives no time, what is usual.

    Parameters
    ----------
    study : Study
    schedule : Schedule

    Returns
    -------
    Effort
    """
    launches = schedule.launches
    preparations = {one.preparation: one.treatment for one in launches}
    set_ups = {one.set_up for one in launches}
    treatments = {one.name: one for one in study.treatments}
    surfaces = {one.name: one for one in study.surfaces}
    times = [(f"preparing {name}", treatments[name].hands_on_s) for name in preparations.values()]
    times += [("setting up the rig", study.costs.rig_set_up_s) for _ in set_ups]
    times += [(f"a launch on {one.surface}", surfaces[one.surface].minutes_per_launch) for one in launches]
    outings = {one.outing for one in launches}
    timed = with_usual_times(study).study
    minutes = [minutes_taken(timed, [one for one in launches if one.outing == outing]) for outing in outings]
    return Effort(
        outings=len(outings),
        rounds=len({one.block for one in launches}),
        preparations=len(preparations),
        set_ups=len(set_ups),
        launches=len(launches),
        seconds=60.0 * sum(minutes),
        untimed=tuple(dict.fromkeys(name for name, time in times if time is None)),
        available=_available(study, outings),
    )


def _available(study: Study, used: set[int]) -> float | None:
    known = study.costs.outings
    if not used or len(known) < max(used):
        return None
    return 60.0 * sum(window_minutes(known[number - 1]) for number in used)
