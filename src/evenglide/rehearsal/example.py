"""One rehearsed study as a log, so that everything that follows from a log can be seen beforehand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from evenglide.fieldlog.chain import chained
from evenglide.fieldlog.events import Draft, Event, derived_id
from evenglide.fieldlog.sealing import sealed_body
from evenglide.glide.launcher import Tow
from evenglide.rehearsal.clock import moments
from evenglide.rehearsal.drawing import Drawn, reading_step
from evenglide.rehearsal.happenings import DEVICE, drafts
from evenglide.rehearsal.play import Played, PlayedLaunch
from evenglide.rehearsal.supposed import Truth
from evenglide.rehearsal.world import NO_REASON, World
from evenglide.study.seal import Seal
from evenglide.study.study import Study

METHOD = "invented: drawn at random"
CREW = World(
    told="An invented day: nothing here was measured.",
    launcher=Tow(speed=3.0),
    speed_spread=0.0,
    items={},
    reference_mass=1.0,
    surfaces={},
    place="nowhere (invented)",
    weather="invented",
)
"""Who is outside in an invented day; how things glide is drawn, not worked out in this world."""
EVENING_BEFORE = timedelta(hours=14)
"""How long before the first outing the invented plan was sealed."""


def example_log(
    drawn: Drawn, truth: Truth, *, seal: Seal, study_number: int = 0, typed: bool = True
) -> tuple[Event, ...]:
    """Write one of the rehearsed studies as a log.

    Parameters
    ----------
    drawn : Drawn
    truth : Truth
        Supposed to hold.
    seal : Seal
        Of the plan; the rehearsal may have lost launches of it.
    study_number : int, optional
        Column of the chunk that was drawn.
    typed : bool, optional
        Readings are rounded as a person would type them; else they keep all their digits.

    Returns
    -------
    tuple of Event
    """
    study = drawn.stage.study
    played = _played(drawn, truth, column=study_number, decimals=_decimals(study, drawn) if typed else None)
    said = drafts(played, CREW, sealed=seal.fingerprint, unit=study.unit, method=METHOD)
    begun = datetime.fromisoformat(said[0].device_time)
    first = Draft(
        id=derived_id(seal.fingerprint, DEVICE, 0, "seal"),
        device=f"{DEVICE} desk",
        sequence=1,
        device_time=(begun - EVENING_BEFORE).isoformat(timespec="seconds"),
        body=sealed_body(seal),
    )
    return _arrived([first, *said])


def _arrived(records: Sequence[Draft]) -> tuple[Event, ...]:
    """Chain records, each arriving when it was made."""
    events: list[Event] = []
    for record in records:
        before = {"previous": events[-1].hash} if events else {}
        events.append(chained(record, server_time=record.device_time, **before))
    return tuple(events)


def _played(drawn: Drawn, truth: Truth, *, column: int, decimals: int | None) -> Played:
    stage = drawn.stage
    # one column only: a chunk may hold thousands
    one = replace(drawn, scatter=drawn.scatter[:, column : column + 1])
    readings = one.readings(truth)[:, 0]
    times = moments(stage.study, stage.schedule, CREW)
    reasons = stage.study.void_reasons or (NO_REASON,)
    launches = []
    for row, (launch, moment) in enumerate(zip(stage.schedule.launches, times, strict=True)):
        value = float(readings[row])
        void = drawn.void is not None and bool(drawn.void[row, column])
        seen = drawn.hoped is not None and bool(drawn.hoped[row, column])
        text = "" if void and not seen else repr(value) if decimals is None else f"{value:.{decimals}f}"
        launches.append(
            PlayedLaunch(
                launch=launch,
                moment=moment,
                text=text,
                value=float(text) if text else None,
                at_least=bool(text) and drawn.lane is not None and value >= drawn.lane,
                stopped=False,
                cause=reasons[row % len(reasons)] if void else "",
                value_seen=seen,
                peg_lost=False,
                true_speed=0.0,
                true_distance=value,
            )
        )
    return Played(launches=tuple(launches), guesses=())


def _decimals(study: Study, drawn: Drawn) -> int:
    """Decimals that a person would type: to the centimetre, or as the trouble says."""
    step = reading_step(study, "decimetre" if "decimetre" in drawn.troubles else "centimetre")
    decimals = 0
    while step is not None and round(step * 10**decimals) < 1 and decimals < 6:
        decimals += 1
    return decimals if step is not None else 2
