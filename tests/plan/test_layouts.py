"""Every layout that fits is found, takes what it is told to take, and no other is offered."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evenglide.plan.day import minutes_taken
from evenglide.plan.layouts import MOST_LAYOUTS, MOST_ROUNDS, Layout, Search, search_layouts
from evenglide.plan.schedule import plan_schedule
from evenglide.study.study import Outing, Study
from tests.study.made_up import made_up_study


def days(*hours: tuple[str, str], surfaces: tuple[tuple[str, ...], ...] = ()) -> tuple[Outing, ...]:
    """Outings from and to such hours, on such surfaces."""
    met = surfaces or ((),) * len(hours)
    return tuple(
        Outing(day=f"2026-01-{at + 10}", start=start, end=end, surfaces=names)
        for at, ((start, end), names) in enumerate(zip(hours, met, strict=True))
    )


def found(search: Search) -> set[tuple[tuple[int, ...], int]]:
    return {(one.spread, one.launches) for one in search.layouts}


def test_two_short_outings_by_hand() -> None:
    """A round takes 20 min of preparing, 12 of rig and 6 for each launch of both: 38, 44, 50, ... min."""
    search = search_layouts(made_up_study(surfaces=1, outings=days(("09:00", "10:30"), ("09:00", "09:45"))))
    assert found(search) == {
        ((2, 0), 1),
        ((2, 1), 1),
        ((2, 0), 2),
        ((2, 1), 2),
    }
    assert search.misfit is not None
    assert (search.misfit.rounds, search.misfit.why, search.misfit.minutes) == (4, "outing too short", 38)
    assert search.too_short == ()


def test_time_that_is_kept_free_is_not_planned_with() -> None:
    study = made_up_study(surfaces=1, outings=days(("09:00", "10:30"), ("09:00", "09:45")))
    kept = replace(study, costs=replace(study.costs, reserve=0.05))
    assert found(search_layouts(kept)) == {((2, 0), 1), ((2, 1), 1)}


def test_an_outing_that_holds_no_round_is_named_and_not_used() -> None:
    search = search_layouts(made_up_study(surfaces=1, outings=days(("09:00", "09:30"), ("09:00", "11:00"))))
    assert search.too_short == (1,)
    assert {one.spread[0] for one in search.layouts} == {0}


def test_nothing_fits_and_nothing_is_offered() -> None:
    search = search_layouts(made_up_study(surfaces=1, outings=days(("09:00", "09:30"))))
    assert search.layouts == ()


STUDIES = [
    made_up_study(outings=days(("08:00", "12:00"), ("08:00", "14:00"))),
    made_up_study(
        surfaces=3,
        outings=days(
            ("08:00", "12:00"),
            ("08:00", "15:00"),
            ("10:00", "13:00"),
            surfaces=((), ("surface 0", "surface 2"), ("surface 1",)),
        ),
        not_after={0: (2,)},
        directions=("out", "back"),
        wear_check=1,
        practice_launches=1,
    ),
    made_up_study(items=1, outings=days(("08:00", "13:00"), ("08:00", "11:00"))),
    made_up_study(treatments=3, items=2, surfaces=1, outings=days(("08:00", "18:00"))),
    made_up_study(items=8, stays=True, outings=days(("08:00", "18:00"))),
]


@pytest.mark.parametrize("study", STUDIES, ids=range(len(STUDIES)))
def test_each_layout_takes_exactly_what_it_is_told_to_take(study: Study) -> None:
    search = search_layouts(study)
    assert len(search.layouts) > 3
    for layout in search.layouts[:: max(1, len(search.layouts) // 12)]:
        check_layout(study, layout)


def check_layout(study: Study, layout: Layout) -> None:
    """Hold a layout against the list of launches that is written for it."""
    schedule = plan_schedule(
        study, blocks=layout.rounds, launches=layout.launches, seed=layout.rounds, spread=layout.spread
    )
    launches = schedule.launches
    for at, outing in enumerate(study.costs.outings):
        mine = [one for one in launches if one.outing == at + 1]
        assert minutes_taken(study, mine) == pytest.approx(layout.minutes_of_outings[at], abs=1e-9)
        window = 60 * (int(outing.end[:2]) - int(outing.start[:2]))
        assert layout.minutes_of_outings[at] <= window
        assert len({one.block for one in mine}) == layout.spread[at]
    assert len(launches) == layout.launches_in_all
    assert len({one.preparation for one in launches}) == layout.preparations
    assert len({one.set_up for one in launches}) == layout.set_ups


def test_items_that_keep_their_treatment_bound_the_rounds() -> None:
    search = search_layouts(STUDIES[-1])
    assert max(one.rounds for one in search.layouts) == 4
    assert search.misfit is not None
    assert (search.misfit.why, search.misfit.most) == ("too few items", 8)


def test_outings_that_lack_surfaces_are_combined() -> None:
    search = search_layouts(STUDIES[1])
    used = {one.used for one in search.layouts}
    assert (1, 2) in used
    assert (1,) not in used


def test_more_than_can_be_looked_at_is_bounded_and_said() -> None:
    many = tuple(
        Outing(day=f"2026-{month:02d}-{day:02d}", start="00:00", end="23:59", surfaces=())
        for month in range(1, 13)
        for day in range(1, 29)
    )
    study = made_up_study(surfaces=1, outings=many)
    quick = replace(study, surfaces=tuple(replace(one, minutes_per_launch=0.1) for one in study.surfaces))
    search = search_layouts(quick)
    assert len(search.layouts) <= MOST_LAYOUTS
    assert search.bounded["rounds"] == MOST_ROUNDS
    assert search.misfit is None
    assert max(one.rounds for one in search.layouts) == MOST_ROUNDS


def test_without_outings_as_many_as_are_needed_are_reckoned_with() -> None:
    search = search_layouts(made_up_study(surfaces=1))
    assert {one.minutes for one in search.outings} == {240}
    assert max(one.rounds for one in search.layouts) == search.bounded["rounds"] == 24
    assert all(max(one.minutes_of_outings) <= 240 for one in search.layouts)


def test_longer_outings_hold_everything_that_shorter_ones_hold() -> None:
    short = search_layouts(made_up_study(outings=days(("08:00", "12:00"), ("08:00", "12:00"))))
    long = search_layouts(made_up_study(outings=days(("08:00", "13:00"), ("08:00", "14:00"))))
    held = {(one.rounds, one.launches) for one in short.layouts}
    assert held < {(one.rounds, one.launches) for one in long.layouts}
