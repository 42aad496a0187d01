"""What mass, wind and scaling do to a law."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy.optimize import brentq

from evenglide.errors import OutOfRangeError
from evenglide.glide.law import DecelerationLaw
from evenglide.glide.stopping import stopping_distance
from tests.reference_data import published

VALUES = published("glide/wind_and_load")
WIND = VALUES["wind"]
LAW_OF = {
    "damp sand": DecelerationLaw(c0=2.941995, c2=0.008),
    "snow": DecelerationLaw(c0=0.4903325, c2=0.01),
    "wet film": DecelerationLaw(c0=0.784532, c1=0.2, c2=0.05),
    "water": DecelerationLaw(c0=0.05, c1=0.1, c2=0.4),
}
POSSIBLE = [row for row in VALUES["carry_over_envelope"] if "runout_gain" in row]


@pytest.mark.parametrize("row", VALUES["load_scaling"], ids=lambda row: f"{row['mass']} kg")
def test_load(row: dict[str, Any]) -> None:
    light = DecelerationLaw(c0=0.784532, c1=0.2, c2=0.05)
    law = light.with_mass(old=1.5, new=row["mass"])
    assert (law.c0, law.c1, law.c2) == pytest.approx((row["c0"], row["c1"], row["c2"]), rel=1e-14)
    assert law.deceleration(6.0) == pytest.approx(row["a6"], rel=1e-14)


@pytest.mark.parametrize("row", WIND["rows"], ids=lambda row: f"{row['v']}-{row['wind']}")
def test_wind(row: dict[str, Any]) -> None:
    still = DecelerationLaw(c2=WIND["c2_aero"])
    head = still.in_wind(air=WIND["c2_aero"], headwind=row["wind"]).deceleration(row["v"])
    assert head == pytest.approx(row["a_head"], rel=1e-14)
    if row["v"] >= row["wind"]:
        tail = still.in_wind(air=WIND["c2_aero"], headwind=-row["wind"]).deceleration(row["v"])
        assert tail == pytest.approx(row["a_tail"], rel=1e-14)
        excess = (head + tail) / 2 - still.deceleration(row["v"])
        assert excess == pytest.approx(row["excess_theory"], abs=1e-15)


@pytest.mark.parametrize("row", POSSIBLE, ids=lambda row: f"{row['surface']}, {row['acts_on']}")
def test_one_gain_in_run_out_means_many_things_at_riding_speed(row: dict[str, Any]) -> None:
    law, acts = LAW_OF[row["surface"]], row["acts_on"]

    def cut(share: float) -> DecelerationLaw:
        left = {
            name: 1 - share if acts in (f"{name} only", "all terms") else 1.0 for name in ("c0", "c1", "c2")
        }
        return DecelerationLaw(c0=law.c0 * left["c0"], c1=law.c1 * left["c1"], c2=law.c2 * left["c2"])

    goal = (1 + row["runout_gain"]) * stopping_distance(3.0, law)
    share = brentq(lambda share: float(stopping_distance(3.0, cut(share)) - goal), 0.0, 0.95, xtol=1e-14)
    assert share == pytest.approx(row["coefficient_reduction"], rel=1e-8)
    kept = 1 - cut(share).deceleration(6.0) / law.deceleration(6.0)
    assert kept == pytest.approx(row["decel_reduction_at_6"], rel=1e-8)


def test_masses_are_positive() -> None:
    with pytest.raises(OutOfRangeError, match="mass"):
        DecelerationLaw(c0=0.5).with_mass(old=1.0, new=np.array([1.0, 0.0]))
