"""Answers to many rehearsed studies at once, by the functions that answer one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from evenglide.analysis.batch import BatchJudge
from evenglide.rehearsal.outcomes import OPEN, UNSETTLED
from evenglide.rehearsal.staging import Stage
from evenglide.study.study import Study
from evenglide.typing import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """Verdicts and sizes of every comparison of a study, surface by surface, treatment by treatment.

    Parameters
    ----------
    verdict, size : array of int, shape (comparisons, studies)
        Codes of `outcomes`; a comparison without launches is open.
    """

    verdict: IntArray
    size: IntArray


Judge = Callable[[FloatArray, BoolArray | None], Judged]
"""From readings and launches set aside, shape (launches that count, studies), to verdicts."""


def comparisons_of(study: Study) -> tuple[tuple[str, str], ...]:
    """Surface and treatment of every comparison, in the order in which they are counted."""
    return tuple(
        (surface.name, treatment.name) for surface in study.surfaces for treatment in study.treatments[1:]
    )


def batch_judge(stage: Stage) -> Judge:
    """Make the judge of a stage; its designs are prepared once.

    Parameters
    ----------
    stage : Stage

    Returns
    -------
    callable
    """
    judge = BatchJudge(stage.launches, stage.rule)
    surfaces, treatments = stage.launches.surface.labels, stage.launches.treatment.labels
    place = {key: at for at, key in enumerate(comparisons_of(stage.study))}
    rows = [place[surfaces[s], treatments[t]] for s, t in zip(judge.surface, judge.treatment, strict=True)]

    def judged(readings: FloatArray, void: BoolArray | None) -> Judged:
        found = judge.judge(readings, void)
        verdict = np.full((len(place), readings.shape[1]), OPEN)
        size = np.full_like(verdict, UNSETTLED)
        verdict[rows], size[rows] = found.verdict, np.maximum(found.size, UNSETTLED)
        return Judged(verdict=verdict, size=size)

    return judged
