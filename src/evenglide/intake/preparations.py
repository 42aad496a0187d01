"""Which launches were made on one preparation, and the order in which they were made."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenglide.intake.labels import blank_label
from evenglide.intake.remarks import Remark
from evenglide.readings.launches import Factor
from evenglide.typing import BoolArray, FloatArray, IntArray

EXAMPLES = 5


def combine(codes: Sequence[IntArray]) -> IntArray:
    """Code combinations of codes, in order of first appearance.

    Parameters
    ----------
    codes : sequence of array of int, each shape (n,)
        Not negative.

    Returns
    -------
    array of int, shape (n,)
        Equal where all of `codes` are equal; 0 upwards.

    Examples
    --------
    >>> combine([np.array([1, 0, 1, 1]), np.array([0, 0, 0, 2])])
    array([0, 1, 0, 2])
    """
    combined = np.zeros(len(codes[0]), dtype=np.int64)
    for code in codes:  # dense after each step, so that the product stays below rows squared
        pair = combined * (int(code.max(initial=0)) + 1) + code
        _, first, dense = np.unique(pair, return_index=True, return_inverse=True)
        rank = np.empty(len(first), dtype=np.int64)
        rank[np.argsort(first)] = np.arange(len(first))
        combined = rank[dense]
    return combined


def identify_preparations(label: Factor, cell: Sequence[Factor], *, surface: Factor, shared: bool) -> Factor:
    """Tell preparations apart.

    Parameters
    ----------
    label : Factor
        Column of preparation labels. Launches without one (set aside) share no preparation.
    cell : sequence of Factor
        Block, item and treatment.
    surface : Factor
    shared : bool
        One preparation serves several surfaces.

    Returns
    -------
    Factor
        A preparation is (surface, block, item, treatment, label), or the same without the surface
        if `shared`; its label stands for it, so labels repeat.
    """
    alone = np.where(blank_label(label), np.arange(1, len(label.codes) + 1), 0)
    parts = [*(factor.codes for factor in cell), label.codes, alone]
    codes = combine(parts if shared else [surface.codes, *parts])
    _, first = np.unique(codes, return_index=True)
    return Factor(labels=tuple(label.labels[code] for code in label.codes[first]), codes=codes, named=True)


def each_row_its_own(row: IntArray) -> Factor:
    """Make every launch a preparation, labelled by its row."""
    return Factor(labels=tuple(map(str, row.tolist())), codes=np.arange(len(row)), named=False)


def labels_reused(
    label: Factor, preparation: Factor, cell: Sequence[Factor], *, column: str
) -> tuple[Remark, ...]:
    """Point at labels that stand for several preparations."""
    parts = label.codes, preparation.codes
    reused = _met_with_several(*parts, labels=len(label.labels))
    within = _met_with_several(
        label.codes, combine([factor.codes for factor in cell]), labels=len(label.labels)
    )
    named = np.array([bool(name) for name in label.labels])
    if not (reused & named).any():
        return ()
    facts = {
        "column": column,
        "labels": int((reused & named).sum()),
        "over_surfaces_only": int((reused & ~within & named).sum()),
        "examples": tuple(label.labels[code] for code in np.flatnonzero(reused & named)[:EXAMPLES]),
    }
    return (Remark(code="label-reused", facts=facts),)


def _met_with_several(label: IntArray, other: IntArray, *, labels: int) -> BoolArray:
    """For each label, whether it is met with more than one value of the other codes."""
    pairs = np.unique(label * (int(other.max(initial=0)) + 1) + other)
    return np.bincount(pairs // (int(other.max(initial=0)) + 1), minlength=labels) > 1


def middle_ranks(order: FloatArray) -> FloatArray:
    """Rank numbers from 0; equal ones share the mean of their ranks, NaN stays NaN.

    Examples
    --------
    >>> middle_ranks(np.array([10.0, 30.0, 10.0, np.nan]))
    array([0.5, 2. , 0.5, nan])
    """
    ranks = np.full(len(order), np.nan)
    known = ~np.isnan(order)
    _, inverse, counts = np.unique(order[known], return_inverse=True, return_counts=True)
    ranks[known] = (np.cumsum(counts) - (counts + 1) / 2)[inverse]
    return ranks
