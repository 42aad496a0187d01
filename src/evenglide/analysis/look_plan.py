"""Half-way checks as the seal fixes them: after which rounds, with how much information, by which bounds.

A check at a part t of the preparations is made after the first rounds that hold that part on a surface.
Everything here follows from study and list of launches alone, so it is known before the first launch and
does not change with what was measured. The level is spent by the share of preparations; how far the looks
hang together, and their degrees of freedom, are those of the planned design with its rounds and items. A
preparation that is lost costs degrees of freedom in the t statistic of its looks, which is then held to the
same nominal level.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from evenglide.analysis.case import surface_case
from evenglide.errors import Problem
from evenglide.maths.looks import LookTable, look_table
from evenglide.readings.from_schedule import planned_launches
from evenglide.readings.launches import Launches
from evenglide.readings.subset import launches_in_rows
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study

FEWEST_DF = 2
"""Of the first look."""
ROUNDING = 1e-9
GROWTH = 1.01
"""Least ratio of information from one look to the next that bounds can be worked out for."""

Key = tuple[str, str]
"""Names of a surface and a treatment."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceLooks:
    """The looks at one surface.

    Parameters
    ----------
    rounds : tuple of int
        Rounds that each look rests on.
    of_rounds : int
    preparations : tuple of int
        Preparations that each look rests on.
    launches : tuple of frozenset of int
        Numbers of the launches that each look rests on; the last has all of them.
    fractions : tuple of float
        Share of the planned preparations at each look. [1]
    """

    rounds: tuple[int, ...]
    of_rounds: int
    preparations: tuple[int, ...]
    launches: tuple[frozenset[int], ...]
    fractions: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LookPlan:
    """All looks of a study, the one at the end included.

    Parameters
    ----------
    number : int
    surfaces : mapping of str to SurfaceLooks
        Surfaces on which launches are planned.
    df, information : mapping of (str, str) to tuple of float
        Of a treatment on a surface at each look, as planned: degrees of freedom, and residual variance over
        the variance of the estimate. [1]
    dropped : tuple of Problem
        Looks that the study states and that this plan cannot have; they are not among `number`.
    """

    number: int
    surfaces: Mapping[str, SurfaceLooks]
    df: Mapping[Key, tuple[float, ...]]
    information: Mapping[Key, tuple[float, ...]]
    dropped: tuple[Problem, ...]

    def tables(self, key: Key) -> tuple[LookTable, LookTable]:
        """Bounds of a comparison: one-sided, two-sided."""
        looks, held = self.surfaces[key[0]], self.information[key]
        return _tables(looks.fractions, self.df[key], held)

    def tables_ended(self, key: Key, reached: int, *, df: float, share: float) -> tuple[LookTable, LookTable]:
        """Bounds where the data ended early: the looks reached as planned, then all that is left at once.

        Parameters
        ----------
        key : (str, str)
        reached : int
            Planned looks that were reached, fewer than all.
        df : float
            Degrees of freedom of all data.
        share : float
            Share of the planned preparations that they hold; above that of the last look reached. [1]
        """
        fractions, held = self.surfaces[key[0]].fractions, self.information[key]
        return _tables(
            (*fractions[:reached], 1.0),
            (*self.df[key][:reached], max(df, *self.df[key][:reached], 1.0)),
            (*held[:reached], held[-1] * share),
        )


def _tables(
    fractions: Sequence[float], df: Sequence[float], information: Sequence[float]
) -> tuple[LookTable, LookTable]:
    grows = all(late > GROWTH * early for early, late in pairwise(information))
    held = information if grows else None
    known = [max(1.0, one) for one in df]
    return (
        look_table(fractions, known, sides=1, information=held),
        look_table(fractions, known, sides=2, information=held),
    )


def look_plan(study: Study, schedule: Schedule) -> LookPlan:
    """Lay out the looks of a study.

    Parameters
    ----------
    study : Study
    schedule : Schedule
        With at least one launch that counts.

    Returns
    -------
    LookPlan
        With one look where the study plans no other.
    """
    stated = study.looks_at or tuple((at + 1) / study.looks for at in range(study.looks))
    own: dict[str, list[ScheduledLaunch]] = {}
    for launch in schedule.launches:
        if launch.kind == "launch":
            own.setdefault(launch.surface, []).append(launch)
    launches = planned_launches(study, schedule)
    kept: list[float] = [1.0]
    dropped: list[Problem] = []
    for place in reversed(range(len(stated) - 1)):
        problem = _why_not(study, own, launches, part=stated[place], later=kept[0], place=place)
        if problem is None:
            kept.insert(0, stated[place])
        else:
            dropped.insert(0, problem)
    surfaces = {name: _surface_looks(planned, kept) for name, planned in own.items()}
    planned = {
        (name, treatment.name): _planned_test(launches, (name, treatment.name), looks)
        for name, looks in surfaces.items()
        for treatment in study.treatments[1:]
    }
    return LookPlan(
        number=len(kept),
        surfaces=surfaces,
        df={key: df for key, (df, _) in planned.items()},
        information={key: held for key, (_, held) in planned.items()},
        dropped=tuple(dropped),
    )


def check_rounds(study: Study, schedule: Schedule) -> tuple[int, ...]:
    """Rounds after which each half-way check is made, on the surface where it comes last.

    Parameters
    ----------
    study : Study
    schedule : Schedule

    Returns
    -------
    tuple of int
        Without the end; empty where no check is planned.
    """
    if study.looks == 1 or not any(launch.kind == "launch" for launch in schedule.launches):
        return ()
    plan = look_plan(study, schedule)
    return tuple(max(one.rounds[at] for one in plan.surfaces.values()) for at in range(plan.number - 1))


def _surface_looks(planned: Sequence[ScheduledLaunch], parts: Sequence[float]) -> SurfaceLooks:
    blocks = list(dict.fromkeys(launch.block for launch in planned))
    counts = [len({one.preparation for one in planned if one.block == block}) for block in blocks]
    held = np.cumsum(counts)
    rounds = tuple(int(np.searchsorted(held, part * held[-1] - ROUNDING)) + 1 for part in parts)
    return SurfaceLooks(
        rounds=rounds,
        of_rounds=len(blocks),
        preparations=tuple(int(held[one - 1]) for one in rounds),
        launches=tuple(
            frozenset(launch.number for launch in planned if launch.block in set(blocks[:one]))
            for one in rounds
        ),
        fractions=tuple(float(held[one - 1] / held[-1]) for one in rounds),
    )


def _why_not(
    study: Study,
    own: Mapping[str, Sequence[ScheduledLaunch]],
    launches: Launches,
    *,
    part: float,
    later: float,
    place: int,
) -> Problem | None:
    """Say why a plan cannot have a look: on the same round as the next one, or too early."""
    where = f"looks.at[{place}]" if study.looks_at else "looks.number"
    for name, planned in own.items():
        looks = _surface_looks(planned, (part, later))
        if looks.rounds[0] == looks.rounds[1]:
            return Problem(
                code="looks-on-one-round",
                where=where,
                found=f"two checks after round {looks.rounds[0]} of {looks.of_rounds} on {name}",
                expected="at most one check after each round, the last one at the end",
                remedy="Plan more rounds, or fewer checks.",
            )
        for treatment in study.treatments[1:]:
            df = _planned_test(launches, (name, treatment.name), looks)[0][0]
            if df < FEWEST_DF:
                return _too_early(where, looks, on=name, df=df)
    return None


def _too_early(where: str, looks: SurfaceLooks, *, on: str, df: float) -> Problem:
    """Tell a check with too few rounds, or before the treatments have changed places."""
    lack, remedy = f"{df:.0f} degrees of freedom", "Make the first check later, or plan none."
    if df == 0:
        lack = "no way yet to tell the treatment from its gear"
        remedy = "Make the first check later, or draw another order: evenglide plan with another --seed."
    return Problem(
        code="look-too-early",
        where=where,
        found=f"a check after {looks.rounds[0]} of {looks.of_rounds} rounds on {on}, with {lack}",
        expected=f"at least {FEWEST_DF} degrees of freedom at every check: four rounds of two pieces in turn",
        remedy=remedy,
    )


def _planned_test(
    launches: Launches, key: Key, looks: SurfaceLooks
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Degrees of freedom and information of a comparison at each look; 0 where it does not exist yet."""
    made = replace(launches, value=np.exp(np.sin(np.arange(1.0, len(launches.value) + 1.0) ** 2)))
    code, treated = launches.surface.labels.index(key[0]), launches.treatment.labels.index(key[1])
    found = []
    for numbers in looks.launches:
        test = surface_case(launches_in_rows(made, numbers), code, scale="ratio").test
        estimate = test.contrast(treated)
        if estimate.se is None or estimate.df is None:
            found.append((0.0, 0.0))
        else:
            found.append((estimate.df, float(test.fit.residual_variance[0]) / estimate.se**2))
    df, information = np.maximum.accumulate(found, axis=0).T.tolist()
    return tuple(df), tuple(information)
