"""Counts of right, open and wrong answers, which chunks of studies add up to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.answer.rehearsed import RehearsedComparison, RehearsedFamily, RehearsedTruth, Share
from evenglide.rehearsal.judging import Judged, comparisons_of
from evenglide.rehearsal.outcomes import ALIKE, HIGHER, LOWER, outcomes
from evenglide.rehearsal.supposed import Truth, margins_of
from evenglide.study.study import Study
from evenglide.typing import IntArray

COUNTED = ("right", "open", "wrong", "higher", "lower", "alike")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """How often each outcome was met.

    Parameters
    ----------
    comparisons : array of int, shape (comparisons, 6)
        Columns in the order of `COUNTED`.
    families : array of int, shape (families, 2)
        Studies with something wrong, and with everything right.
    """

    comparisons: IntArray
    families: IntArray

    def __add__(self, other: Tally) -> Tally:
        return Tally(
            comparisons=self.comparisons + other.comparisons, families=self.families + other.families
        )


def families_of(study: Study) -> tuple[tuple[str, ...], ...]:
    """Surfaces whose comparisons share an error rate: the main one alone, then all others."""
    names = tuple(surface.name for surface in study.surfaces)
    if study.main is None:
        return (names,)
    others = tuple(name for name in names if name != study.main)
    return ((study.main,), others) if others else ((study.main,),)


def tally(study: Study, judged: Judged, *, truth: Truth) -> Tally:
    """Count outcomes under a truth.

    Parameters
    ----------
    study : Study
    judged : Judged
    truth : Truth

    Returns
    -------
    Tally
    """
    margins, rows, right, wrong = margins_of(study), [], [], []
    for at, (surface, _) in enumerate(comparisons_of(study)):
        verdict = judged.verdict[at]
        found = outcomes(verdict, judged.size[at], effect=truth.effects[surface], margin=margins[surface])
        right.append(found.right)
        wrong.append(found.wrong)
        counts = [found.right.sum(), (~found.right & ~found.wrong).sum(), found.wrong.sum()]
        rows.append([*counts, *((verdict == code).sum() for code in (HIGHER, LOWER, ALIKE))])
    families = []
    for members in families_of(study):
        mine = [at for at, (surface, _) in enumerate(comparisons_of(study)) if surface in members]
        families.append(
            [
                np.any([wrong[at] for at in mine], axis=0).sum(),
                np.all([right[at] for at in mine], axis=0).sum(),
            ]
        )
    return Tally(comparisons=np.array(rows, dtype=np.int64), families=np.array(families, dtype=np.int64))


def shares(study: Study, counted: Tally, *, truth: Truth, studies: int) -> RehearsedTruth:
    """Make shares of counts.

    Parameters
    ----------
    study : Study
    counted : Tally
    truth : Truth
    studies : int

    Returns
    -------
    RehearsedTruth
    """

    def of(row: Sequence[int] | IntArray) -> dict[str, Share]:
        return {name: Share.of(int(one), studies) for name, one in zip(COUNTED, row, strict=True)}

    return RehearsedTruth(
        truth=truth.name,
        told=truth.told,
        comparisons=tuple(
            RehearsedComparison(
                surface=surface, treatment=treatment, effect=truth.effects[surface], **of(row)
            )
            for (surface, treatment), row in zip(comparisons_of(study), counted.comparisons, strict=True)
        ),
        families=tuple(
            RehearsedFamily(
                surfaces=members,
                any_wrong=Share.of(int(row[0]), studies),
                all_right=Share.of(int(row[1]), studies),
            )
            for members, row in zip(families_of(study), counted.families, strict=True)
        ),
    )
