"""Distances, times and speeds against closed forms, runs of the equation of motion, and what must hold."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import EvenglideError, NeverStops, OutOfRangeError
from evenglide.glide.law import DecelerationLaw, dry_friction
from evenglide.glide.position import distance_after, passage_time, speed_after, speed_at
from evenglide.glide.stopping import (
    launch_exponent,
    run_out_deceleration,
    stopping_distance,
    stopping_time,
)
from tests.glide.cases import EIGHT_DIGITS, TEN_DIGITS, law_of
from tests.reference_data import published

RUNS = published("glide/ode_runs")["cases"]
HARD = published("glide/hard_glides")["cases"]
GLIDES = [(law, launch) for law in published("glide/glides")["laws"] for launch in law["launches"]]
SPEEDS = published("glide/wind_and_load")["effective_speed_of_runout"]


def named(case: Any) -> str:
    return str(case["name"]) if isinstance(case, dict) and "name" in case else ""


# ------------------------------------------------------------------------------ values from elsewhere


@pytest.mark.parametrize("case", RUNS, ids=named)
def test_closed_forms(case: dict[str, Any]) -> None:
    law, v0 = law_of(case), case["v0"]
    assert distance_after(case["T"], launch_speed=v0, law=law) == pytest.approx(case["x_T"], rel=TEN_DIGITS)
    assert speed_after(case["T"], launch_speed=v0, law=law) == pytest.approx(case["v_T"], rel=TEN_DIGITS)
    gate = passage_time(case["X_gate"], launch_speed=v0, law=law)
    assert gate == pytest.approx(case["t_gate"], rel=TEN_DIGITS)
    if case["d_stop"] is None:
        with pytest.raises(NeverStops):
            stopping_distance(v0, law)
    else:
        assert stopping_distance(v0, law) == pytest.approx(case["d_stop"], rel=TEN_DIGITS)
    if case["t_stop"] is None:
        with pytest.raises(NeverStops):
            stopping_time(v0, law)
    else:
        assert stopping_time(v0, law) == pytest.approx(case["t_stop"], rel=TEN_DIGITS)


@pytest.mark.parametrize("case", HARD, ids=named)
def test_awkward_laws(case: dict[str, Any]) -> None:
    law, v0 = law_of(case), case["launch_speed"]
    run_out = float(case["stopping_distance"])
    assert stopping_distance(v0, law) == pytest.approx(run_out, rel=TEN_DIGITS)
    assert stopping_time(v0, law) == pytest.approx(float(case["stopping_time"]), rel=TEN_DIGITS)
    times = np.array([mark["time"] for mark in case["marks"]])
    places = np.array([float(mark["distance"]) for mark in case["marks"]])
    speeds = np.array([float(mark["speed"]) for mark in case["marks"]])
    # Near rest a speed is a small difference of times, so it is held relative to launch speed.
    assert speed_after(times, launch_speed=v0, law=law) == pytest.approx(
        speeds, rel=TEN_DIGITS, abs=1e-12 * v0
    )
    assert distance_after(times, launch_speed=v0, law=law) == pytest.approx(places, rel=TEN_DIGITS)


@pytest.mark.parametrize(("case", "launch"), GLIDES, ids=named)
def test_runs_of_the_equation_of_motion(case: dict[str, Any], launch: dict[str, Any]) -> None:
    law, v0 = law_of(case), launch["v0"]
    assert stopping_distance(v0, law) == pytest.approx(launch["runout"], rel=EIGHT_DIGITS)
    assert stopping_time(v0, law) == pytest.approx(launch["t_stop"], rel=EIGHT_DIGITS)
    gates = passage_time(launch["gates_x"], launch_speed=v0, law=law)
    assert gates == pytest.approx(np.array(launch["gates_t"]), rel=EIGHT_DIGITS)
    path = distance_after(launch["track_t"], launch_speed=v0, law=law)
    assert path == pytest.approx(np.array(launch["track_x"]), rel=EIGHT_DIGITS, abs=EIGHT_DIGITS)
    assert launch_exponent(v0, law) == pytest.approx(launch["exponent_dlnd_dlnv0"], rel=1e-6)


@pytest.mark.parametrize("case", SPEEDS, ids=lambda case: f"{case['c0']}-{case['v0']}")
def test_deceleration_that_a_run_out_sees(case: dict[str, Any]) -> None:
    distance = stopping_distance(case["v0"], law_of(case))
    assert distance == pytest.approx(case["runout"], rel=TEN_DIGITS)
    assert run_out_deceleration(case["v0"], distance) == pytest.approx(case["a_eff"], rel=TEN_DIGITS)


# ---------------------------------------------------------------------------- limits and exact cases


def test_dry_friction() -> None:
    law, v0 = dry_friction(0.05), np.array([0.0, 1.0, 3.0])
    assert stopping_distance(v0, law) == pytest.approx(v0**2 / (2 * law.c0), rel=1e-15)
    assert stopping_time(v0, law) == pytest.approx(v0 / law.c0, rel=1e-15)
    assert distance_after(2.0, launch_speed=3.0, law=law) == pytest.approx(6.0 - 2.0 * law.c0, rel=1e-15)


@pytest.mark.parametrize("small", [1e-6, 1e-9, 1e-13, 0.0])
def test_small_terms_vanish_smoothly(small: float) -> None:
    """First order of the expansion in c1 and c2; the second is of the order of small squared."""
    c0, v0 = 0.5, 3.0
    p, q = small * v0 / c0, small * v0**2 / c0
    expected = v0**2 / (2 * c0) * (1 - 2 * p / 3 - q / 2)
    d = stopping_distance(v0, DecelerationLaw(c0=c0, c1=small, c2=small))
    assert d == pytest.approx(expected, rel=20 * small**2 * v0**4 / c0**2 + 1e-15)


def test_a_film_alone_is_approached_and_never_passed() -> None:
    law = DecelerationLaw(c1=0.4)
    assert stopping_distance(3.0, law) == pytest.approx(7.5, rel=1e-14)
    assert distance_after(200.0, launch_speed=3.0, law=law) == pytest.approx(7.5, rel=1e-12)
    assert np.isnan(speed_at(7.6, launch_speed=3.0, law=law))


def test_after_the_stop_nothing_moves() -> None:
    law = DecelerationLaw(c0=0.785, c1=0.2, c2=0.05)
    assert speed_after([2.5, 2.6, 60.0], launch_speed=3.0, law=law)[1:] == pytest.approx([0.0, 0.0], abs=0)
    end = distance_after(60.0, launch_speed=3.0, law=law)
    assert end == stopping_distance(3.0, law)


def test_places_beyond_the_stop_are_not_passed() -> None:
    law = DecelerationLaw(c0=0.5)
    assert np.isnan(passage_time([8.9, 9.1], launch_speed=3.0, law=law)).tolist() == [False, True]
    assert speed_at(9.0, launch_speed=3.0, law=law) == pytest.approx(0.0, abs=1e-7)


def test_laws_and_speeds_are_broadcast() -> None:
    laws = DecelerationLaw(c0=np.array([0.3, 0.5, 0.8])[:, None], c2=0.02)
    speeds = np.array([2.0, 3.0])
    together = distance_after(1.2, launch_speed=speeds, law=laws)
    alone = [
        [float(distance_after(1.2, launch_speed=v0, law=DecelerationLaw(c0=c0, c2=0.02))) for v0 in speeds]
        for c0 in (0.3, 0.5, 0.8)
    ]
    assert together == pytest.approx(np.array(alone), rel=1e-14)


# ----------------------------------------------------------------------------------------------- laws

terms = st.floats(0.0, 2.0, allow_subnormal=False)
laws = st.builds(DecelerationLaw, c0=st.floats(1e-3, 5.0), c1=terms, c2=terms)
speeds = st.floats(0.1, 8.0)


@given(law=laws, v0=speeds, length=st.floats(0.1, 10.0), time=st.floats(0.1, 10.0))
def test_units_of_length_and_time_do_not_matter(
    law: DecelerationLaw, v0: float, length: float, time: float
) -> None:
    other = DecelerationLaw(c0=law.c0 * length / time**2, c1=law.c1 / time, c2=law.c2 / length)
    there = stopping_distance(v0 * length / time, other)
    assert there == pytest.approx(float(stopping_distance(v0, law)) * length, rel=TEN_DIGITS)
    then = stopping_time(v0 * length / time, other)
    assert then == pytest.approx(float(stopping_time(v0, law)) * time, rel=TEN_DIGITS)


@given(law=laws, v0=speeds, more=st.floats(1.001, 2.0))
def test_a_faster_launch_goes_farther_by_at_most_its_square(
    law: DecelerationLaw, v0: float, more: float
) -> None:
    ratio = stopping_distance(v0 * more, law) / stopping_distance(v0, law)
    assert 1.0 < ratio <= more**2 * (1 + TEN_DIGITS)


@given(law=laws, v0=speeds, factor=st.floats(0.1, 10.0))
def test_scaling_all_terms_divides_the_run_out(law: DecelerationLaw, v0: float, factor: float) -> None:
    scaled = stopping_distance(v0, law.scaled(factor))
    assert scaled * factor == pytest.approx(float(stopping_distance(v0, law)), rel=TEN_DIGITS)


@given(law=laws, v0=speeds, share=st.floats(0.01, 0.99))
def test_time_place_and_speed_agree(law: DecelerationLaw, v0: float, share: float) -> None:
    time = share * stopping_time(v0, law)
    place = distance_after(time, launch_speed=v0, law=law)
    assert passage_time(place, launch_speed=v0, law=law) == pytest.approx(float(time), rel=EIGHT_DIGITS)
    speed = speed_after(time, launch_speed=v0, law=law)
    assert speed_at(place, launch_speed=v0, law=law) == pytest.approx(float(speed), rel=1e-6, abs=1e-7)
    rest = stopping_distance(speed, law)
    assert place + rest == pytest.approx(float(stopping_distance(v0, law)), rel=TEN_DIGITS)


# -------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("law", "v0"),
    [
        (DecelerationLaw(c0=-0.1), 3.0),
        (DecelerationLaw(c0=0.0), 3.0),
        (DecelerationLaw(c2=0.3), 3.0),
        (DecelerationLaw(c0=0.3, c1=-0.1), 3.0),
        (DecelerationLaw(c0=0.25, c1=-0.5, c2=0.2), 3.0),
        (DecelerationLaw(c0=0.5, c1=np.array([0.1, -0.3])), 3.0),
    ],
)
def test_what_never_stops_is_refused(law: DecelerationLaw, v0: float) -> None:
    with pytest.raises(NeverStops) as caught:
        stopping_distance(v0, law)
    assert isinstance(caught.value, EvenglideError)
    assert isinstance(caught.value, ValueError)
    (problem,) = caught.value.problems
    assert problem.code == "never-stops"
    assert "from 3 m/s" in problem.found


def test_a_law_that_turns_only_beyond_the_launch_speed_is_fine() -> None:
    law = DecelerationLaw(c0=0.3, c1=-0.1)
    assert stopping_distance(2.9, law) > stopping_distance(2.8, law)
    with pytest.raises(NeverStops):
        stopping_distance(3.0, law)


def test_a_law_without_dry_friction_takes_for_ever() -> None:
    with pytest.raises(NeverStops):
        stopping_time(3.0, DecelerationLaw(c1=0.2))


@pytest.mark.parametrize("wrong", [-0.1, np.nan, np.inf])
def test_impossible_numbers_are_refused(wrong: float) -> None:
    law = DecelerationLaw(c0=0.5)
    with pytest.raises(OutOfRangeError, match="launch_speed"):
        stopping_distance(wrong, law)
    with pytest.raises(OutOfRangeError, match="time"):
        distance_after(wrong, launch_speed=3.0, law=law)
    with pytest.raises(OutOfRangeError, match="distance"):
        passage_time([1.0, wrong], launch_speed=3.0, law=law)
    if wrong != -0.1:
        with pytest.raises(OutOfRangeError, match="c1"):
            DecelerationLaw(c1=wrong)
    with pytest.raises(ValueError, match="distance"):
        run_out_deceleration(3.0, [1.0, 0.0])
    with pytest.raises(ValueError, match="launch_speed"):
        launch_exponent(0.0, law)
