"""What a plan can find at best: least possible p by brute force, families, effort."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from evenglide.plan.day import MINUTES_PER_LAUNCH
from evenglide.plan.limits import Plan, plan_study, sharing
from evenglide.plan.orders import estimable
from evenglide.plan.rounds import make_rounds
from evenglide.study.study import Outing, Study
from tests.study.made_up import made_up_study


def planned(study: Study, *, blocks: int = 6, launches: int = 2) -> Plan:
    return plan_study(study, blocks=blocks, launches=launches, seed=4)


@pytest.mark.parametrize("blocks", [2, 3, 5, 8])
def test_orders_of_two_items_by_brute_force(blocks: int) -> None:
    study = made_up_study(surfaces=1)
    rounds = [one.to_draw() for one in make_rounds(study, blocks=blocks)]
    every = itertools.product(itertools.permutations(("bare", "rub 1")), repeat=blocks)
    count = sum(estimable(order, rounds) for order in every)
    (reach,) = planned(study, blocks=blocks).reach
    assert (reach.orders, reach.smallest_p) == (count, 2 / count)
    assert count == 2**blocks - 2


def test_six_pairs_reach_two_sixty_seconds_and_no_more() -> None:
    (alone,) = planned(made_up_study(surfaces=1)).reach
    assert (alone.orders, alone.smallest_p, alone.needed, alone.can_reject) == (62, 2 / 62, 0.05, True)
    two = planned(made_up_study(surfaces=2)).reach
    assert [(one.smallest_p, one.needed, one.can_reject) for one in two] == [(2 / 62, 0.025, False)] * 2


def test_a_restricted_order_has_fewer_orders() -> None:
    study = made_up_study(items=1, surfaces=1, order="balanced")
    plan = planned(study, blocks=8)
    assert (plan.reach[0].orders, plan.reach[0].smallest_p) == (238, 2 / 238)
    few = planned(study, blocks=6)
    assert (few.reach[0].orders, few.unrestricted) == (64, True)


def test_items_that_keep_their_treatment_lose_no_order() -> None:
    (reach,) = planned(made_up_study(items=12, surfaces=1, stays=True)).reach
    assert (reach.orders, reach.smallest_p) == (64, 2 / 64)


def test_three_treatments_hold_the_third_where_it_is() -> None:
    plan = planned(made_up_study(treatments=3, items=3, surfaces=1, blocks="complete blocks"))
    assert [one.treatment for one in plan.reach] == ["rub 1", "rub 2"]
    assert all(one.rounds == 6 and one.launches == 24 and one.orders <= 64 for one in plan.reach)


def test_a_surface_counts_its_own_rounds() -> None:
    cold = Outing(day="2026-01-17", start="08:30", end="12:30", surfaces=("surface 0",))
    both = Outing(day="2026-03-20", start="08:30", end="12:30", surfaces=())
    plan = planned(made_up_study(outings=(cold, both)), blocks=8)
    assert [(one.rounds, one.orders) for one in plan.reach] == [(8, 254), (4, 14)]


@pytest.mark.parametrize(
    ("main", "adjust", "shared"),
    [(None, "holm", [6, 6, 6]), (0, "holm", [2, 4, 4]), (0, "none", [1, 1, 1]), (None, "both", [6, 6, 6])],
)
def test_the_level_is_shared_over_the_family(main: int | None, adjust: str, shared: list[int]) -> None:
    study = made_up_study(treatments=3, items=3, surfaces=3, main=main, blocks="complete blocks")
    study = replace(study, adjust=adjust)  # type: ignore[arg-type]
    assert [sharing(study, surface.name) for surface in study.surfaces] == shared


def test_the_joint_test_needs_shared_preparations_of_two_treatments() -> None:
    assert planned(made_up_study(surfaces=2)).joint_p == 2 / 62
    assert planned(made_up_study(surfaces=1)).joint_p is None
    assert planned(made_up_study(surfaces=2, preparations="fresh on each surface")).joint_p is None
    assert planned(made_up_study(items=1, surfaces=2, order="balanced"), blocks=8).joint_p == 2 / 238


def test_effort_adds_up() -> None:
    effort = planned(made_up_study(surfaces=2)).effort
    assert (effort.rounds, effort.preparations, effort.set_ups, effort.launches) == (6, 12, 12, 48)
    # 12 preparations of 10 min, 12 set-ups of 12 min, 48 launches of 3 min
    assert (effort.seconds, effort.untimed) == (60.0 * (120 + 144 + 144), ())


def test_what_has_no_time_is_named_and_takes_what_is_usual() -> None:
    effort = planned(made_up_study(surfaces=1, timed=False)).effort
    assert effort.untimed == ("a launch on surface 0",)
    assert effort.seconds == 60.0 * (12 * 10 + 6 * 12 + 24 * MINUTES_PER_LAUNCH)


@pytest.mark.parametrize(
    ("design", "unchecked"),
    [
        ({"wear_check": 2}, False),
        ({"wear_check": 2, "preparations": "fresh on each surface"}, True),
        ({"wear_check": 2, "not_after": {0: (1,)}}, True),
        ({"wear_check": 0, "not_after": {0: (1,)}}, False),
    ],
)
def test_a_wear_check_that_cannot_be_is_told(design: dict[str, object], unchecked: bool) -> None:
    assert planned(made_up_study(**design)).wear_unchecked == unchecked  # type: ignore[arg-type]


def test_time_outside_is_known_where_every_outing_is() -> None:
    one = Outing(day="2026-01-17", start="08:30", end="12:30", surfaces=())
    two = Outing(day="2026-01-18", start="09:00", end="10:15", surfaces=())
    study = made_up_study(outings=(one, two))
    assert planned(study).effort.available == 3600 * 5.25
    assert plan_study(study, blocks=6, launches=2, seed=4, outings=3).effort.available is None
    assert planned(made_up_study()).effort.available is None
