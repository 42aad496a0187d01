"""The family error of the three claims under half-way checks, by simulated pairs, with its own error bars.

Three surfaces, few new pairs at each look, the whole procedure: t on the data of the look, repeated p values,
Holm over the surfaces, and a surface that is settled stops.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import special

from evenglide.analysis.claims import KINDS, LookBounds, claims_p, family_of
from evenglide.analysis.rule import Rule
from evenglide.maths.crossing import spending_bounds
from evenglide.maths.looks import look_table
from evenglide.maths.stopping import NEVER, stop_when_settled
from evenglide.typing import FloatArray

STUDIES, SURFACES, LEVEL, MARGIN = 40_000, 3, 0.05, 1.5
SCATTER_OF_DIFFERENCES = 1.0
RULE = Rule(scale="difference", margin=(-MARGIN, MARGIN), level=LEVEL)
KEYS = [(surface, 1) for surface in range(SURFACES)]
PLANS = {2: (3, 5, 7), 3: (3, 6, 9), 5: (5, 10, 15)}
"""Pairs at each look, by new pairs for each."""
TRUTHS = {"difference": 0.0, "alike": MARGIN, "matters": MARGIN * (1 - 1e-9)}
"""Where a claim of each kind is false and most easily made."""


def pairs(counts: tuple[int, ...], truth: float, seed: int) -> tuple[FloatArray, FloatArray]:
    """Estimates and their standard errors, shape (looks, surfaces, studies)."""
    chance = np.random.default_rng(seed)
    differences = truth + chance.normal(0, SCATTER_OF_DIFFERENCES, (SURFACES, STUDIES, counts[-1]))
    held = [differences[..., :count] for count in counts]
    return (
        np.array([one.mean(axis=-1) for one in held]),
        np.array([one.std(axis=-1, ddof=1) / np.sqrt(one.shape[-1]) for one in held]),
    )


def nominal_p(counts: tuple[int, ...], truth: float, *, seed: int, normal: bool = False) -> FloatArray:
    """Give the p values of each look's data alone, shape (looks, 3, surfaces, studies)."""
    estimate, se = pairs(counts, truth, seed)
    margins = [(-MARGIN, MARGIN)] * SURFACES
    df = [np.inf if normal else count - 1.0 for count in counts]
    return np.array(
        [
            claims_p(estimate[look], se[look], df=np.full_like(se[look], df[look]), margins=margins)
            for look in range(len(counts))
        ]
    )


def family_error(p: FloatArray, kind: str) -> float:
    """Share of studies in which a claim of a kind is made on any surface at any look."""
    stopped = stop_when_settled(p, adjust=lambda one: family_of(KEYS, one, RULE).adjusted(), level=LEVEL)
    claims = stopped.adjusted[-1, KINDS.index(kind)] <= LEVEL
    return float(claims.any(axis=0).mean())


def repeated(counts: tuple[int, ...], p: FloatArray) -> FloatArray:
    """Turn the p values of the looks into repeated ones, as an answer does it."""
    fractions, df = [count / counts[-1] for count in counts], [count - 1 for count in counts]
    one, two = (look_table(fractions, df, sides=sides) for sides in (1, 2))
    return np.array(
        [LookBounds(one_sided=one, two_sided=two, look=look).repeated(p[look]) for look in range(len(counts))]
    )


def most(level: float = LEVEL) -> float:
    """Return the level with four standard errors and one per cent for the calibration."""
    return level * 1.01 + 4 * float(np.sqrt(level * (1 - level) / STUDIES))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("new_pairs", PLANS)
def test_the_family_error_is_at_most_the_level(new_pairs: int, kind: str) -> None:
    counts = PLANS[new_pairs]
    p = repeated(counts, nominal_p(counts, TRUTHS[kind], seed=new_pairs))
    assert family_error(p, kind) <= most()


@pytest.mark.parametrize("new_pairs", PLANS)
def test_all_surfaces_together_use_most_of_the_level(new_pairs: int) -> None:
    """Not by being idle: Holm over three independent surfaces comes to 1 - (1 - level/3)^3."""
    counts = PLANS[new_pairs]
    p = repeated(counts, nominal_p(counts, 0.0, seed=10 + new_pairs))
    p[:, KINDS.index("alike")] = 1.0
    assert family_error(p, "difference") >= 0.0492 - 4 * np.sqrt(0.05 * 0.95 / STUDIES) - 0.0005


@pytest.mark.parametrize("new_pairs", PLANS)
def test_normal_bounds_would_break_the_promise(new_pairs: int) -> None:
    """The same, with z taken for t: the bounds of much data on few pairs."""
    counts = PLANS[new_pairs]
    fractions = [count / counts[-1] for count in counts]
    p = nominal_p(counts, 0.0, seed=new_pairs, normal=True)
    for look in range(len(counts)):
        normal = look_table(fractions, [np.inf] * len(counts), sides=2)
        p[look, 0] = normal.repeated(p[look, 0], look)
    p[:, 1:] = 1.0
    assert family_error(p, "difference") > most() + 0.02


def test_plain_p_values_over_the_looks_would_break_it_too() -> None:
    counts = PLANS[3]
    p = nominal_p(counts, 0.0, seed=4)
    p[:, 1:] = 1.0
    assert family_error(p, "difference") > most() + 0.02


def test_bounds_of_much_data_are_the_published_ones() -> None:
    table = look_table([0.2, 0.4, 0.6, 0.8, 1.0], [np.inf] * 5, sides=2)
    found = [float(-special.ndtri(table.nominal(0.05, look) / 2)) for look in range(5)]
    np.testing.assert_allclose(found, [4.876885, 3.357012, 2.680280, 2.289817, 2.031032], atol=2e-4)
    np.testing.assert_allclose(found, spending_bounds(0.05, [0.2, 0.4, 0.6, 0.8, 1.0], sides=2), atol=2e-4)


def test_who_stops_at_the_first_look_is_not_asked_again() -> None:
    counts = PLANS[5]
    p = repeated(counts, nominal_p(counts, 9.0, seed=1))
    stopped = stop_when_settled(p, adjust=lambda one: family_of(KEYS, one, RULE).adjusted(), level=LEVEL)
    first = stopped.settled == 0
    assert first.mean() > 0.3 and (stopped.settled == NEVER).mean() < 0.01
    for look in (1, 2):
        assert np.array_equal(stopped.p[look][:, first], p[0][:, first])
