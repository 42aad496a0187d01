"""Two labels within blocks against textbook tests."""

from __future__ import annotations

import numpy as np
from scipy import stats

from evenglide.maths.two_samples import difference_within_blocks

Z = np.array([True, False] * 5)


def test_one_block_is_welch_for_every_column() -> None:
    y = np.random.default_rng(1).normal(size=(10, 3)) * np.where(Z, 3.0, 1.0)[:, np.newaxis]
    found = difference_within_blocks(y, Z, np.zeros(10, dtype=np.int64))
    expected = stats.ttest_ind(y[Z], y[~Z], equal_var=False)
    np.testing.assert_allclose(found.estimate / found.se, expected.statistic, rtol=1e-12)
    np.testing.assert_allclose(found.df, expected.df, rtol=1e-12)


def test_pairs_are_the_paired_test_and_one_pair_is_no_test() -> None:
    y = np.random.default_rng(2).normal(size=(10, 2))
    found = difference_within_blocks(y, Z, np.repeat(np.arange(5), 2))
    expected = stats.ttest_rel(y[Z], y[~Z])
    np.testing.assert_allclose(found.estimate / found.se, expected.statistic, rtol=1e-12)
    assert found.df.tolist() == [4.0, 4.0]
    alone = difference_within_blocks(y[:2], Z[:2], np.zeros(2, dtype=np.int64))
    assert alone.df.tolist() == [0.0, 0.0]
    assert np.isnan(alone.se).all()


def test_without_scatter_there_is_no_standard_error() -> None:
    y = np.where(Z, 7.25, 7.0)[:, np.newaxis]
    found = difference_within_blocks(y, Z, np.zeros(10, dtype=np.int64))
    assert found.estimate.tolist() == [0.25]
    assert np.isnan(found.se).all() and np.isnan(found.df).all()


def test_blocks_weigh_by_what_they_hold() -> None:
    """By hand: differences 1 and 4 with weights 2*2/4 = 1 and 1*2/3; variances on 1 and 2 df."""
    y = np.array([1.0, 3.0, 2.0, 4.0, 5.0, 0.0, 2.0])[:, np.newaxis]
    z = np.array([False, False, True, True, True, False, False])
    block = np.array([0, 0, 0, 0, 1, 1, 1])
    found = difference_within_blocks(y, z, block)
    weight = np.array([1.0, 2 / 3])
    assert found.estimate[0] == (weight @ [1.0, 4.0]) / weight.sum()
    marked, other = 2.0 / 1, (2.0 + 2.0) / 2
    parts = (
        np.array(
            [
                marked * (weight**2 / [2, 1]).sum(),
                other * (weight**2 / [2, 2]).sum(),
            ]
        )
        / weight.sum() ** 2
    )
    np.testing.assert_allclose(found.se[0], np.sqrt(parts.sum()), rtol=1e-14)
    np.testing.assert_allclose(found.df[0], parts.sum() ** 2 / (parts**2 / [1, 2]).sum(), rtol=1e-14)
