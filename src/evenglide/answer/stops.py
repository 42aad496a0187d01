"""Launches of a log that had stopped before the time of their mark, as audit entries."""

from __future__ import annotations

import numpy as np

from evenglide.readings.from_log import LogReadings
from evenglide.show.notes import AuditEntry, audit_entry
from evenglide.typing import Severity

STOPPED_SHARE = 0.10
"""Above this share of a surface's launches, a timed mark is no longer one."""


def audit_of_stops(readings: LogReadings) -> tuple[AuditEntry, ...]:
    """Tell, surface by surface, launches that had stopped before the time of their mark."""
    launches = readings.launches
    if launches is None or not readings.stopped:
        return ()
    valid = ~launches.void
    stopped = valid & np.isin(launches.row, readings.stopped)
    told = []
    for code, surface in enumerate(launches.surface.labels):
        here = launches.surface.codes == code
        count, of = int((stopped & here).sum()), int((valid & here).sum())
        if count:
            severity: Severity = "limits" if count > STOPPED_SHARE * of else "warns"
            entry = audit_entry(
                "stopped-before-mark", surface=surface, severity=severity, count=count, launches=of
            )
            told.append(entry)
    return tuple(told)
