"""Launch speeds, and what their spread does to distances."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from evenglide.errors import OutOfRangeError
from evenglide.glide.launcher import Bungee, Hand, Launcher, Ramp, Springs, Tow
from evenglide.glide.spread import distance_spread, largest_speed_spread, speed_reliability, spread_left
from tests.reference_data import published

VALUES = published("glide/launcher")
SPRING = VALUES["spring_example"]
RIG = Springs(
    stiffness=SPRING["k"],
    latch_stretch=SPRING["s0"],
    left_stretch=SPRING["s1"],
    carriage_mass=SPRING["m_carr"],
    spring_mass=SPRING["m_spring"],
    friction=SPRING["F_fric"],
)
FIELD = {
    "k": "stiffness",
    "s0": "latch_stretch",
    "m_carr": "carriage_mass",
    "m_spring": "spring_mass",
    "F_fric": "friction",
}


def test_springs() -> None:
    assert RIG.stored_energy() == pytest.approx(SPRING["E_net"], rel=1e-14)
    speed = RIG.launch_speed(SPRING["m_board"])
    assert speed == pytest.approx(SPRING["v0"], rel=1e-14)
    share = 0.5 * SPRING["m_board"] * speed**2 / (0.5 * SPRING["k"] * SPRING["s0"] ** 2)
    assert share == pytest.approx(SPRING["board_energy_efficiency"], rel=1e-14)
    ideal = Springs(stiffness=SPRING["k"], latch_stretch=SPRING["s0"])
    assert ideal.launch_speed(SPRING["m_board"]) == pytest.approx(
        SPRING["v0_massless_frictionless"], rel=1e-14
    )


@pytest.mark.parametrize(("name", "value"), VALUES["spring_log_sensitivities"].items())
def test_per_cent_of_speed_per_per_cent_of_each_part(name: str, value: float) -> None:
    step = 1e-5

    def speed(factor: float) -> float:
        if name == "m_board":
            return float(RIG.launch_speed(SPRING["m_board"] * factor))
        rig = replace(RIG, **{FIELD[name]: getattr(RIG, FIELD[name]) * factor})
        return float(rig.launch_speed(SPRING["m_board"]))

    slope = (np.log(speed(1 + step)) - np.log(speed(1 - step))) / (2 * step)
    assert slope == pytest.approx(value, rel=1e-6)


def test_several_springs_with_initial_tension() -> None:
    rig = Springs(stiffness=50.0, latch_stretch=0.3, left_stretch=0.1, springs=2, initial_tension=4.0)
    assert rig.stored_energy() == pytest.approx(2 * (25 * 0.08 + 4 * 0.2), rel=1e-14)


def test_steel_and_rubber_in_the_cold() -> None:
    steel = Springs(stiffness=100.0, latch_stretch=0.4)
    warm = replace(steel, kelvin_above_room=10.0)
    change = warm.launch_speed(1.5) / steel.launch_speed(1.5) - 1
    assert change == pytest.approx(VALUES["temperature"]["dv_over_v_per_10K"], rel=2e-3)
    cord = Bungee(stiffness=60.0, latch_stretch=1.2)
    warm_cord = replace(cord, kelvin_above_room=10.0)
    expected = VALUES["temperature"]["dv_over_v_per_10K_rubber"]
    first_order = (warm_cord.stored_energy() / cord.stored_energy() - 1) / 2
    assert first_order == pytest.approx(expected, rel=1e-10)


def test_ramps() -> None:
    example = VALUES["ramp_example"]
    angle = np.radians(example["theta_deg"])
    rough = Ramp(height=example["h"], angle=angle, friction_coefficient=example["mu_ramp"])
    assert rough.launch_speed(1.5) == pytest.approx(example["v0"], rel=1e-14)
    smooth = Ramp(height=example["h"], angle=angle)
    assert smooth.launch_speed(1.5) == pytest.approx(example["v0_frictionless"], rel=1e-14)


@pytest.mark.parametrize(
    ("launcher", "slower"),
    [
        (RIG, True),
        (Bungee(stiffness=60.0, latch_stretch=1.2, cord_mass=0.3), True),
        (Hand(work=20.0, arm_mass=3.0), True),
        (Ramp(height=0.6, angle=0.5), False),
        (Tow(speed=4.0), False),
    ],
    ids=lambda value: type(value).__name__,
)
def test_load_and_launch_speed(launcher: Launcher, slower: bool) -> None:
    light, heavy = launcher.launch_speed(np.array([1.5, 3.0]))
    assert (heavy < light) == slower
    assert heavy <= light


@pytest.mark.parametrize(
    "launch",
    [
        lambda: RIG.launch_speed(0.0),
        lambda: replace(RIG, friction=30.0).launch_speed(1.5),
        lambda: Bungee(stiffness=60.0, latch_stretch=1.2, lost_share=1.0).launch_speed(1.5),
        lambda: Ramp(height=0.6, angle=0.1, friction_coefficient=0.2).launch_speed(1.5),
        lambda: Hand(work=0.0).launch_speed(1.5),
    ],
)
def test_what_cannot_launch_is_refused(launch: Any) -> None:
    with pytest.raises(OutOfRangeError):
        launch()


@pytest.mark.parametrize("row", VALUES["cv_transfer"], ids=lambda row: f"{row['cv_v']}-{row['cv_surface']}")
def test_spread_of_distance(row: dict[str, float]) -> None:
    spread = distance_spread(row["cv_v"], surface_spread=row["cv_surface"])
    assert spread == pytest.approx(row["cv_d"], rel=1e-14)
    assert largest_speed_spread(spread) == pytest.approx(row["cv_v_upper_bound_from_d"], rel=1e-14)


@pytest.mark.parametrize("row", VALUES["ancova"], ids=lambda row: f"{row['cv_v']}-{row['cv_speed_meas']}")
def test_what_a_speed_meter_takes_away(row: dict[str, float]) -> None:
    """First-order theory to all digits; the simulation of the reference to its own error (12 %)."""
    reliability = speed_reliability(row["cv_v"], meter_noise=row["cv_speed_meas"])
    assert 2 * reliability == pytest.approx(row["theory_slope"], rel=1e-12)
    left = spread_left(row["cv_v"], meter_noise=row["cv_speed_meas"], surface_spread=row["cv_surface"])
    assert left == pytest.approx(row["theory_resid_sd"], rel=1e-12)
    raw = distance_spread(row["cv_v"], surface_spread=row["cv_surface"])
    assert raw * np.sqrt(2 / row["n_per_arm"]) == pytest.approx(row["sd_diff_raw"], rel=0.12)


def test_spreads_need_something_to_work_on() -> None:
    with pytest.raises(OutOfRangeError):
        speed_reliability(0.0, meter_noise=0.0)
    with pytest.raises(OutOfRangeError):
        largest_speed_spread(0.05, exponent=0.0)
