"""Of many layouts the promising ones are worked out: the rough chance ranks as the whole one does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from evenglide.plan.candidates import design_of, headline
from evenglide.plan.chances import chances_of
from evenglide.plan.layouts import search_layouts
from evenglide.plan.offer import make_offer
from evenglide.plan.scatter import find_scatter
from evenglide.plan.shortlist import LENGTHS, OF_EACH, rough_chances, shortlist
from evenglide.study.study import Outing, Study
from tests.study.made_up import made_up_study


def long_study(*, main: int | None, surfaces: int) -> Study:
    """Three long days of quick launches: hundreds of layouts."""
    outings = tuple(Outing(day=f"2026-01-1{at}", start="06:00", end="20:00", surfaces=()) for at in range(3))
    study = made_up_study(surfaces=surfaces, main=main, outings=outings, preparations="fresh on each surface")
    return replace(study, expected_voids=0.0)


@pytest.mark.parametrize(("main", "surfaces"), [(None, 2), (0, 2), (None, 1)])
def test_the_rough_chance_is_near_the_whole_one(main: int | None, surfaces: int) -> None:
    study = long_study(main=main, surfaces=surfaces)
    search, belief = search_layouts(study), find_scatter(study).belief
    designs = [design_of(study, search.outings, one) for one in search.layouts[::9]]
    whole = [headline(study, one.cautious) for one in chances_of(designs, belief, either=False)]
    rough = rough_chances(designs, belief)
    assert np.abs(rough - whole).max() < 0.1
    assert np.corrcoef(rough, whole)[0, 1] > 0.98


def test_the_best_is_on_the_list_and_the_list_is_short() -> None:
    study = long_study(main=None, surfaces=1)
    search, belief = search_layouts(study), find_scatter(study).belief
    designs = [design_of(study, search.outings, one) for one in search.layouts]
    kept = shortlist(search.layouts, designs, belief)
    assert len(search.layouts) > 150
    assert len(kept) <= LENGTHS * OF_EACH
    assert list(kept) == sorted(set(kept))
    whole = [headline(study, one.cautious) for one in chances_of(designs, belief, either=False)]
    assert max(whole[at] for at in kept) > max(whole) - 0.005
    for at in kept:  # nothing much better is as short
        shorter = [
            chance
            for chance, one in zip(whole, search.layouts, strict=True)
            if one.minutes <= search.layouts[at].minutes
        ]
        ahead = max(
            whole[other] for other in kept if search.layouts[other].minutes <= search.layouts[at].minutes
        )
        assert ahead > max(shorter) - 0.1


def test_few_layouts_are_all_worked_out() -> None:
    study = replace(long_study(main=None, surfaces=1))
    few = replace(study, costs=replace(study.costs, outings=study.costs.outings[:1], reserve=0.8))
    offer = make_offer(few)
    assert len(offer.candidates) == len(search_layouts(few).layouts)
