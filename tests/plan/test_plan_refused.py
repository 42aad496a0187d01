"""Scatter, layouts and pilots that tell nothing: refused with what to do, all at once."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from evenglide.analysis.scatter import SplitScatter
from evenglide.errors import StudyError
from evenglide.plan.beliefs import ScatterBelief, pilot_belief, rig_belief, study_belief
from evenglide.plan.chances import chances_of
from evenglide.plan.designs import SurfaceDesign
from evenglide.study.study import Scatter
from tests.plan.plans import KNOWN, layout, only
from tests.study.made_up import made_up_study


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
