"""What is odd about records as records: their numbers, their clocks, bodies that are not understood."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from evenglide.fieldlog.bodies import Conflicting, UnknownBody, launch_of
from evenglide.fieldlog.state import Entry, Fact, Question

CLOCK_SLACK_S = 120.0
"""A clock that is set right by less than this is no jump (chosen: twice what people tell each other)."""


def odd_records(facts: Sequence[Fact]) -> Iterator[Question]:
    """Find what is odd.

    Parameters
    ----------
    facts : sequence of Fact
        In the order of replay.

    Yields
    ------
    Question
        ``unknown-record``, ``conflicting-records``; per device ``record-number-twice``,
        ``records-missing``, ``clock-jumped``.
    """
    streams: dict[str, list[Entry]] = {}
    for fact in facts:
        entry = fact.entry
        streams.setdefault(entry.device, []).append(entry)
        if isinstance(entry.body, UnknownBody):
            yield _question("unknown-record", entry, kind=entry.body.kind)
        elif isinstance(entry.body, Conflicting):
            yield _question("conflicting-records", entry, target=entry.body.event)
    for stream in streams.values():
        yield from _odd_stream(sorted(stream, key=lambda entry: entry.sequence))


def _odd_stream(stream: Sequence[Entry]) -> Iterator[Question]:
    """Look along the records of one device."""
    expected = 1
    latest: datetime | None = None
    for entry in stream:
        if entry.sequence < expected:
            yield _question("record-number-twice", entry, device=entry.device, number=entry.sequence)
        elif entry.sequence > expected:
            yield _question(
                "records-missing", entry, device=entry.device, first=expected, last=entry.sequence - 1
            )
        expected = max(expected, entry.sequence + 1)
        moment = moment_of(entry.device_time)
        if moment is not None and latest is not None:
            back = (latest - moment).total_seconds()
            if back > CLOCK_SLACK_S:
                yield _question("clock-jumped", entry, device=entry.device, seconds=back)
        latest = moment or latest


def moment_of(text: str) -> datetime | None:
    """Read a time with its offset from UTC (RFC 3339); None if it is none."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else None


def _question(code: str, entry: Entry, **facts: object) -> Question:
    return Question(code=code, event=entry.event, launch=launch_of(entry.body), facts=facts)
