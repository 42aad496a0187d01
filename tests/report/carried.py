"""An invented study as it was carried out: what its answer and its log say beside the findings."""

from __future__ import annotations

from dataclasses import replace

from evenglide.answer.results import (
    Answer,
    ConditionRange,
    Conduct,
    Guesses,
    Objection,
    SetAsideCount,
    Wear,
)
from evenglide.fieldlog.bodies import Condition, Posted, Sealed
from evenglide.fieldlog.state import State, When
from evenglide.show.departures import departure
from tests.report import made_up

SEAL = "ab12" + 56 * "0" + "cd34"
LAST_HASH = "ef56" + 60 * "1"
NOTED = ((12, -4.0), (24, -1.5), (36, 3.0), (48, 2.0))

CONDUCT = Conduct(
    departures=(
        departure("pegs-lost", count=2, numbers=(7, 8)),
        departure("voids-with-value-seen", count=1, numbers=(31,)),
    ),
    set_aside=(
        SetAsideCount(
            cause="nose under the snow", treatments={"bare": 1, "paraffin rub": 2}, value_seen=0, listed=True
        ),
        SetAsideCount(
            cause="a gust of wind", treatments={"bare": 0, "paraffin rub": 1}, value_seen=1, listed=False
        ),
    ),
    left_out={"peg lost": (7, 8), "not made": (40, 41, 42)},
    conditions=(
        ConditionRange(name="air temperature", unit="°C", least=-4.0, most=3.0, words=()),
        ConditionRange(name="snow", unit=None, least=None, most=None, words=("dry", "getting wet")),
    ),
    wear=(
        Wear(
            surface="wet spring snow",
            per_launch=0.0049,
            checks=0,
            se=0.002,
            df=40.0,
            interval=(0.0009, 0.0089),
        ),
        Wear(surface="melt pan", per_launch=-0.0018, checks=3, se=None, df=0.0, interval=None),
    ),
    guesses=Guesses(right=12, wrong=8),
    objections=(
        Objection(
            code="gear-differed",
            objection="The gear differed, not the treatment.",
            reply="slider 1 and slider 2 carried both treatments in turn.",
            checked=True,
        ),
        Objection(
            code="one-tin",
            objection="It was one tin.",
            reply="Not checked: nobody noted the batch.",
            checked=False,
        ),
    ),
    questions=1,
)

CLEAN = replace(
    CONDUCT, departures=(), set_aside=(), left_out={}, conditions=(), wear=(), guesses=None, questions=0
)


def carried_answer(conduct: Conduct = CONDUCT) -> Answer:
    """Make the answer of a sealed study."""
    answer = made_up.answer()
    provenance = replace(
        answer.provenance, seal=SEAL, seed=7, events=1070, last_hash=LAST_HASH, data_sha256=None
    )
    return replace(answer, conduct=conduct, provenance=provenance)


def carried_state() -> State:
    """Make what the log says: sealed, posted, four temperatures noted."""
    return State(
        seal=Sealed(study_text="", schedule_text="", fingerprint=SEAL),
        sealed_at="2026-01-09T18:00:00Z",
        postings=(
            When(
                event="1",
                said=Posted(where="the club's notice board", when="2026-01-09"),
                device_time="2026-01-09T18:00:00Z",
                after_launch=0,
            ),
        ),
        conditions=tuple(
            When(
                event=str(launch),
                said=Condition(name="air temperature", value=value, unit="°C"),
                device_time="2026-01-10T09:00:00Z",
                after_launch=launch,
            )
            for launch, value in NOTED
        ),
    )
