"""Folding: events, one after the other, to what they say altogether.

`fold` is pure: the same state and event give the same state. It never refuses an event; what is odd
about one becomes an open question of the state.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from evenglide.fieldlog.bodies import (
    Block,
    CoatDamaged,
    Condition,
    Elsewhere,
    Guess,
    Incident,
    Look,
    Merged,
    Noted,
    Posted,
    Prepared,
    Reveal,
    RoundEnded,
    Sealed,
    Session,
    SetUp,
    Skipped,
)
from evenglide.fieldlog.body_model import BodyModel
from evenglide.fieldlog.correcting import facts_of
from evenglide.fieldlog.events import Draft, Event
from evenglide.fieldlog.launching import launches_of, made_in_order
from evenglide.fieldlog.merging import replay_order
from evenglide.fieldlog.oddities import odd_records
from evenglide.fieldlog.state import Entry, Fact, LaunchState, Question, State, When

Model = TypeVar("Model", bound=BodyModel)


def fold(state: State, event: Event) -> State:
    """Say what a log says with one more event.

    Parameters
    ----------
    state : State
        What it said before.
    event : Event
        The next one in the order of replay.

    Returns
    -------
    State
    """
    return _stated((*(fact.entry for fact in state.facts), entry_of(event)))


def replay(events: Iterable[Event]) -> State:
    """Fold all events of a log, put in the order of replay first.

    Parameters
    ----------
    events : iterable of Event
        In any order.

    Returns
    -------
    State
        The same as folding them one by one into an empty state.
    """
    return _stated([entry_of(event) for event in replay_order(events)])


def entry_of(event: Event | Draft) -> Entry:
    """Return an event as it is replayed, without the chain of the log it came from."""
    return Entry(
        event=event.id,
        device=event.device,
        sequence=event.sequence,
        device_time=event.device_time,
        body=event.body,
    )


def _stated(history: Sequence[Entry]) -> State:
    facts, of_corrections = facts_of(history)
    launches, of_launches = launches_of(facts)
    seals = _said(facts, Sealed)
    prepared = _said(facts, Prepared)
    set_ups = _said(facts, SetUp)
    questions = (
        *odd_records(facts),
        *of_corrections,
        *of_launches,
        *_told_twice("sealed-twice", [(seal, "seal", seal.said) for seal in seals]),
        *_told_twice("prepared-twice", [(one, one.said.preparation, one.said) for one in prepared]),
        *_told_twice("set-up-twice", [(one, one.said.set_up, one.said) for one in set_ups]),
    )
    return State(
        facts=facts,
        launches=launches,
        made=made_in_order(launches),
        seal=seals[0].said if seals else None,
        sealed_at=seals[0].device_time if seals else "",
        preparations={one.said.preparation: one.said for one in reversed(prepared)},
        set_ups={one.said.set_up: one.said for one in reversed(set_ups)},
        postings=_said(facts, Posted),
        sessions=_said(facts, Session),
        blocks=_said(facts, Block),
        ended=_said(facts, RoundEnded),
        skipped=_said(facts, Skipped),
        elsewhere=_said(facts, Elsewhere),
        damages=_said(facts, CoatDamaged),
        conditions=_said(facts, Condition),
        guesses=_said(facts, Guess),
        incidents=_said(facts, Incident),
        looks=_said(facts, Look),
        reveals=_said(facts, Reveal),
        remarks=tuple(one for one in _said(facts, Noted) if one.said.launch is None),
        merges=_said(facts, Merged),
        questions=questions,
    )


def framed(facts: Sequence[Fact], *, launches: Mapping[int, LaunchState]) -> State:
    """Say what a day outside needs to know: its launches, and the records that frame them.

    Parameters
    ----------
    facts : sequence of Fact
        Of records that speak of no launch.
    launches : mapping of int to LaunchState

    Returns
    -------
    State
        Without its other parts.
    """
    return State(
        launches=launches,
        preparations={one.said.preparation: one.said for one in reversed(_said(facts, Prepared))},
        set_ups={one.said.set_up: one.said for one in reversed(_said(facts, SetUp))},
        sessions=_said(facts, Session),
        ended=_said(facts, RoundEnded),
        skipped=_said(facts, Skipped),
        elsewhere=_said(facts, Elsewhere),
    )


def _said(facts: Sequence[Fact], kind: type[Model]) -> tuple[When[Model], ...]:
    """Everything of one kind that was not withdrawn."""
    return tuple(
        When(
            event=fact.entry.event,
            said=fact.body,
            device_time=fact.entry.device_time,
            after_launch=fact.reach,
        )
        for fact in facts
        if isinstance(fact.body, kind) and not fact.withdrawn
    )


def _told_twice(code: str, told: Iterable[tuple[When[Model], object, object]]) -> Iterator[Question]:
    """Point at what was said again and otherwise; the first saying stands."""
    first: dict[object, object] = {}
    for one, name, said in told:
        if first.setdefault(name, said) != said:
            yield Question(code=code, event=one.event, launch=None, facts={"name": name})
