"""What physics makes of a schedule: the distance of every launch, from its law and its launch speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.glide.law import DecelerationLaw
from evenglide.glide.position import distance_after, speed_after
from evenglide.glide.slope import on_slope
from evenglide.glide.stopping import stopping_distance
from evenglide.rehearsal.chance import Chance
from evenglide.rehearsal.clock import moments
from evenglide.rehearsal.world import Effect, World
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study
from evenglide.typing import BoolArray, FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Glides:
    """What happened on the lane.

    Parameters
    ----------
    speed : array of float, shape (launches,)
        At release. [m/s]
    distance : array of float, shape (launches,)
        At the mark of the surface, however long the lane. [m]
    stopped : array of bool, shape (launches,)
        At rest before the time of a timed mark.
    strength : array of float, shape (launches,)
        Of the coat. [1]
    """

    speed: FloatArray
    distance: FloatArray
    stopped: BoolArray
    strength: FloatArray


def glide_all(study: Study, schedule: Schedule, *, world: World, chance: Chance) -> Glides:
    """Let every launch of a schedule glide.

    Parameters
    ----------
    study : Study
    schedule : Schedule
    world : World
    chance : Chance

    Returns
    -------
    Glides

    Raises
    ------
    StudyError
        The world knows too little of the study.
    NeverStops
        A slope of the world is steeper than its friction holds.
    """
    world.check(study)
    launches = schedule.launches
    strength = coat_strength(schedule, world)
    masses = np.array([world.items[launch.item].mass for launch in launches], dtype=np.float64)
    speed = world.launcher.launch_speed(masses) * np.exp(world.speed_spread * chance.speed)
    factor = _factors(study, schedule, world=world, chance=chance)
    distance, stopped = np.zeros(len(launches)), np.zeros(len(launches), dtype=np.bool_)
    for surface in study.surfaces:
        truth = world.surfaces[surface.name]
        here = np.array([launch.surface == surface.name for launch in launches], dtype=np.bool_)
        laws = _laws(study, schedule, world=world, surface=surface.name, strength=strength)
        laws = on_slope(_rows(laws.scaled(factor), here), _grades(study, schedule, truth.grade)[here])
        if surface.mark == "timed mark":
            after = surface.after_s or 0.0
            distance[here] = distance_after(after, launch_speed=speed[here], law=laws)
            stopped[here] = speed_after(after, launch_speed=speed[here], law=laws) <= 0.0
        else:
            distance[here] = stopping_distance(speed[here], laws)
    return Glides(speed=speed, distance=distance, stopped=stopped, strength=strength)


def coat_strength(schedule: Schedule, world: World) -> FloatArray:
    """Strength that is left of each launch's coat; each launch since the coat was new has taken its share.

    A launch that shows whether a strip is complete meets what the strip leaves.

    Parameters
    ----------
    schedule : Schedule
    world : World

    Returns
    -------
    array of float, shape (launches,)
        [1]
    """
    left: dict[str, float] = {}
    found = []
    for launch in schedule.launches:
        now = left.get(launch.preparation, 1.0)
        found.append(world.left_after_strip if launch.kind == "return to bare" else now)
        truth = world.surfaces.get(launch.surface)
        left[launch.preparation] = now * (1.0 - (truth.wear_per_launch if truth else 0.0))
    return np.array(found, dtype=np.float64)


def _rows(law: DecelerationLaw, rows: BoolArray) -> DecelerationLaw:
    """Laws of some launches."""
    c0, c1, c2 = np.broadcast_arrays(law.c0, law.c1, law.c2, rows)[:3]
    return DecelerationLaw(c0=c0[rows], c1=c1[rows], c2=c2[rows])


def _grades(study: Study, schedule: Schedule, grade: float) -> FloatArray:
    """Grade that each launch meets; the first direction's own, any other's the reverse."""
    ahead = study.design.directions[0]
    return np.array([grade if launch.direction == ahead else -grade for launch in schedule.launches])


def _laws(
    study: Study, schedule: Schedule, *, world: World, surface: str, strength: FloatArray
) -> DecelerationLaw:
    """Law of each launch, as if it were made on `surface`, before anything scatters."""
    truth, launches = world.surfaces[surface], schedule.launches
    nothing = Effect()
    effects = [truth.effects.get(launch.treatment, nothing) for launch in launches]
    remains = [truth.effects.get(name, nothing) for name in _under(study, schedule)]
    masses = np.array([world.items[launch.item].mass for launch in launches], dtype=np.float64)
    law = truth.law.with_mass(old=world.reference_mass, new=masses)
    for held, share in ((effects, strength), (remains, np.full(len(launches), world.left_after_strip))):
        law = _stacked(held).on(law, strength=share)
    return law


def _stacked(effects: list[Effect]) -> Effect:
    """Effects of all launches as one with arrays for factors."""
    terms = np.array([(effect.c0, effect.c1, effect.c2) for effect in effects]).reshape(-1, 3).T
    return Effect(c0=terms[0], c1=terms[1], c2=terms[2])


def _under(study: Study, schedule: Schedule) -> list[str]:
    """Treatment that was on each launch's item before its coat; the reference where there was none."""
    worn: dict[str, tuple[str, str, str]] = {}
    found = []
    for launch in schedule.launches:
        preparation, treatment, under = worn.get(launch.item, ("", study.reference.name, ""))
        if launch.preparation != preparation:
            under = treatment
            worn[launch.item] = (launch.preparation, launch.treatment, under)
        found.append(under)
    return found


def _factors(study: Study, schedule: Schedule, *, world: World, chance: Chance) -> FloatArray:
    """Factor on the law of each launch: item, coat, ground, time of day and luck."""
    found = []
    times = moments(study, schedule, world)
    for row, (launch, moment) in enumerate(zip(schedule.launches, times, strict=True)):
        truth, hours = world.surfaces[launch.surface], moment.hours
        found.append(
            np.log(world.items[launch.item].factor)
            + world.preparation_scatter * chance.coat[launch.preparation]
            + truth.preparation_scatter * chance.coat_here[launch.preparation, launch.surface]
            + truth.set_up_scatter * chance.ground[launch.set_up]
            + truth.drift_per_hour * hours
            + truth.bend_per_hour_squared * hours**2
            + truth.launch_scatter * chance.friction[row]
        )
    return np.asarray(np.exp(np.array(found, dtype=np.float64)))
