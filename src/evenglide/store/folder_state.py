"""What the log of a study's folder says; nothing at all where there is no log yet."""

from __future__ import annotations

from pathlib import Path

from evenglide.errors import Problem, StudyError
from evenglide.fieldlog.events import Event
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import State
from evenglide.store.log import read_log
from evenglide.store.study_folder import log_path


def read_state(folder: str) -> tuple[State, tuple[Event, ...]]:
    """Read the log of a folder and fold it.

    Parameters
    ----------
    folder : str

    Returns
    -------
    State
    tuple of Event
        In the order of arrival.

    Raises
    ------
    LogError
        If there is a log and it cannot be read, or was altered.
    """
    path = log_path(folder)
    events = read_log(path) if Path(path).exists() else ()
    return replay(events), events


def check_not_sealed(folder: str) -> None:
    """Refuse what may only be done before the seal.

    Parameters
    ----------
    folder : str

    Raises
    ------
    StudyError
        ``sealed-already``.
    """
    state, _ = read_state(folder)
    if state.seal is not None:
        raise StudyError(
            [
                Problem(
                    code="sealed-already",
                    where=folder,
                    found=f"a plan sealed as {state.seal.fingerprint}",
                    expected="a study that is not sealed yet",
                    remedy="What was sealed stays. Record what you do otherwise, or start a new study.",
                )
            ]
        )
