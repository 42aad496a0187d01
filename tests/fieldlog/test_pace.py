"""How long things took: clocks that jump, two phones, lunch and what was taken back do not spoil it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some

from evenglide.fieldlog.bodies import Body, Corrected, Launched, Noted, Prepared, Read, Session, SetUp
from evenglide.fieldlog.events import Draft
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.pace import (
    LONGEST_LAUNCH_S,
    LONGEST_SET_UP_S,
    SHORTEST_LAUNCH_S,
    Measured,
    Pace,
    pace_of,
)

BEGIN = datetime.datetime(2026, 1, 17, 9, 0, tzinfo=datetime.UTC)
Said = tuple[float, Body] | tuple[float, Body, str]


def launch(number: int, *, set_up: int, surface: str) -> dict[str, Any]:
    return {"number": number, "set_up": set_up, "surface": surface}


PLAN: dict[str, Any] = {
    "launches": [
        *(launch(number, set_up=1, surface="powder") for number in range(1, 7)),
        *(launch(number, set_up=2, surface="melt pan") for number in range(7, 13)),
    ],
    "key": {"p1": "bare", "p2": "rub", "p3": "rub"},
}


def pace(*said: Said) -> Pace:
    """Pace of a day that was recorded so many seconds after nine o'clock, by phone a if not said."""
    counts: dict[str, int] = {}
    drafts = []
    for place, one in enumerate(said):
        device = one[2] if len(one) == 3 else "a"
        counts[device] = counts.get(device, 0) + 1
        drafts.append(
            Draft(
                id=f"event-{place}",
                device=device,
                sequence=counts[device],
                device_time=(BEGIN + datetime.timedelta(seconds=one[0])).isoformat(),
                body=one[1],
            )
        )
    return pace_of(PLAN, replay(drafts).facts)  # type: ignore[arg-type]


def launched(times: Sequence[float], *, first: int = 1, device: str = "a") -> list[Said]:
    return [(time, Launched(launch=first + place), device) for place, time in enumerate(times)]


def test_launches_on_one_set_up_make_the_mean_with_the_walk_to_the_pegs() -> None:
    walked = [(150.0, Read(launch=1, text="5.3", value=5.3))]
    day = [*launched([0, 60, 120]), *walked, *launched([300, 360], first=4)]
    assert pace(*day).launch == {"powder": Measured(seconds=90.0, count=4)}


def test_moving_the_rig_is_no_launch_and_each_surface_has_its_own_time() -> None:
    day = [
        *launched([0, 60, 120, 180, 240, 300]),
        (1020.0, SetUp(set_up=2)),
        *launched([1200, 1320, 1440], first=7),
    ]
    found = pace(*day)
    assert found.launch == {
        "powder": Measured(seconds=60.0, count=5),
        "melt pan": Measured(seconds=120.0, count=2),
    }
    assert found.set_up == Measured(seconds=720.0, count=1)


def test_a_rig_that_was_moved_without_a_word_is_no_long_launch() -> None:
    assert pace(*launched([0, 60, 360, 420], first=5)).launch == {
        "powder": Measured(seconds=60.0, count=1),
        "melt pan": Measured(seconds=60.0, count=1),
    }


def test_a_preparation_before_a_set_up_is_not_counted_as_moving_the_rig() -> None:
    day = [
        *launched([0, 60]),
        (2000.0, Prepared(preparation="p1", hands_on_s=600.0)),
        (2900.0, Prepared(preparation="p2", hands_on_s=900.0, cure_s=840.0)),
        (3500.0, SetUp(set_up=2)),
    ]
    found = pace(*day)
    assert found.set_up == Measured(seconds=600.0, count=1)
    assert found.hands_on == {
        "bare": Measured(seconds=600.0, count=1),
        "rub": Measured(seconds=900.0, count=1),
    }
    assert found.waiting == {"rub": Measured(seconds=840.0, count=1)}


def test_a_preparation_between_two_launches_is_not_the_time_of_a_launch() -> None:
    day = [*launched([0, 60]), (300.0, Prepared(preparation="p2")), *launched([400, 460], first=3)]
    assert pace(*day).launch["powder"] == Measured(seconds=60.0, count=2)


def test_lunch_and_a_night_are_left_out() -> None:
    lunch = LONGEST_LAUNCH_S + 1
    day = [*launched([0, 60, 60 + lunch, 120 + lunch]), (120 + lunch + LONGEST_SET_UP_S + 1, SetUp(set_up=2))]
    found = pace(*day)
    assert found.launch["powder"] == Measured(seconds=60.0, count=2)
    assert found.set_up is None


def test_a_clock_that_jumps_spoils_one_pair_at_most() -> None:
    six_years = 6 * 365 * 86400.0
    back = [0, 60, 60 - six_years, 120 - six_years, 180 - six_years]
    assert pace(*launched(back)).launch["powder"] == Measured(seconds=60.0, count=3)
    forth = [0, 60, 60 + six_years, 120 + six_years]
    assert pace(*launched(forth)).launch["powder"] == Measured(seconds=60.0, count=2)


def test_summer_time_and_other_offsets_change_nothing() -> None:
    drafts = [
        Draft(id=f"e{n}", device="a", sequence=n, device_time=text, body=Launched(launch=n))
        for n, text in ((1, "2026-03-29T01:59:30+01:00"), (2, "2026-03-29T03:00:30+02:00"))
    ]
    found = pace_of(PLAN, replay(drafts).facts)  # type: ignore[arg-type]
    assert found.launch == {"powder": Measured(seconds=60.0, count=1)}


def test_two_phones_are_not_compared_with_each_other() -> None:
    """Their clocks differ by an hour, and each saw every second launch: none follows on one phone."""
    turn = [
        said
        for number in range(1, 7)
        for said in launched([60.0 * number + 3600 * (number % 2)], first=number, device="ab"[number % 2])
    ]
    assert pace(*turn).launch == {}


def test_a_second_phone_between_two_launches_leaves_that_pair_alone() -> None:
    day = [*launched([0, 60]), *launched([5000], first=3, device="b"), *launched([180, 240], first=4)]
    assert pace(*day).launch["powder"] == Measured(seconds=60.0, count=2)


def test_a_phone_that_was_with_the_gear_meanwhile_times_no_set_up() -> None:
    """Phone b made ready and went to the rig while a recorded launches 1 to 6: half an hour, no set-up."""
    seen_by_a = launched([0, 60, 120, 180, 240, 300])
    gear = [(0.0, Prepared(preparation="p1"), "b"), (1800.0, SetUp(set_up=2), "b")]
    assert pace(*seen_by_a, *gear).set_up is None
    assert pace(*seen_by_a, (900.0, SetUp(set_up=2))).set_up == Measured(seconds=600.0, count=1)
    half = [
        *launched([0, 60, 120]),
        *launched([180, 240, 300], first=4, device="b"),
        (1500.0, SetUp(set_up=2)),
    ]
    assert pace(*half).set_up is None


def test_launches_that_were_left_out_before_a_set_up_are_not_waited_for() -> None:
    day = [*launched([0, 60, 120]), (720.0, SetUp(set_up=2)), *launched([800, 900], first=7)]
    assert pace(*day).set_up == Measured(seconds=600.0, count=1)
    again = [*day, (1500.0, SetUp(set_up=2))]
    assert pace(*again).set_up == Measured(seconds=600.0, count=1), "anchored again in between"


def test_what_was_done_is_timed_as_what_it_was() -> None:
    day = [
        (0.0, Prepared(preparation="p1", treatment="rub", hands_on_s=600.0)),
        (100.0, SetUp(set_up=1, surface="ice")),
        *launched([200, 260, 320]),
    ]
    found = pace(*day)
    assert found.hands_on == {"rub": Measured(seconds=600.0, count=1)}
    assert found.launch == {"ice": Measured(seconds=60.0, count=2)}


def test_across_midnight_and_the_change_of_the_clocks_a_day_is_one_day() -> None:
    """Five minutes each but for three hours of the night, over midnight and an hour that comes twice."""
    told = ["2026-10-24T23:55:00+02:00", "2026-10-25T00:00:00+02:00", "2026-10-25T02:58:00+02:00"]
    told += ["2026-10-25T02:03:00+01:00", "2026-10-25T02:08:00+01:00"]
    drafts = [
        Draft(id=f"e{n}", device="a", sequence=n, device_time=text, body=Launched(launch=n))
        for n, text in enumerate(told, start=1)
    ]
    found = pace_of(PLAN, replay(drafts).facts)  # type: ignore[arg-type]
    assert found.launch == {"powder": Measured(seconds=300.0, count=3)}


def test_what_was_taken_back_does_not_count() -> None:
    day: list[Said] = [
        *launched([0, 60]),
        (70.0, Launched(launch=3)),
        (75.0, Corrected(target="event-2", withdrawn=True)),
        *launched([160, 220], first=3),
        (230.0, Prepared(preparation="p1", hands_on_s=10.0)),
        (235.0, Corrected(target="event-6", withdrawn=True)),
    ]
    found = pace(*day)
    assert found.launch["powder"] == Measured(seconds=(60 + 100 + 60) / 3, count=3)
    assert found.hands_on == {}


def test_records_typed_in_one_after_the_other_afterwards_are_left_out() -> None:
    quick = SHORTEST_LAUNCH_S - 1
    assert pace(*launched([0, quick, 2 * quick])).launch == {}
    assert pace((0.0, Launched(launch=1)), (20.0, SetUp(set_up=2))).set_up is None


def test_remarks_and_times_that_are_none_stand_in_nobody_s_way() -> None:
    drafts = [
        Draft(id="e1", device="a", sequence=1, device_time="", body=Launched(launch=1)),
        Draft(id="e2", device="a", sequence=2, device_time="yesterday", body=Session(outing=1)),
        Draft(id="e3", device="a", sequence=3, device_time="2026-01-17T09:00:00", body=Launched(launch=2)),
        Draft(id="e4", device="a", sequence=4, device_time="2026-01-17T09:00:00Z", body=Launched(launch=77)),
        Draft(id="e5", device="a", sequence=5, device_time="2026-01-17T09:00:00Z", body=Noted(words="x")),
    ]
    nothing = Pace(launch={}, set_up=None, hands_on={}, waiting={})
    assert pace_of(PLAN, replay(drafts).facts) == nothing  # type: ignore[arg-type]
    assert pace_of(PLAN, ()) == nothing


@pytest.mark.parametrize("seconds", [0.0, -5.0, 1e9])
def test_work_that_cannot_be_is_left_out(seconds: float) -> None:
    assert pace((0.0, Prepared(preparation="p1", hands_on_s=seconds, cure_s=seconds))).hands_on == {}


@given(
    some.lists(
        some.tuples(
            some.floats(-1e9, 1e9),
            some.one_of(
                some.integers(1, 14).map(lambda number: Launched(launch=number)),
                some.integers(1, 3).map(lambda number: SetUp(set_up=number)),
                some.sampled_from(["p1", "p2", "p9"]).map(lambda name: Prepared(preparation=name)),
            ),
            some.sampled_from("ab"),
        ),
        max_size=20,
    )
)
def test_whatever_was_recorded_the_times_can_be(said: list[Said]) -> None:
    found = pace(*said)
    for one in found.launch.values():
        assert SHORTEST_LAUNCH_S <= one.seconds <= LONGEST_LAUNCH_S and one.count >= 1
    assert found.set_up is None or 30.0 <= found.set_up.seconds <= LONGEST_SET_UP_S
