"""Whether what an answer says is true, where the truth is known.

=====================  =============================================  =====================================
the effect is          right                                          wrong
=====================  =============================================  =====================================
none                   no difference that matters                     farther, shorter
short of what matters  its direction, or no difference that matters   the other direction; that it matters
what matters, or more  its direction                                  the other direction; no difference
                                                                      that matters, or too small to matter
=====================  =============================================  =====================================

Too close to call is open, whatever is true. Both halves of an answer count: "farther, but by too little to
matter" is wrong where the effect is exactly what matters.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.typing import BoolArray, IntArray

OPEN, HIGHER, LOWER, ALIKE = range(4)
"""Codes of verdicts."""
UNSETTLED, SMALL, MATTERS = range(3)
"""Codes of sizes."""
WITHIN = 1e-12
"""Effects this near to the margin are exactly the margin."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcomes:
    """Which answers are right and which are wrong; all others are open.

    Parameters
    ----------
    right, wrong : array of bool, shape (studies,)
    """

    right: BoolArray
    wrong: BoolArray


def outcomes(
    verdict: IntArray, size: IntArray, *, effect: float, margin: tuple[float, float] | None
) -> Outcomes:
    """Hold the answers to one comparison against the truth.

    Parameters
    ----------
    verdict, size : array of int, shape (studies,)
        Codes; `UNSETTLED` throughout where there is no margin.
    effect : float
        Truth, analysis scale.
    margin : tuple of float or None
        Low and high end of what does not matter.

    Returns
    -------
    Outcomes
    """
    wrong = ((verdict == HIGHER) & (effect <= WITHIN)) | ((verdict == LOWER) & (effect >= -WITHIN))
    if margin is not None:
        matters = effect >= margin[1] - WITHIN or effect <= margin[0] + WITHIN
        wrong |= (size == (SMALL if matters else MATTERS)) | ((verdict == ALIKE) & matters)
    return Outcomes(right=np.asarray((verdict != OPEN) & ~wrong), wrong=np.asarray(wrong))
