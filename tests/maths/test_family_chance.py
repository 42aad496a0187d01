"""Chances of whole families against simulated studies judged by adjusted p values, and against products."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from evenglide.maths.chance import alike_chance, difference_chance
from evenglide.maths.family_chance import family_chances
from evenglide.maths.multiplicity import bonferroni, holm

N = 100_000
PLAN = {
    "df": np.array([5.0, 4, 7, 3]),
    "se": np.array([0.03, 0.02, 0.04, 0.025]),
    "effect": np.array([0.0, 0.05, 0.095, 0.02]),
    "margin": np.array([0.12, 0.095, 0.12, 0.1]),
}


def simulated(level: float, adjust: str, family: list[int]) -> dict[str, np.ndarray]:
    """Claims of drawn studies, from p values adjusted within each family."""
    rng = np.random.default_rng(8)
    df, se, effect, margin = PLAN.values()
    estimate = effect + se * rng.standard_normal((N, 4))
    error = se * np.sqrt(rng.chisquare(df, (N, 4)) / df)
    p = {
        "difference": 2 * stats.t.sf(np.abs(estimate) / error, df),
        "alike": np.maximum(
            stats.t.sf((estimate + margin) / error, df), stats.t.sf((margin - estimate) / error, df)
        ),
        "matters": np.minimum(
            1,
            2
            * np.minimum(
                stats.t.sf((estimate - margin) / error, df), stats.t.sf((-margin - estimate) / error, df)
            ),
        ),
    }
    adjusting = {"holm": holm, "both": bonferroni, "none": np.asarray}[adjust]
    claims = {}
    for name, values in p.items():
        claims[name] = np.zeros((N, 4), dtype=bool)
        for one in set(family):
            mine = [at for at, other in enumerate(family) if other == one]
            claims[name][:, mine] = adjusting(values[:, mine]) <= level
    return claims


@pytest.mark.parametrize("adjust", ["holm", "both", "none"])
@pytest.mark.parametrize("family", [[0, 0, 0, 0], [0, 1, 0, 0]])
def test_same_as_simulated_studies(adjust: str, family: list[int]) -> None:
    columns = {name: values[:, np.newaxis] for name, values in PLAN.items()}
    found = family_chances(**columns, level=0.05, family=family, adjust=adjust)  # type: ignore[arg-type]
    claims = simulated(0.05, adjust, family)
    either = claims["difference"] | claims["alike"]
    assert found.conclusive is not None
    assert found.all_conclusive is not None
    assert found.any_conclusive is not None
    assert found.family_conclusive is not None
    pairs = [
        *zip(claims["difference"].mean(0), found.difference[:, 0], strict=True),
        *zip(claims["alike"].mean(0), found.alike[:, 0], strict=True),
        *zip(claims["matters"].mean(0), found.matters[:, 0], strict=True),
        *zip(either.mean(0), found.conclusive[:, 0], strict=True),
        (either.all(1).mean(), found.all_conclusive[0]),
        (either.any(1).mean(), found.any_conclusive[0]),
        (claims["difference"].all(1).mean(), found.all_difference[0]),
        (claims["difference"].any(1).mean(), found.any_difference[0]),
        (claims["alike"].all(1).mean(), found.all_alike[0]),
        (claims["alike"].any(1).mean(), found.any_alike[0]),
    ]
    pairs += [
        (either[:, [at for at, one in enumerate(family) if one == name]].all(1).mean(), chance[0])
        for name, chance in found.family_conclusive.items()
    ]
    for seen, chance in pairs:
        assert abs(seen - chance) < 5 * math.sqrt(chance * (1 - chance) / N) + 3 / N


def test_the_product_of_single_chances_promises_too_much() -> None:
    """Figures of the page on statistics; six pairs, no effect, margin 3.9 standard errors."""
    plan = {"df": np.full((4, 1), 5.0), "se": 1.0, "effect": 0.0, "margin": 3.9, "level": 0.05}
    shared, alone = family_chances(**plan), family_chances(**plan, adjust="none")
    assert shared.all_conclusive is not None
    assert alone.all_conclusive is not None
    assert alone.conclusive is not None
    assert float(alone.conclusive[0, 0]) == pytest.approx(0.92, abs=0.005)
    assert float(alone.all_conclusive[0]) == pytest.approx(0.70, abs=0.005)
    assert float(shared.all_conclusive[0]) == pytest.approx(0.57, abs=0.005)
    np.testing.assert_allclose(alone.all_conclusive, alone.conclusive.prod(axis=0), rtol=1e-12)


def test_one_comparison_is_its_single_chance() -> None:
    given = {"df": 6.0, "se": 0.03, "effect": 0.02, "level": 0.05}
    found = family_chances(**given, margin=0.1)
    assert float(found.difference[0, 0]) == pytest.approx(float(difference_chance(**given)), abs=1e-10)
    assert float(found.alike[0, 0]) == pytest.approx(float(alike_chance(**given, margin=0.1)), abs=1e-10)


def test_false_claims_of_a_family_stay_within_the_level() -> None:
    """Holm keeps the level exactly at independent comparisons without any effect: 1 - (1 - level/m)^m."""
    found = family_chances(df=np.full((5, 1), 4.0), se=1, effect=0, margin=1, level=0.05, either=False)
    assert float(found.any_difference[0]) == pytest.approx(1 - (1 - 0.05 / 5) ** 5, abs=1e-10)
    at = family_chances(df=np.full((3, 1), 9.0), se=0.1, effect=1, margin=1, level=0.05, either=False)
    assert float(at.any_alike[0]) <= 0.05


def test_many_plans_are_single_ones_side_by_side() -> None:
    rng = np.random.default_rng(1)
    shape = (3, 300)
    plans = {"df": rng.integers(2, 12, shape).astype(float), "se": rng.uniform(0.01, 0.05, shape)}
    whole = family_chances(**plans, effect=0.05, margin=0.1, level=0.05)
    for at in (0, 255, 256, 299):
        alone = family_chances(
            **{name: values[:, at : at + 1] for name, values in plans.items()},
            effect=0.05,
            margin=0.1,
            level=0.05,
        )
        for name in ("difference", "alike", "conclusive", "all_conclusive", "any_alike"):
            np.testing.assert_allclose(
                getattr(whole, name)[..., at], getattr(alone, name)[..., 0], atol=1e-13
            )
