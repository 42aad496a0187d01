"""Names for the array types that pass between rooms."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

Scale = Literal["ratio", "difference"]
Adjust = Literal["holm", "both", "none"]
Verdict = Literal["higher", "lower", "alike", "open"]
Size = Literal["matters", "small", "unsettled"]
Severity = Literal["limits", "warns", "fine"]
Interval = tuple[float | None, float | None]
