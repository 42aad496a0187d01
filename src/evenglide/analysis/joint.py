"""Joint randomisation test of shared preparations: one draw served all surfaces."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.estimates import in_blocks_holding_both
from evenglide.analysis.rule import DrawnOrder
from evenglide.maths.joint_randomisation import JointRandomisationTest, joint_randomisation_test


def joint_randomisation(
    cases: Sequence[SurfaceCase], treatment: int, *, drawn: DrawnOrder | None = None
) -> JointRandomisationTest | None:
    """Compare the largest t, in size, over surfaces with what other draws of the order would have given.

    Parameters
    ----------
    cases : sequence of SurfaceCase
        All surfaces that the preparations served.
    treatment : int
        Code, against the reference.
    drawn : DrawnOrder or None
        How a restricted order of all rounds was drawn.

    Returns
    -------
    JointRandomisationTest or None
        None where no surface gives a test, or a preparation was never drawn.
    """
    pairs = [case.units.take(in_blocks_holding_both(case.units, treatment)) for case in cases]
    pairs = [pair for pair in pairs if pair.value.size]
    if not pairs:
        return None
    union, first = np.unique(np.concatenate([pair.identity for pair in pairs]), return_index=True)
    y = np.full((len(pairs), len(union)), np.nan)
    for row, pair in zip(y, pairs, strict=True):
        row[np.searchsorted(union, pair.identity)] = pair.value
    block = np.concatenate([pair.block for pair in pairs])[first]
    treated = np.concatenate([pair.treatment for pair in pairs])[first] == treatment
    launches, item = cases[0].launches, None
    restriction = None
    if drawn is not None:
        preparation = np.concatenate([pair.preparation for pair in pairs])[first]
        restriction = drawn.rule_of([launches.preparation.labels[code] for code in preparation], treated)
        if restriction is None:
            return None
    if any(pair.item is not None for pair in pairs) and union.min() >= 0:
        item_of = np.zeros(len(launches.preparation.labels), dtype=np.int64)
        item_of[launches.preparation.codes] = launches.item.codes
        item = item_of[union]  # on a surface where rounds absorb the items, they take nothing more out
    return joint_randomisation_test(y, treated, block=block, item=item, restriction=restriction)
