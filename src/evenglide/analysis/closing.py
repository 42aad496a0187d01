"""What would close an open question: rounds of a new sealed study, at the scatter met here."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.maths.chance import alike_chance, difference_chance, smallest_blocks
from evenglide.typing import FloatArray, IntArray

CHANCE = 0.8
"""Chance of a conclusive answer that the number of rounds is stated for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """Smallest number of blocks for a difference claim and for an alike claim, None beyond 9,999."""

    difference_blocks: int | None
    alike_blocks: int | None


def blocks_to_close(
    case: SurfaceCase, margin: tuple[float, float], *, level: float, contrasts: int
) -> Closing | None:
    """Blocks of a new study that give an 80 % chance of a conclusive answer.

    A block is one preparation of each treatment met, launched as often as here. The scatter is the
    residual of the means test. For a difference the truth is taken to be the margin, for alike to
    be no effect at all; never what was estimated here.

    Parameters
    ----------
    case : SurfaceCase
    margin : tuple of float
        Analysis scale.
    level : float
    contrasts : int
        Number of contrasts that share the error rate.

    Returns
    -------
    Closing or None
        None without degrees of freedom or without scatter.
    """
    variance = float(case.test.fit.residual_variance[0])
    if not variance > 0:
        return None
    share, high = level / contrasts, margin[1]
    treatments = len(np.unique(case.units.treatment))
    items = 0 if case.units.item is None else len(np.unique(case.units.item)) - 1

    def design(blocks: IntArray) -> tuple[FloatArray, FloatArray]:
        levels = blocks if case.launches.block.named else 1
        df = treatments * blocks - levels - (treatments - 1) - items
        return df.astype(float), np.sqrt(2 * variance / blocks)

    def difference(df: FloatArray, se: FloatArray) -> FloatArray:
        return difference_chance(df=df, se=se, effect=high, level=share)

    def alike(df: FloatArray, se: FloatArray) -> FloatArray:
        return alike_chance(df=df, se=se, effect=0.0, margin=high, level=share)

    return Closing(
        difference_blocks=smallest_blocks(design, difference, wanted=CHANCE),
        alike_blocks=smallest_blocks(design, alike, wanted=CHANCE),
    )
