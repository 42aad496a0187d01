"""Simulated chances: against quadrature, against each other, and the error that they say of themselves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from evenglide.maths.conditional_bins import conditional_bins
from evenglide.maths.family_chance import levels_looked_at
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.chances import chances_of
from evenglide.plan.comparisons import comparisons_of
from evenglide.plan.draws import launches_left
from evenglide.plan.exact_chances import Asked, marginal_bins
from evenglide.plan.simulated_blocks import simulated_blocks
from evenglide.plan.simulated_chances import draw_pairs, simulated_pairs
from tests.plan.plans import KNOWN, TEN_PERCENT, layout, only


@pytest.mark.parametrize("items", [0, 1])
def test_drawn_comparisons_have_their_exact_chances(items: int) -> None:
    """Each comparison by itself does not know that preparations are shared: no control is used here."""
    design, belief = layout(items=items, shared=True), replace(KNOWN, df=5.0)
    asked = Asked(effects=(0.0, 1.0), in_margins=True, either=False)
    exact = marginal_bins(comparisons_of(design), belief, asked, rule=(0.05, "holm"))
    drawn = draw_pairs(design, belief, part=0.8, seed=4, studies=20_000)
    reach = np.full(4, TEN_PERCENT)
    for at, effect in enumerate(asked.effects):
        bins = conditional_bins(
            drawn,
            effect=effect * reach,
            margin=reach,
            levels=levels_looked_at(0.05, 4, "holm"),
            joint=False,
        )
        for name in ("difference", "alike", "matters"):
            found, wanted = getattr(bins, name), getattr(exact, name)[..., at]
            error = found.std(axis=-1) / np.sqrt(20_000)
            assert np.all(np.abs(found.mean(axis=-1) - wanted) < 5 * error + 2e-4)


@pytest.mark.parametrize("voids", [0.0, 0.2])
@pytest.mark.parametrize("shared", [False, True])
def test_two_simulations_agree(voids: float, shared: bool) -> None:
    """Normal remainders with controls on one hand, least squares and counting on the other."""
    belief = ScatterBelief(preparations=0.03, launches=0.06, df=5.0, voids=voids, shared_part=(0.7,))
    design = layout(rounds=5, launches=3, surfaces=3, shared=shared, margin=0.14, main="surface 1")
    asked = Asked(effects=(0.0, 1.0), in_margins=True, either=True)
    (one,) = simulated_pairs(design, belief, asked, seed=5, studies=4000)
    (other,) = simulated_blocks(design, belief, asked, seed=6, studies=12_000)
    tolerance = 5 * np.hypot(one.error, other.error)
    for name in (
        "all_differ",
        "any_differs",
        "all_alike",
        "all_conclusive",
        "any_conclusive",
        "main_conclusive",
    ):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), atol=tolerance)
    for left, right in zip(one.contrasts, other.contrasts, strict=True):
        for name in ("differs", "alike", "matters", "conclusive"):
            np.testing.assert_allclose(getattr(left, name), getattr(right, name), atol=tolerance)


def test_without_voids_and_sharing_the_simulation_is_the_quadrature() -> None:
    design, asked = layout(items=1, main="surface 2"), Asked(effects=(0.0, 1.0), in_margins=True, either=True)
    belief = replace(KNOWN, df=6.0)
    (drawn,) = simulated_pairs(design, belief, asked, seed=7, studies=4000)
    exact = only(design, belief)
    for name in (
        "all_differ",
        "any_differs",
        "all_alike",
        "all_conclusive",
        "any_conclusive",
        "main_conclusive",
    ):
        np.testing.assert_allclose(getattr(drawn, name), getattr(exact, name), atol=5 * drawn.error)


def test_shared_preparations_go_together() -> None:
    """All surfaces at once: more often than fresh ones, far more than the product of single chances."""
    fresh = only(layout(margin=0.075), KNOWN)
    loose, tight = chances_of([layout(margin=0.075, shared=True)], KNOWN)[0].cases
    assert (loose.shared_part, tight.shared_part) == (0.0, 0.8)
    assert fresh.all_alike is not None
    assert loose.all_alike is not None
    assert tight.all_alike is not None
    assert loose.all_alike[0] == pytest.approx(fresh.all_alike[0], abs=5 * loose.error)
    single = [one.alike[0] for one in tight.contrasts if one.alike]
    assert tight.all_alike[0] > np.prod(single) + 0.1
    assert tight.all_alike[0] > fresh.all_alike[0] + 5 * tight.error


def test_launches_are_set_aside_as_often_as_expected() -> None:
    left = launches_left((np.arange(100_000) + 0.5) / 100_000, 5, voids=0.2)
    for count, chance in enumerate(stats.binom.pmf(np.arange(6), 5, 0.8)):
        assert (left == count).mean() == pytest.approx(chance, abs=2e-5)


def test_the_error_said_is_the_error_made() -> None:
    """Forty seeds: the scatter of the chances is what a single one says of itself, or less."""
    design = layout(surfaces=3, rounds=5, shared=True)
    belief = ScatterBelief(preparations=0.03, launches=0.06, voids=0.1, shared_part=(0.8,))
    asked = Asked(effects=(0.0,), in_margins=True, either=False)
    found = [simulated_pairs(design, belief, asked, seed=seed, studies=300)[0] for seed in range(40)]
    alike = np.array([case.all_alike[0] for case in found if case.all_alike])
    assert 0.4 < alike.std() / np.mean([case.error for case in found]) < 1.6


def test_voids_and_a_third_treatment_are_not_free() -> None:
    plain, voided = only(layout(), KNOWN), only(layout(), replace(KNOWN, voids=0.3))
    assert voided.error > 0
    assert voided.contrasts[0].differs[1] < plain.contrasts[0].differs[1] - 0.02
    three = only(layout(treatments=3), KNOWN)
    assert [one.treatment for one in three.contrasts] == [1, 2] * 4
    assert three.contrasts[0].df == 10
    in_turn = only(layout(rounds=8, treatments=3, pairs=True), KNOWN)
    assert [(one.rounds, one.df) for one in in_turn.contrasts[:2]] == [(4, 6), (4, 6)]
