"""The scatter that a plan is judged by: stated, read from a pilot or a check of the launcher, or unknown."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.special import gammaincinv

from evenglide.analysis.case import SurfaceCase, surface_case
from evenglide.analysis.scatter import launch_variance, split_scatter
from evenglide.errors import Problem, StudyError
from evenglide.plan.beliefs import FEWEST_LAUNCH_DF, ScatterBelief, pilot_belief, rig_belief, study_belief
from evenglide.plan.results import ScatterUsed
from evenglide.readings.launches import Factor, Launches
from evenglide.study.study import Study

Kind = Literal["stated", "unknown", "pilot", "rig"]
TABLE_ENDINGS = (".csv", ".tsv", ".txt", ".xlsx")
RANGE = 0.8
"""Share of what may be true that the range of scatter holds. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundScatter:
    """What is believed of the scatter, and how that is told."""

    belief: ScatterBelief
    used: ScatterUsed


def pilot_file(study: Study) -> str | None:
    """Name of the table that a study takes its scatter from; None if it names none."""
    source = study.scatter.source
    return source if source.casefold().endswith(TABLE_ENDINGS) else None


def find_scatter(study: Study, pilot: Launches | None = None) -> FoundScatter:
    """Settle the scatter of a study.

    Parameters
    ----------
    study : Study
    pilot : Launches or None
        Launches of the table that the study names.

    Returns
    -------
    FoundScatter
        What is stated wins over the table, the table over what is usual.

    Raises
    ------
    StudyError
        If the table cannot tell the scatter, or what is stated is out of range.
    """
    stated = study.scatter
    if pilot is None:
        known = stated.preparations is not None or stated.launches is not None
        return _told(study, study_belief(study), kind="stated" if known else "unknown")
    kind, belief = _read(study, pilot)
    belief = replace(
        belief,
        preparations=belief.preparations if stated.preparations is None else stated.preparations,
        launches=belief.launches if stated.launches is None else stated.launches,
        df=belief.df if stated.as_if_from is None else float(stated.as_if_from),
    )
    return _told(study, belief, kind=kind)


def _read(study: Study, pilot: Launches) -> tuple[Kind, ScatterBelief]:
    """Read a table: as a check of the launcher if it holds one preparation, else as a pilot."""
    one_treatment = len(pilot.treatment.labels) == 1
    if one_treatment:  # rounds of one preparation each would leave nothing to compare
        pilot = replace(pilot, block=_no_factor(pilot))
    cases = [surface_case(pilot, surface, scale=study.scale) for surface in range(len(pilot.surface.labels))]
    splits = [split for case in cases if (split := split_scatter(case)) is not None]
    voids = study.expected_voids or 0.0
    if splits or not one_treatment:
        return "pilot", pilot_belief(splits, voids=voids)
    return "rig", rig_belief(_launches_only(cases), voids=voids)


def _launches_only(cases: list[SurfaceCase]) -> float:
    """SD between launches of one preparation, over all surfaces."""
    found = [(variance, df) for variance, df in map(launch_variance, cases) if variance is not None]
    degrees = sum(df for _, df in found)
    if degrees < FEWEST_LAUNCH_DF:
        raise StudyError([_too_few(degrees + len(cases))])
    return math.sqrt(sum(variance * df for variance, df in found) / degrees)


def _no_factor(launches: Launches) -> Factor:
    codes = np.zeros(len(launches.value), dtype=np.int64)
    return Factor(labels=("",), codes=codes, named=False)


def _told(study: Study, belief: ScatterBelief, *, kind: Kind) -> FoundScatter:
    stated = study.scatter
    assumed = {
        "preparations": stated.preparations is None and kind != "pilot",
        "launches": stated.launches is None and kind in {"stated", "unknown"},
        "worth": stated.as_if_from is None and kind != "pilot",
    }
    low, high = _range(belief)
    used = ScatterUsed(
        source=kind,
        file=pilot_file(study),
        preparations=belief.preparations,
        launches=belief.launches,
        worth=belief.df,
        low=low,
        high=high,
        below_nought=belief.shown_preparations_variance is not None,
        assumed=tuple(name for name, missing in assumed.items() if missing),
    )
    return FoundScatter(belief=belief, used=used)


def _range(belief: ScatterBelief) -> tuple[float | None, float | None]:
    """Range that holds the SD between preparations in four of five cases: nu s^2 / chi^2."""
    if belief.df is None:
        return None, None
    tail = (1 - RANGE) / 2
    low, high = (2 * float(gammaincinv(belief.df / 2, share)) for share in (1 - tail, tail))
    least, most = (belief.preparations * math.sqrt(belief.df / chi2) for chi2 in (low, high))
    return least, most


def _too_few(launches: int) -> Problem:
    return Problem(
        code="one-launch",
        where="scatter.from",
        found=f"a check of the launcher with {launches} launches",
        expected=f"at least {FEWEST_LAUNCH_DF + 1} launches of one preparation",
        remedy="Launch it more often, or state the scatter of launches.",
    )
