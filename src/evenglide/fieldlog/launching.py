"""What events say of single launches, put together launch by launch."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from evenglide.fieldlog.bodies import (
    AtLeast,
    Landed,
    Launched,
    Noted,
    PegLost,
    Read,
    ReturnToBare,
    SetAside,
    Stopped,
    UnknownBody,
    WearCheck,
    launch_of,
)
from evenglide.fieldlog.state import Cause, Fact, LaunchState, Question, Reading

Handler = Callable[[LaunchState, Fact, Any], tuple[LaunchState, list[Question]]]


def launches_of(facts: Sequence[Fact]) -> tuple[dict[int, LaunchState], list[Question]]:
    """Put together what was said of each launch.

    Parameters
    ----------
    facts : sequence of Fact
        In the order of replay.

    Returns
    -------
    launches : dict of int to LaunchState
        In order of their numbers.
    questions : list of Question
        ``launched-twice``, ``read-twice``, ``unread``, ``read-though-lost``, ``set-aside-twice``,
        ``stopped-and-at-least``.
    """
    launches: dict[int, LaunchState] = {}
    questions: list[Question] = []
    last_fact: dict[int, Fact] = {}
    for fact in facts:
        handler = _HANDLERS.get(type(fact.body))
        number = launch_of(fact.body)
        if handler is None or number is None or isinstance(fact.body, UnknownBody):
            continue
        last_fact[number] = fact
        launch = launches.get(number) or LaunchState(number=number, reach=fact.reach, position=fact.position)
        if fact.withdrawn:
            seen = launch.was_read or isinstance(fact.body, Read)
            launches[number] = replace(launch, was_read=seen)
            continue
        launches[number], odd = handler(launch, fact, fact.body)
        questions += odd
    for number, launch in launches.items():
        questions += _contradictions(launch, last_fact[number])
    return {number: launches[number] for number in sorted(launches)}, questions


def made_in_order(launches: Mapping[int, LaunchState]) -> tuple[int, ...]:
    """List the launches that were made, in the order in which they were.

    A place said for a launch counts like a launch number: 7.5 stands between launches 7 and 8.
    """

    def place(launch: LaunchState) -> tuple[float, int]:
        return (launch.reach if launch.order is None else launch.order, launch.position)

    return tuple(launch.number for launch in sorted(filter(_made, launches.values()), key=place))


def _made(launch: LaunchState) -> bool:
    return launch.made


def _launched(launch: LaunchState, fact: Fact, body: Launched) -> tuple[LaunchState, list[Question]]:
    if launch.launched:
        return launch, [_question("launched-twice", fact)]
    return replace(
        launch,
        launched=True,
        launched_at=fact.entry.device_time,
        order=body.order,
        reach=fact.reach,
        position=fact.position,
        preparation=body.preparation,
        set_up=body.set_up,
        peg=body.peg or launch.peg,
    ), []


def _landed(launch: LaunchState, fact: Fact, body: Landed) -> tuple[LaunchState, list[Question]]:
    return replace(launch, landed=True, peg=body.peg or launch.peg, clip=body.clip or launch.clip), []


def _read(launch: LaunchState, fact: Fact, body: Read) -> tuple[LaunchState, list[Question]]:
    reading = Reading(
        event=fact.entry.event,
        text=body.text,
        value=None if body.unread else body.value,
        unit=body.unit,
        reader=body.reader,
        method=body.method,
        uncertainty=body.uncertainty,
        corrections=fact.corrections,
        device_time=fact.entry.device_time,
    )
    odd = [_question("unread", fact, text=body.text)] if reading.value is None else []
    launch = replace(launch, was_read=True)
    if launch.reading is None:
        return replace(launch, reading=reading), odd
    if launch.reading.value is None and reading.value is not None:
        return replace(launch, reading=reading, further=(*launch.further, launch.reading)), odd
    if reading.value != launch.reading.value or _units_differ(reading, launch.reading):
        odd.append(_question("read-twice", fact, stands=launch.reading.text, other=body.text))
    return replace(launch, further=(*launch.further, reading)), odd


def _units_differ(one: Reading, other: Reading) -> bool:
    """Whether both were said; a reading without one is in the unit of the study."""
    return None not in (one.unit, other.unit) and one.unit != other.unit


def _at_least(launch: LaunchState, fact: Fact, body: AtLeast) -> tuple[LaunchState, list[Question]]:
    if body.value is None:
        return replace(launch, at_least=True), []
    return replace(launch, at_least=True, bound=body.value, bound_unit=body.unit), []


def _stopped(launch: LaunchState, fact: Fact, body: Stopped) -> tuple[LaunchState, list[Question]]:
    return replace(launch, stopped=True), []


def _peg_lost(launch: LaunchState, fact: Fact, body: PegLost) -> tuple[LaunchState, list[Question]]:
    return replace(launch, peg_lost=True), []


def _set_aside(launch: LaunchState, fact: Fact, body: SetAside) -> tuple[LaunchState, list[Question]]:
    if launch.set_aside is not None:
        same = launch.set_aside.cause == body.cause
        return launch, [] if same else [
            _question("set-aside-twice", fact, stands=launch.set_aside.cause, other=body.cause)
        ]
    cause = Cause(
        event=fact.entry.event,
        cause=body.cause,
        value_seen=body.value_seen,
        after_reading=launch.was_read,
    )
    return replace(launch, set_aside=cause), []


def _noted(launch: LaunchState, fact: Fact, body: Noted) -> tuple[LaunchState, list[Question]]:
    return replace(launch, remarks=(*launch.remarks, body.words)), []


def _wear_check(launch: LaunchState, fact: Fact, body: WearCheck) -> tuple[LaunchState, list[Question]]:
    return replace(launch, wear_check=True), []


def _return_to_bare(
    launch: LaunchState, fact: Fact, body: ReturnToBare
) -> tuple[LaunchState, list[Question]]:
    return replace(launch, return_to_bare=True), []


_HANDLERS: Mapping[type, Handler] = {
    Launched: _launched,
    Landed: _landed,
    Read: _read,
    AtLeast: _at_least,
    Stopped: _stopped,
    PegLost: _peg_lost,
    SetAside: _set_aside,
    Noted: _noted,
    WearCheck: _wear_check,
    ReturnToBare: _return_to_bare,
}


def _contradictions(launch: LaunchState, fact: Fact) -> list[Question]:
    """Say what cannot both be true of one launch."""
    odd = []
    if launch.peg_lost and launch.reading is not None and launch.reading.value is not None:
        odd.append(_question("read-though-lost", fact, text=launch.reading.text))
    if launch.stopped and launch.at_least:
        odd.append(_question("stopped-and-at-least", fact))
    return odd


def _question(code: str, fact: Fact, **facts: object) -> Question:
    return Question(code=code, event=fact.entry.event, launch=launch_of(fact.entry.body), facts=facts)
