"""Claims of simulated studies of a layout, counted over its families, and averages with their error."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenglide.maths.counted_claims import counted_claims
from evenglide.maths.family_chance import FamilyChances, levels_looked_at
from evenglide.plan.averages import Averages
from evenglide.plan.designs import LayoutDesign
from evenglide.typing import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Claims of every comparison in every study, shape (comparisons, studies) each."""

    difference: BoolArray
    alike: BoolArray
    matters: BoolArray

    @property
    def conclusive(self) -> BoolArray:
        """A difference or alike."""
        return self.difference | self.alike


def counted_families(
    layout: LayoutDesign,
    rows: Mapping[int, list[int]],
    estimate: FloatArray,
    *,
    error: FloatArray,
    df: IntArray,
    margin: FloatArray,
) -> Counted:
    """Decide the claims of every family.

    Parameters
    ----------
    layout : LayoutDesign
    rows : mapping of int to list of int
        Comparisons of each family.
    estimate, error, df : array, shape (comparisons, studies)
    margin : array of float, shape (comparisons,)

    Returns
    -------
    Counted
    """
    kinds = np.zeros((3, *estimate.shape), dtype=bool)
    for mine in rows.values():
        levels = levels_looked_at(layout.level, len(mine), layout.adjust)
        found = counted_claims(estimate[mine], error[mine], df[mine], margin=margin[mine], levels=levels)
        kinds[:, mine] = found.difference, found.alike, found.matters
    return Counted(difference=kinds[0], alike=kinds[1], matters=kinds[2])


def as_chances(counted: Counted, rows: Mapping[int, list[int]], *, either: bool) -> FamilyChances:
    """Write counted claims as chances of 0 and 1, studies in place of plans.

    Parameters
    ----------
    counted : Counted
    rows : mapping of int to list of int
    either : bool

    Returns
    -------
    FamilyChances
    """
    difference, alike = counted.difference.astype(np.float64), counted.alike.astype(np.float64)
    found = FamilyChances(
        difference=difference,
        alike=alike,
        matters=counted.matters.astype(np.float64),
        conclusive=None,
        all_difference=difference.min(axis=0),
        any_difference=difference.max(axis=0),
        all_alike=alike.min(axis=0),
        any_alike=alike.max(axis=0),
        all_conclusive=None,
        any_conclusive=None,
        family_conclusive=None,
    )
    return with_either(found, counted, rows) if either else found


def with_either(found: FamilyChances, counted: Counted, rows: Mapping[int, list[int]]) -> FamilyChances:
    """Add the chances of a verdict of either kind.

    Only what the two kinds do together is counted; what each does alone comes from `found`, which is
    steadier.

    Parameters
    ----------
    found : FamilyChances
    counted : Counted
        Of the same studies.
    rows : mapping of int to list of int

    Returns
    -------
    FamilyChances
    """
    one, other, both = (
        kind.astype(np.float64) for kind in (counted.difference, counted.alike, counted.conclusive)
    )
    some = both.max(axis=0) - one.max(axis=0) - other.max(axis=0)
    every = both.min(axis=0) - one.min(axis=0) - other.min(axis=0)
    return replace(
        found,
        conclusive=found.difference + found.alike + (both - one - other),
        all_conclusive=found.all_difference + found.all_alike + every,
        any_conclusive=found.any_difference + found.any_alike + some,
        family_conclusive={name: np.asarray(both[mine].min(axis=0)) for name, mine in rows.items()},
    )


def averaged(found: Sequence[FamilyChances], groups: Sequence[list[int]]) -> tuple[Averages, float]:
    """Averages over studies, effect by effect, and the largest Monte Carlo standard error.

    Parameters
    ----------
    found : sequence of FamilyChances
        One for each effect, studies in place of plans.
    groups : sequence of list of int
        Comparisons that are alike: each gets the mean of its group.

    Returns
    -------
    averages : Averages
    error : float
    """
    errors = [0.0]

    def mean(values: Sequence[FloatArray]) -> FloatArray:
        stacked = np.stack(values, axis=-1)
        errors.append(float(stacked.std(axis=-2, ddof=1).max()) / stacked.shape[-2] ** 0.5)
        return np.asarray(np.clip(stacked.mean(axis=-2), 0.0, 1.0))

    def known(values: Sequence[FloatArray | None]) -> FloatArray | None:
        there = [one for one in values if one is not None]
        return mean(there) if len(there) == len(values) else None

    def evened(values: FloatArray) -> FloatArray:
        out = np.empty_like(values)
        for group in groups:
            out[group] = values[group].mean(axis=0)
        return out

    verdicts = [one.conclusive for one in found if one.conclusive is not None]
    averages = Averages(
        difference=mean([evened(one.difference) for one in found]),
        alike=mean([evened(one.alike) for one in found]),
        matters=mean([evened(one.matters) for one in found]),
        conclusive=mean([evened(one) for one in verdicts]) if verdicts else None,
        all_difference=mean([one.all_difference for one in found]),
        any_difference=mean([one.any_difference for one in found]),
        all_alike=mean([one.all_alike for one in found]),
        all_conclusive=known([one.all_conclusive for one in found]),
        any_conclusive=known([one.any_conclusive for one in found]),
        main_conclusive=known([(one.family_conclusive or {}).get(1) for one in found]),
    )
    return averages, max(errors)
