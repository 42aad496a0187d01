"""Chances of layouts: exact against drawn, one simulation against the other, laws, bad input."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from evenglide.analysis.scatter import SplitScatter
from evenglide.errors import StudyError
from evenglide.maths.conditional_bins import conditional_bins
from evenglide.maths.family_chance import family_chances, levels_looked_at
from evenglide.plan.beliefs import ScatterBelief, pilot_belief, rig_belief, study_belief, unknown_scatter
from evenglide.plan.chances import chances_of
from evenglide.plan.comparisons import comparisons_of, lot_of
from evenglide.plan.designs import LayoutDesign, SurfaceDesign, renumbered
from evenglide.plan.exact_chances import Asked, marginal_bins
from evenglide.plan.layout_chances import SharingCase
from evenglide.plan.simulated_blocks import simulated_blocks
from evenglide.plan.simulated_chances import draw_pairs, simulated_pairs
from evenglide.plan.wanted import clear_chance, least_rounds, smallest_margin
from evenglide.study.study import Scatter
from tests.study.made_up import made_up_study

KNOWN = ScatterBelief(preparations=0.03, launches=0.06)
TEN_PERCENT = float(np.log(1.1))


def layout(
    rounds: int = 6, launches: int = 5, *, surfaces: int = 4, items: int = 0, **rest: object
) -> LayoutDesign:
    margin = rest.pop("margin", TEN_PERCENT)
    return LayoutDesign(
        surfaces=tuple(
            SurfaceDesign(
                surface=f"surface {at}",
                rounds=tuple(range(rounds)),
                launches=launches,
                margin=None if margin is None else (-margin, margin),  # type: ignore[operator, arg-type]
                items=items,
            )
            for at in range(surfaces)
        ),
        rounds=rounds,
        **rest,  # type: ignore[arg-type]
    )


def only(design: LayoutDesign, belief: ScatterBelief, **asked: object) -> SharingCase:
    (found,) = chances_of([design], belief, **asked)  # type: ignore[arg-type]
    return found.cases[0]


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


# ------------------------------------------------------------------------------------- simulated


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


# ------------------------------------------------------------------------------- what it would take


def test_the_smallest_margin_is_just_enough() -> None:
    margin = smallest_margin(layout(), KNOWN)
    assert margin is not None
    assert (
        clear_chance(layout(margin=margin), KNOWN) >= 0.8 > clear_chance(layout(margin=0.99 * margin), KNOWN)
    )


def test_the_fewest_rounds_are_just_enough() -> None:
    rounds = least_rounds(lambda count: layout(count, margin=0.07), KNOWN)
    assert rounds is not None
    assert clear_chance(layout(rounds, margin=0.07), KNOWN) >= 0.8
    assert clear_chance(layout(rounds - 1, margin=0.07), KNOWN) < 0.8
    assert least_rounds(lambda count: layout(count, margin=1e-4), KNOWN) is None


# --------------------------------------------------------------------------------------- bad input


def codes(caught: pytest.ExceptionInfo[StudyError]) -> set[str]:
    return {problem.code for problem in caught.value.problems}


@pytest.mark.parametrize(
    "wrong",
    [
        {"preparations": -0.01},
        {"launches": float("nan")},
        {"preparations": 0.0, "launches": 0.0},
        {"df": 0.0},
    ],
)
def test_impossible_scatter_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(StudyError, match="scatter") as caught:
        replace(KNOWN, **wrong)  # type: ignore[arg-type]
    assert codes(caught) == {"bad-scatter"}
    assert all(problem.remedy for problem in caught.value.problems)


def test_impossible_shares_are_refused_together() -> None:
    with pytest.raises(StudyError) as caught:
        replace(KNOWN, voids=1.0, shared_part=(1.2,))
    assert codes(caught) == {"out-of-range", "bad-share"}


def test_scatter_that_is_nought_somewhere_is_no_trouble() -> None:
    for belief in (
        ScatterBelief(preparations=0.0, launches=0.06, df=3.0),
        ScatterBelief(preparations=0.03, launches=0.0),
    ):
        for shared in (False, True):
            case = only(layout(shared=shared, surfaces=2), belief)
            assert 0 < case.all_differ[1] <= 1


def test_one_round_claims_nothing() -> None:
    for design in (
        layout(1),
        layout(1, shared=True),
        layout(2, items=1, shared=True),
        layout(1, treatments=3, shared=True),
    ):
        case = only(design, KNOWN)
        if design.treatments == 2:
            assert {one.df for one in case.contrasts} == {0}
            assert case.all_differ == (0.0, 0.0)
            assert case.contrasts[0].width is None
    with pytest.raises(StudyError, match="rounds") as caught:
        smallest_margin(layout(1), KNOWN)
    assert codes(caught) == {"no-df"}


def test_margins_are_asked_for_where_they_count() -> None:
    with pytest.raises(StudyError, match="matters") as caught:
        chances_of([layout(margin=None)], KNOWN)
    assert codes(caught) == {"no-margin"}
    case = only(layout(margin=None), KNOWN, effects=(0.0, 0.05, 0.1), in_margins=False)
    assert case.contrasts[0].alike is None
    assert case.all_conclusive is None
    assert np.all(np.diff(case.contrasts[0].differs) > 0)


def test_everything_wrong_with_a_layout_is_told_at_once() -> None:
    wrong = replace(
        layout(3),
        level=0.7,
        surfaces=(
            SurfaceDesign(surface="a", rounds=(0, 5), launches=0, margin=(-0.1, 0.2)),
            *layout(3).surfaces,
        ),
    )
    with pytest.raises(StudyError) as caught:
        chances_of([wrong, wrong], KNOWN)
    assert codes(caught) == {"out-of-range", "bad-count", "uneven-margin"}
    assert len(caught.value.problems) == 4


def split(**values: object) -> SplitScatter:
    return SplitScatter(
        **({"residual": 0.0016, "df": 4, "launches": 0.0036, "launches_df": 20, "added": 0.0006} | values)
    )  # type: ignore[arg-type]


def test_a_pilot_is_pooled_by_degrees_of_freedom() -> None:
    belief = pilot_belief([split(), split(residual=0.0031, df=2, launches=0.0066, launches_df=10)])
    assert belief.preparations**2 == pytest.approx((4 * 0.0010 + 2 * 0.0025) / 6)
    assert belief.launches**2 == pytest.approx((20 * 0.0036 + 10 * 0.0066) / 30)
    assert belief.df == 6
    assert belief.shown_preparations_variance is None


def test_a_negative_component_is_nought_and_shown() -> None:
    belief = pilot_belief([split(residual=0.0004)])
    assert belief.preparations == 0.0
    assert belief.shown_preparations_variance == pytest.approx(-0.0002)


def test_a_pilot_that_tells_nothing_is_refused() -> None:
    with pytest.raises(StudyError, match="Prepare once more") as caught:
        pilot_belief([])
    assert codes(caught) == {"one-preparation"}
    with pytest.raises(StudyError, match="several times") as caught:
        pilot_belief([split(launches=None, launches_df=0, added=None)])
    assert codes(caught) == {"one-launch"}


def test_what_a_study_states_is_believed() -> None:
    study = replace(made_up_study(), scatter=Scatter(preparations=0.02, launches=0.05, as_if_from=7))
    belief = study_belief(study)
    assert (belief.preparations, belief.launches, belief.df) == (0.02, 0.05, 7.0)
    nothing = study_belief(replace(study, scatter=Scatter()))
    assert (nothing.preparations, nothing.launches, nothing.df) == (0.03, 0.06, 3.0)
    with pytest.raises(StudyError, match="per cent"):
        study_belief(replace(study, scale="difference", scatter=Scatter()))
    assert rig_belief(0.04).launches == 0.04
