"""Joint randomisation test of shared preparations: one draw served all surfaces."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.estimates import in_blocks_holding_both
from evenglide.maths.joint_randomisation import JointRandomisationTest, joint_randomisation_test


def joint_randomisation(cases: Sequence[SurfaceCase], treatment: int) -> JointRandomisationTest | None:
    """Compare the largest t, in size, over surfaces with what other draws of the order would have given.

    Parameters
    ----------
    cases : sequence of SurfaceCase
        All surfaces that the preparations served.
    treatment : int
        Code, against the reference.

    Returns
    -------
    JointRandomisationTest or None
        None where no surface gives a test.
    """
    pairs = [case.units.take(in_blocks_holding_both(case.units, treatment)) for case in cases]
    pairs = [pair for pair in pairs if pair.value.size]
    if not pairs:
        return None
    preparation = np.concatenate([pair.preparation for pair in pairs])
    union, first = np.unique(preparation, return_index=True)
    y = np.full((len(pairs), len(union)), np.nan)
    for row, pair in zip(y, pairs, strict=True):
        row[np.searchsorted(union, pair.preparation)] = pair.value
    block = np.concatenate([pair.block for pair in pairs])[first]
    treated = np.concatenate([pair.treatment for pair in pairs])[first] == treatment
    item = None
    if all(pair.item is not None for pair in pairs):
        item = np.concatenate([pair.item for pair in pairs if pair.item is not None])[first]
    return joint_randomisation_test(y, treated, block=block, item=item)
