"""Open questions of a log, gathered by kind and told as departures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from evenglide.fieldlog.bodies import Sealed
from evenglide.fieldlog.state import Question, State
from evenglide.show.departures import Departure, departure
from evenglide.show.numbers import duration, listed

OF_LAUNCHES: Mapping[str, str] = {
    "launched-twice": "launched-twice",
    "read-twice": "read-twice",
    "read-though-lost": "read-though-lost",
    "set-aside-twice": "set-aside-twice",
    "stopped-and-at-least": "stopped-and-at-least",
    "unread": "unread",
}
"""Questions that are told with the numbers of their launches."""
COUNTED: Mapping[str, str] = {
    "conflicting-records": "conflicting-records",
    "corrected-differently": "corrected-differently",
    "correction-does-not-fit": "corrections-astray",
    "correction-in-a-circle": "corrections-astray",
    "correction-of-nothing": "corrections-astray",
    "record-number-twice": "record-numbers-twice",
}
"""Questions that are told with their number."""
NAMED: Mapping[str, str] = {"prepared-twice": "prepared-twice", "set-up-twice": "set-up-twice"}
"""Questions that are told with the names they are about."""


def departures_of_questions(state: State) -> Iterator[Departure]:
    """Tell the open questions of a log.

    Parameters
    ----------
    state : State

    Yields
    ------
    Departure
        One for each kind.
    """
    by_code: dict[str, list[Question]] = {}
    for question in state.questions:
        by_code.setdefault(question.code, []).append(question)
    counts: dict[str, int] = {}
    for code, questions in by_code.items():
        if code in OF_LAUNCHES:
            numbers = tuple(sorted({one.launch for one in questions if one.launch is not None}))
            yield departure(OF_LAUNCHES[code], count=len(numbers), numbers=numbers)
        elif code in NAMED:
            names = dict.fromkeys(str(one.facts["name"]) for one in questions)
            yield departure(NAMED[code], names=listed(list(names)))
        elif code in COUNTED:
            counts[COUNTED[code]] = counts.get(COUNTED[code], 0) + len(questions)
    for code, count in counts.items():
        yield departure(code, count=count)
    yield from _of_devices(by_code)
    if "sealed-twice" in by_code:
        seals = sum(isinstance(fact.body, Sealed) and not fact.withdrawn for fact in state.facts)
        yield departure("sealed-twice", count=seals)


def _of_devices(by_code: Mapping[str, Sequence[Question]]) -> Iterator[Departure]:
    """Tell what is odd about whole streams of records."""
    if unknown := by_code.get("unknown-record"):
        kinds = tuple(dict.fromkeys(f"“{one.facts['kind']}”" for one in unknown))
        yield departure("unknown-records", count=len(unknown), kinds=kinds)
    if missing := by_code.get("records-missing"):
        count = sum(int(str(one.facts["last"])) - int(str(one.facts["first"])) + 1 for one in missing)
        yield departure("records-missing", count=count)
    if jumps := by_code.get("clock-jumped"):
        seconds = max(float(str(one.facts["seconds"])) for one in jumps)
        yield departure("clock-jumped", seconds=seconds, jump=duration(seconds))
