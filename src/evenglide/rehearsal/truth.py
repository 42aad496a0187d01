r"""What an answer should find in an invented world: the true log ratio of treated to untreated distance.

From the forward physics without luck, in the shape in which a preparation's value is made: logs averaged
within a direction, then both directions joined (run-outs harmonically, timed marks arithmetically).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from evenglide.errors import OutOfRangeError, Problem
from evenglide.rehearsal.chance import no_chance
from evenglide.rehearsal.forward import glide_all
from evenglide.rehearsal.world import World
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import MarkKind, Study


def true_log_ratio(world: World, study: Study, *, surface: str, treatment: str) -> float:
    """True effect of a fresh coat on clean items, at the launcher's own speed, whatever the time of day.

    Parameters
    ----------
    world : World
    study : Study
        Says items, directions, and how distance is marked.
    surface, treatment : str

    Returns
    -------
    float
        Natural log of distance with the treatment over distance with the reference, items alike in weight.
        Zero means no effect; a launch speed that scatters moves the mean by a second-order amount only.

    Raises
    ------
    StudyError
        The world knows too little of the study.
    OutOfRangeError
        A surface or treatment is not of the study.

    Examples
    --------
    >>> from evenglide.rehearsal.hill_club_world import HILL_CLUB, hill_club_study
    >>> study = hill_club_study()
    >>> true_log_ratio(HILL_CLUB, study, surface="cold powder", treatment="bare")
    0.0
    """
    _require_name(surface, "surface", (known.name for known in study.surfaces))
    _require_name(treatment, "treatment", (known.name for known in study.treatments))
    differences = []
    timeless = _without_drift(world)
    for item in study.items:
        treated, reference = (
            _value_of_one(timeless, study, surface=surface, treatment=name, item=item.name)
            for name in (treatment, study.reference.name)
        )
        differences.append(treated - reference)
    return sum(differences) / len(differences)


def true_log_ratio_as_scheduled(
    world: World, study: Study, *, schedule: Schedule, surface: str, treatment: str
) -> float:
    """True effect as this schedule meets it: with the wear of its coats and what a strip leaves.

    Parameters
    ----------
    world : World
    study : Study
    schedule : Schedule
    surface, treatment : str

    Returns
    -------
    float
        Each preparation against the same launches with everything bare of coats, so that neither item nor
        drift enters; mean over rounds that hold both treatments, preparations of a round alike in weight.
        NaN if there is no such round.

    Raises
    ------
    StudyError
        The world knows too little of the study.
    OutOfRangeError
        A surface or treatment is not of the study.
    """
    _require_name(surface, "surface", (known.name for known in study.surfaces))
    _require_name(treatment, "treatment", (known.name for known in study.treatments))
    timeless, reference = _without_drift(world), study.reference.name
    untreated = replace(
        schedule, launches=tuple(replace(launch, treatment=reference) for launch in schedule.launches)
    )
    values = _preparation_values(timeless, study, schedule=schedule, surface=surface)
    plain = _preparation_values(timeless, study, schedule=untreated, surface=surface)
    rounds: dict[str, dict[str, list[float]]] = {}
    for launch in {launch.preparation: launch for launch in schedule.launches}.values():
        if launch.preparation in values:
            excess = values[launch.preparation] - plain[launch.preparation]
            rounds.setdefault(launch.block, {}).setdefault(launch.treatment, []).append(excess)
    both = [cell for cell in rounds.values() if treatment in cell and reference in cell]
    if not both:
        return math.nan
    return float(np.mean([np.mean(cell[treatment]) - np.mean(cell[reference]) for cell in both]))


def joined(logs: Iterable[float], mark: MarkKind) -> float:
    """Join the mean logs of both directions into one value.

    Parameters
    ----------
    logs : iterable of float
        One for each direction.
    mark : str
        Kind of mark.

    Returns
    -------
    float
    """
    values = np.array(list(logs))
    if mark == "timed mark":
        return float(np.log(np.mean(np.exp(values))))
    return float(-np.log(np.mean(np.exp(-values))))


def _without_drift(world: World) -> World:
    """Same world with the clock stopped: a coat that takes longer to make is not launched on other ground."""
    surfaces = {
        name: replace(truth, drift_per_hour=0.0, bend_per_hour_squared=0.0)
        for name, truth in world.surfaces.items()
    }
    return replace(world, surfaces=surfaces)


def _value_of_one(world: World, study: Study, *, surface: str, treatment: str, item: str) -> float:
    """Value of one fresh coat, each direction launched on it while it is fresh."""
    directions = study.design.directions
    launches = [
        ScheduledLaunch(
            number=number,
            outing=1,
            block="1",
            set_up=number,
            surface=surface,
            direction=direction,
            preparation=f"{number}",
            item=item,
            treatment=treatment,
        )
        for number, direction in enumerate(directions, start=1)
    ]
    never_worn = replace(world, left_after_strip=0.0)
    schedule = Schedule(launches=tuple(launches), seed=0, rule="")
    glides = glide_all(study, schedule, world=never_worn, chance=no_chance(schedule))
    return joined(np.log(glides.distance), _mark_of(study, surface))


def _preparation_values(world: World, study: Study, *, schedule: Schedule, surface: str) -> dict[str, float]:
    """Value of each preparation on one surface, without luck."""
    glides = glide_all(study, schedule, world=world, chance=no_chance(schedule))
    cells: dict[str, dict[str, list[float]]] = {}
    for launch, distance in zip(schedule.launches, glides.distance, strict=True):
        if launch.surface == surface and launch.kind == "launch":
            directions = cells.setdefault(launch.preparation, {})
            directions.setdefault(launch.direction, []).append(float(np.log(distance)))
    mark = _mark_of(study, surface)
    return {
        label: joined([float(np.mean(logs)) for logs in cell.values()], mark) for label, cell in cells.items()
    }


def _mark_of(study: Study, surface: str) -> MarkKind:
    """How distance is marked on a surface."""
    return next(known.mark for known in study.surfaces if known.name == surface)


def _require_name(name: str, kind: str, known: Iterable[str]) -> None:
    """Refuse a name that the study does not have."""
    names = tuple(known)
    if name in names:
        return
    problem = Problem(
        code="out-of-range",
        where=kind,
        found=name,
        expected=f"one of {', '.join(names)}",
        remedy=f"Name a {kind} of the study.",
    )
    raise OutOfRangeError([problem])
