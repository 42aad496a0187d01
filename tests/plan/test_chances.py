"""Chances of layouts: exact against drawn, one simulation against the other, laws, bad input."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from evenglide.maths.family_chance import family_chances
from evenglide.plan.beliefs import ScatterBelief, unknown_scatter
from evenglide.plan.chances import chances_of
from evenglide.plan.comparisons import lot_of
from evenglide.plan.designs import renumbered
from tests.plan.plans import KNOWN, TEN_PERCENT, layout, only

# ----------------------------------------------------------------------------------------- exact


def test_known_scatter_is_one_family() -> None:
    """Six pairs of five launches: standard error sqrt(2 v/6) on 5 degrees of freedom."""
    case = only(layout(), KNOWN)
    se = np.sqrt(2 * (0.03**2 + 0.06**2 / 5) / 6)
    for at, effect in enumerate((0.0, TEN_PERCENT)):
        plan = family_chances(df=np.full((4, 1), 5.0), se=se, effect=effect, margin=TEN_PERCENT, level=0.05)
        assert plan.conclusive is not None
        assert plan.all_conclusive is not None
        one = case.contrasts[0]
        assert one.alike is not None
        assert one.conclusive is not None
        assert case.all_conclusive is not None
        assert (one.df, one.se) == (5, pytest.approx(se))
        assert one.differs[at] == pytest.approx(float(plan.difference[0, 0]), abs=1e-12)
        assert one.alike[at] == pytest.approx(float(plan.alike[0, 0]), abs=1e-12)
        assert one.conclusive[at] == pytest.approx(float(plan.conclusive[0, 0]), abs=1e-12)
        assert case.all_conclusive[at] == pytest.approx(float(plan.all_conclusive[0]), abs=1e-12)
    assert case.error == 0.0


def test_the_scatter_is_averaged_over() -> None:
    """The same mean over 5,000 drawn sizes of the scatter, worth 4 degrees of freedom."""
    belief = replace(KNOWN, df=4.0)
    drawn = 0.03**2 * 4 / np.random.default_rng(2).chisquare(4, 5000) + 0.06**2 / 5
    plan = family_chances(
        df=np.full((4, 1), 5.0),
        se=np.sqrt(2 * drawn / 6),
        effect=0.0,
        margin=TEN_PERCENT,
        level=0.05,
        either=False,
    )
    case = only(layout(), belief, either=False)
    assert case.all_alike is not None
    error = plan.all_alike.std() / np.sqrt(5000)
    assert abs(case.all_alike[0] - plan.all_alike.mean()) < 5 * error + 1e-4


def test_gear_in_turn_costs_precision() -> None:
    """With three rounds one piece is treated twice, whatever the lot: variance up by 9/8."""
    assert lot_of(3, items=True) == ((pytest.approx(2 / 3 * 9 / 8), 1.0),)
    assert sum(chance for _, chance in lot_of(9, items=True)) == pytest.approx(1.0)
    assert lot_of(1, items=True) == ()
    with_items, without = only(layout(items=1), KNOWN), only(layout(), KNOWN)
    assert with_items.contrasts[0].df == 4
    assert with_items.contrasts[0].differs[1] < without.contrasts[0].differs[1]


def test_expected_width() -> None:
    """Mean width of 20,000 drawn intervals at level/4."""
    rng = np.random.default_rng(3)
    se = np.sqrt(2 * (0.03**2 * 6 / rng.chisquare(6, 20_000) + 0.06**2 / 5) / 6)
    widths = 2 * stats.t.isf(0.05 / 8, 5) * se * np.sqrt(rng.chisquare(5, 20_000) / 5)
    width = only(layout(), replace(KNOWN, df=6.0)).contrasts[0].width
    assert width == pytest.approx(widths.mean(), abs=5 * widths.std() / np.sqrt(20_000))
    assert only(layout(), replace(KNOWN, df=1.0)).contrasts[0].width is None


# -------------------------------------------------------------------------------------------- laws


@pytest.mark.parametrize("shared", [False, True])
def test_the_unit_does_not_matter(shared: bool) -> None:
    plain = only(layout(shared=shared, surfaces=2), KNOWN)
    thousandfold = ScatterBelief(preparations=30.0, launches=60.0)
    other = only(layout(shared=shared, surfaces=2, margin=1000 * TEN_PERCENT), thousandfold)
    np.testing.assert_allclose(other.all_differ, plain.all_differ, atol=1e-9)
    np.testing.assert_allclose(other.contrasts[0].alike, plain.contrasts[0].alike, atol=1e-9)


@pytest.mark.parametrize("shared", [False, True])
def test_the_side_does_not_matter(shared: bool) -> None:
    effects = (-1.5, -1.0, 1.0, 1.5)
    one = only(layout(shared=shared, surfaces=2), KNOWN, effects=effects)
    tolerance = 5 * one.error + 1e-12
    np.testing.assert_allclose(one.all_differ[:2], one.all_differ[:1:-1], atol=tolerance)
    np.testing.assert_allclose(one.contrasts[0].matters[:2], one.contrasts[0].matters[:1:-1], atol=tolerance)  # type: ignore[index]


def test_names_and_order_do_not_matter() -> None:
    design = layout(surfaces=3)
    surfaces = tuple(replace(one, launches=2 + at) for at, one in enumerate(design.surfaces))
    one = only(replace(design, surfaces=surfaces), KNOWN)
    other = only(replace(design, surfaces=surfaces[::-1]), KNOWN)
    for name in ("surface 0", "surface 1", "surface 2"):
        np.testing.assert_allclose(one.of(name).differs, other.of(name).differs, atol=1e-12)
    np.testing.assert_allclose(one.all_conclusive, other.all_conclusive, atol=1e-12)


@pytest.mark.parametrize("shared", [False, True])
@pytest.mark.parametrize("items", [0, 1])
def test_more_rounds_and_launches_help(shared: bool, items: int) -> None:
    belief = replace(unknown_scatter(), shared_part=(0.5,))
    for many in (
        [layout(rounds, shared=shared, items=items) for rounds in range(3, 12)],
        [layout(6, launches, shared=shared, items=items) for launches in range(1, 9)],
    ):
        found = [one.cases[0] for one in chances_of(many, belief, either=False)]
        assert np.all(np.diff([case.contrasts[0].differs[1] for case in found]) > 0)
        assert np.all(np.diff([case.all_alike[0] for case in found if case.all_alike]) > 0)


def test_curves_are_smooth() -> None:
    effects = tuple(np.linspace(0, 3, 31).tolist())
    case = only(layout(shared=True, surfaces=2), KNOWN, effects=effects, either=False)
    assert np.all(np.diff(case.contrasts[0].differs) > -1e-6)
    assert case.contrasts[0].alike is not None
    assert np.all(np.diff(case.contrasts[0].alike) < 1e-6)


def test_same_seed_same_numbers_whatever_stands_beside() -> None:
    belief = replace(unknown_scatter(), voids=0.1)
    many = [layout(5, shared=True), layout(9, 3, shared=True, items=1), layout(4, treatments=3)]
    together = chances_of(many, belief)
    assert together == chances_of(many, belief)
    assert together[1] == chances_of(many[1:2], belief)[0]
    assert together != chances_of(many, belief, seed=1)


def test_when_rounds_take_place_does_not_matter() -> None:
    design = layout(4, surfaces=2, shared=True)
    first, second = design.surfaces
    early = replace(
        design, rounds=6, surfaces=(replace(first, rounds=(0, 1, 2, 3)), replace(second, rounds=(0, 2, 3)))
    )
    late = replace(
        design, rounds=6, surfaces=(replace(first, rounds=(5, 1, 2, 4)), replace(second, rounds=(1, 4, 5)))
    )
    assert renumbered(early) == renumbered(late)
    assert chances_of([early], KNOWN) == chances_of([late], KNOWN)


def test_the_main_surface_shares_with_no_other() -> None:
    with_main, without = only(layout(main="surface 0"), KNOWN), only(layout(), KNOWN)
    assert with_main.of("surface 0").differs[1] > without.of("surface 0").differs[1]
    alone = only(layout(surfaces=1), KNOWN)
    assert with_main.of("surface 0").differs[1] == pytest.approx(alone.contrasts[0].differs[1], abs=1e-12)
    assert with_main.main_conclusive == pytest.approx(alone.all_conclusive, abs=1e-12)


def test_launches_for_their_cost() -> None:
    """Best number: sqrt(c_preparation/c_launch x s2_launch/s2_preparation), Cochran (1977) section 10.6."""
    preparing, launching = 30.0, 3.0
    best = np.sqrt(preparing / launching * 0.06**2 / 0.03**2)
    tried = np.arange(1, 21)
    rounds = (12_000 / (2 * (preparing + launching * tried))).astype(int)
    found = chances_of(
        [layout(int(n), int(r), surfaces=1, margin=0.0115) for n, r in zip(rounds, tried, strict=True)],
        KNOWN,
        either=False,
    )
    chance = [one.cases[0].contrasts[0].differs[1] for one in found]
    assert 0.3 < max(chance) < 0.95
    assert abs(tried[int(np.argmax(chance))] - best) <= 1


def test_a_quick_look_is_the_same_where_nothing_is_left_out() -> None:
    designs = [layout(rounds) for rounds in (4, 7)]
    for quick, whole in zip(chances_of(designs, KNOWN, quick=True), chances_of(designs, KNOWN), strict=True):
        np.testing.assert_allclose(quick.cases[0].all_differ, whole.cases[0].all_differ, atol=1e-12)
    rough = only(layout(shared=True, items=1), replace(KNOWN, voids=0.05), quick=True)
    near = only(layout(shared=True, items=1), replace(KNOWN, voids=0.05))
    assert rough.contrasts[0].differs[1] == pytest.approx(near.contrasts[0].differs[1], abs=0.05)
