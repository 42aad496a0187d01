"""Where the tape began: what was taken off the readings of a log, as an audit entry."""

from __future__ import annotations

from evenglide.readings.from_log import LogReadings
from evenglide.show.notes import AuditEntry, audit_entry
from evenglide.show.numbers import plain


def audit_of_tape(readings: LogReadings) -> tuple[AuditEntry, ...]:
    """Tell of launches whose tape did not begin where the gear was released."""
    if readings.launches is None or not readings.zeros:
        return ()
    zeros = readings.zeros.values()
    entry = audit_entry(
        "tape-not-at-zero",
        count=len(readings.zeros),
        launches=len(readings.numbers),
        least=plain(min(zeros)),
        most=plain(max(zeros)),
        unit=readings.launches.unit or "m",
    )
    return (entry,)
