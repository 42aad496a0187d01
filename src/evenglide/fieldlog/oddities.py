"""What is odd about records: their numbers, their clocks, bodies that are not understood, far readings."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from evenglide.fieldlog.bodies import Conflicting, UnknownBody, launch_of
from evenglide.fieldlog.state import Entry, Fact, LaunchState, Question, Reading

CLOCK_SLACK_S = 120.0
"""A clock that is set right by less than this is no jump (chosen: twice what people tell each other)."""

FAR = 1.6
"""A reading so many times the middle of the others on its surface, or that part of it, is far (chosen)."""
FEWEST_OTHERS = 4
"""Others on the surface from which on one can be far from them (chosen)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FarReading:
    """A reading that lies far from the others on its surface; `middle` of those others."""

    launch: int
    surface: str
    reading: Reading
    middle: float


def readings_by_surface(
    plan: Mapping[str, Any], launches: Mapping[int, LaunchState]
) -> dict[str, list[tuple[int, Reading, float]]]:
    """Gather launch, reading and value of what was read and counts, for each surface of the plan."""
    found: dict[str, list[tuple[int, Reading, float]]] = {}
    for one in plan["launches"]:
        launch = launches.get(one["number"])
        reading = launch.reading if launch is not None and launch.set_aside is None else None
        if reading is not None and reading.value is not None:
            found.setdefault(one["surface"], []).append((one["number"], reading, float(reading.value)))
    return found


def far_readings(plan: Mapping[str, Any], launches: Mapping[int, LaunchState]) -> tuple[FarReading, ...]:
    """Find readings that somebody should look at once more; the phone asks by the same rule.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.
    launches : mapping of int to LaunchState

    Returns
    -------
    tuple of FarReading
        In the order of the plan, surface by surface.
    """
    far: list[FarReading] = []
    for surface, told in readings_by_surface(plan, launches).items():
        values = sorted(value for _, _, value in told)
        half = (len(values) - 1) // 2
        for number, reading, value in told if len(values) > FEWEST_OTHERS else ():
            middle = values[half if half < bisect_left(values, value) else half + 1]
            if value <= 0 or (middle > 0 and not middle / FAR <= value <= FAR * middle):
                far.append(FarReading(launch=number, surface=surface, reading=reading, middle=middle))
    return tuple(far)


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
