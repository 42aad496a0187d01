"""What was taken in, told on a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from evenglide.errors import Problem
from evenglide.show.departures import runs
from evenglide.show.numbers import count
from evenglide.show.typed import listing


def taken_in_text(
    *,
    source: str,
    new: int,
    readings: int,
    corrections: int,
    conflicts: int,
    doubts: Sequence[Problem],
    kept_blank: Sequence[int],
    ignored: Sequence[str],
) -> str:
    """Write it.

    Parameters
    ----------
    source : str
    new, readings, corrections, conflicts : int
        Events that were added; of them readings and corrections; ids that were taken.
    doubts : sequence of Problem
    kept_blank : sequence of int
    ignored : sequence of str

    Returns
    -------
    str
    """
    if not new and not conflicts:
        lines = [f"{source}: nothing new; the log says all of it already."]
    else:
        parts = [count(readings, "reading")] if readings else []
        parts += [count(corrections, "correction")] if corrections else []
        told = f" ({', '.join(parts)})" if parts else ""
        lines = [f"{source}: {count(new, 'new event')}{told}."]
    if conflicts:
        lines.append(
            f"{count(conflicts, 'event')} came under an id that is taken by something else. Both are "
            "kept; the first one stands."
        )
    if kept_blank:
        lines.append(f"Blank in the list, recorded in the log, left as it is: launches {runs(kept_blank)}.")
    if ignored:
        lines.append(f"Columns that were not read: {listing(ignored)}.")
    if doubts:
        lines.append("Kept as text, not counted until corrected:")
        lines += [f"  {doubt.where}: found {doubt.found}; expected {doubt.expected}." for doubt in doubts]
    return "\n".join(lines)


def incomplete_text(*, unreadable: Sequence[Problem], missing: int) -> str:
    """Say what a phone's file does not hold; "" if it is whole.

    Parameters
    ----------
    unreadable : sequence of Problem
        Lines that hold no record.
    missing : int
        Records that the file promises and does not hold.

    Returns
    -------
    str
    """
    lines = []
    if missing:
        lines.append(f"The phone wrote {count(missing, 'more record')} than can be read here.")
    if unreadable:
        lines.append("Lines that hold no record; save the file on the phone once more and take it in again:")
        lines += [f"  {line.where}: found {line.found}." for line in unreadable]
    return "\n".join(lines)
