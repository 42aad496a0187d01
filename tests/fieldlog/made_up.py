"""An invented study of a hill club: its plan, its seal, and events as devices would record them."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence

from evenglide.fieldlog.bodies import Body, Launched, Read, SetAside
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.events import Draft, Event, derived_id
from evenglide.fieldlog.sealing import sealed_body
from evenglide.plan.table import write_schedule
from evenglide.study.document import read_study
from evenglide.study.schedule import LaunchKind, Schedule, ScheduledLaunch
from evenglide.study.seal import make_seal
from evenglide.study.study import Study

STUDY_TEXT = """\
format = "evenglide.study/1"

[study]
title = "Does a paraffin rub make the club's snow sliders run farther?"
matters = "10 %"
gear = "slider"

[[treatment]]
name = "bare"
reference = true

[[treatment]]
name = "paraffin rub"

[[item]]
name = "slider 1"

[[item]]
name = "slider 2"

[[surface]]
name = "cold powder"

[[surface]]
name = "melt pan"
mark = "timed mark"
after = "5 s"

[design]
preparations = "shared over surfaces"

[voids]
reasons = ["rig moved more than 1 cm", "nose under the snow"]
"""
SURFACES = ("cold powder", "melt pan")
LAPTOP, PHONE = "laptop", "phone"
CAUSE = "nose under the snow"


def study(text: str = STUDY_TEXT) -> Study:
    return read_study(text)


def schedule(*, blocks: int = 5, launches: int = 3, seed: int = 7, wear: bool = False) -> Schedule:
    """Pairs of preparations, one on each slider, launched in turn on both surfaces."""
    chance = random.Random(seed)
    made: list[ScheduledLaunch] = []
    set_up = 0

    def add(kind: LaunchKind, block: int, surface: str, slot: int, *, swapped: bool) -> None:
        treatment = ("bare", "paraffin rub")[slot ^ swapped]
        made.append(
            ScheduledLaunch(
                number=len(made) + 1,
                kind=kind,
                outing=1 + (block > blocks // 2),
                block=str(block),
                set_up=set_up,
                surface=surface,
                direction="out",
                preparation=f"P{2 * block - 1 + slot}",
                item=f"slider {slot + 1}",
                treatment=treatment,
            )
        )

    for block in range(1, blocks + 1):
        swapped = chance.random() < 0.5 if block > 2 else block == 1
        for surface in SURFACES:
            set_up += 1
            for turn in range(2 * launches):
                add("launch", block, surface, (turn + turn // 2) % 2, swapped=swapped)
        if wear:
            for slot in (0, 1):
                add("wear check", block, SURFACES[0], slot, swapped=swapped)
    return Schedule(launches=tuple(made), seed=seed, rule="uniform within rounds")


def readings(plan: Schedule, *, seed: int = 3) -> dict[int, str]:
    """Text of a reading for each launch, with an effect and scatter that mean nothing."""
    chance = random.Random(seed)
    coat = {label: chance.gauss(0, 0.03) for label in dict.fromkeys(one.preparation for one in plan.launches)}
    texts = {}
    for one in plan.launches:
        size = (
            6.0
            * (1.08 if one.treatment == "paraffin rub" else 1.0)
            * (1 if one.surface == SURFACES[0] else 0.8)
        )
        texts[one.number] = f"{size * (1 + coat[one.preparation] + chance.gauss(0, 0.05)):.2f}"
    return texts


def drafts(bodies: Iterable[Body], *, device: str = PHONE, first: int = 1) -> list[Draft]:
    """Bodies as one device records them, one minute apart."""
    return [
        Draft(
            id=derived_id(device, number),
            device=device,
            sequence=number,
            device_time=f"2026-01-17T{8 + number // 60:02d}:{number % 60:02d}:00.000Z",
            body=body,
        )
        for number, body in enumerate(bodies, start=first)
    ]


def sealed(plan: Schedule, text: str = STUDY_TEXT) -> Body:
    return sealed_body(make_seal(text, write_schedule(plan), schedule=plan, version="0.0"))


def played(plan: Schedule, *, voids: Sequence[int] = (), unmade: Sequence[int] = ()) -> list[Body]:
    """What a phone records when everything goes as planned."""
    texts = readings(plan)
    bodies: list[Body] = []
    for one in plan.launches:
        if one.number in unmade:
            continue
        bodies.append(Launched(launch=one.number))
        if one.number in voids:
            bodies.append(SetAside(launch=one.number, cause=CAUSE, value_seen=False))
        bodies.append(Read(launch=one.number, text=texts[one.number], value=float(texts[one.number])))
    return bodies


def log_of(plan: Schedule, bodies: Iterable[Body], *, text: str = STUDY_TEXT) -> tuple[Event, ...]:
    """A log: the seal first, then what the phone recorded."""
    made = [*drafts([sealed(plan, text)], device=LAPTOP), *drafts(bodies)]
    return chain(made, server_time="2026-01-17T20:00:00.000Z")
