"""Open questions of a log, one by one: which launch or record each is about, and where to look."""

from __future__ import annotations

from collections.abc import Mapping

from evenglide.answer.results import Conduct
from evenglide.fieldlog.state import Entry, Question, State
from evenglide.show.numbers import count, duration, whole

WHERE_TO_LOOK = (
    "Each stands on the page “Every record” of evenglide serve, by its device and the device's own number."
)
ABOUT: Mapping[str, str] = {
    "clock-jumped": "the clock of this device went back by {gone}",
    "conflicting-records": "it came under an id that another record has",
    "corrected-differently": "it was corrected differently on two devices",
    "correction-does-not-fit": "a correction that does not fit what it corrects",
    "correction-in-a-circle": "a correction that corrects itself",
    "correction-of-nothing": "a correction of a record that the log does not hold",
    "launched-twice": "recorded as made twice",
    "prepared-twice": "{name} was made ready twice, told differently",
    "read-though-lost": "read, though its peg was lost",
    "read-twice": "read twice: {stands}, then {other}",
    "record-number-twice": "its number was used twice",
    "records-missing": "before it, {missing} of this device never came",
    "sealed-twice": "a second seal",
    "set-aside-twice": "set aside twice: {stands}, then {other}",
    "set-up-twice": "rig set-up {name} was recorded twice, told differently",
    "stopped-and-at-least": "recorded as stopped and as gliding on out of the lane",
    "unknown-record": "of a kind that this version does not know: {kind}",
    "unread": "“{text}” was read, which is no number",
}
"""What is odd, by the code of the question."""


def questions_words(conduct: Conduct) -> str:
    """Count what a person should look at in the log."""
    if conduct.questions == 0:
        return "Nothing in the log contradicts itself."
    looks, them = ("entry looks", "it") if conduct.questions == 1 else ("entries look", "them")
    return f"{whole(conduct.questions)} {looks} odd in the log: somebody who was there should go over {them}."


def odd_entries(state: State | None) -> tuple[str, ...]:
    """Name each entry that looks odd, by its launch and its record, and say what is odd about it."""
    if state is None:
        return ()
    known = {fact.entry.event: fact.entry for fact in state.facts}
    return tuple(_told(one, known.get(one.event)) for one in state.questions)


def _told(question: Question, entry: Entry | None) -> str:
    launch = "" if question.launch is None else f"Launch {question.launch}"
    record = "" if entry is None else f"record {entry.sequence} of {entry.device}"
    named = f"{launch} ({record})" if launch and record else launch or record or "An entry"
    return f"{named[:1].upper()}{named[1:]}: {_about(question)}."


def _about(question: Question) -> str:
    facts = dict(question.facts)
    if question.code == "clock-jumped":
        facts["gone"] = duration(float(str(facts["seconds"])))
    if question.code == "records-missing":
        missing = int(str(facts["last"])) - int(str(facts["first"])) + 1
        facts["missing"] = count(missing, "record")
    return ABOUT[question.code].format_map(facts)
