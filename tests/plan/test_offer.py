"""What each hour buys: laws of the offer, what it recommends, what would help, what a spoilt day costs."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Any

import pytest

from evenglide.errors import StudyError
from evenglide.plan.candidates import NEAR, design_of, headline, least_p, spread_of
from evenglide.plan.chances import chances_of
from evenglide.plan.layouts import search_layouts
from evenglide.plan.limits import plan_study
from evenglide.plan.offer import make_offer
from evenglide.plan.results import REACHED, Candidate, Offer
from evenglide.plan.scatter import find_scatter
from evenglide.study.study import Outing, Scatter, Study
from tests.study.made_up import made_up_study

MARGIN = math.log1p(0.10)


def days(*hours: int, surfaces: tuple[tuple[str, ...], ...] = ()) -> tuple[Outing, ...]:
    """Outings of so many hours."""
    met = surfaces or ((),) * len(hours)
    return tuple(
        Outing(day=f"2026-01-{at + 10}", start="08:00", end=f"{8 + length:02d}:00", surfaces=names)
        for at, (length, names) in enumerate(zip(hours, met, strict=True))
    )


def study_of(*hours: int, between: float = 0.03, **more: Any) -> Study:
    """A study with outings of so many hours, its scatter stated as if from many preparations."""
    scatter = Scatter(preparations=between, launches=0.06, as_if_from=30, source="stated")
    study = made_up_study(outings=days(*hours), **{"preparations": "fresh on each surface", **more})
    return replace(study, scatter=scatter, costs=replace(study.costs, reserve=0.0), expected_voids=0.0)


@cache
def offer_of(*hours: int, between: float = 0.03, surfaces: int = 1, main: int | None = None) -> Offer:
    return make_offer(study_of(*hours, between=between, surfaces=surfaces, main=main))


def best(offer: Offer) -> float:
    return max(one.chance for one in offer.candidates)


# ------------------------------------------------------------------------------------------- laws


def test_more_hours_never_lower_the_best_chance() -> None:
    chances = [best(offer_of(*hours)) for hours in ((2,), (3,), (3, 2), (3, 3), (3, 3, 2))]
    assert all(more >= less for less, more in pairwise(chances))
    assert chances[-1] > chances[0] + 0.1


@pytest.mark.parametrize(("hours", "surfaces"), [((3, 3), 1), ((4, 4), 2)])
def test_the_frontier_is_what_no_layout_beats(hours: tuple[int, ...], surfaces: int) -> None:
    offer = offer_of(*hours, surfaces=surfaces)

    def beaten(one: Candidate) -> bool:
        return any(
            other.minutes <= one.minutes and other.chance >= one.chance
            for other in offer.candidates
            if other.number < one.number or other.chance > one.chance
        )

    assert len(offer.frontier) > 2
    assert all(one.frontier != beaten(one) for one in offer.candidates if one.chance > 0)
    assert [one.number for one in offer.candidates] == list(range(1, len(offer.candidates) + 1))
    assert [one.number for one in offer.frontier] == list(range(1, len(offer.frontier) + 1))


def test_the_same_study_gives_the_same_offer() -> None:
    study = study_of(3, 3, surfaces=2, preparations="shared over surfaces")
    assert repr(make_offer(study)) == repr(make_offer(study))


@pytest.mark.parametrize(
    "design",
    [
        {},
        {"preparations": "shared over surfaces"},
        {"preparations": "shared over surfaces", "items": 1, "order": "balanced"},
    ],
    ids=["fresh", "shared", "balanced"],
)
def test_each_layout_offered_can_be_drawn_and_takes_what_it_says(design: dict[str, Any]) -> None:
    study = study_of(3, 4, surfaces=2, **design)
    offer = make_offer(study)
    for one in offer.candidates[:: max(1, len(offer.candidates) // 8)]:
        plan = plan_study(
            study, blocks=one.rounds, launches=one.launches, seed=one.number, spread=spread_of(one)
        )
        assert plan.effort.seconds == pytest.approx(60 * one.minutes)
        assert (plan.effort.preparations, plan.effort.set_ups) == (one.preparations, one.set_ups)
        assert plan.effort.launches == one.launches_in_all
        assert {launch.outing for launch in plan.schedule.launches} == set(one.outings)
        reach = [(each.rounds, each.smallest_p, each.needed, each.can_reject) for each in plan.reach]
        assert reach == [
            (each.rounds, each.smallest_p, each.needed, each.can_reject) for each in one.comparisons
        ]
        assert plan.joint_p == one.joint_p


@pytest.mark.parametrize(
    ("study", "rounds"),
    [
        (made_up_study(surfaces=1), 5),
        (made_up_study(items=1, surfaces=1), 4),
        (made_up_study(items=1, surfaces=1, order="balanced"), 9),
        (made_up_study(items=12, surfaces=1, stays=True), 6),
        (made_up_study(treatments=3, surfaces=1), 6),
    ],
    ids=["two items", "one item", "balanced", "stays", "three treatments"],
)
def test_the_least_p_is_that_of_the_list(study: Study, rounds: int) -> None:
    reach = plan_study(study, blocks=rounds, launches=1, seed=3).reach
    assert [one.smallest_p for one in reach] == [
        least_p(study, rounds=one.rounds, all_rounds=rounds) for one in reach
    ]


# ------------------------------------------------------------------------------------ what to choose


def test_the_shortest_that_reaches_eighty_per_cent_is_recommended() -> None:
    offer = offer_of(6, 6, 6)
    assert offer.recommendation.rule == "reaches"
    taken = offer.recommended
    assert taken.chance >= REACHED
    assert not any(one.chance >= REACHED and one.minutes < taken.minutes for one in offer.candidates)
    assert offer.wishes == ()


def test_else_the_shortest_near_the_best() -> None:
    offer = offer_of(3, 3)
    assert offer.recommendation.rule == "near the best"
    taken, most = offer.recommended, offer.candidate(offer.recommendation.best)
    assert most.chance == best(offer) < REACHED
    assert taken.chance >= most.chance - NEAR
    assert not any(
        one.chance >= most.chance - NEAR and one.minutes < taken.minutes for one in offer.candidates
    )


def test_the_headline_is_that_of_the_main_surface_or_the_mean() -> None:
    for main in (None, 1):
        taken = offer_of(4, 4, surfaces=2, main=main).recommended
        clear = [one.clear for one in taken.comparisons]
        wanted = sum(clear) / 2 if main is None else clear[1]
        assert taken.chance == pytest.approx(wanted, abs=1e-12)


def test_wishes_that_come_true_are_enough_and_no_more() -> None:
    offer = offer_of(3, 3, surfaces=2)
    wishes = {one.kind: one for one in offer.wishes}
    assert {"rounds", "margin", "main", "fewer surfaces", "steadier preparations"} <= set(wishes)
    rounds = wishes["rounds"]
    assert rounds.reaches
    assert rounds.amount is not None
    assert rounds.amount > offer.recommended.rounds
    margin = wishes["margin"]
    assert margin.amount is not None
    wider = replace(study_of(3, 3, surfaces=2), margin=(-margin.amount, margin.amount))
    again = make_offer(wider)
    same = next(
        one
        for one in again.candidates
        if (one.rounds, one.launches) == (offer.recommended.rounds, offer.recommended.launches)
    )
    assert REACHED <= same.chance < REACHED + 0.01


def test_rounds_wished_for_would_do_and_one_less_would_not() -> None:
    offer = offer_of(3, 3)
    rounds = next(int(one.amount or 0) for one in offer.wishes if one.kind == "rounds")
    many = study_of(*((3,) * 12))
    search = search_layouts(many)
    for number, enough in ((rounds, True), (rounds - 1, False)):
        layout = next(
            one
            for one in search.layouts
            if (one.rounds, one.launches) == (number, offer.recommended.launches)
        )
        (chances,) = chances_of([design_of(many, search.outings, layout)], find_scatter(many).belief)
        assert (headline(many, chances.cautious) >= REACHED) == enough


def test_without_its_last_surface_a_study_fits_more_rounds() -> None:
    offer = offer_of(3, 3, surfaces=2)
    wish = next(one for one in offer.wishes if one.kind == "fewer surfaces")
    assert (wish.name, wish.amount) == ("surface 1", 1)
    assert wish.chance == pytest.approx(best(offer_of(3, 3)), abs=1e-9)


def test_a_spoilt_outing_costs_its_rounds() -> None:
    offer = offer_of(3, 4)
    spread = dict(zip(offer.recommended.outings, offer.recommended.rounds_of_outings, strict=True))
    assert {one.outing for one in offer.dropped} == set(spread)
    for one in offer.dropped:
        assert one.rounds == offer.recommended.rounds - spread[one.outing]
        assert one.chance < offer.recommended.chance
    sizes = {one.rounds: one.chance for one in offer.dropped}
    alike = [one for one in offer.candidates if one.launches == offer.recommended.launches]
    assert all(
        one.chance == pytest.approx(sizes[one.rounds], abs=1e-9) for one in alike if one.rounds in sizes
    )


def test_a_surface_that_only_the_spoilt_day_meets_is_lost() -> None:
    study = study_of(4, 5, surfaces=2)
    met = days(4, 5, surfaces=(("surface 0",), ()))
    offer = make_offer(replace(study, costs=replace(study.costs, outings=met)))
    lost = {one.outing: one.surfaces_lost for one in offer.dropped}
    assert lost[2] == ("surface 1",)
    assert lost.get(1, ()) == ()


def test_curves_run_through_the_chances_told() -> None:
    offer = offer_of(4, 4, surfaces=2)
    for curve, told in zip(offer.curves, offer.recommended.comparisons, strict=True):
        assert (curve.surface, curve.effects[0]) == (told.surface, 0.0)
        at = min(range(len(curve.effects)), key=lambda place: abs(curve.effects[place] - MARGIN))
        assert curve.effects[at] == pytest.approx(MARGIN)
        assert curve.alike[0] == pytest.approx(told.alike_if_none, abs=1e-9)
        assert curve.differs[at] == pytest.approx(told.differs_if_margin, abs=1e-9)


def test_timelines_fill_each_outing() -> None:
    offer = offer_of(3, 4)
    for line, minutes in zip(offer.timelines, offer.recommended.minutes_of_outings, strict=True):
        assert sum(one.minutes for one in line.steps) == pytest.approx(line.window)
        assert sum(one.minutes for one in line.steps if one.kind != "to spare") == pytest.approx(minutes)


# ---------------------------------------------------------------------------------------- bad input


def code_of(study: Study) -> str:
    with pytest.raises(StudyError) as error:
        make_offer(study)
    (problem,) = error.value.problems
    assert problem.remedy
    return problem.code


def test_an_outing_shorter_than_a_round_is_a_problem_with_its_remedy() -> None:
    study = study_of(1, surfaces=2)
    with pytest.raises(StudyError) as error:
        make_offer(study)
    (problem,) = error.value.problems
    assert problem.code == "outing-too-short"
    assert problem.found == "60 min on the longest outing"
    assert "76 min" in problem.expected
    assert 'without "surface 1" a round takes 38 min' in problem.remedy


def test_what_makes_every_plan_impossible() -> None:
    assert code_of(replace(study_of(3), margin=None)) == "no-margin"
    assert code_of(study_of(9, items=1, stays=True)) == "too-few-items"
    far = days(4, surfaces=(("surface 0",),))
    study = study_of(4, surfaces=2)
    assert code_of(replace(study, costs=replace(study.costs, outings=far))) == "surface-not-met"
    assert code_of(replace(study_of(1, surfaces=1), scatter=Scatter(preparations=0.03))) == "no-order"


def test_scatter_worth_nothing_is_refused() -> None:
    study = replace(study_of(3), scale="difference", scatter=Scatter(), margin=(-0.3, 0.3))
    assert code_of(study) == "bad-scatter"
