"""A small world of the tests' own, a study of it, and lists of launches."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import Any

from evenglide.fieldlog.events import Draft, canonical
from evenglide.glide.launcher import Tow
from evenglide.glide.law import DecelerationLaw
from evenglide.rehearsal.chance import rehearsal_source
from evenglide.rehearsal.play import Played, play
from evenglide.rehearsal.world import Effect, ItemTruth, SurfaceTruth, World
from evenglide.study.schedule import LaunchKind, Schedule, ScheduledLaunch
from evenglide.study.study import Item, Study, Surface, Treatment

SPEED = 3.0
DRY = DecelerationLaw(c0=0.5)

WORLD = World(
    told="invented for a test",
    launcher=Tow(speed=SPEED),
    speed_spread=0.0,
    items={"one": ItemTruth(mass=1.5), "two": ItemTruth(mass=1.5)},
    reference_mass=1.5,
    surfaces={
        "firm": SurfaceTruth(law=DRY, effects={"coat": Effect(c0=0.8)}),
        "pan": SurfaceTruth(law=DecelerationLaw(c0=0.4), effects={"coat": Effect(c0=0.8)}),
    },
)

STUDY = Study(
    title="A test",
    treatments=(
        Treatment(name="bare", reference=True, hands_on_s=300.0),
        Treatment(name="coat", hands_on_s=600.0, waiting_s=900.0),
    ),
    items=(Item(name="one", mass_kg=1.5), Item(name="two", mass_kg=1.5)),
    surfaces=(
        Surface(name="firm", minutes_per_launch=2.0),
        Surface(name="pan", mark="timed mark", after_s=5.0, minutes_per_launch=4.0),
    ),
    void_reasons=("rig moved", "touched"),
)


def world_with(surface: str = "firm", *, of: World = WORLD, **changes: Any) -> World:
    """The test's world with some truths of one surface changed."""
    return replace(of, surfaces={**of.surfaces, surface: replace(of.surfaces[surface], **changes)})


def pairs(
    rounds: int, each: int, *, surfaces: tuple[str, ...] = ("firm",), directions: tuple[str, ...] = ("out",)
) -> Schedule:
    """Rounds of two items in turn, treatments swapped from round to round."""
    launches: list[ScheduledLaunch] = []
    set_up = 0
    for number in range(1, rounds + 1):
        swap = number % 2
        gear = [("one", ("bare", "coat")[swap]), ("two", ("coat", "bare")[swap])]
        for surface in surfaces:
            for direction in directions:
                set_up += 1
                for turn in range(each):
                    for item, treatment in gear[:: -1 if turn % 2 else 1]:
                        launches.append(
                            ScheduledLaunch(
                                number=len(launches) + 1,
                                outing=1 + (number - 1) // 4,
                                block=f"{number}",
                                set_up=set_up,
                                surface=surface,
                                direction=direction,
                                preparation=f"{number}{item}",
                                item=item,
                                treatment=treatment,
                            )
                        )
    return Schedule(launches=tuple(launches), seed=1, rule="made up")


def one_coat(treatment: str, count: int, *, kind: LaunchKind = "launch", surface: str = "firm") -> Schedule:
    """Launches of a single preparation."""
    launch = ScheduledLaunch(
        number=1,
        kind=kind,
        outing=1,
        block="1",
        set_up=1,
        surface=surface,
        direction="out",
        preparation="p",
        item="one",
        treatment=treatment,
    )
    return Schedule(
        launches=tuple(replace(launch, number=number) for number in range(1, count + 1)), seed=1, rule=""
    )


def played(schedule: Schedule, *, world: World = WORLD, study: Study = STUDY, seed: int = 5) -> Played:
    """Play with a seed."""
    return play(study, schedule, world=world, uniform=rehearsal_source(seed).random)


def digest(drafts: tuple[Draft, ...]) -> str:
    """Fingerprint of records, ids and times included."""
    content = [
        [draft.id, draft.device, draft.sequence, draft.device_time, draft.body.to_dict()] for draft in drafts
    ]
    return hashlib.sha256(canonical(content)).hexdigest()
