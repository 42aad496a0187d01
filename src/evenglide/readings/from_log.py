"""From the log of a study to launches: what was recorded, laid beside what was planned.

What was done wins over what was planned: where the log says that another treatment, item, surface or
direction was met, the launch counts as that. Readings count in the study's unit.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

import numpy as np

from evenglide.fieldlog.state import LaunchState, Reading, State
from evenglide.readings.launches import Factor, Launches
from evenglide.study.schedule import LaunchKind, Schedule, ScheduledLaunch
from evenglide.study.study import Study
from evenglide.units.quantities import length_factor

LARGEST, SMALLEST = 1e100, 1e-100
"""Sizes that can be reckoned with, as for tables."""
ON_TAPE = frozenset({"run-out", "timed mark"})
"""Kinds of mark that are read from a tape."""
AS_ON_TAPE = ("tape", "clip")
"""Ways of reading that tell what the tape shows; a list tells the distance from the release itself."""

Left = Literal[
    "not made", "not read", "doubtful", "peg lost", "unusable", "not placed", "not planned", "after the check"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedLaunch:
    """One launch as it was made.

    Parameters
    ----------
    number : int
    kind : {"launch", "practice", "wear check", "return to bare"}
    outing, block, surface, direction, mark, preparation, item, treatment : str
    value : float
        In the study's unit; NaN where nothing was read (set aside only).
    decimals : int
        That the reading was written with.
    cause : str or None
        Why it was set aside.
    at_least, stopped : bool
    zero : float
        Where the tape stood at release, in the study's unit: taken off what it showed. `value` is without it.
    """

    number: int
    kind: LaunchKind
    outing: str
    block: str
    surface: str
    direction: str
    mark: str
    preparation: str
    item: str
    treatment: str
    value: float
    decimals: int
    cause: str | None
    at_least: bool
    stopped: bool
    zero: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LogReadings:
    """What the log of a study holds for the analysis, and what it leaves out.

    Parameters
    ----------
    launches : Launches or None
        Launches of the kind that enters the answer, in order of their numbers; None without any.
    numbers : tuple of int
        Launch number of each row of `launches`.
    apart : tuple of PlacedLaunch
        Practice launches, wear checks and returns to bare.
    stopped : tuple of int
        Stopped before the time of a timed mark; they count.
    zeros : mapping of int to float
        What was taken off the readings of launches, in the study's unit, where it is not nothing.
    left_out : mapping of str to tuple of int
        Launch numbers by reason: ``"not made"``; ``"not read"`` (made, no reading yet);
        ``"doubtful"`` (a text that is no number); ``"peg lost"``; ``"unusable"`` (unit unknown, or a
        value that has no logarithm where ratios are compared); ``"not placed"`` (treatment or surface
        that the study does not have); ``"not planned"`` (numbers the schedule does not have); ``"after the
        check"`` (made after the half-way check that holds; only in an answer).
    """

    launches: Launches | None
    numbers: tuple[int, ...]
    apart: tuple[PlacedLaunch, ...]
    stopped: tuple[int, ...]
    zeros: Mapping[int, float] = field(default_factory=dict)
    left_out: Mapping[Left, tuple[int, ...]] = field(default_factory=dict)


def readings_from_log(study: Study, schedule: Schedule, state: State) -> LogReadings:
    """Make launches of a log.

    Parameters
    ----------
    study : Study
        As sealed.
    schedule : Schedule
        As sealed.
    state : State

    Returns
    -------
    LogReadings
    """
    placer = _Placer(study=study, schedule=schedule, state=state)
    placed: list[PlacedLaunch] = []
    left: dict[Left, list[int]] = {}
    for planned in schedule.launches:
        found = placer.place(planned)
        if isinstance(found, PlacedLaunch):
            placed.append(found)
        else:
            left.setdefault(found, []).append(planned.number)
    planned_numbers = {planned.number for planned in schedule.launches}
    if extra := [number for number in state.made if number not in planned_numbers]:
        left["not planned"] = sorted(extra)
    counted = sorted((one for one in placed if one.kind == "launch"), key=lambda one: one.number)
    return LogReadings(
        launches=stand_up(study, counted, state.made) if counted else None,
        numbers=tuple(one.number for one in counted),
        apart=tuple(one for one in placed if one.kind != "launch"),
        stopped=tuple(one.number for one in counted if one.stopped),
        zeros={one.number: one.zero for one in counted if one.zero},
        left_out={reason: tuple(numbers) for reason, numbers in left.items()},
    )


class _Placer:
    """Lays what was recorded beside what was planned."""

    def __init__(self, *, study: Study, schedule: Schedule, state: State) -> None:
        self._study = study
        self._state = state
        self._surfaces = {surface.name: surface for surface in study.surfaces}
        self._treatments = {treatment.name for treatment in study.treatments}
        self._preparation: dict[str, ScheduledLaunch] = {}
        self._set_up: dict[int, ScheduledLaunch] = {}
        for launch in schedule.launches:
            self._preparation.setdefault(launch.preparation, launch)
            self._set_up.setdefault(launch.set_up, launch)

    def place(self, planned: ScheduledLaunch) -> PlacedLaunch | Left:
        """Place one planned launch, or say why it is left out."""
        launch = self._state.launches.get(planned.number)
        if launch is None or not launch.made:
            return "not made"
        preparation, treatment, item = self._prepared(planned, launch)
        coat = self._preparation.get(preparation, planned)
        surface, direction, at_release = self._rig(planned, launch)
        zero = at_release if _is_as_on_tape(launch.reading) else 0.0
        value = self._value(launch, zero=zero)
        if isinstance(value, str):
            return value
        if treatment not in self._treatments or surface not in self._surfaces:
            return "not placed"
        return PlacedLaunch(
            number=planned.number,
            kind=_kind(planned, launch),
            outing=str(planned.outing),
            block=coat.block,  # one coat is one try, even where a launch of another round was made with it
            surface=surface,
            direction=direction,
            mark=self._surfaces[surface].mark,
            preparation=preparation,
            item=item,
            treatment=treatment,
            value=value,
            decimals=max(_decimals_of(launch), _decimals(repr(zero)) if zero else 0),
            cause=None if launch.set_aside is None else launch.set_aside.cause,
            at_least=launch.at_least and launch.set_aside is None,
            stopped=launch.stopped
            and launch.set_aside is None
            and self._surfaces[surface].mark == "timed mark",
            zero=zero,
        )

    def _prepared(self, planned: ScheduledLaunch, launch: LaunchState) -> tuple[str, str, str]:
        """Preparation, treatment and item as they were."""
        label = launch.preparation or planned.preparation
        meant = self._preparation.get(label)
        done = self._state.preparations.get(label)
        treatment = meant.treatment if meant else ""
        item = meant.item if meant else ""
        if done is not None:
            treatment, item = done.treatment or treatment, done.item or item
        return label, treatment, item

    def _rig(self, planned: ScheduledLaunch, launch: LaunchState) -> tuple[str, str, float]:
        """Surface, direction, and where the tape stood at release, as they were."""
        number = planned.set_up if launch.set_up is None else launch.set_up
        meant = self._set_up.get(number, planned)
        done = self._state.set_ups.get(number)
        surface = (done.surface if done else None) or meant.surface
        direction = (done.direction if done else None) or meant.direction
        on_tape = surface in self._surfaces and self._surfaces[surface].mark in ON_TAPE
        zero = done.zero_point_m if done is not None and on_tape else None
        return surface, direction, in_unit(zero or 0.0, "m", self._study.unit) or 0.0

    def _value(self, launch: LaunchState, *, zero: float) -> float | Left:
        """Distance from the release in the study's unit, or why there is none that counts."""
        void = launch.set_aside is not None
        reading = launch.reading
        value, unit = (None, None) if reading is None else (reading.value, reading.unit)
        if value is None and launch.at_least:
            value, unit = launch.bound, launch.bound_unit
        if value is None:
            if void:
                return math.nan
            return _why_unread(launch, reading)
        converted = in_unit(value, unit, self._study.unit)
        if converted is None or not math.isfinite(converted):
            return math.nan if void else "unusable"
        converted = float(Decimal(repr(converted)) - Decimal(repr(zero)))
        if void:
            return converted
        if not (SMALLEST <= abs(converted) <= LARGEST or converted == 0):
            return "unusable"
        if self._study.scale == "ratio" and converted <= 0:
            return "unusable"
        return converted


def _is_as_on_tape(reading: Reading | None) -> bool:
    """Whether somebody said what the tape shows: so does a bound, which a phone alone can tell."""
    return reading is None or reading.value is None or reading.method.startswith(AS_ON_TAPE)


def _why_unread(launch: LaunchState, reading: Reading | None) -> Left:
    if reading is not None:
        return "doubtful"
    return "peg lost" if launch.peg_lost else "not read"


def _kind(planned: ScheduledLaunch, launch: LaunchState) -> LaunchKind:
    """Kind of launch: as recorded, else as planned."""
    if launch.wear_check:
        return "wear check"
    return "return to bare" if launch.return_to_bare else planned.kind


def in_unit(value: float, unit: str | None, wanted: str | None) -> float | None:
    """Express a reading in another unit; None if the two cannot be compared.

    Parameters
    ----------
    value : float
    unit : str or None
        Of the reading; None: in the unit that is wanted.
    wanted : str or None

    Examples
    --------
    >>> in_unit(590.0, "cm", "m"), in_unit(5.9, None, "m"), in_unit(5.9, "m", None)
    (5.9, 5.9, 5.9)
    """
    if unit is None or wanted is None or unit == wanted:
        return value
    one, other = length_factor(unit), length_factor(wanted)
    if one is None or other is None:
        return None
    return value if one == other else float(Decimal(repr(value)) * one / other)


def _decimals_of(launch: LaunchState) -> int:
    """Count the decimals that a reading was written with; an exponent shifts them."""
    if launch.reading is None and launch.bound is not None:
        return _decimals(repr(launch.bound))
    return _decimals(launch.reading.text if launch.reading is not None else "")


def _decimals(text: str) -> int:
    match = re.fullmatch(r"[+-]?[0-9]*(?:[.,](?P<after>[0-9]*))?(?:e(?P<power>[+-]?[0-9]+))?", text.lower())
    if match is None:
        return 0
    return max(0, len(match["after"] or "") - int(match["power"] or 0))


def stand_up(study: Study, rows: Sequence[PlacedLaunch], made: Sequence[int]) -> Launches:
    """Stand placed launches up as columns.

    Parameters
    ----------
    study : Study
    rows : sequence of PlacedLaunch
        At least one.
    made : sequence of int
        Numbers of all launches in the order in which they were made.

    Returns
    -------
    Launches
    """
    shared = study.design.preparations == "shared over surfaces"
    place = {number: index for index, number in enumerate(made)}
    positions = np.array([place[row.number] for row in rows])
    directions = _factor(row.direction for row in rows)
    return Launches(
        response=study.response,
        unit=study.unit,
        value=np.array([row.value for row in rows]),
        treatment=_factor(
            (row.treatment for row in rows), first=[treatment.name for treatment in study.treatments]
        ),
        surface=_factor((row.surface for row in rows), first=_met_surfaces(study, rows)),
        block=_factor(row.block for row in rows),
        item=_factor(row.item for row in rows),
        preparation=_preparations(rows, shared=shared),
        direction=directions if len(directions.labels) > 1 else _unnamed(len(rows)),
        mark=_factor(row.mark for row in rows),
        session=_factor(row.outing for row in rows),
        order=np.argsort(np.argsort(positions)).astype(np.float64),
        void=np.array([row.cause is not None for row in rows]),
        cause=tuple(row.cause or "" for row in rows),
        at_least=np.array([row.at_least for row in rows]),
        row=np.array([row.number for row in rows], dtype=np.int64),
        shared=shared,
        decimals=max(row.decimals for row in rows),
    )


def _met_surfaces(study: Study, rows: Sequence[PlacedLaunch]) -> list[str]:
    met = {row.surface for row in rows}
    return [surface.name for surface in study.surfaces if surface.name in met]


def _factor(names: Iterable[str], *, first: Iterable[str] = ()) -> Factor:
    """Code names in order of first appearance, behind those that come first."""
    codes = {name: code for code, name in enumerate(first)}
    coded = [codes.setdefault(name, len(codes)) for name in names]
    return Factor(labels=tuple(codes), codes=np.array(coded, dtype=np.int64), named=True)


def _unnamed(rows: int) -> Factor:
    return Factor(labels=("",), codes=np.zeros(rows, dtype=np.int64), named=False)


def _preparations(rows: Sequence[PlacedLaunch], *, shared: bool) -> Factor:
    """Tell preparations apart as for tables: by block, item, treatment, label, and surface if fresh."""
    codes: dict[tuple[str, ...], int] = {}
    coded = []
    for row in rows:
        key = (row.block, row.item, row.treatment, row.preparation)
        coded.append(codes.setdefault(key if shared else (row.surface, *key), len(codes)))
    return Factor(labels=tuple(key[-1] for key in codes), codes=np.array(coded, dtype=np.int64), named=True)
