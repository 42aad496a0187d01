"""From the options of a judged table to the rule it is judged by."""

from __future__ import annotations

from evenglide.analysis.rule import Rule
from evenglide.intake.launches import Intake
from evenglide.intake.options import JudgeOptions


def rule_for(intake: Intake, options: JudgeOptions) -> Rule:
    """Fix scale, margin and error rates from what was said, filling in what was not."""
    labels = intake.launches.treatment.labels
    return Rule(
        scale=intake.scale,
        margin=None if intake.margin is None else (intake.margin.low, intake.margin.high),
        level=options.level,
        adjust=options.adjust,
        stays=tuple(labels.index(name.strip()) for name in options.stays),
        scale_stated=options.scale is not None or intake.margin is not None,
    )
