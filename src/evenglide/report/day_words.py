"""A day outside in words: what comes next, how long things take, how far launches on one coat lie apart."""

from __future__ import annotations

from collections.abc import Iterator

from evenglide.fieldlog.day import Day
from evenglide.fieldlog.oddities import FarReading
from evenglide.fieldlog.pace import Pace
from evenglide.show.numbers import count, duration, listed, percent_change, percent_scatter

MINUS, UNBROKEN = "\u2212", "\u00a0"
NEXT_STEPS = {
    "morning": "Next: go outside and begin the outing on the phone.",
    "prepare": "Next: make the gear ready.",
    "set up": "Next: anchor the rig.",
    "ready": "Next: launch.",
    "landed": "Next: say how the launch ended.",
    "read": "Next: read the pegs.",
    "end of coat": "Next: take the coats off.",
    "done": "Next: read the answer.",
}

TO_TAKE_IN = "Next: take in what is recorded on paper or by another phone."


def next_step(day: Day) -> str:
    """Say what is to be done now, and which launch comes next."""
    step, launch = NEXT_STEPS[day.state], day.next
    if launch is None:
        return TO_TAKE_IN if day.state == "done" and "elsewhere" in day.marks.values() else step
    gear = f"{launch['item']} ({launch['tag']})" if launch["tag"] else launch["item"]
    place = f"on {launch['surface']}, {launch['direction']}"
    return f"{step} The next launch is {launch['number']}: {gear}, {place}."


def far_words(far: FarReading, *, unit: str | None) -> str:
    """Say of a reading that it lies far from the others, and where those lie."""
    read = _with_unit(far.reading.text, far.reading.unit or unit)
    middle = _with_unit(f"{far.middle:.3g}", unit)
    return f"Launch {far.launch} on {far.surface}: {read}, far from the others there (about {middle})."


def unread_words(day: Day) -> str:
    """Say which launches wait for a reading."""
    if not day.unread:
        return "Everything that was launched is read."
    return f"{'Launch' if len(day.unread) == 1 else 'Launches'} {listed([str(one) for one in day.unread])}."


def pace_words(pace: Pace) -> Iterator[str]:
    """Say how long launches, moving the rig and making gear ready took; nothing of single treatments."""
    for surface, one in pace.launch.items():
        yield f"{surface}: {duration(one.seconds)} from launch to launch ({count(one.count, 'time')})"
    if pace.set_up:
        yield f"Moving the rig: {duration(pace.set_up.seconds)} ({count(pace.set_up.count, 'time')})"
    longest = max((one.seconds for one in pace.hands_on.values()), default=0.0)
    if longest:
        yield f"Making a piece of gear ready: up to {duration(longest)} of work"


def scatter_words(value: float | None, *, scale: str, unit: str | None) -> str:
    """Say how far launches on one coat lie apart; "not yet known" for None."""
    if value is None:
        return "not yet known"
    if scale == "ratio":
        return f"{percent_scatter(value):.1f}{UNBROKEN}%"
    return _with_unit(f"{value:.3g}", unit)


def drift_words(value: float | None, *, scale: str, unit: str | None) -> str:
    r"""Say how launches on one coat drift; "not yet known" for None.

    Examples
    --------
    >>> drift_words(-0.25, scale="difference", unit="m"), drift_words(-0.0001, scale="ratio", unit=None)
    ('−0.25\xa0m', '0.0\xa0%')
    """
    if value is None:
        return "not yet known"
    if scale != "ratio":
        return _with_unit(f"{value:+.3g}", unit)
    told = f"{percent_change(value):+.1f}"
    return f"{told.replace('-', MINUS) if float(told) else '0.0'}{UNBROKEN}%"


def _with_unit(told: str, unit: str | None) -> str:
    return f"{told.replace('-', MINUS)}{UNBROKEN}{unit or ''}".strip()
