"""Plays a schedule in an invented world: what would have been written down, launch by launch.

Same study, schedule, world and source of chance: same records.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from evenglide.rehearsal.chance import Chance, Source, draw_chance, no_chance
from evenglide.rehearsal.clock import Moment, moments
from evenglide.rehearsal.forward import Glides, glide_all
from evenglide.rehearsal.world import NO_REASON, SurfaceTruth, World
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedLaunch:
    """What was seen and written down of one launch.

    Parameters
    ----------
    launch : ScheduledLaunch
    moment : Moment
        When it was released, and what was made ready before.
    text : str
        Reading as typed, in metres; "" if there is none.
    value : float or None
        The same as a number. [m]
    at_least : bool
        It left the lane while gliding: the reading is the lane's length.
    stopped : bool
        At rest before the time of a timed mark.
    cause : str
        Why it was set aside; "" if it counts.
    value_seen : bool
        The distance was known when it was set aside.
    peg_lost : bool
        Its mark was gone before it was read.
    true_speed, true_distance : float
        What nobody outside ever knows. [m/s], [m]
    """

    launch: ScheduledLaunch
    moment: Moment
    text: str
    value: float | None
    at_least: bool
    stopped: bool
    cause: str
    value_seen: bool
    peg_lost: bool
    true_speed: float
    true_distance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedGuess:
    """What somebody who was not told took a preparation for, and when."""

    preparation: str
    treatment: str
    when: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A whole schedule as it was played.

    Parameters
    ----------
    launches : tuple of PlayedLaunch
        In the order of the schedule.
    guesses : tuple of PlayedGuess
        One for each preparation, where treatments are hidden from somebody.
    """

    launches: tuple[PlayedLaunch, ...]
    guesses: tuple[PlayedGuess, ...]


def play(study: Study, schedule: Schedule, *, world: World, uniform: Source) -> Played:
    """Play a schedule.

    Parameters
    ----------
    study : Study
    schedule : Schedule
    world : World
    uniform : callable
        Source of chance, such as ``rehearsal_source(seed).random``; nothing else is drawn from.

    Returns
    -------
    Played

    Raises
    ------
    StudyError
        The world knows too little of the study.
    NeverStops
        A slope of the world is steeper than its friction holds.
    """
    world.check(study)
    chance = draw_chance(schedule, uniform)
    glides = glide_all(study, schedule, world=world, chance=chance)
    expected = glide_all(study, schedule, world=world, chance=no_chance(schedule)).distance
    times = moments(study, schedule, world)
    reasons = study.void_reasons or (NO_REASON,)
    played = tuple(
        _written_down(
            launch,
            moment,
            truth=world.surfaces[launch.surface],
            luck=_Luck.of(chance, row, reasons=reasons),
            glide=_Glide.of(glides, row, expected=float(expected[row])),
        )
        for row, (launch, moment) in enumerate(zip(schedule.launches, times, strict=True))
    )
    return Played(launches=played, guesses=_guesses(study, played, world=world, chance=chance))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Glide:
    """One row of `Glides`, and the distance that was to be expected."""

    speed: float
    distance: float
    stopped: bool
    expected: float

    @classmethod
    def of(cls, glides: Glides, row: int, *, expected: float) -> _Glide:
        """Take a row."""
        return cls(
            speed=float(glides.speed[row]),
            distance=float(glides.distance[row]),
            stopped=bool(glides.stopped[row]),
            expected=expected,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Luck:
    """One row of the uniform numbers of `Chance`, and the cause they point at."""

    void: float
    short: float
    peg: float
    reading: float
    cause: str

    @classmethod
    def of(cls, chance: Chance, row: int, *, reasons: tuple[str, ...]) -> _Luck:
        """Take a row."""
        return cls(
            void=float(chance.void[row]),
            short=float(chance.short[row]),
            peg=float(chance.peg[row]),
            reading=float(chance.reading[row]),
            cause=reasons[min(int(chance.cause[row] * len(reasons)), len(reasons) - 1)],
        )


def _written_down(
    launch: ScheduledLaunch, moment: Moment, *, truth: SurfaceTruth, luck: _Luck, glide: _Glide
) -> PlayedLaunch:
    """What people make of a glide: a reading, or a launch set aside, or a mark that is gone."""
    void = luck.void < truth.void_chance
    came_out_short = glide.distance < truth.short_below * glide.expected
    short = not void and came_out_short and luck.short < truth.short_void_chance
    peg_lost = not void and not short and luck.peg < truth.peg_lost_chance
    left_lane = glide.distance > truth.lane
    text = ""
    if not void and not peg_lost:
        noisy = glide.distance + truth.reading_noise * luck.reading
        text = _typed(truth.lane if left_lane else max(noisy, 0.0), truth.reading_step)
    return PlayedLaunch(
        launch=launch,
        moment=moment,
        text=text,
        value=float(text) if text else None,
        at_least=bool(text) and left_lane,
        stopped=bool(text) and glide.stopped and not left_lane,
        cause=luck.cause if void or short else "",
        value_seen=short,
        peg_lost=peg_lost,
        true_speed=glide.speed,
        true_distance=glide.distance,
    )


def _typed(distance: float, step: float) -> str:
    """A reading to the nearest step, with as many decimals as the step has."""
    exponent = Decimal(repr(step)).normalize().as_tuple().exponent
    decimals = max(0, -exponent) if isinstance(exponent, int) else 0
    return f"{round(distance / step) * step:.{decimals}f}"


def _guesses(
    study: Study, played: tuple[PlayedLaunch, ...], *, world: World, chance: Chance
) -> tuple[PlayedGuess, ...]:
    """What people who were not told believe, once each coat has made its last launch."""
    if not study.hidden_from:
        return ()
    last = {one.launch.preparation: one for one in played}
    found = []
    for label, one in last.items():
        sure, which = chance.guess[label]
        wrong = [treatment.name for treatment in study.treatments if treatment.name != one.launch.treatment]
        right = sure < world.guess_right or not wrong
        name = one.launch.treatment if right else wrong[min(int(which * len(wrong)), len(wrong) - 1)]
        found.append(PlayedGuess(preparation=label, treatment=name, when=one.moment.released))
    return tuple(found)
