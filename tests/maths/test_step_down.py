"""Holm's claims by recursion and by joined halves, against every combination of bins counted out."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from evenglide.maths.multiplicity import holm
from evenglide.maths.step_down import MOST_JOINT, MOST_SINGLE, holm_levels, single_kind, two_kinds

LEVEL = 0.05


def drawn_cells(m: int, *, plans: int, seed: int) -> np.ndarray:
    """Made-up chances of pairs of bins, shape (comparisons, m + 1, m + 1, plans)."""
    rng = np.random.default_rng(seed)
    raw = rng.dirichlet(np.full((m + 1) ** 2, 0.5), size=(m, plans))
    return np.moveaxis(raw.reshape(m, plans, m + 1, m + 1), 1, -1)


def cumulative(cells: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    whole = cells.cumsum(axis=1).cumsum(axis=2)
    return whole[:, :-1, -1], whole[:, -1, :-1], whole[:, :-1, :-1]


def p_value(place: int, m: int) -> float:
    """Return a p value inside a bin."""
    return float(np.append(holm_levels(LEVEL, m), 0.9)[place]) * 0.999


def counted_out(cells: np.ndarray) -> dict[str, np.ndarray]:
    """Every combination of bins, judged by adjusted p values."""
    m = len(cells)
    found = dict.fromkeys(("each", "all", "any", "first", "all_first"), 0.0)
    for combination in product(product(range(m + 1), repeat=2), repeat=m):
        chance = np.prod([cells[(at, *place)] for at, place in enumerate(combination)], axis=0)
        first, second = (holm([p_value(place[kind], m) for place in combination]) <= LEVEL for kind in (0, 1))
        either = first | second
        found["each"] = found["each"] + np.outer(either, chance)
        found["first"] = found["first"] + np.outer(first, chance)
        found["all"] = found["all"] + chance * either.all()
        found["any"] = found["any"] + chance * either.any()
        found["all_first"] = found["all_first"] + chance * first.all()
    return {name: np.asarray(value) for name, value in found.items()}


@pytest.mark.parametrize("m", [1, 2, 3])
def test_same_as_counted_out(m: int) -> None:
    cells = drawn_cells(m, plans=3, seed=m)
    first, second, joint = cumulative(cells)
    expected = counted_out(cells)
    found, single = two_kinds(first, second, joint), single_kind(first)
    for values, name in (
        *((found.each, "each"), (found.all, "all"), (found.any, "any")),
        *((single.each, "first"), (single.all, "all_first")),
    ):
        np.testing.assert_allclose(values, expected[name], atol=1e-13)


@pytest.mark.parametrize("m", [4, 5])
def test_same_as_drawn(m: int) -> None:
    """Too many combinations to count out: 200,000 drawn ones, five standard errors."""
    cells = drawn_cells(m, plans=1, seed=10 + m)
    found = two_kinds(*cumulative(cells))
    rng = np.random.default_rng(m)
    n = 200_000
    places = np.array([rng.choice((m + 1) ** 2, n, p=one[..., 0].ravel()) for one in cells])
    inside = np.append(holm_levels(LEVEL, m), 0.9) * 0.999
    either = np.zeros((m, n), dtype=bool)
    for place in (places // (m + 1), places % (m + 1)):
        either |= (holm(inside[place].T) <= LEVEL).T
    for seen, chance in (
        *zip(either.mean(axis=1), found.each[:, 0], strict=True),
        (either.all(axis=0).mean(), found.all[0]),
        (either.any(axis=0).mean(), found.any[0]),
    ):
        assert abs(seen - chance) < 5 * np.sqrt(chance * (1 - chance) / n) + 1e-9


def test_names_do_not_matter() -> None:
    cells = drawn_cells(4, plans=2, seed=5)
    turned = [2, 0, 3, 1]
    found, other = two_kinds(*cumulative(cells)), two_kinds(*cumulative(cells[turned]))
    np.testing.assert_allclose(other.each, found.each[turned], atol=1e-14)
    np.testing.assert_allclose(other.all, found.all, atol=1e-14)
    first, _, _ = cumulative(cells)
    np.testing.assert_allclose(single_kind(first[turned]).each, single_kind(first).each[turned], atol=1e-14)


def test_one_kind_that_never_claims_leaves_the_other() -> None:
    first, second, joint = cumulative(drawn_cells(4, plans=2, seed=6))
    alone = single_kind(first)
    found = two_kinds(first, np.zeros_like(second), np.zeros_like(joint))
    np.testing.assert_allclose(found.each, alone.each, atol=1e-14)
    np.testing.assert_allclose(found.all, alone.all, atol=1e-14)
    np.testing.assert_allclose(found.any, alone.any, atol=1e-14)


def test_families_too_large_are_refused() -> None:
    with pytest.raises(ValueError, match="at most 10"):
        single_kind(np.zeros((MOST_SINGLE + 1, MOST_SINGLE + 1, 1)))
    m = MOST_JOINT + 1
    with pytest.raises(ValueError, match="at most 6"):
        two_kinds(np.zeros((m, m, 1)), np.zeros((m, m, 1)), np.zeros((m, m, m, 1)))
