"""On which scale a table is analysed."""

from __future__ import annotations

import numpy as np

from evenglide.study.margin import Margin
from evenglide.typing import FloatArray, Scale


def decide_scale(asked: Scale | None, margin: Margin | None, valid: FloatArray) -> Scale:
    """Decide the analysis scale: as asked for, else the margin's, else ratio if all readings allow it.

    Parameters
    ----------
    asked : {"ratio", "difference"} or None
    margin : Margin or None
    valid : array of float, shape (n,)
        Readings of the launches that were not set aside.

    Returns
    -------
    {"ratio", "difference"}

    Examples
    --------
    >>> decide_scale(None, None, np.array([2.9, 3.1]))
    'ratio'
    >>> decide_scale(None, None, np.array([2.9, 0.0]))
    'difference'
    """
    return stated_scale(asked, margin) or ("ratio" if bool(np.all(valid > 0)) else "difference")


def stated_scale(asked: Scale | None, margin: Margin | None) -> Scale | None:
    """Return the scale that the options settle, or None where the readings do."""
    return asked or (margin.scale if margin else None)
