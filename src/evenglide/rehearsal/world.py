"""An invented world: what is true of gear, treatments, surfaces and people in a rehearsal.

Nothing here is measured. A world says how everything behaves; `forward` works out what follows for each
launch, and `truth` what an answer should find. SI units; scatter is the standard deviation of a natural log.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from evenglide.errors import Problem, StudyError
from evenglide.glide.launcher import Launcher
from evenglide.glide.law import DecelerationLaw
from evenglide.study.study import Study
from evenglide.typing import FloatArray

NO_REASON = "rig moved"
"""Cause of a launch set aside in a study that states none."""
PLAYABLE = ("run-out", "timed mark")


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a treatment does to each term of a deceleration law: factors, 1 for nothing."""

    c0: float = 1.0
    c1: float = 1.0
    c2: float = 1.0

    def on(self, law: DecelerationLaw, *, strength: float | FloatArray) -> DecelerationLaw:
        """Law of a treated item; a `strength` of 1 is a fresh coat, 0 none at all.

        Parameters
        ----------
        law : DecelerationLaw
            Untreated.
        strength : float or array
            [1]

        Returns
        -------
        DecelerationLaw
        """
        return DecelerationLaw(
            c0=law.c0 * self.c0**strength, c1=law.c1 * self.c1**strength, c2=law.c2 * self.c2**strength
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceTruth:
    """What is true of one surface.

    Parameters
    ----------
    law : DecelerationLaw
        Of an untreated item of the world's reference mass, level, when an outing begins.
    effects : mapping of str to Effect
        By treatment; one that is not named does nothing here.
    lane : float
        Length of the lane; beyond it a launch is read as at least so far. [m]
    grade : float
        Of the lane in the study's first direction, uphill positive. [rad]
    preparation_scatter : float
        Of preparations, the part of this surface alone.
    launch_scatter : float
        Of the law from launch to launch.
    set_up_scatter : float
        Of the ground from one set-up of the rig to the next; shared by all launches of a set-up.
    drift_per_hour, bend_per_hour_squared : float
        Log of the law against hours since the outing began. [1/h], [1/h²]
    wear_per_launch : float
        Share of a coat's strength that one launch here takes. [1]
    void_chance : float
        That a launch is set aside for a reason that has nothing to do with its distance.
    short_void_chance : float
        That a launch is set aside because it came out short of `short_below` times what was expected.
    short_below : float
        [1]
    peg_lost_chance : float
    reading_step : float
        [m]
    reading_noise : float
        Standard deviation of a reading. [m]
    """

    law: DecelerationLaw
    effects: Mapping[str, Effect] = field(default_factory=dict)
    lane: float = 100.0
    grade: float = 0.0
    preparation_scatter: float = 0.0
    launch_scatter: float = 0.0
    set_up_scatter: float = 0.0
    drift_per_hour: float = 0.0
    bend_per_hour_squared: float = 0.0
    wear_per_launch: float = 0.0
    void_chance: float = 0.0
    short_void_chance: float = 0.0
    short_below: float = 0.8
    peg_lost_chance: float = 0.0
    reading_step: float = 0.01
    reading_noise: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemTruth:
    """What is true of one piece of gear: its mass [kg], and a factor on every law it meets [1]."""

    mass: float
    factor: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """Everything that is true in a rehearsal.

    Parameters
    ----------
    told : str
        What it is, for people; says that it is invented.
    launcher : Launcher
    speed_spread : float
        Scatter of launch speed.
    items : mapping of str to ItemTruth
    reference_mass : float
        Mass that the laws are stated for. [kg]
    surfaces : mapping of str to SurfaceTruth
    preparation_scatter : float
        Of preparations, the part that one coat carries to every surface.
    left_after_strip : float
        Share of a treatment's strength that stripping leaves on the item. [1]
    guess_right : float
        Chance that somebody who was not told takes a preparation for what it is.
    place, weather : str
    people : tuple of str
        The one who releases first, the one who reads last.
    air : tuple of float
        Temperature when an outing begins, and what each hour adds. [°C], [°C/h]
    pegs_per_walk : int
        Launches that are read in one walk along the tape.
    utc_offset : int
        Of the place's clock. [h]
    """

    told: str
    launcher: Launcher
    speed_spread: float
    items: Mapping[str, ItemTruth]
    reference_mass: float
    surfaces: Mapping[str, SurfaceTruth]
    preparation_scatter: float = 0.0
    left_after_strip: float = 0.0
    guess_right: float = 0.5
    place: str = ""
    weather: str = ""
    people: tuple[str, ...] = ("launcher", "reader")
    air: tuple[float, float] = (10.0, 0.0)
    pegs_per_walk: int = 6
    utc_offset: int = 0

    def check(self, study: Study) -> None:
        """Refuse a study that this world knows too little of.

        Parameters
        ----------
        study : Study

        Raises
        ------
        StudyError
            With every surface, treatment and item that is not of this world, and every kind of mark that is
            not played.
        """
        known = {name for truth in self.surfaces.values() for name in truth.effects}
        problems = [
            *(_missing("surface", surface.name, self.surfaces) for surface in study.surfaces),
            *(_missing("item", item.name, self.items) for item in study.items),
            *(_missing("treatment", treatment.name, known) for treatment in study.treatments[1:]),
            *(_unplayable(surface.name, surface.mark) for surface in study.surfaces),
        ]
        found = [problem for problem in problems if problem is not None]
        if found:
            raise StudyError(found)


def _missing(kind: str, name: str, known: Mapping[str, object] | set[str]) -> Problem | None:
    """Return what is wrong where a name is not of the world."""
    if name in known:
        return None
    return Problem(
        code="not-in-this-world",
        where=f"{kind} of the study",
        found=name,
        expected=f"one of {', '.join(sorted(known))}",
        remedy=f"Rehearse in a world that has this {kind}.",
    )


def _unplayable(surface: str, mark: str) -> Problem | None:
    """Return what is wrong where a mark cannot be played."""
    if mark in PLAYABLE:
        return None
    return Problem(
        code="mark-not-played",
        where=f"surface {surface}",
        found=mark,
        expected=" or ".join(PLAYABLE),
        remedy="Rehearse a study of distances.",
    )
