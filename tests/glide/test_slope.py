"""Launches up and down a slope."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from evenglide.errors import NeverStops, OutOfRangeError
from evenglide.glide.law import DecelerationLaw, dry_friction
from evenglide.glide.position import distance_after
from evenglide.glide.slope import (
    grade_from_run_outs,
    harmonic_excess,
    on_slope,
    two_way_run_out,
    two_way_timed,
)
from evenglide.glide.stopping import stopping_distance
from tests.glide.cases import TEN_DIGITS
from tests.reference_data import published

VALUES = published("glide/slope_two_way")
G = 9.80665


def level_law(case: dict[str, Any]) -> DecelerationLaw:
    """Law of a case from the p and q it states."""
    mu = np.tan(np.radians(case["slope_deg"])) / case["s"]
    c0 = mu * G
    return DecelerationLaw(c0=c0, c1=case["p"] * c0 / case["v0"], c2=case["q"] * c0 / case["v0"] ** 2)


def both_ways(law: DecelerationLaw, case: dict[str, Any]) -> tuple[float, float]:
    grade = np.radians(case["slope_deg"])
    return (
        float(stopping_distance(case["v0"], on_slope(law, grade))),
        float(stopping_distance(case["v0"], on_slope(law, -grade))),
    )


def label(case: dict[str, Any]) -> str:
    return f"{case['surface']} at {case['slope_deg']}°"


@pytest.mark.parametrize("case", VALUES["runout"], ids=label)
def test_run_outs_both_ways(case: dict[str, Any]) -> None:
    law = level_law(case)
    assert stopping_distance(case["v0"], law) == pytest.approx(case["level"], rel=TEN_DIGITS)
    up, down = both_ways(law, case)
    assert (up, down) == pytest.approx((case["up"], case["down"]), rel=TEN_DIGITS)
    assert two_way_run_out(up, down) == pytest.approx(case["harmonic"], rel=TEN_DIGITS)
    predicted = harmonic_excess(law, launch_speed=case["v0"], grade=np.radians(case["slope_deg"]))
    assert predicted == pytest.approx(case["predicted_rel_err_harmonic"], rel=1e-8)
    if case["p"] == case["q"] == 0.0:
        assert grade_from_run_outs(up, down, launch_speed=case["v0"]) == pytest.approx(
            np.radians(case["slope_deg"]), rel=TEN_DIGITS
        )


@pytest.mark.parametrize("case", VALUES["fixed_time"], ids=lambda case: f"mu {case['mu']}")
def test_timed_marks_both_ways(case: dict[str, Any]) -> None:
    grade, law = np.radians(case["slope_deg"]), dry_friction(case["mu"])
    marks = [distance_after(case["T"], launch_speed=3.0, law=on_slope(law, sign * grade)) for sign in (1, -1)]
    assert marks == pytest.approx([case["up"], case["down"]], rel=TEN_DIGITS)
    assert two_way_timed(*marks) == pytest.approx(case["arithmetic"], rel=TEN_DIGITS)
    assert abs(two_way_timed(*marks) - case["level"]) < abs(two_way_run_out(*marks) - case["level"])


@pytest.mark.parametrize("case", VALUES["launcher_on_slope"], ids=lambda case: f"mu {case['mu']}")
def test_a_launcher_lying_on_the_slope_gains_downhill(case: dict[str, Any]) -> None:
    """Values of the reference; here the pair no longer gives the level run-out."""
    grade, law = np.radians(case["slope_deg"]), dry_friction(case["mu"])
    up = stopping_distance(case["v_up"], on_slope(law, grade))
    down = stopping_distance(case["v_down"], on_slope(law, -grade))
    assert two_way_run_out(up, down) == pytest.approx(case["harmonic"], rel=TEN_DIGITS)


def test_a_grade_is_a_slope_of_dry_friction() -> None:
    slope = on_slope(dry_friction(0.1), 0.02)
    assert slope.c0 == pytest.approx(float(dry_friction(0.1, grade=0.02).c0), rel=1e-15)


def test_nothing_stops_where_the_slope_beats_friction() -> None:
    with pytest.raises(NeverStops):
        stopping_distance(3.0, on_slope(dry_friction(0.05), -0.06))


def test_wrong_pairs_are_refused() -> None:
    with pytest.raises(OutOfRangeError):
        two_way_run_out(0.0, 1.0)
    with pytest.raises(OutOfRangeError):
        grade_from_run_outs(0.01, 9.0, launch_speed=3.0)
    with pytest.raises(OutOfRangeError):
        harmonic_excess(DecelerationLaw(c1=0.2), launch_speed=3.0, grade=0.01)
