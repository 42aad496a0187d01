"""Laws and comparisons that the tests of the glide room share."""

from __future__ import annotations

from typing import Any

from evenglide.glide.law import DecelerationLaw

TEN_DIGITS = 1e-10
"""What quadrature in speed is held to against closed forms."""
EIGHT_DIGITS = 1e-8
"""What a numerical run of the equation of motion is good for."""


def law_of(case: dict[str, Any]) -> DecelerationLaw:
    """Law of a reference case."""
    return DecelerationLaw(c0=case["c0"], c1=case["c1"], c2=case["c2"])
