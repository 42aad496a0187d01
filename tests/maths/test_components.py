"""Restricted maximum likelihood of one component: 40 digits, published fits, closed form, laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenglide.maths.components import LEAST_DEFINITE, ComponentFit, fit_component
from evenglide.maths.mixed_design import MixedDesign, mixed_design
from evenglide.typing import FloatArray, IntArray
from tests.maths.dense_reml import dense_reml, restricted_likelihood

TEN_DIGITS = 1e-10
SAME = 1e-12
"""One study in a batch and by itself."""
VOIDED = np.array([0, 1, 2, 9, 17, 25, 33, 41, 58, 70])


def layout(drop: IntArray | tuple[()] = (), *, slope: bool = False) -> tuple[FloatArray, IntArray]:
    """Columns and groups of 3 blocks x (2 + 2) preparations x 6 launches, some of them left out."""
    launch = np.delete(np.arange(72), drop)
    preparation = launch // 6
    columns = [preparation // 4 == block for block in range(3)]
    columns.append(preparation % 4 > 1)
    if slope:
        columns.append((launch * 7 % 11) / 5.0)
    return np.column_stack(columns).astype(float), preparation


def design_of(x: FloatArray, group: IntArray, column: int = 3) -> MixedDesign:
    contrast = np.zeros((x.shape[1], 1))
    contrast[column] = 1.0
    return mixed_design(x, group, contrasts=contrast)


def drawn(rng: np.random.Generator, group: IntArray, studies: int, ratio: float) -> FloatArray:
    effects = rng.standard_normal((group.max() + 1, studies)) * ratio**0.5
    return rng.standard_normal((len(group), studies)) + effects[group]


def close(found: ComponentFit, wanted: ComponentFit, *, relative: float = SAME) -> None:
    for name in ("estimate", "se", "df", "group_variance", "residual_variance", "moment_variance"):
        np.testing.assert_allclose(getattr(found, name), getattr(wanted, name), rtol=relative, atol=relative)
    np.testing.assert_array_equal(found.boundary, wanted.boundary)


# ------------------------------------------------------------------------------ 40 digits


def small_design(seed: int) -> tuple[FloatArray, IntArray, FloatArray]:
    """Two or three blocks, two treatments, 5 to 7 preparations of 1 to 4 launches, perhaps a covariate."""
    rng = np.random.default_rng(seed)
    groups = 5 + seed % 3
    group = np.repeat(np.arange(groups), rng.integers(1, 5, groups))
    block = np.arange(groups) % 2
    treatment = (np.arange(groups) // 2) % 2
    columns = [block[group] == 0, block[group] == 1, treatment[group] == 1]
    x = np.column_stack(columns).astype(float)
    if seed % 2:
        x = np.column_stack([x, rng.normal(size=len(group))])
    effects = rng.normal(0.0, 1.5, groups)
    return x, group, 3.0 + effects[group] + rng.normal(0.0, 0.8, len(group))


@pytest.mark.parametrize("seed", [2, 12, 20, 30, 34, 36])
def test_forty_digits_say_the_same(seed: int) -> None:
    x, group, y = small_design(seed)
    fit = fit_component(design_of(x, group, 2), y)
    assert not fit.boundary[0]
    wanted = dense_reml(
        x, group, y, np.eye(x.shape[1])[2], near=fit.group_variance[0] / fit.residual_variance[0]
    )
    found = (fit.estimate[0, 0], fit.se[0, 0], fit.df[0, 0], fit.group_variance[0], fit.residual_variance[0])
    expected = (wanted.estimate, wanted.se, wanted.df, wanted.group_variance, wanted.residual_variance)
    np.testing.assert_allclose(found, expected, rtol=TEN_DIGITS)


def test_forty_digits_say_the_same_below_nought() -> None:
    x, group, y = small_design(14)
    y = y - 0.9 * np.array([y[group == g].mean() for g in range(group.max() + 1)])[group]
    fit = fit_component(design_of(x, group, 2), y, bounded=False)
    assert fit.group_variance[0] < 0 and not fit.boundary[0]
    ratio = fit.group_variance[0] / fit.residual_variance[0]
    wanted = dense_reml(x, group, y, np.eye(x.shape[1])[2], near=ratio)
    np.testing.assert_allclose(
        (fit.se[0, 0], fit.df[0, 0], fit.group_variance[0]),
        (wanted.se, wanted.df, wanted.group_variance),
        rtol=TEN_DIGITS,
    )


# ------------------------------------------------------------------------------ other roads


def test_closed_form_and_newton_agree() -> None:
    """A launch taken from a group that its own column absorbs leaves the balanced rest as it was."""
    x, group = layout()
    rng = np.random.default_rng(1)
    y = drawn(rng, group, 200, 0.4)
    closed = fit_component(design_of(x, group), y)
    # A thirteenth preparation of two launches in a block of its own, and one more with one launch in common:
    # they add eigenvalues of their own, with data that say exactly what the fit says already.
    more = np.append(group, [12, 12, 13])
    longer = np.vstack([np.column_stack([x, np.zeros((72, 1))]), np.tile([0, 0, 0, 0, 1.0], (3, 1))])
    design = design_of(longer, more)
    assert len(design.eigenvalues) > 1
    inside = np.flatnonzero(~closed.boundary)
    v = closed.residual_variance[inside]
    between = np.sqrt(1.5 * v + 2 * closed.group_variance[inside]) / 2
    within = np.sqrt(v / 2)
    extra = np.stack([between + within, between - within, -between])
    found = fit_component(design, np.vstack([y[:, inside], extra]))
    np.testing.assert_allclose(found.group_variance, closed.group_variance[inside], rtol=1e-9)
    np.testing.assert_allclose(found.se[0], closed.se[0, inside], rtol=1e-9)


def test_balanced_is_the_t_test_on_means() -> None:
    x, group = layout()
    y = drawn(np.random.default_rng(2), group, 50, 0.7)
    fit = fit_component(design_of(x, group), y, bounded=False)
    means = y.reshape(12, 6, 50).mean(axis=1)
    rows = x[::6]
    beta, squares, _, _ = np.linalg.lstsq(rows, means, rcond=None)
    np.testing.assert_allclose(fit.estimate[0], beta[3], rtol=1e-11)
    np.testing.assert_allclose(fit.se[0], np.sqrt(squares / 8 / 3), rtol=1e-11)
    np.testing.assert_allclose(fit.df, 8.0, rtol=1e-11)


def test_no_grid_point_is_more_likely() -> None:
    x, group = layout(VOIDED)
    y = drawn(np.random.default_rng(3), group, 40, 0.2)
    fit = fit_component(design_of(x, group), y)
    assert 0 < fit.boundary.sum() < 40
    for study in range(40):

        def height(ratio: float, study: int = study) -> float:
            left = [
                restricted_likelihood(x, [group], y[:, study], theta=np.array([ratio * s, s]))
                for s in fit.residual_variance[study] * np.array([0.9, 1.0, 1.1])
            ]
            return max(left)

        theta = np.array([fit.group_variance[study], fit.residual_variance[study]])
        best = restricted_likelihood(x, [group], y[:, study], theta=theta)
        assert best >= max(height(ratio) for ratio in (0.0, 0.02, 0.1, 0.3, 0.8, 2.0)) - 1e-9


def test_on_the_boundary_it_is_least_squares_on_launches() -> None:
    x, group = layout(VOIDED)
    y = drawn(np.random.default_rng(4), group, 60, 0.0)
    fit = fit_component(design_of(x, group), y)
    at = fit.boundary
    assert 10 < at.sum() < 50
    beta, squares, _, _ = np.linalg.lstsq(x, y, rcond=None)
    factor = np.linalg.inv(x.T @ x)[3, 3]
    np.testing.assert_allclose(fit.estimate[0, at], beta[3, at], rtol=1e-10)
    np.testing.assert_allclose(fit.se[0, at], np.sqrt(squares[at] / 58 * factor), rtol=1e-10)
    assert (fit.df[0, at] == 58).all()
    assert (fit.group_variance[at] == 0).all()
    assert (fit.df[0, ~at] < 30).all()


def test_unbounded_stays_off_the_pole() -> None:
    x, group = layout(VOIDED)
    rng = np.random.default_rng(5)
    y = drawn(rng, group, 400, 0.0)
    y -= 0.6 * np.stack([y[group == g].mean(axis=0) for g in range(12)])[group]
    fit = fit_component(design_of(x, group), y, bounded=False)
    definite = 1 + fit.group_variance / fit.residual_variance * 6
    assert (definite >= LEAST_DEFINITE - 1e-12).all()
    assert fit.boundary.any() and not fit.boundary.all()
    assert np.isfinite(fit.se).all()
    assert (fit.group_variance < 0).all()


def test_degrees_of_freedom_are_kept_to_one_and_above() -> None:
    x, group, y = small_design(27)
    fit = fit_component(design_of(x, group, 2), y)
    assert fit.df[0, 0] == 1.0
    assert not fit.boundary[0]


def test_several_contrasts_are_each_their_own() -> None:
    x, group = layout(VOIDED, slope=True)
    y = drawn(np.random.default_rng(6), group, 5, 0.5)
    together = mixed_design(x, group, contrasts=np.eye(5)[:, [3, 4, 0]])
    fit = fit_component(together, y)
    for place, column in enumerate((3, 4, 0)):
        alone = fit_component(design_of(x, group, column), y)
        np.testing.assert_allclose(fit.estimate[place], alone.estimate[0], rtol=SAME)
        np.testing.assert_allclose(fit.df[place], alone.df[0], rtol=1e-10)


# ------------------------------------------------------------------------------ laws


@given(
    seed=st.integers(0, 10_000),
    drop=st.lists(st.integers(0, 71), max_size=30, unique=True),
    unit=st.floats(1e-4, 1e4),
    slope=st.booleans(),
)
@settings(max_examples=25, deadline=None)
def test_laws(seed: int, drop: list[int], unit: float, slope: bool) -> None:
    """Units, order of rows, names of groups, constants of blocks, treatments swapped."""
    x, group = layout(np.array(sorted(drop), dtype=int), slope=slope)
    rng = np.random.default_rng(seed)
    y = drawn(rng, group, 1, 0.6)
    design = design_of(x, group)
    if len(np.unique(group)) < 12:
        return
    fit = fit_component(design, y)
    scaled = fit_component(design, unit * y)
    np.testing.assert_allclose(scaled.estimate, unit * fit.estimate, rtol=1e-9, atol=1e-9 * unit)
    np.testing.assert_allclose(scaled.se, unit * fit.se, rtol=1e-9)
    np.testing.assert_allclose(scaled.group_variance, unit**2 * fit.group_variance, rtol=1e-7, atol=1e-14)
    np.testing.assert_allclose(scaled.df, fit.df, rtol=1e-7)

    order = rng.permutation(len(group))
    names = rng.permutation(100)[:12]
    shuffled = fit_component(design_of(x[order], names[group[order]]), y[order])
    close(shuffled, fit, relative=1e-8)

    moved = fit_component(design, y + x[:, :3] @ np.array([[3.0], [-40.0], [500.0]]))
    close(moved, fit, relative=1e-7)

    swapped = x.copy()
    swapped[:, 3] = 1 - swapped[:, 3]
    turned = fit_component(design_of(swapped, group), y)
    np.testing.assert_allclose(turned.estimate, -fit.estimate, rtol=1e-8, atol=1e-10)
    np.testing.assert_allclose(turned.se, fit.se, rtol=1e-8)


@pytest.mark.parametrize("bounded", [True, False])
@pytest.mark.parametrize("drop", [(), VOIDED])
def test_a_study_in_a_batch_is_the_study_alone(drop: IntArray, bounded: bool) -> None:
    x, group = layout(drop)
    y = drawn(np.random.default_rng(7), group, 300, 0.15)
    design = design_of(x, group)
    batch = fit_component(design, y, bounded=bounded)
    for study in range(300):
        alone = fit_component(design, y[:, study], bounded=bounded)
        np.testing.assert_allclose(alone.se[0, 0], batch.se[0, study], rtol=SAME)
        np.testing.assert_allclose(alone.estimate[0, 0], batch.estimate[0, study], rtol=SAME, atol=SAME)
        np.testing.assert_allclose(alone.df[0, 0], batch.df[0, study], rtol=1e-10)
        np.testing.assert_allclose(
            alone.group_variance[0], batch.group_variance[study], rtol=1e-11, atol=SAME
        )


def test_a_large_constant_keeps_its_digits() -> None:
    x, group = layout(VOIDED)
    y = np.round(drawn(np.random.default_rng(8), group, 20, 0.5) * 1024) / 1024
    near, far = (fit_component(design_of(x, group), y + constant) for constant in (0.0, 2.0**33))
    np.testing.assert_allclose(far.se, near.se, rtol=1e-9)
    np.testing.assert_allclose(far.df, near.df, rtol=1e-8)
    np.testing.assert_allclose(far.estimate, near.estimate, atol=1e-6)


def test_copied_launches_add_no_preparation_df() -> None:
    """Every launch typed twice: the interior fit on preparations has the df it had."""
    x, group = layout()
    y = drawn(np.random.default_rng(9), group, 30, 2.0)
    once = fit_component(design_of(x, group), y)
    twice = fit_component(design_of(np.vstack([x, x]), np.append(group, group)), np.vstack([y, y]))
    np.testing.assert_allclose(twice.df, once.df, rtol=1e-10)
    np.testing.assert_allclose(twice.se, once.se, rtol=1e-10)


# ------------------------------------------------------------------------------ bad input


def test_launches_that_agree_to_the_last_digit_give_nothing() -> None:
    x, group = layout()
    y = np.repeat(np.arange(12.0) * 0.1 + 7.3, 6)
    fit = fit_component(design_of(x, group), y)
    assert np.isnan(fit.se).all() and np.isnan(fit.group_variance).all()


def test_one_launch_each_cannot_be_split() -> None:
    x, _ = layout()
    design = design_of(x[::6], np.arange(12))
    assert not design.can_be_split
    with pytest.raises(ValueError, match="cannot be told"):
        fit_component(design, np.arange(12.0))


def test_a_contrast_that_the_groups_of_columns_absorb_is_refused() -> None:
    x, group = layout()
    x = np.column_stack([x, x[:, 3]])
    with pytest.raises(ValueError, match="cannot be estimated"):
        design_of(x, group)
