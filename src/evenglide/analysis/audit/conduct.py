"""Audit of the conduct: order in time, days, wear, treatments that do not come off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.rule import Rule
from evenglide.analysis.variants import launches_since_preparation
from evenglide.maths.blocks import centred, compact
from evenglide.readings.launches import Launches
from evenglide.show.notes import AuditEntry, audit_entry
from evenglide.typing import FloatArray, Severity

ORDER_WARNS = 0.4
"""Correlation of order and treatment inside rounds from which a steady drift would reach the estimate
with about half its size; six fair draws of which goes first pass it in one plan out of five."""
ORDER_LIMITS = 0.7
"""Correlation from which order and treatment can hardly be told apart: one always before the other."""
DAYS_WARN, DAYS_LIMIT = 0.2, 0.5
"""Shares of a treatment's variation inside rounds that go with the day: from a fifth a difference of
days reaches the estimate, from a half on it can hardly be told from the treatment."""
COAT_AGE_SHARE = 0.5
"""Share of the variance of coat age that goes with the surface; surfaces that rotate stay near 0."""


def audit_conduct(launches: Launches, cases: Sequence[SurfaceCase], rule: Rule) -> Iterator[AuditEntry]:
    """Yield what the way the launches were made cannot support."""
    if launches.order is None:
        yield audit_entry("no-order")
    else:
        for case in cases:
            yield from _order_follows_treatment(case, launches.order)
    if not rule.order_drawn:
        yield audit_entry("no-record-of-order")
    if not launches.session.named:
        yield audit_entry("days-unknown")
    elif len(launches.session.labels) == 1:
        yield audit_entry("one-day", day=launches.session.labels[0])
    else:
        for case in cases:
            yield from _days_follow_treatment(case)
    if launches.order is not None:
        yield from _order_repeated(launches.order)
    yield from _carry_over(launches, rule)
    yield from _surface_tied_to_coat_age(launches)


def order_correlation(case: SurfaceCase, order: FloatArray) -> float:
    """Largest correlation, in size, of launch order with a treatment against the reference, inside blocks."""
    launches, rows = case.launches, case.valid_rows
    _, block = np.unique(launches.block.codes[rows], return_inverse=True)
    rank = np.argsort(np.argsort(order[rows], kind="stable")).astype(float)
    largest = 0.0
    for treatment in range(1, len(launches.treatment.labels)):
        pair = np.isin(launches.treatment.codes[rows], (0, treatment))
        treated = (launches.treatment.codes[rows[pair]] == treatment).astype(float)
        x, z = centred(rank[pair], compact(block[pair])), centred(treated, compact(block[pair]))
        length = float(np.sqrt((x @ x) * (z @ z)))
        if length > 0 and abs(x @ z) / length > abs(largest):
            largest = float(x @ z) / length
    return largest


def _order_follows_treatment(case: SurfaceCase, order: FloatArray) -> Iterator[AuditEntry]:
    correlation = order_correlation(case, order)
    if abs(correlation) >= ORDER_WARNS:
        surface = case.launches.surface.labels[case.surface] if case.launches.surface.named else None
        severity: Severity = "limits" if abs(correlation) >= ORDER_LIMITS else "warns"
        yield audit_entry(
            "order-follows-treatment", surface=surface, severity=severity, correlation=correlation
        )


def day_share(case: SurfaceCase) -> float:
    """Share of the variation of treatments inside blocks that goes with the session."""
    launches, rows = case.launches, case.valid_rows
    _, block = np.unique(launches.block.codes[rows], return_inverse=True)
    sessions = len(launches.session.labels)
    _, cell = np.unique(block * sessions + launches.session.codes[rows], return_inverse=True)
    largest = 0.0
    for treatment in range(1, len(launches.treatment.labels)):
        pair = np.isin(launches.treatment.codes[rows], (0, treatment))
        treated = (launches.treatment.codes[rows[pair]] == treatment).astype(float)
        total = centred(treated, compact(block[pair]))
        rest = centred(treated, compact(cell[pair]))
        if total @ total > 0:
            largest = max(largest, 1 - float(rest @ rest) / float(total @ total))
    return largest


def _days_follow_treatment(case: SurfaceCase) -> Iterator[AuditEntry]:
    share = day_share(case)
    if share >= DAYS_WARN:
        surface = case.launches.surface.labels[case.surface] if case.launches.surface.named else None
        severity: Severity = "limits" if share >= DAYS_LIMIT else "warns"
        yield audit_entry("days-follow-treatment", surface=surface, severity=severity, share=share)


def _order_repeated(order: FloatArray) -> Iterator[AuditEntry]:
    """Numbers of the order that stand twice: copied rows, or two launches at once."""
    known = order[np.isfinite(order)]
    _, counts = np.unique(known, return_counts=True)
    repeated = int(counts[counts > 1].sum())
    if repeated:
        yield audit_entry("order-repeated", count=repeated)


def _carry_over(launches: Launches, rule: Rule) -> Iterator[AuditEntry]:
    """Another treatment on an item after one that does not come off."""
    when = launches.row.astype(float) if launches.order is None else launches.order
    for stays in rule.stays:
        for item in np.unique(launches.item.codes[launches.treatment.codes == stays]):
            mine = launches.item.codes == item
            start = np.nanmin(when[mine & (launches.treatment.codes == stays)], initial=np.inf)
            after = mine & (when > start) & (launches.treatment.codes != stays)
            if after.any():
                later = launches.treatment.codes[after][np.argmin(when[after])]
                yield audit_entry(
                    "carry-over",
                    treatment=launches.treatment.labels[stays],
                    item=launches.item.labels[item] if launches.item.named else "the same gear",
                    later=launches.treatment.labels[later],
                    order_known=launches.order is not None,
                )


def _surface_tied_to_coat_age(launches: Launches) -> Iterator[AuditEntry]:
    """Surfaces visited in one order on shared preparations."""
    since = launches_since_preparation(launches)
    if since is None or not launches.shared or len(launches.surface.labels) < 2:
        return
    age = centred(since, compact(launches.preparation.codes))
    total = float(age @ age)
    rest = centred(age, compact(launches.surface.codes))
    if total > 0 and 1 - float(rest @ rest) / total >= COAT_AGE_SHARE:
        yield audit_entry("surface-tied-to-coat-age", share=1 - float(rest @ rest) / total)
