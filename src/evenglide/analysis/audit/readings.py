"""Audit of the readings: kinds of mark, steps of the tape, launches set aside or cut short."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.maths.fisher import fisher_exact_p
from evenglide.maths.rounding import reading_step
from evenglide.readings.launches import Launches
from evenglide.show.notes import AuditEntry, audit_entry
from evenglide.typing import FloatArray, IntArray, Severity

COARSE_SHARE = 1 / 3
"""A step of h adds h/sqrt(12) of scatter: at a third of the launches' scatter, half a per cent of it."""
AT_LEAST_SHARE = 0.10
"""Above this share of a surface's launches, bounds in place of distances decide the answer."""
VOIDS_WARN = 0.10
"""An imbalance of launches set aside that chance gives in one table out of ten."""
VOIDS_LIMIT = 0.01
"""An imbalance that chance gives in one table out of a hundred."""


def audit_readings(launches: Launches, cases: Sequence[SurfaceCase]) -> Iterator[AuditEntry]:
    """Yield what the readings cannot support."""
    if not launches.mark.named:
        yield audit_entry("mark-assumed")
    everywhere = list(_unequal_voids(launches, np.arange(len(launches.value)), None))
    yield from everywhere
    for case in cases:
        surface = launches.surface.labels[case.surface] if launches.surface.named else None
        yield from _mixed_marks(case, surface)
        yield from _coarse(case, surface)
        if surface is not None and not everywhere:
            yield from _unequal_voids(launches, case.rows, surface)
        yield from _at_least(case, surface)


def launch_scatter(value: FloatArray, cell: IntArray) -> float | None:
    """Pooled standard deviation within cells, or None where no cell holds two values."""
    _, dense = np.unique(cell, return_inverse=True)
    size = np.bincount(dense)
    df = len(value) - len(size)
    if df <= 0:
        return None
    value = value - value[:1]
    deviation = value - (np.bincount(dense, weights=value) / size)[dense]
    return float(np.sqrt(deviation @ deviation / df))


def _at_least(case: SurfaceCase, surface: str | None) -> Iterator[AuditEntry]:
    """Launches that left the lane; many of them leave no answer to how large a difference is."""
    rows = case.valid_rows
    count = int(case.launches.at_least[rows].sum())
    if count:
        severity: Severity = "limits" if count > AT_LEAST_SHARE * rows.size else "warns"
        yield audit_entry(
            "at-least", surface=surface, severity=severity, count=count, launches=int(rows.size)
        )


def _mixed_marks(case: SurfaceCase, surface: str | None) -> Iterator[AuditEntry]:
    codes = np.unique(case.launches.mark.codes[case.valid_rows])
    if codes.size > 1:
        marks = tuple(case.launches.mark.labels[code] for code in codes)
        yield audit_entry("marks-mixed", surface=surface, marks=marks)


def _coarse(case: SurfaceCase, surface: str | None) -> Iterator[AuditEntry]:
    """Readings whose step exceeds a third of the scatter of launches."""
    launches, rows = case.launches, case.valid_rows
    if not rows.size:
        return
    ways = len(launches.direction.labels)
    cell = launches.preparation.codes[rows] * ways + launches.direction.codes[rows]
    scatter = launch_scatter(launches.value[rows], cell)
    step = reading_step(launches.value[rows], launches.decimals)
    if scatter is not None and step is not None and step > COARSE_SHARE * scatter:
        yield audit_entry("coarse-readings", surface=surface, step=step, scatter=scatter)


def _unequal_voids(launches: Launches, rows: IntArray, surface: str | None) -> Iterator[AuditEntry]:
    """Launches set aside more often with a treatment than with the reference."""
    labels = launches.treatment.labels
    total = np.bincount(launches.treatment.codes[rows], minlength=len(labels))
    aside = np.bincount(launches.treatment.codes[rows][launches.void[rows]], minlength=len(labels))
    kept = total - aside
    p = [
        fisher_exact_p((int(aside[0]), int(kept[0])), (int(aside[k]), int(kept[k])))
        for k in range(1, len(labels))
    ]
    if p and min(p) <= VOIDS_WARN:
        counts = tuple(f"{name} {a} of {n}" for name, a, n in zip(labels, aside, total, strict=True))
        severity: Severity = "limits" if min(p) <= VOIDS_LIMIT else "warns"
        yield audit_entry("voids-unequal", surface=surface, severity=severity, counts=counts, p=min(p))
