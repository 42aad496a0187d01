"""Many studies of one design at once, against the test of each."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.maths import randomisation_chances as module
from evenglide.maths.order_sets import Restriction
from evenglide.maths.randomisation import randomisation_test
from evenglide.maths.randomisation_chances import randomisation_chances
from tests.maths.test_restricted_randomisation import places

DESIGNS = [
    ([2] * 6, [1] * 6),
    ([4, 4, 4], [2, 2, 2]),
    ([3, 3, 2], [1, 2, 1]),
    ([5, 1, 2], [2, 1, 1]),
    ([9], [4]),
]


def studies(sizes: list[int], marks: list[int], *, seed: int, count: int, digits: int) -> tuple:
    """Values and fresh orders, one column for each study; rounded values have ties."""
    rng = np.random.default_rng(seed)
    block = np.repeat(np.arange(len(sizes)), sizes)
    z = np.stack(
        [
            np.concatenate([rng.permutation(np.arange(n) < k) for n, k in zip(sizes, marks, strict=True)])
            for _ in range(count)
        ],
        axis=1,
    )
    return (rng.normal(size=z.shape) + 0.5 * z).round(digits), z, block


def one_by_one(y: np.ndarray, z: np.ndarray, **design: object) -> np.ndarray:
    tests = [randomisation_test(a, b, level=None, **design) for a, b in zip(y.T, z.T, strict=True)]  # type: ignore[arg-type]
    return np.array([np.nan if test is None else test.p for test in tests])


@given(
    st.sampled_from(DESIGNS),
    st.integers(0, 100),
    st.sampled_from([1, 12]),
    st.sampled_from([None, 2, 3]),
    st.sampled_from([None, 1, 2, 4]),
)
def test_each_column_is_the_test_of_one_study(
    design: tuple, seed: int, digits: int, items: int | None, largest: int | None
) -> None:
    y, z, block = studies(*design, seed=seed, count=12, digits=digits)
    item = None if items is None else np.random.default_rng(seed).integers(0, items, len(block))
    rule = None if largest is None else Restriction(weights=places(block), largest=largest)
    options = {"block": block, "item": item, "restriction": rule}
    np.testing.assert_array_equal(randomisation_chances(y, z, **options), one_by_one(y, z, **options))
    same = np.repeat(z[:, :1], 12, axis=1)
    np.testing.assert_array_equal(
        randomisation_chances(y, z[:, 0], **options), one_by_one(y, same, **options)
    )


def test_ties_in_every_study_are_counted() -> None:
    """Tenths: without a tolerance some of these p would be smaller."""
    block = np.repeat(np.arange(4), 2)
    y = np.tile(np.array([[0.1, 0.0, 0.2, 0.0, 0.3, 0.0, 0.7, 0.1]]).T, 3)
    z = np.tile(np.array([[True, False, True, False, False, True, True, False]]).T, 3)
    signs = np.array(np.meshgrid(*[[-1, 1]] * 4)).reshape(4, -1)
    expected = np.mean(np.abs(np.array([1, 2, 3, 6]) @ signs) >= 6)
    np.testing.assert_array_equal(randomisation_chances(y, z, block=block), np.full(3, expected))


def test_sets_too_large_to_list_are_gone_through_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    y, z, block = studies([4, 4, 4], [2, 2, 2], seed=1, count=5, digits=12)
    expected = randomisation_chances(y, z, block=block)
    monkeypatch.setattr(module, "LISTED", 10)
    np.testing.assert_array_equal(randomisation_chances(y, z, block=block), expected)


def test_small_chunks_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    y, z, block = studies([2] * 6, [1] * 6, seed=2, count=17, digits=1)
    expected = randomisation_chances(y, z, block=block)
    monkeypatch.setattr(module, "CHUNK", 100)
    np.testing.assert_array_equal(randomisation_chances(y, z, block=block), expected)


def test_other_numbers_of_labels_are_refused() -> None:
    block = np.repeat(np.arange(3), 2)
    z = np.array([[True, False] * 3, [True, True, True, False, True, False]]).T
    with pytest.raises(ValueError, match="same number of labels"):
        randomisation_chances(np.zeros((6, 2)), z, block=block)


def test_nothing_to_compare_has_no_p() -> None:
    assert np.isnan(randomisation_chances(np.zeros((4, 2)), np.ones(4, bool), block=np.arange(4))).all()


def test_size_over_fresh_orders_is_the_level_that_the_set_allows() -> None:
    """Three blocks of two and two without an effect: 10 of 216 orders give p of at most 5 %."""
    y, z, block = studies([4, 4, 4], [2, 2, 2], seed=3, count=20_000, digits=12)
    p = randomisation_chances(y - 0.5 * z, z, block=block)
    size = 10 / 216
    assert abs(np.mean(p <= 0.05) - size) < 5 * np.sqrt(size * (1 - size) / len(p))
