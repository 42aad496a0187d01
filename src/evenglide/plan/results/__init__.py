"""What each hour outside buys, as facts: everything that `plan` offers for a study.

Chances are of the whole analysis as it is sealed: several comparisons share the level, voids are expected,
and the scatter is as uncertain as it is. The headline chance is that of a clear answer whichever way the
truth lies: the smaller of the chance of "no difference that matters" if there is none, and of a difference
if it is exactly the one that matters; averaged over the comparisons that the question is about.
"""

from __future__ import annotations

from evenglide.plan.results.candidate import (
    Candidate,
    ComparisonChances,
    Misfit,
    Obstacle,
)
from evenglide.plan.results.choice import (
    REACHED,
    Curve,
    DroppedOuting,
    Recommendation,
    Rule,
    Step,
    StepKind,
    Timeline,
    Wish,
    WishKind,
)
from evenglide.plan.results.given import (
    Assumed,
    MeasuredTime,
    OfferedOuting,
    OfferedSurface,
    ScatterUsed,
)
from evenglide.plan.results.whole import (
    OFFER_FORMAT,
    Offer,
    SharedIn,
)

__all__ = [
    "OFFER_FORMAT",
    "REACHED",
    "Assumed",
    "Candidate",
    "ComparisonChances",
    "Curve",
    "DroppedOuting",
    "MeasuredTime",
    "Misfit",
    "Obstacle",
    "Offer",
    "OfferedOuting",
    "OfferedSurface",
    "Recommendation",
    "Rule",
    "ScatterUsed",
    "SharedIn",
    "Step",
    "StepKind",
    "Timeline",
    "Wish",
    "WishKind",
]
