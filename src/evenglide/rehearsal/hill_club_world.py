"""The invented hill club: two snow sliders, bare against a paraffin rub, on four kinds of snow and melt.

Everything here is made up: the club, its sliders, its snow, and what the rub does to them. The laws have the
shape that snow and water can have; none of their numbers is a measurement.
"""

from __future__ import annotations

import math

from evenglide.glide.launcher import Springs
from evenglide.glide.law import DecelerationLaw
from evenglide.rehearsal.world import Effect, ItemTruth, SurfaceTruth, World
from evenglide.study.starting_sets import STARTING_SETS
from evenglide.study.study import (
    Costs,
    Design,
    Item,
    Outing,
    Rig,
    Scatter,
    Study,
    Treatment,
)

RUB = "paraffin rub"
SLIDER_MASS = 1.9

HILL_CLUB = World(
    told="An invented hill club: invented sliders, invented snow, distances worked out by physics from "
    "made-up laws. Nothing here was measured.",
    launcher=Springs(
        stiffness=120.0, latch_stretch=0.35, springs=2, carriage_mass=0.4, spring_mass=0.15, friction=3.0
    ),
    speed_spread=0.012,
    items={"slider 1": ItemTruth(mass=1.9), "slider 2": ItemTruth(mass=1.92, factor=0.97)},
    reference_mass=SLIDER_MASS,
    preparation_scatter=0.02,
    left_after_strip=0.05,
    guess_right=0.6,
    place="the club's meadow (invented)",
    weather="clear after a cold night (invented)",
    people=("launcher", "reader"),
    air=(-6.0, 2.0),
    utc_offset=1,
    surfaces={
        "cold powder": SurfaceTruth(
            law=DecelerationLaw(c0=1.55, c2=0.03),
            effects={RUB: Effect(c0=1.22)},
            lane=9.0,
            preparation_scatter=0.012,
            launch_scatter=0.06,
            set_up_scatter=0.05,
            wear_per_launch=0.004,
            void_chance=0.015,
            short_void_chance=0.5,
            short_below=0.82,
        ),
        "groomed snow": SurfaceTruth(
            law=DecelerationLaw(c0=0.48, c2=0.012),
            effects={RUB: Effect(c0=0.992)},
            lane=16.0,
            preparation_scatter=0.012,
            launch_scatter=0.045,
            set_up_scatter=0.04,
            drift_per_hour=-0.01,
            wear_per_launch=0.004,
            void_chance=0.02,
            peg_lost_chance=0.003,
        ),
        "wet spring snow": SurfaceTruth(
            law=DecelerationLaw(c0=0.42, c1=0.30, c2=0.02),
            effects={RUB: Effect(c1=0.62)},
            lane=6.7,
            preparation_scatter=0.012,
            launch_scatter=0.055,
            set_up_scatter=0.06,
            drift_per_hour=0.02,
            wear_per_launch=0.004,
            void_chance=0.02,
        ),
        "melt pan": SurfaceTruth(
            law=DecelerationLaw(c0=0.02, c1=0.10, c2=0.18),
            effects={RUB: Effect(c1=0.80, c2=0.97)},
            lane=12.0,
            preparation_scatter=0.08,
            launch_scatter=0.2,
            set_up_scatter=0.05,
            wear_per_launch=0.004,
            void_chance=0.02,
            reading_noise=0.03,
            reading_step=0.05,
        ),
    },
)

DAYS = ("2026-01-10", "2026-01-17", "2026-01-24", "2026-02-07", "2026-02-14")


def hill_club_study() -> Study:
    """The hill club's question.

    Returns
    -------
    Study
        Ten rounds of six launches settle it, three ways out of four.
    """
    snow = STARTING_SETS["snow"]
    return Study(
        title="Does a paraffin rub make the club's snow sliders run farther? (invented)",
        unit="m",
        margin=(-math.log1p(0.1), math.log1p(0.1)),
        main="wet spring snow",
        treatments=(
            Treatment(name="bare", reference=True, hands_on_s=480.0),
            Treatment(name=RUB, hands_on_s=1080.0, waiting_s=900.0),
        ),
        items=tuple(Item(name=name, mass_kg=truth.mass) for name, truth in HILL_CLUB.items.items()),
        item_word="slider",
        surfaces=snow.surfaces,
        design=Design(preparations="shared over surfaces"),
        costs=Costs(
            rig_set_up_s=720.0,
            outings=tuple(
                Outing(day=day, start="08:30", end="17:00", surfaces=tuple(one.name for one in snow.surfaces))
                for day in DAYS
            ),
        ),
        scatter=Scatter(preparations=0.03, launches=0.06, as_if_from=6, source="stated"),
        rig=Rig(kind="springs"),
        void_reasons=snow.void_reasons,
        hidden_from=("reader",),
        paid_by="the club itself (invented)",
    )
