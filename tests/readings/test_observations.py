"""The value of a preparation: means, two directions, what has no value."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.readings.observations import observe
from tests.tables import rows, take_in

TWELVE_DIGITS = 1e-12
G = 9.80665


def two_way(out: list[float], back: list[float], *, mark: str, scale: str) -> float:
    """Value of one preparation launched both ways, on the analysis scale."""
    lines = [*((y, "wax", "p", "out", mark) for y in out), *((y, "wax", "p", "back", mark) for y in back)]
    lines += [(y, "bare", "q", way, mark) for y in (1.0, 2.0) for way in ("out", "back")]
    intake = take_in(rows("response treatment preparation direction mark", lines), scale=scale)
    found = observe(intake.launches, 0, scale=intake.scale)
    return float(found.value[0] + found.origin)


def test_run_outs_average_decelerations_so_a_slope_drops_out() -> None:
    # Constant friction mu on a slope: v0^2/(2 d) = g (mu cos th +- sin th), so the two-way value is
    # the level one up to cos th (Brede 1990, USGA Green Section Record 28(6), 10-12).
    v0, mu, slope = 3.0, 0.10, np.radians(1.0)
    level = v0**2 / (2 * G * mu)
    up, down = (v0**2 / (2 * G * (mu * np.cos(slope) + sign * np.sin(slope))) for sign in (1, -1))
    assert up < level < down
    assert np.exp(two_way([up], [down], mark="run-out", scale="ratio")) == pytest.approx(
        level / np.cos(slope), rel=TWELVE_DIGITS
    )
    assert two_way([up], [down], mark="run-out", scale="difference") == pytest.approx(
        level / np.cos(slope), rel=TWELVE_DIGITS
    )


def test_timed_marks_average_distances() -> None:
    out, back = [2.0, 4.0], [5.0, 6.0]
    assert two_way(out, back, mark="timed mark", scale="difference") == pytest.approx(
        (3.0 + 5.5) / 2, rel=TWELVE_DIGITS
    )
    assert two_way(out, back, mark="timed mark", scale="ratio") == pytest.approx(
        np.log((3.0 + 5.5) / 2), rel=TWELVE_DIGITS
    )


def test_other_marks_average_on_the_scale() -> None:
    assert two_way([2.0], [8.0], mark="number", scale="ratio") == pytest.approx(
        np.log(4.0), rel=TWELVE_DIGITS
    )
    assert two_way([2.0], [8.0], mark="number", scale="difference") == pytest.approx(5.0, rel=TWELVE_DIGITS)


def test_unequal_numbers_of_launches_keep_equal_weight_of_directions() -> None:
    many = two_way([2.0, 2.0, 2.0, 2.0], [8.0], mark="run-out", scale="ratio")
    assert many == pytest.approx(two_way([2.0], [8.0], mark="run-out", scale="ratio"), rel=TWELVE_DIGITS)


def test_a_preparation_that_lacks_a_direction_has_no_value() -> None:
    lines = [
        (1.0, "bare", "p", "out"), (1.1, "bare", "p", "back"),
        (1.2, "wax", "q", "out"), (1.3, "wax", "q", "out"),
        (1.4, "wax", "r", "out"), (1.5, "wax", "r", "back"),
    ]  # fmt: skip
    found = observe(
        take_in(rows("response treatment preparation direction", lines)).launches, 0, scale="ratio"
    )
    assert len(found.value) == 2
    assert found.one_direction.tolist() == found.without_value.tolist() == [1]


def test_voids_leave_the_value_and_an_empty_preparation_leaves_the_analysis() -> None:
    lines = [
        (1.0, "bare", "p", ""), (9.0, "bare", "p", "rig moved"),
        ("", "wax", "q", "nose under"), (2.0, "wax", "r", ""),
    ]  # fmt: skip
    found = observe(
        take_in(rows("response treatment preparation void", lines)).launches, 0, scale="difference"
    )
    assert (found.value + found.origin).tolist() == [1.0, 2.0]
    assert found.without_value.tolist() == [1]
    assert not found.one_direction.size


@given(st.lists(st.floats(0.1, 100), min_size=1, max_size=6))
def test_one_direction_is_the_mean_of_logarithms(values: list[float]) -> None:
    lines = [*((y, "wax", "p") for y in values), (1.0, "bare", "q")]
    found = observe(take_in(rows("response treatment preparation", lines)).launches, 0, scale="ratio")
    assert found.value[0] == pytest.approx(np.log(values).mean(), rel=TWELVE_DIGITS, abs=TWELVE_DIGITS)


@given(st.floats(0.5, 20), st.floats(0.5, 20))
def test_both_scales_agree_on_the_two_way_run_out(out: float, back: float) -> None:
    ratio = two_way([out], [back], mark="run-out", scale="ratio")
    assert np.exp(ratio) == pytest.approx(
        two_way([out], [back], mark="run-out", scale="difference"), rel=1e-10
    )
