"""Studies, plans and plays that tests of the rehearsal share."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from evenglide.constants import VERSION
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.schedule import plan_schedule
from evenglide.plan.table import write_schedule
from evenglide.rehearsal.repeats import Play
from evenglide.rehearsal.supposed import Truth, standing_truths
from evenglide.rehearsal.troubles import Trouble, named_troubles
from evenglide.study.schedule import Schedule
from evenglide.study.seal import Seal, make_seal
from evenglide.study.study import Design, Item, Study, Surface, Treatment
from evenglide.study.writing import write_study

MARGIN = math.log1p(0.1)
SURFACES = (Surface(name="powder"), Surface(name="ice"), Surface(name="slush"))


def a_study(**changes: Any) -> Study:
    """Two treatments, two sliders, three surfaces, fresh preparations on each, 10 % matters."""
    plain = Study(
        title="A test",
        unit="m",
        margin=(-MARGIN, MARGIN),
        treatments=(Treatment(name="bare", reference=True), Treatment(name="rub")),
        items=(Item(name="slider 1"), Item(name="slider 2")),
        item_word="slider",
        surfaces=SURFACES,
        design=Design(preparations="fresh on each surface"),
        void_reasons=("rig moved",),
    )
    return replace(plain, **changes)


def shared(study: Study) -> Study:
    """The same study with one preparation for all surfaces."""
    return replace(study, design=replace(study.design, preparations="shared over surfaces"))


def planned(study: Study, *, rounds: int = 6, launches: int = 4, **wishes: Any) -> Schedule:
    """A plan of it, always the same."""
    return plan_schedule(study, blocks=rounds, launches=launches, seed=5, **wishes)


def troubles(*texts: str) -> tuple[Trouble, ...]:
    """Troubles by name."""
    return named_troubles(texts, item="slider", reference="bare")


BELIEF = ScatterBelief(preparations=0.03, launches=0.06, df=None, shared_part=(0.0, 0.8))


def a_play(study: Study, schedule: Schedule | None = None, **changes: Any) -> Play:
    """Two hundred studies under all four truths, nothing going wrong."""
    plain = Play(
        study=study,
        schedule=schedule or planned(study),
        truths=standing_truths(study),
        scenarios=((),),
        belief=BELIEF,
        times=200,
        seed=3,
    )
    return replace(plain, **changes)


def truth(study: Study, percent: float, name: str = "stated") -> Truth:
    """An effect on every surface."""
    effects = {surface.name: math.log1p(percent / 100.0) for surface in study.surfaces}
    return Truth(name=name, told=f"{percent} %", effects=effects)


def seal_of(study: Study, schedule: Schedule) -> Seal:
    """The seal of a plan."""
    return make_seal(write_study(study), write_schedule(schedule), schedule=schedule, version=VERSION)
