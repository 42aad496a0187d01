"""One whole study to one answer: the plan as sealed, the log as recorded. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from evenglide.analysis.case import surface_case
from evenglide.analysis.looks import JudgedLooks
from evenglide.answer.conduct import condition_ranges, guesses_of, places_and_skies, set_aside_counts, wear_on
from evenglide.answer.draw import draw_was_left, without_randomisation
from evenglide.answer.looking import checks_left_out, looked_at
from evenglide.answer.objections import Evidence, objections_to
from evenglide.answer.results import Answer, Conduct, Provenance
from evenglide.answer.stops import audit_of_stops
from evenglide.answer.study_rule import rule_of_study
from evenglide.answer.table import answer_launches
from evenglide.answer.tape import audit_of_tape
from evenglide.constants import VERSION
from evenglide.errors import Problem, StudyError
from evenglide.fieldlog.departures import Files, departures_of
from evenglide.fieldlog.events import Event
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import State
from evenglide.readings.from_log import LogReadings, readings_from_log
from evenglide.readings.launches import Launches
from evenglide.readings.left_out import departures_of_readings
from evenglide.show.departures import gravest_first
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyAnswer:
    """An answer with the launches it rests on.

    Parameters
    ----------
    answer : Answer
    launches : Launches
    looks : JudgedLooks or None
        None without half-way checks.
    """

    answer: Answer
    launches: Launches
    looks: JudgedLooks | None = None


def answer_study(
    study: Study,
    schedule: Schedule,
    events: Sequence[Event],
    *,
    files: Files | None = None,
    early: bool = False,
) -> StudyAnswer:
    """Answer a sealed study from its log.

    Parameters
    ----------
    study : Study
        As sealed.
    schedule : Schedule
        As sealed.
    events : sequence of Event
        The whole log, in the order of arrival.
    files : Files, optional
        The files as they stand now, to be compared with what was sealed.
    early : bool, optional
        Take what there is as the end, where the study plans half-way checks.

    Returns
    -------
    StudyAnswer
        Of a study with half-way checks, at the last check that is in.

    Raises
    ------
    StudyError
        Before any launch was read; before the first check of a study that plans any.
    """
    state = replay(events)
    readings = readings_from_log(study, schedule, state)
    launches = readings.launches
    if launches is None or launches.void.all():
        raise StudyError([_nothing_read()])
    departures = departures_of(study, schedule, state, arrived=events, files=files)
    proven = state.seal is not None and not any(one.code in UNPROVEN for one in departures)
    rule = rule_of_study(study, schedule, launches, order_drawn=proven)
    looked = looked_at(study, schedule, state, readings=readings, rule=rule, early=early)
    if looked is not None:
        readings, spared = looked.readings, looked.spared
        departures = departures_of(study, schedule, state, arrived=events, files=files, spared=spared)
    told = gravest_first([*departures, *departures_of_readings(readings)])
    judged = None if looked is None else looked.judged
    launches = launches if judged is None else judged.launches
    answer = answer_launches(
        launches,
        rule,
        provenance=_provenance(schedule, state, events),
        remarks=(*checks_left_out(study, schedule), *audit_of_stops(readings), *audit_of_tape(readings)),
        looks=judged,
    )
    if draw_was_left(study, {one.code for one in told}):
        answer = without_randomisation(answer)
    conduct = _conduct(study, readings, state=state, answer=answer)
    return StudyAnswer(
        answer=replace(answer, conduct=replace(conduct, departures=told)), launches=launches, looks=judged
    )


UNPROVEN = frozenset({"clock-before-seal", "launched-before-seal", "not-sealed", "seal-broken"})
"""Departures after which nothing shows that the order was drawn before the first launch."""


def _conduct(study: Study, readings: LogReadings, *, state: State, answer: Answer) -> Conduct:
    assert readings.launches is not None
    surfaces = range(len(readings.launches.surface.labels))
    cases = [surface_case(readings.launches, surface, scale=study.scale) for surface in surfaces]
    evidence = Evidence(
        study=study,
        readings=readings,
        state=state,
        answer=answer,
        set_aside=set_aside_counts(study, readings, state),
        wear=wear_on(cases, readings, level=study.level),
        guesses=guesses_of(readings, state),
    )
    places, skies = places_and_skies(state)
    return Conduct(
        departures=(),
        set_aside=evidence.set_aside,
        left_out={str(reason): numbers for reason, numbers in readings.left_out.items()},
        conditions=condition_ranges(state),
        wear=evidence.wear,
        guesses=evidence.guesses,
        objections=objections_to(evidence),
        questions=len(state.questions),
        places=places,
        skies=skies,
    )


def _provenance(schedule: Schedule, state: State, events: Sequence[Event]) -> Provenance:
    return Provenance(
        version=VERSION,
        seed=schedule.seed,
        seal=None if state.seal is None else state.seal.fingerprint,
        events=len(events),
        last_hash=events[-1].hash if events else None,
        data_sha256=None,
    )


def _nothing_read() -> Problem:
    return Problem(
        code="nothing-read",
        where="log.sqlite",
        found="no launch that counts has a reading yet",
        expected="at least one reading",
        remedy="Take in a list with evenglide take-in, or go out and launch; then ask again.",
    )
