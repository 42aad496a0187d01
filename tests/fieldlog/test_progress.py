"""How far a study has come: each stage, and what is counted."""

from __future__ import annotations

import pytest

from evenglide.fieldlog.bodies import AtLeast, Body, Launched, Posted, Prepared, Read, SetAside
from evenglide.fieldlog.departures import departures_of
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.progress import Progress, progress_of, so_far
from tests.fieldlog import made_up

PLAN = made_up.schedule(blocks=2, launches=1, wear=True)
LAST = PLAN.launches[-1].number


def progress(bodies: list[Body], *, sealed: bool = True) -> Progress:
    seal = [made_up.sealed(PLAN)] if sealed else []
    events = made_up.log_of(PLAN, bodies) if seal else ()
    return progress_of(PLAN, replay(events))


def test_without_a_list_it_is_to_be_planned() -> None:
    assert progress_of(None, replay(())) == Progress(stage="to plan")


@pytest.mark.parametrize(
    ("bodies", "stage"),
    [
        ([], "to post"),
        ([Posted(where="forum")], "to launch"),
        ([Launched(launch=1)], "to launch"),
        ([Posted(where="forum"), *made_up.played(PLAN, unmade=[LAST])], "to launch"),
        (made_up.played(PLAN), "to answer"),
    ],
)
def test_stages(bodies: list[Body], stage: str) -> None:
    assert progress(bodies).stage == stage


def test_before_the_seal_it_is_to_be_sealed() -> None:
    assert progress([], sealed=False).stage == "to seal"


def test_what_is_counted() -> None:
    bodies: list[Body] = [
        Read(launch=1, text="6.00", value=6.0),
        AtLeast(launch=2),
        SetAside(launch=3, cause=made_up.CAUSE),
        Read(launch=4, text="6..0", unread=True),
        Launched(launch=5),
        AtLeast(launch=6, value=7.0),
        Read(launch=99, text="6.00", value=6.0),
    ]
    found = progress(bodies)
    assert (found.made, found.planned, found.set_aside, found.unread) == (6, LAST, 1, 3)
    assert found.next_launch == PLAN.launches[6]


def test_a_round_is_done_when_all_of_it_is_made_wear_check_included() -> None:
    first = [one.number for one in PLAN.launches if one.block == "1"]
    assert progress([Launched(launch=number) for number in first]).rounds_done == 1
    assert progress([Launched(launch=number) for number in first[:-1]]).rounds_done == 0


def test_the_next_launch_is_the_first_that_is_missing() -> None:
    found = progress(made_up.played(PLAN, unmade=[3, 5]))
    assert found.next_launch is not None
    assert (found.stage, found.next_launch.number) == ("to launch", 3)


def test_what_is_not_done_yet_is_no_departure_until_the_end() -> None:
    bodies = made_up.played(PLAN, unmade=[3])
    state = replay(made_up.log_of(PLAN, bodies))
    found = departures_of(made_up.study(), PLAN, state)
    assert "launches-missing" in {one.code for one in found}
    assert "launches-missing" not in {one.code for one in so_far(found, progress(bodies))}
    assert so_far(found, progress(made_up.played(PLAN))) == found


def test_no_treatment_is_named_while_treatments_are_hidden() -> None:
    bodies: list[Body] = [Launched(launch=1), Prepared(preparation="P1", treatment="bare")]
    found = departures_of(made_up.study(), PLAN, replay(made_up.log_of(PLAN, bodies)))
    (plain,) = [one for one in so_far(found, progress(bodies)) if one.code == "treatment-otherwise"]
    (masked,) = [
        one for one in so_far(found, progress(bodies), hidden=True) if one.code == "treatment-otherwise"
    ]
    assert plain.text.startswith("P1 was given bare, not paraffin rub.")
    assert masked.text.startswith("P1 was given another treatment, not the planned one.")
    assert "bare" not in str(masked.facts)
    assert so_far(found, progress(made_up.played(PLAN)), hidden=True) == found
