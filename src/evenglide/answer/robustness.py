"""Robustness lines as the answer states them, and notes on those that cannot be had."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from evenglide.analysis.claims import NO_CLAIMS, Family, claims_of, interval_of
from evenglide.analysis.robustness import Line
from evenglide.answer.results import RobustnessLine
from evenglide.show.notes import Note, note
from evenglide.typing import Verdict

REASONS = {
    "margin-beyond-mean": "a margin wider than the reference's mean is no ratio",
    "few-df": "with fewer than three degrees of freedom left, a slope over time would eat them",
    "items-outside-pairs": "gear differs and rounds are no pairs",
    "no-blocks": "the table names no rounds",
    "no-contrast": "the two treatments cannot be compared under this decision",
    "no-df": "too few preparations are left to know their scatter",
    "no-order": "the order of the launches is not known",
    "no-scatter": "the preparations agree to the last digit",
    "not-positive": "ratios need readings above nought",
    "one-launch-each": "wear needs several launches on one preparation",
    "too-many": "there are more than 2,000 preparations on this surface",
}
"""Why a line has no numbers, in words."""


def stated_lines(
    lines: Iterable[Line], family: Family, *, contrast: int, verdict: Verdict
) -> tuple[RobustnessLine, ...]:
    """Put each line through the three claims, all other contrasts of the family staying as they are."""
    return tuple(_stated(line, family, contrast=contrast, verdict=verdict) for line in lines)


def notes_on_lines(lines: Iterable[Line]) -> tuple[Note, ...]:
    """Say once per reason which lines have no numbers."""
    fields: dict[str, list[str]] = defaultdict(list)
    for line in lines:
        name = f"robustness.{line.code}"
        if line.reason is not None and name not in fields[line.reason]:
            fields[line.reason].append(name)
        elif line.reason is None and line.estimate is not None and line.estimate.missing == "estimate-only":
            fields["estimate-only"].append(name)
    return tuple(
        note("estimate-only", *names)
        if reason == "estimate-only"
        else note("line-not-available", *names, reason=REASONS[reason])
        for reason, names in fields.items()
    )


def _stated(line: Line, family: Family, *, contrast: int, verdict: Verdict) -> RobustnessLine:
    estimate = line.estimate
    claims = NO_CLAIMS if estimate is None else claims_of(estimate, line.margin)
    interval = None if estimate is None else interval_of(estimate, family.rule.level / 2)
    reached: Verdict | None = None
    if estimate is not None and claims.difference is not None:
        reached = family.verdict_with(contrast, claims, estimate.estimate)
    return RobustnessLine(
        code=line.code,
        text=line.text,
        scale=line.scale,
        estimate=None if estimate is None else estimate.estimate,
        interval=interval,
        p_difference=claims.difference,
        p_alike=claims.alike,
        verdict=reached,
        changes=None if reached is None else reached != verdict,
    )
