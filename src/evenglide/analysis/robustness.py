"""The primary test again under other decisions, all fixed in advance.

None of these lines ever changes the verdict; they are shown so that a reader can see how much it
hangs on choices. A line that cannot be had carries the reason instead of numbers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from evenglide.analysis.case import SurfaceCase, surface_case
from evenglide.analysis.estimates import (
    Estimate,
    MeansTest,
    in_blocks_holding_both,
    means_test,
    own_pair_test,
)
from evenglide.analysis.variants import filled_in, gone_beyond, outlier_rows, without_rows, without_wear
from evenglide.readings.observations import observe
from evenglide.typing import BoolArray, FloatArray, IntArray, Scale

MOST_PREPARATIONS = 2000
"""Beyond this, lines whose work grows with the square of the preparations are left out."""
LEAST_DF = 3
"""A covariate line on fewer degrees of freedom is refused: its slope would eat what is left."""

Margin = tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the table: what was decided otherwise, and the estimate under it.

    Parameters
    ----------
    code, text : str
    estimate : Estimate or None
        None where the line cannot be had.
    margin : tuple of float, or None
        Margin on the line's own scale.
    scale : {"ratio", "difference"}
    reason : str or None
        Code of why there is no estimate, or no test of it.
    """

    code: str
    text: str
    estimate: Estimate | None
    margin: Margin
    scale: Scale
    reason: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Variant:
    """A variant of a whole surface, or the reason why there is none."""

    code: str
    text: str
    test: MeansTest | None
    reason: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Robustness:
    """The lines of one surface, with what serves all of its contrasts computed once."""

    case: SurfaceCase
    margin: Margin
    variants: tuple[_Variant, ...]
    other_scale: SurfaceCase | None

    def lines(self, treatment: int) -> tuple[Line, ...]:
        """All lines for one treatment against the reference, in their fixed order."""
        case = self.case
        lines = [self._other_scale_line(treatment), _hodges_lehmann_line(case, treatment, self.margin)]
        own = own_pair_test(case.units, treatment)
        lines.append(self._line("own-pair", "Only the preparations of these two treatments", own))
        for variant in self.variants:
            estimate = None if variant.test is None else variant.test.contrast(treatment)
            lines.append(self._line(variant.code, variant.text, estimate, reason=variant.reason))
        lines.extend(self._filled_lines(treatment))
        return tuple(lines)

    def _line(self, code: str, text: str, estimate: Estimate | None, *, reason: str | None = None) -> Line:
        return Line(
            code=code,
            text=text,
            estimate=estimate,
            margin=self.margin,
            scale=self.case.scale,
            reason=reason or (None if estimate is None else estimate.missing),
        )

    def _other_scale_line(self, treatment: int) -> Line:
        """Differences of readings in place of ratios, or the other way round."""
        raw = self.case.scale == "ratio"
        code = "raw-scale" if raw else "log-scale"
        text = "Differences of readings instead of ratios" if raw else "Ratios instead of differences"
        scale: Scale = "difference" if raw else "ratio"
        if self.other_scale is None:
            return Line(code=code, text=text, estimate=None, margin=None, scale=scale, reason="not-positive")
        mean = _reference_mean(self.case)
        margin = None if self.margin is None or mean is None else _translate(self.margin, mean, to_raw=raw)
        estimate = self.other_scale.test.contrast(treatment)
        reason = estimate.missing
        if reason is None and margin is None and self.margin is not None:
            reason = "margin-beyond-mean"
        return Line(code=code, text=text, estimate=estimate, margin=margin, scale=scale, reason=reason)

    def _filled_lines(self, treatment: int) -> Iterator[Line]:
        """Fill in what was set aside or read as at least, as if all of it spoke for, then against."""
        for favour, words in ((True, "for"), (False, "against")):
            launches = filled_in(self.case, treatment, favour_treatment=favour)
            if launches is not None:
                case = surface_case(launches, self.case.surface, scale=self.case.scale)
                text = f"Launches set aside or read as at least filled in, all {words} the treatment"
                yield self._line(f"filled-{words}", text, case.test.contrast(treatment))
        for favour, words in ((True, "for"), (False, "against")):
            launches = gone_beyond(self.case, treatment, favour_treatment=favour)
            if launches is not None:
                case = surface_case(launches, self.case.surface, scale=self.case.scale)
                text = f"Launches read as at least taken half as far again, all {words} the treatment"
                yield self._line(f"beyond-{words}", text, case.test.contrast(treatment))


def robustness_of(case: SurfaceCase, margin: Margin) -> Robustness:
    """Compute everything that the lines of one surface share.

    Parameters
    ----------
    case : SurfaceCase
    margin : tuple of float, or None
        Analysis scale.

    Returns
    -------
    Robustness
    """
    other: Scale = "difference" if case.scale == "ratio" else "ratio"
    positive = bool((case.launches.value[case.valid_rows] > 0).all())
    other_scale = surface_case(case.launches, case.surface, scale=other) if positive else None
    variants = (_without_outliers(case), _with_drift(case), _without_wear(case), *_halves(case))
    return Robustness(
        case=case,
        margin=margin,
        variants=(*variants, *_blocks_left_out(case)),
        other_scale=other_scale,
    )


def is_large(case: SurfaceCase) -> bool:
    """Whether lines that grow with the square of the preparations are left out."""
    return len(case.observations.value) > MOST_PREPARATIONS


def _without_outliers(case: SurfaceCase) -> _Variant:
    if is_large(case):
        return _Variant(code="outliers-out", text="Outlying launches out", test=None, reason="too-many")
    rows = outlier_rows(case)
    text = f"Outlying launches out ({len(rows)} found)"
    if not rows.size:
        return _Variant(code="outliers-out", text=text, test=case.test)
    kept = surface_case(without_rows(case.launches, rows), case.surface, scale=case.scale)
    return _Variant(code="outliers-out", text=text, test=kept.test)


def _with_drift(case: SurfaceCase) -> _Variant:
    text = "Steady drift over time taken out"
    if case.units.order is None:
        return _Variant(code="drift", text=text, test=None, reason="no-order")
    test = means_test(case.units, case.units.order[:, np.newaxis])
    if test.design.df < LEAST_DF:
        return _Variant(code="drift", text=text, test=None, reason="few-df")
    return _Variant(code="drift", text=text, test=test)


def _without_wear(case: SurfaceCase) -> _Variant:
    text = "Wear over the launches of a preparation taken out"
    if case.launches.order is None:
        return _Variant(code="wear", text=text, test=None, reason="no-order")
    launches = without_wear(case)
    if launches is None:
        return _Variant(code="wear", text=text, test=None, reason="one-launch-each")
    return _Variant(code="wear", text=text, test=surface_case(launches, case.surface, scale=case.scale).test)


def _halves(case: SurfaceCase) -> tuple[_Variant, _Variant]:
    """First half of the blocks in time, and the second; an odd one belongs to the first."""
    codes = ("first-half", "First half of the rounds only"), ("second-half", "Second half of the rounds only")
    units = case.units
    reason = None
    if units.order is None:
        reason = "no-order"
    elif not case.launches.block.named or not units.value.size:
        reason = "no-blocks"
    if reason is not None or units.order is None:
        first, second = (_Variant(code=code, text=text, test=None, reason=reason) for code, text in codes)
        return first, second
    _, block = np.unique(units.block, return_inverse=True)
    size = np.bincount(block)
    rank = np.argsort(np.argsort(np.bincount(block, weights=units.order) / size, kind="stable"))
    early = rank[block] < (len(size) + 1) // 2
    first, second = (
        _Variant(code=code, text=text, test=means_test(units.take(keep)))
        if keep.any()
        else _Variant(code=code, text=text, test=None, reason="no-blocks")
        for (code, text), keep in zip(codes, (early, ~early), strict=True)
    )
    return first, second


def _blocks_left_out(case: SurfaceCase) -> Iterator[_Variant]:
    """Each block left out in turn."""
    units, labels = case.units, case.launches.block.labels
    blocks = np.unique(units.block)
    if len(blocks) < 2 or not case.launches.block.named:
        return
    if is_large(case):
        yield _Variant(code="block-left-out", text="Each round left out", test=None, reason="too-many")
        return
    names = _block_names(case, labels)
    for block in blocks:
        test = means_test(units.take(units.block != block))
        yield _Variant(code="block-left-out", text=f"Round {names[block]} left out", test=test)


def _block_names(case: SurfaceCase, labels: tuple[str, ...]) -> dict[int, str]:
    """Name each block of the units by the labels it holds (several where items joined them)."""
    label_of = dict(
        zip(case.observations.preparation.tolist(), case.observations.block.tolist(), strict=True)
    )
    names: dict[int, list[str]] = {}
    for preparation, block in zip(case.units.preparation.tolist(), case.units.block.tolist(), strict=True):
        known = names.setdefault(block, [])
        label = labels[label_of[preparation]]
        if label not in known:
            known.append(label)
    return {block: " + ".join(known) for block, known in names.items()}


def _hodges_lehmann_line(case: SurfaceCase, treatment: int, margin: Margin) -> Line:
    """Median of Walsh averages of pair differences, else of differences within blocks."""
    text = "Middle of all differences (Hodges-Lehmann): an estimate only"
    line = Line(code="hodges-lehmann", text=text, estimate=None, margin=margin, scale=case.scale)
    if is_large(case):
        return replace(line, reason="too-many")
    units = replace(case.units, value=case.test.without_items())
    units = units.take(in_blocks_holding_both(case.units, treatment))
    if not units.value.size:
        return replace(line, reason="no-contrast")
    treated = units.treatment == treatment
    pairs = len(np.unique(units.block)) * 2 == len(units.value)
    if pairs:
        order = np.argsort(units.block, kind="stable")
        by_block = treated[order]
        difference = units.value[order][by_block] - units.value[order][~by_block]
        first, second = np.triu_indices(len(difference))
        middle = float(np.median((difference[first] + difference[second]) / 2))
    else:
        middle = float(np.median(_cross_differences(units.value, treated, units.block)))
    return replace(line, estimate=Estimate(estimate=middle, se=None, df=None, missing="estimate-only"))


def _cross_differences(y: FloatArray, treated: BoolArray, block: IntArray) -> FloatArray:
    """All differences of a treated and a reference unit of one block."""
    return np.concatenate(
        [
            np.subtract.outer(y[treated & (block == b)], y[~treated & (block == b)]).ravel()
            for b in np.unique(block)
        ]
    )


def _reference_mean(case: SurfaceCase) -> float | None:
    """Mean of the reference's preparations in the response's unit."""
    raw = observe(case.launches, case.surface, scale="difference")
    values = raw.value[raw.treatment == 0] + raw.origin
    return float(values.mean()) if values.size else None


def _translate(margin: tuple[float, float], mean: float, *, to_raw: bool) -> Margin:
    """Express a margin on the other scale, at the reference's mean."""
    low, high = margin
    if to_raw:
        return (mean * np.expm1(low).item(), mean * np.expm1(high).item())
    if mean <= 0 or low <= -mean:
        return None
    return (float(np.log1p(low / mean)), float(np.log1p(high / mean)))
