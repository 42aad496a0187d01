"""On which scale a table is analysed."""

from __future__ import annotations

import numpy as np
import pytest

from evenglide.intake.scale import decide_scale
from evenglide.study.margin import parse_matters


@pytest.mark.parametrize(
    ("asked", "matters", "values", "scale"),
    [
        (None, None, [1.0, 2.0], "ratio"),
        (None, None, [1.0, 0.0], "difference"),
        (None, None, [1.0, -2.0], "difference"),
        (None, "5 %", [1.0, 2.0], "ratio"),
        (None, "0.3 m", [1.0, 2.0], "difference"),
        ("difference", None, [1.0, 2.0], "difference"),
        ("ratio", None, [1.0, 2.0], "ratio"),
    ],
)
def test_option_then_margin_then_readings(asked, matters, values, scale) -> None:
    margin = None if matters is None else parse_matters(matters)
    assert decide_scale(asked, margin, np.array(values)) == scale
