"""Many studies of one plan judged at once, by the same functions that judge one.

A batch is a table of launches whose readings have one column for each study. All studies share the
plan (which launch belongs to which preparation, treatment, block, item, surface and direction) and
differ in their readings and in what was set aside. Whatever a study lacks is brought together by
pattern, so that no step goes study by study.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from evenglide.analysis.claims import KINDS, Family, claims_p, size_codes, verdict_codes
from evenglide.analysis.estimates import in_blocks_holding_both, own_scatter_test, pairs_only
from evenglide.analysis.rule import Rule
from evenglide.analysis.units import Units, design_of, units_of
from evenglide.maths.means import SweptDesign, estimate_of_form, least_squares, level_contrast
from evenglide.maths.patterns import columns_by_pattern
from evenglide.readings.launches import Launches
from evenglide.readings.observations import (
    Observations,
    PreparationValues,
    SurfaceLayout,
    layout_of,
    preparation_values,
)
from evenglide.typing import BoolArray, FloatArray, IntArray

NO_SIZE = -1
Found = tuple[int, FloatArray, FloatArray, FloatArray | np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchEstimates:
    """Estimates of every contrast in every study.

    Parameters
    ----------
    surface, treatment : array of int, shape (contrasts,)
        Codes; each treatment but the reference on each surface, surfaces outermost.
    estimate, se, df : array of float, shape (contrasts, studies)
        Analysis scale; NaN where there is none.
    """

    surface: IntArray
    treatment: IntArray
    estimate: FloatArray
    se: FloatArray
    df: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchVerdicts:
    """Verdicts on every contrast in every study.

    Parameters
    ----------
    estimates : BatchEstimates
    p, p_adjusted : array of float, shape (3, contrasts, studies)
        Difference, alike, matters; NaN where a claim cannot be tested.
    verdict : array of int, shape (contrasts, studies)
        Positions in `evenglide.analysis.claims.VERDICTS`.
    size : array of int, shape (contrasts, studies)
        Positions in `evenglide.analysis.claims.SIZES`; -1 without a margin.
    """

    estimates: BatchEstimates
    p: FloatArray
    p_adjusted: FloatArray
    verdict: IntArray
    size: IntArray


def judge_batch(
    skeleton: Launches, readings: FloatArray, *, void: BoolArray | None = None, rule: Rule
) -> BatchVerdicts:
    """Judge many studies of one plan.

    Parameters
    ----------
    skeleton : Launches
        The plan; its own readings and what it set aside are not looked at.
    readings : array of float, shape (launches, studies)
        In the response's unit; anything where set aside. Above 0 on the ratio scale.
    void : array of bool, shape (launches, studies), optional
        Set aside; nothing, if left out.
    rule : Rule

    Returns
    -------
    BatchVerdicts

    Raises
    ------
    ValueError
        If a valid reading is not finite, or not above 0 on the ratio scale.
    """
    return BatchJudge(skeleton, rule).judge(readings, void)


class BatchJudge:
    """The judge of one plan, ready for any number of batches: designs are prepared once.

    Parameters
    ----------
    skeleton : Launches
    rule : Rule
    """

    def __init__(self, skeleton: Launches, rule: Rule) -> None:
        self.rule = rule
        surfaces = range(len(skeleton.surface.labels))
        treatments = range(1, len(skeleton.treatment.labels))
        self._surfaces = [_Surface(skeleton, surface) for surface in surfaces]
        keys = np.array(list(product(surfaces, treatments)), dtype=np.int64).reshape(-1, 2)
        self.surface, self.treatment = keys.T

    def values(self, readings: FloatArray, void: BoolArray | None = None) -> list[PreparationValues]:
        """Reduce the launches to the preparations' values, surface by surface."""
        _check(readings, void, self.rule)
        return [
            preparation_values(
                here.layout,
                readings[here.layout.rows],
                valid=None if void is None else ~void[here.layout.rows],
                scale=self.rule.scale,
            )
            for here in self._surfaces
        ]

    def estimates(self, values: list[PreparationValues], *, own_pair: bool = False) -> BatchEstimates:
        """Estimate every contrast, by the primary test or from the two treatments' own preparations.

        Parameters
        ----------
        values : list of PreparationValues
            Of each surface.
        own_pair : bool, optional
            Own-pair instead of the primary test.

        Returns
        -------
        BatchEstimates
        """
        triples = np.concatenate(
            [
                here.estimates(found, own_pair=own_pair)
                for here, found in zip(self._surfaces, values, strict=True)
            ]
        )
        return BatchEstimates(
            surface=self.surface,
            treatment=self.treatment,
            estimate=triples[:, 0],
            se=triples[:, 1],
            df=triples[:, 2],
        )

    def judge(self, readings: FloatArray, void: BoolArray | None = None) -> BatchVerdicts:
        """Judge a batch; see `judge_batch`."""
        return self.verdicts(self.estimates(self.values(readings, void)))

    def verdicts(self, found: BatchEstimates) -> BatchVerdicts:
        """Test the three claims, share the error rate over each family, and reach the verdicts.

        Parameters
        ----------
        found : BatchEstimates

        Returns
        -------
        BatchVerdicts
        """
        margins = [self.rule.margin_on(int(surface)) for surface in self.surface]
        p = claims_p(found.estimate, found.se, df=found.df, margins=margins)
        unmet = np.full((len(KINDS), self.rule.unmet, p.shape[2]), np.nan)
        members = (self.surface == self.rule.main).astype(np.int64)
        family = Family(
            p=np.concatenate([p, unmet], axis=1) if self.rule.unmet else p,
            members=np.append(members, np.zeros(self.rule.unmet, dtype=np.int64)),
            rule=self.rule,
        )
        adjusted = family.adjusted()[:, : len(members)]
        size = size_codes(adjusted, self.rule.level)
        size[[margin is None for margin in margins]] = NO_SIZE
        return BatchVerdicts(
            estimates=found,
            p=p,
            p_adjusted=adjusted,
            verdict=verdict_codes(adjusted, found.estimate, self.rule.level),
            size=size,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """A least-squares fit of some units, and the contrasts it gives.

    Parameters
    ----------
    weights : array of float, shape (units, preparations)
        What each preparation's value adds to each unit.
    design : SweptDesign
    contrasts : mapping of int to array of float
        By treatment.
    """

    weights: FloatArray
    design: SweptDesign
    contrasts: Mapping[int, FloatArray]

    def run(self, value: FloatArray, rounding: FloatArray) -> Iterator[Found]:
        """Estimate every contrast, study by study."""
        fit = least_squares(self.design, self.weights @ value, rounding=rounding)
        for treatment, c in self.contrasts.items():
            yield treatment, *estimate_of_form(self.design, fit, c), np.float64(max(0, self.design.df))


@dataclass(frozen=True, slots=True, kw_only=True)
class _OwnScatter:
    """Two treatments compared with the scatter of their own units."""

    pair: Units
    treatment: int

    def run(self, value: FloatArray, rounding: FloatArray) -> Iterator[Found]:
        """Estimate the one contrast, study by study."""
        del rounding
        test = own_scatter_test(replace(self.pair, value=self.pair.value @ value), self.treatment)
        yield self.treatment, test.estimate, test.se, test.df


class _Surface:
    """One surface of a plan, with the designs that its studies have met."""

    def __init__(self, skeleton: Launches, surface: int) -> None:
        self.layout = layout_of(skeleton, surface)
        self._skeleton = skeleton
        self._met: dict[tuple[bytes, bool], list[_Fit | _OwnScatter]] = {}

    def estimates(self, found: PreparationValues, *, own_pair: bool) -> FloatArray:
        """Estimate, standard error and degrees of freedom, shape (contrasts, 3, studies)."""
        studies = found.value.shape[1]
        out = np.full((len(self._skeleton.treatment.labels) - 1, 3, studies), np.nan)
        for pattern, columns in columns_by_pattern(~np.isnan(found.value)):
            same = len(columns) == studies
            value = found.value[pattern] if same else found.value[np.ix_(pattern, columns)]
            for test in self._tests(pattern, own_pair=own_pair):
                for treatment, *triple in test.run(value, found.rounding[columns]):
                    for place, numbers in enumerate(triple):
                        out[treatment - 1, place, columns] = numbers
        return out

    def _tests(self, pattern: BoolArray, *, own_pair: bool) -> list[_Fit | _OwnScatter]:
        """Make the tests for studies whose preparations have values by this pattern, once."""
        key = (np.packbits(pattern).tobytes(), own_pair)
        if key not in self._met:
            treatments = range(1, len(self._skeleton.treatment.labels))
            units = _units_with(self.layout, pattern, self._skeleton)
            tests = [_own_pair(units, t) for t in treatments] if own_pair else [_fit(units, treatments)]
            self._met[key] = [test for test in tests if test is not None]
        return self._met[key]


def _units_with(layout: SurfaceLayout, pattern: BoolArray, skeleton: Launches) -> Units:
    """Units of the studies with this pattern; their values are weights of the preparations' values."""
    preparations = int(pattern.sum())
    observations = Observations(
        surface=layout.surface,
        mark=layout.mark,
        origin=0.0,
        value=np.eye(preparations),
        rounding=0.0,
        preparation=layout.preparation[pattern],
        treatment=layout.treatment[pattern],
        block=layout.block[pattern],
        item=layout.item[pattern],
        launches=np.ones(preparations, dtype=np.int64),
        order=None,
        two_way=layout.directions == 2,
        without_value=layout.preparation[~pattern],
        one_direction=layout.preparation[:0],
        no_two_way=layout.preparation[:0],
    )
    return units_of(observations, treatments=len(skeleton.treatment.labels), item=skeleton.item)


def _fit(units: Units, treatments: Iterable[int]) -> _Fit:
    design = design_of(units)
    found = {treatment: level_contrast(design, treatment) for treatment in treatments}
    contrasts = {treatment: c for treatment, c in found.items() if c is not None}
    return _Fit(weights=units.value, design=design, contrasts=contrasts)


def _own_pair(units: Units, treatment: int) -> _Fit | _OwnScatter | None:
    pair = units.take(in_blocks_holding_both(units, treatment))
    if not len(pair.value):
        return None
    if pairs_only(pair):
        return _fit(pair, [treatment])
    return None if pair.item is not None else _OwnScatter(pair=pair, treatment=treatment)


def _check(readings: FloatArray, void: BoolArray | None, rule: Rule) -> None:
    bad = ~np.isfinite(readings) if rule.scale == "difference" else ~(readings > 0) | np.isinf(readings)
    if (bad if void is None else bad & ~void).any():
        msg = f"every valid reading must be a finite number{' above 0' if rule.scale == 'ratio' else ''}"
        raise ValueError(msg)
