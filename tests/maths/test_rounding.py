"""The step of readings: exact cases and laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.maths.rounding import reading_step

COUNTS = st.lists(st.integers(-5000, 5000), min_size=1, max_size=20)


@pytest.mark.parametrize(
    ("values", "decimals", "step"),
    [
        ([4.25, 3.10, 3.85], 2, 0.05),
        ([0.1, 0.2, 0.3, 0.7], 1, 0.1),
        ([2.30, 1.07, 4.4], 2, 0.01),
        ([7.5, -2.5, 0.0], 1, 2.5),
        ([120.0, 80.0], 0, 40.0),
        ([1200.0, 800.0], -2, 400.0),
        ([3.0], 3, 3.0),
        ([1e9 + 0.25, 0.5], 2, 0.25),
    ],
)
def test_known_steps(values: list[float], decimals: int, step: float) -> None:
    assert reading_step(np.array(values), decimals) == step


@pytest.mark.parametrize("values", [[], [0.0, 0.0]])
def test_no_reading_no_step(values: list[float]) -> None:
    assert reading_step(np.array(values), 2) is None


@pytest.mark.parametrize("value", [0.125, np.nan, np.inf])
def test_readings_finer_than_said_are_refused(value: float) -> None:
    with pytest.raises(ValueError, match="a reading is"):
        reading_step(np.array([0.5, value]), 2)


@given(COUNTS, st.sampled_from([1, 2, 5, 10, 25]), st.integers(0, 3))
def test_every_reading_is_a_multiple_and_no_larger_step_will_do(
    counts: list[int], grid: int, decimals: int
) -> None:
    values = np.array([float(f"{count * grid}e-{decimals}") for count in counts])
    step = reading_step(values, decimals)
    if step is None:
        assert not values.any()
        return
    multiples = [round(value / step) for value in values]
    np.testing.assert_allclose(np.array(multiples) * step, values, rtol=1e-12)
    assert np.gcd.reduce(multiples) == 1
    assert round(step * 10**decimals) % grid == 0


@given(COUNTS, st.integers(-5000, 5000))
def test_a_further_reading_makes_the_step_no_larger(counts: list[int], more: int) -> None:
    first = reading_step(np.array(counts, dtype=float), 0)
    both = reading_step(np.array([*counts, more], dtype=float), 0)
    if first is not None:
        assert both is not None
        assert both <= first
