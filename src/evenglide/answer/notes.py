"""Notes on one contrast: why a number is missing, and what to read with care."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from evenglide.analysis.audit.layout import FEW_DF
from evenglide.analysis.estimates import in_blocks_holding_both, means_test
from evenglide.analysis.units import Units
from evenglide.answer.companions import Companions
from evenglide.answer.facts import launch_scatter_of
from evenglide.answer.results import Looks
from evenglide.show.notes import Note, note

LARGEST_LOG_RATIO = 700.0
"""Beyond it the ratio or an end of its interval may be no finite number."""
TESTED = (
    "se",
    "interval",
    "interval_adjusted",
    "interval_alike",
    "ratio_interval",
    "p_difference",
    "p_difference_adjusted",
    "p_alike",
    "p_alike_adjusted",
    "p_matters",
    "p_matters_adjusted",
    "to_close",
    "omnibus",
)
"""Fields that need a standard error."""
ALL_FIELDS = (
    "estimate",
    "df",
    "ratio",
    *TESTED,
    "p_randomisation",
    "assignments",
    "smallest_p",
    "interval_randomisation",
    "randomisation_method",
    "p_randomisation_joint",
    "own_pair",
    "naive",
    "reml",
    "robustness",
)
"""Fields that need a contrast."""
OWN_PAIR_TESTED = ("own_pair.se", "own_pair.df", "own_pair.interval", "own_pair.p")
OWN_PAIR_REASONS = {
    "no-contrast": "no round holds both",
    "no-df": "too few preparations",
    "no-scatter": "the preparations agree to the last digit",
}


MIXED_REASONS = {
    "two-way": "the two directions of a preparation are not averaged launch by launch",
    "item-is-unit": "pieces of gear are what counts as one try",
    "one-launch-each": "no preparation has a launch to spare",
    "no-df": "too few preparations",
    "no-scatter": "the launches of each preparation agree to the last digit",
    "too-large": "the surface has too many launches and preparations",
}


def notes_on_contrast(work: Companions) -> tuple[Note, ...]:
    """All notes on one contrast but those on robustness lines."""
    return (
        *_on_primary(work),
        *_on_scatter(work),
        *_on_own_pair(work),
        *_on_naive(work),
        *_on_randomisation(work),
        *_on_mixed(work),
    )


def notes_on_looks(looks: Looks | None) -> Iterator[Note]:
    """Say where a contrast was settled at a half-way check."""
    if looks is None or looks.stopped_at is None or looks.stopped_at == len(looks.planned):
        return
    settled = looks.at[looks.stopped_at - 1]
    if settled.planned:
        yield note(
            "settled-at-a-check",
            "looks",
            check=looks.stopped_at,
            preparations=settled.preparations,
            planned=looks.preparations,
        )


def _on_primary(work: Companions) -> Iterator[Note]:
    missing = work.primary.missing
    labels = work.case.launches.treatment.labels
    if missing == "no-contrast":
        absent = _absent(work)
        if absent:
            yield note("treatment-missing", *ALL_FIELDS, missing=absent)
        elif _items_in_the_way(work.case.units, work.treatment):
            yield note("item-is-treatment", *ALL_FIELDS, item="item")
        else:
            yield note("no-contrast", *ALL_FIELDS, treatment=labels[work.treatment], reference=labels[0])
    elif missing == "no-df":
        yield note("no-degrees-of-freedom", *TESTED)
    elif missing == "no-scatter":
        yield note("no-scatter", *TESTED)
    elif work.primary.df is not None and work.primary.df <= FEW_DF:
        yield note("few-preparations", "df", df=int(work.primary.df))
    if work.rule.scale == "ratio" and abs(work.primary.estimate or 0.0) > LARGEST_LOG_RATIO:
        yield note("ratio-out-of-range", "ratio", "ratio_interval")
    if work.case.units.item_is_unit and missing != "no-contrast":
        yield note("item-is-treatment", "estimate", item="item")
    if work.verdict == "open" and work.margin is not None and missing is None:
        yield from _on_closing(work)


def _on_closing(work: Companions) -> Iterator[Note]:
    if work.closing is None:
        yield note("closing-out-of-reach", "to_close", reason="the scatter is not known")
        return
    for name in ("difference_blocks", "alike_blocks"):
        if getattr(work.closing, name) is None:
            yield note("closing-out-of-reach", f"to_close.{name}", reason="it would take more than 9,999")


def _on_scatter(work: Companions) -> Iterator[Note]:
    """Preparations without a value, scatter that one preparation or one launch cannot show."""
    case = work.case
    of_the_two = (0, work.treatment)
    lacking = case.observations.one_direction
    if lacking.size:
        yield note("one-direction", "estimate", count=int(lacking.size))
    if case.observations.no_two_way.size:
        yield note("no-two-way-value", "estimate", count=int(case.observations.no_two_way.size))
    at_least = case.valid_rows[np.isin(case.launches.treatment.codes[case.valid_rows], of_the_two)]
    count = int(case.launches.at_least[at_least].sum())
    if count:
        yield note("at-least", "estimate", count=count)
    counts = np.bincount(case.observations.treatment, minlength=max(of_the_two) + 1)
    if (counts[list(of_the_two)] < 2).any():
        yield note("one-preparation", "treatments.mean", "treatments.sd_preparations")
    if any(launch_scatter_of(case, code) is None for code in of_the_two):
        yield note("one-launch-each", "treatments.sd_launches")


def _on_own_pair(work: Companions) -> Iterator[Note]:
    own = work.own_pair
    if own.missing == "items-outside-pairs":
        yield note("own-pair-items", "own_pair")
    elif own.missing is not None and work.primary.missing != "no-contrast":
        fields = ("own_pair",) if own.estimate is None else OWN_PAIR_TESTED
        yield note("own-pair-not-available", *fields, reason=OWN_PAIR_REASONS[own.missing])
    other = work.own_pair_verdict
    if other is not None and other != work.verdict:
        labels = work.case.launches.treatment.labels
        yield note(
            "spread-unequal", "verdict", treatment=labels[work.treatment], reference=labels[0], other=other
        )


def _on_naive(work: Companions) -> Iterator[Note]:
    if work.primary.estimate is None:
        return
    if work.naive.missing is not None or work.primary.missing is not None:
        fields = (
            ("naive",)
            if work.naive.estimate is None
            else ("naive.se", "naive.interval", "naive.too_narrow_by")
        )
        if work.naive.missing is None:
            fields = ("naive.too_narrow_by",)
        yield note("naive-not-available", *fields, reason="there is no scatter to compare")


def _on_mixed(work: Companions) -> Iterator[Note]:
    mixed = work.mixed.contrast(work.treatment)
    if mixed is None:
        if work.mixed.missing in MIXED_REASONS:
            yield note("reml-not-available", "reml", reason=MIXED_REASONS[work.mixed.missing])
        return
    if mixed.boundary:
        yield note("reml-boundary", "reml", df=int(mixed.df), preparations=len(work.case.observations.value))
    if mixed.moment_variance <= 0.0:
        yield note(
            "preparations-not-above-launches",
            "reml",
            variance=mixed.moment_variance,
            launches=mixed.launch_variance,
        )


def _on_randomisation(work: Companions) -> Iterator[Note]:
    chance = work.randomisation
    if chance is None:
        if work.primary.estimate is not None:
            fields = ("p_randomisation", "assignments", "smallest_p", "interval_randomisation")
            yield note("randomisation-not-available", *fields, reason=_why_no_orders(work))
    elif chance.interval is None:
        yield note(
            "randomisation-unbounded",
            "interval_randomisation",
            assignments=chance.assignments,
            least=chance.smallest_p,
        )
    if chance is not None and chance.standard_error is not None:
        count = _in_words(chance.assignments, chance.log10_assignments)
        yield note(
            "randomisation-by-chance",
            "p_randomisation",
            "interval_randomisation",
            draws=chance.draws,
            assignments=count,
            error=chance.standard_error,
        )
    yield from _on_joint_randomisation(work)


def _why_no_orders(work: Companions) -> str:
    """Say why the two treatments alone leave nothing to draw."""
    if not in_blocks_holding_both(work.case.units, work.treatment).any():
        return "no round holds both"
    if work.rule.drawn:
        return "the plan did not draw every preparation that was made"
    return "with gear that differs, the rounds that hold both give no estimate"


def _on_joint_randomisation(work: Companions) -> Iterator[Note]:
    if not work.case.launches.shared:
        return
    if work.joint is None:
        if work.primary.estimate is not None:
            reason = _why_no_orders(work) if work.randomisation is None else "no surface gives a test"
            yield note("randomisation-not-available", "p_randomisation_joint", reason=reason)
    elif work.joint.standard_error is not None:
        yield note(
            "joint-by-chance",
            "p_randomisation_joint",
            draws=work.joint.draws,
            error=work.joint.standard_error,
        )


def _in_words(assignments: int, log10: float) -> str:
    return f"{assignments:,}" if log10 < 15 else f"about 10^{log10:.0f}"


def _absent(work: Companions) -> str:
    """Name which of the two treatments has no value on this surface; "" if both have."""
    labels, met = work.case.launches.treatment.labels, np.unique(work.case.observations.treatment)
    names = [labels[code] for code in (0, work.treatment) if code not in met]
    return "" if not names else f"{' and '.join(names)} {'has' if len(names) == 1 else 'have'}"


def _items_in_the_way(units: Units, treatment: int) -> bool:
    """Whether the contrast exists once item differences are left in."""
    if units.item is None:
        return False
    return means_test(replace(units, item=None)).contrast_vector(treatment) is not None
