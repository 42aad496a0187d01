"""The sealed study in a folder: what its log says was decided, and what was recorded since."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evenglide.errors import Problem, StudyError
from evenglide.fieldlog.bodies import Corrected, Sealed
from evenglide.fieldlog.events import Event
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import State
from evenglide.plan.table import read_schedule
from evenglide.study.document import read_study
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedStudy:
    """Study and schedule as sealed, with what the log says."""

    study: Study
    schedule: Schedule
    seal: Sealed
    state: State


def sealed_study(events: Sequence[Event], *, where: str) -> SealedStudy:
    """Read what a log says was sealed.

    Parameters
    ----------
    events : sequence of Event
    where : str
        Path of the log, for problems.

    Returns
    -------
    SealedStudy

    Raises
    ------
    StudyError
        ``not-sealed``, or what is wrong with the sealed texts.
    """
    state = replay(events)
    if state.seal is None:
        raise StudyError(
            [
                Problem(
                    code="not-sealed",
                    where=where,
                    found="a study that is not sealed",
                    expected="a seal before the first launch",
                    remedy="Seal it: evenglide seal.",
                )
            ]
        )
    study = read_study(state.seal.study_text)
    schedule = read_schedule(state.seal.schedule_text, study)
    return SealedStudy(study=study, schedule=schedule, seal=state.seal, state=state)


def decided(events: Iterable[Event]) -> list[Event]:
    """Keep the events that tell what was sealed: of a long log the few that are needed for that."""
    return [event for event in events if isinstance(event.body, Sealed | Corrected)]
