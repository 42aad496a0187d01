"""Fits of published data, held against another implementation and against mean squares.

Values: ``tests/reference/mixed_models.json`` (status V2), which say how they were made. That implementation
iterates to about 1e-7 in the variances and, through a numerical Hessian, 1e-6 in degrees of freedom.
"""

from __future__ import annotations

import numpy as np
import pytest

from evenglide.maths.components import fit_component
from evenglide.maths.mixed_design import mixed_design
from evenglide.maths.several_components import fit_components, several_design
from tests.maths.mixed_model_values import contrasts, laid
from tests.reference_data import published

MODELS = published("mixed_models")["models"]
ONE = sorted(name for name, model in MODELS.items() if len(model["groups"]) == 1)
SEVERAL = sorted(set(MODELS) - set(ONE))
VARIANCE, ERROR, FREEDOM = 1e-5, 1e-6, 1e-6
"""Relative; the other implementation's, not ours."""


def test_all_models_are_met() -> None:
    assert (len(ONE), len(SEVERAL)) == (7, 4)


@pytest.mark.parametrize("name", ONE)
def test_one_component(name: str) -> None:
    table, model = laid(name), MODELS[name]
    terms = list(model["coefficients"])
    fit = fit_component(
        mixed_design(table.x, table.groups[0], contrasts=contrasts(table, terms)), table.y, bounded=True
    )
    found = [float(fit.group_variance[0]), float(fit.residual_variance[0])]
    np.testing.assert_allclose(found, model["variances"], rtol=VARIANCE)
    for place, term in enumerate(terms):
        estimate, error, df = model["coefficients"][term]
        np.testing.assert_allclose(fit.estimate[place, 0], estimate, rtol=ERROR, atol=1e-9)
        np.testing.assert_allclose(fit.se[place, 0], error, rtol=ERROR)
        np.testing.assert_allclose(fit.df[place, 0], df, rtol=FREEDOM)


@pytest.mark.parametrize("name", [*SEVERAL, *ONE])
def test_several_components(name: str) -> None:
    table, model = laid(name), MODELS[name]
    terms = list(model["coefficients"])
    fit = fit_components(several_design(table.x, table.groups, contrasts=contrasts(table, terms)), table.y)
    found = [*fit.variances[:, 0].tolist(), float(fit.residual_variance[0])]
    np.testing.assert_allclose(found, model["variances"], rtol=VARIANCE)
    for place, term in enumerate(terms):
        estimate, error, df = model["coefficients"][term]
        np.testing.assert_allclose(fit.estimate[place, 0], estimate, rtol=ERROR, atol=1e-9)
        np.testing.assert_allclose(fit.se[place, 0], error, rtol=ERROR)
        np.testing.assert_allclose(fit.df[place, 0], df, rtol=FREEDOM)


def test_zero_variance_has_the_moment_value_of_the_mean_squares() -> None:
    """Dyestuff2: mean squares by hand; the bounded fit says 29, the batches 5 degrees of freedom."""
    table = laid("dyestuff2")
    batches = table.y.reshape(6, 5)
    between = 5 * batches.mean(axis=1).var(ddof=1)
    within = batches.var(axis=1, ddof=1).mean()
    design = mixed_design(table.x, table.groups[0], contrasts=np.ones((1, 1)))
    bounded, free = (fit_component(design, table.y, bounded=bound) for bound in (True, False))
    assert bounded.boundary[0] and bounded.group_variance[0] == 0.0
    assert (bounded.df[0, 0], free.df[0, 0]) == (29.0, pytest.approx(5.0))
    for fit in (bounded, free):
        assert fit.moment_variance[0] == pytest.approx((between - within) / 5, rel=1e-12)
    assert free.group_variance[0] == pytest.approx((between - within) / 5, rel=1e-12)


def test_oats_components_are_the_mean_squares_of_the_strata() -> None:
    """Yates (1935): 3175.0556, 601.3306, 177.0833 in the strata of blocks, plots and within."""
    table = laid("oats")
    fit = fit_components(several_design(table.x, table.groups, contrasts=np.eye(12)[:, :1]), table.y)
    expected = [(601.3305556 - 177.0833333) / 4, (3175.0555556 - 601.3305556) / 12, 177.0833333]
    found = [*fit.variances[:, 0].tolist(), float(fit.residual_variance[0])]
    np.testing.assert_allclose(found, expected, rtol=1e-9)
