"""An invented shore: two boards, bare against a hard wax, from dry sand to still water on a falling tide.

Everything here is made up: the beach, the boards, the wax and what it does. Sand dries as the tide falls,
past its firmest and on, so friction bends with the hours instead of drifting one way; launches go both ways
along the beach because it is not quite level. None of the numbers is a measurement.
"""

from __future__ import annotations

import math

from evenglide.glide.launcher import Bungee
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

WAX = "hard wax"
FILM = "wet sand under a film of water"

SHORE = World(
    told="An invented shore: invented boards and wax, distances worked out by physics from made-up laws. "
    "Nothing here was measured.",
    launcher=Bungee(stiffness=42.0, latch_stretch=1.05, lost_share=0.18, carriage_mass=0.35, cord_mass=0.25),
    speed_spread=0.02,
    items={"board 1": ItemTruth(mass=1.5), "board 2": ItemTruth(mass=1.62, factor=1.04)},
    reference_mass=1.5,
    preparation_scatter=0.025,
    guess_right=0.5,
    place="the long beach (invented)",
    weather="falling tide, light air from the land (invented)",
    people=("launcher", "spotter", "reader"),
    air=(16.0, 1.0),
    utc_offset=0,
    surfaces={
        "dry sand": SurfaceTruth(
            law=DecelerationLaw(c0=4.9, c2=0.02),
            effects={WAX: Effect(c0=1.0)},
            lane=6.0,
            grade=0.004,
            preparation_scatter=0.02,
            launch_scatter=0.05,
            set_up_scatter=0.04,
            wear_per_launch=0.012,
            void_chance=0.02,
        ),
        "damp sand": SurfaceTruth(
            law=DecelerationLaw(c0=3.1, c2=0.02),
            effects={WAX: Effect(c0=0.86)},
            lane=7.0,
            grade=0.006,
            preparation_scatter=0.015,
            launch_scatter=0.05,
            set_up_scatter=0.03,
            drift_per_hour=-0.06,
            bend_per_hour_squared=0.012,
            wear_per_launch=0.008,
            void_chance=0.02,
            short_void_chance=0.3,
        ),
        FILM: SurfaceTruth(
            law=DecelerationLaw(c0=0.78, c1=0.22, c2=0.05),
            effects={WAX: Effect(c1=0.72)},
            lane=6.5,
            grade=0.006,
            preparation_scatter=0.02,
            launch_scatter=0.07,
            set_up_scatter=0.06,
            drift_per_hour=0.03,
            wear_per_launch=0.006,
            void_chance=0.03,
            peg_lost_chance=0.01,
        ),
        "still water": SurfaceTruth(
            law=DecelerationLaw(c0=0.02, c1=0.09, c2=0.38),
            effects={WAX: Effect(c2=0.97)},
            lane=14.0,
            preparation_scatter=0.015,
            launch_scatter=0.07,
            set_up_scatter=0.02,
            wear_per_launch=0.003,
            void_chance=0.04,
            reading_noise=0.05,
            reading_step=0.05,
        ),
    },
)

TIDES = (
    ("2026-05-02", "07:40", "16:00"),
    ("2026-05-03", "08:20", "16:40"),
    ("2026-05-16", "06:50", "15:10"),
    ("2026-05-17", "07:30", "15:50"),
)
"""Days and hours around low water."""


def shore_study() -> Study:
    """The shore's question: both directions, dry sand before water.

    Returns
    -------
    Study
    """
    shore = STARTING_SETS["shore"]
    names = tuple(one.name for one in shore.surfaces)
    return Study(
        title="Does a hard wax make boards skim farther from dry sand to still water? (invented)",
        unit="m",
        margin=(-math.log1p(0.08), math.log1p(0.08)),
        treatments=(
            Treatment(name="bare", reference=True, hands_on_s=420.0),
            Treatment(name=WAX, hands_on_s=900.0, waiting_s=600.0),
        ),
        items=tuple(Item(name=name, mass_kg=truth.mass) for name, truth in SHORE.items.items()),
        item_word="board",
        surfaces=shore.surfaces,
        design=Design(preparations="shared over surfaces", directions=("north", "south"), wear_check=2),
        costs=Costs(
            rig_set_up_s=600.0,
            outings=tuple(Outing(day=day, start=start, end=end, surfaces=names) for day, start, end in TIDES),
        ),
        scatter=Scatter(preparations=0.03, launches=0.07, as_if_from=6, source="stated"),
        rig=Rig(kind="bungee"),
        void_reasons=shore.void_reasons,
    )
