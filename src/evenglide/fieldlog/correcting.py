"""Corrections: which of them stand, and what an event says with them applied.

A correction names the event that it corrects. A correction of a correction replaces it. Several
corrections of one event are applied in the order of replay, so that the last one wins where they
speak of the same thing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from evenglide.fieldlog.bodies import (
    AtLeast,
    Body,
    Corrected,
    Incident,
    Look,
    Noted,
    Read,
    Sealed,
    SetAside,
    UnknownBody,
    launch_of,
    parse_body,
)
from evenglide.fieldlog.events import canonical_body
from evenglide.fieldlog.state import Entry, Fact, Question


@dataclass(slots=True)
class _Links:
    """Corrections by what they correct."""

    of: dict[str, list[Entry]]
    known: dict[str, Entry]


def facts_of(history: Sequence[Entry]) -> tuple[tuple[Fact, ...], tuple[Question, ...]]:
    """Apply all corrections.

    Parameters
    ----------
    history : sequence of Entry
        In the order of replay.

    Returns
    -------
    facts : tuple of Fact
        One for each entry, corrections among them.
    questions : tuple of Question
        Corrections that fit nothing, or contradict each other.
    """
    links = _linked(history)
    questions: list[Question] = []
    facts: list[Fact] = []
    reach = 0
    for position, entry in enumerate(history):
        reach = max(reach, launch_of(entry.body) or 0)
        if isinstance(entry.body, Corrected):
            facts.append(
                Fact(
                    entry=entry,
                    body=entry.body,
                    withdrawn=False,
                    latest=entry.event,
                    corrections=0,
                    reach=reach,
                    position=position,
                )
            )
            questions += _questions_of(entry, entry.body, links)
            continue
        body, withdrawn, chain = _corrected(entry, links, questions=questions)
        facts.append(
            Fact(
                entry=entry,
                body=body,
                withdrawn=withdrawn,
                latest=chain[-1] if chain else entry.event,
                corrections=len(chain),
                reach=reach,
                position=position,
            )
        )
    return tuple(facts), tuple(questions)


def _linked(history: Sequence[Entry]) -> _Links:
    links = _Links(of={}, known={entry.event: entry for entry in history})
    for entry in history:
        if isinstance(entry.body, Corrected):
            links.of.setdefault(entry.body.target, []).append(entry)
    return links


def _corrected(entry: Entry, links: _Links, *, questions: list[Question]) -> tuple[Body, bool, list[str]]:
    """Apply the corrections of one event: what it says, whether it is withdrawn, which corrections."""
    body = entry.body
    withdrawn = False
    followed: list[str] = []
    corrections = links.of.get(entry.event, ())
    for correction in corrections:
        chain = list(_replacements(correction, links))
        last = chain[-1]
        assert isinstance(last.body, Corrected)
        followed += [one.event for one in chain]
        amended = amend(body, last.body)
        if amended is None:
            facts = {"target": entry.event, "kind": entry.body.kind}
            code = "correction-does-not-fit"
            questions.append(Question(code=code, event=last.event, launch=launch_of(entry.body), facts=facts))
        else:
            body = amended
            withdrawn = last.body.withdrawn
    if len(corrections) > 1:
        questions += _disagreements(entry, corrections)
    return body, withdrawn, followed


def _replacements(correction: Entry, links: _Links) -> Iterator[Entry]:
    """Follow a correction to what replaced it, and so on; a circle is followed once."""
    met: set[str] = set()
    current: Entry | None = correction
    while current is not None and current.event not in met:
        met.add(current.event)
        yield current
        following = links.of.get(current.event)
        current = following[-1] if following else None


def _questions_of(entry: Entry, body: Corrected, links: _Links) -> Iterator[Question]:
    """Say what is odd about a correction itself."""
    met = {entry.event}
    target = links.known.get(body.target)
    if target is None:
        yield _question("correction-of-nothing", entry, target=body.target)
        return
    while target is not None and isinstance(target.body, Corrected):
        if target.event in met:
            yield _question("correction-in-a-circle", entry, target=body.target)
            return
        met.add(target.event)
        target = links.known.get(target.body.target)
    if len(links.of.get(entry.event, ())) > 1:
        yield from _disagreements(entry, links.of[entry.event])


def _disagreements(entry: Entry, corrections: Sequence[Entry]) -> Iterator[Question]:
    """Two devices corrected the same thing, each without knowing of the other."""
    said = {canonical_body(correction.body) for correction in corrections}
    devices = sorted({correction.device for correction in corrections})
    if len(said) > 1 and len(devices) > 1:
        yield Question(
            code="corrected-differently",
            event=entry.event,
            launch=launch_of(entry.body),
            facts={"devices": tuple(devices), "stands": corrections[-1].event},
        )


def _question(code: str, entry: Entry, **facts: object) -> Question:
    return Question(code=code, event=entry.event, launch=launch_of(entry.body), facts=facts)


def amend(body: Body, correction: Corrected) -> Body | None:
    """Apply one correction to a body.

    Parameters
    ----------
    body : Body
        What was recorded.
    correction : Corrected

    Returns
    -------
    Body or None
        None if the result would be no body of this kind, or of another launch; nor can a seal be corrected,
        or that somebody has looked.
    """
    if isinstance(body, Sealed | Look):
        return None
    changes = {**_changes_of_fields(body, correction), **correction.changes}
    if not changes:
        return body
    amended = parse_body({**body.to_dict(), **changes})
    unfit = isinstance(amended, UnknownBody) and not isinstance(body, UnknownBody)
    if unfit or amended.kind != body.kind or launch_of(amended) != launch_of(body):
        return None
    return amended


def _changes_of_fields(body: Body, correction: Corrected) -> dict[str, Any]:
    """What `text`, `value` and `unit` of a correction mean for a body of this kind."""
    text = correction.text
    if isinstance(body, Read):
        if text is None and correction.value is None:
            return {}
        changes: dict[str, Any] = {"value": correction.value, "unread": correction.unread}
        changes |= {} if text is None else {"text": text}
        return changes | ({} if correction.unit is None else {"unit": correction.unit})
    if isinstance(body, AtLeast) and correction.value is not None:
        return {"value": correction.value} | ({} if correction.unit is None else {"unit": correction.unit})
    if text is not None and isinstance(body, SetAside):
        return {"cause": text}
    if text is not None and isinstance(body, Noted | Incident):
        return {"words": text}
    return {}
