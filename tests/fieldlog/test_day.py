"""What comes next outside: fixed days that the phone reckons too, and single cases."""

from __future__ import annotations

from typing import Any

import pytest

from evenglide.fieldlog.bodies import (
    Body,
    Elsewhere,
    Landed,
    Launched,
    Prepared,
    Read,
    RoundEnded,
    Session,
    SetAside,
    SetUp,
    Skipped,
)
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.day import Day, day_of
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.phone_plan import phone_plan
from tests.fieldlog.made_up import drafts, schedule, study
from tests.fieldlog.random_days import FINGERPRINT, expected_of
from tests.reference_data import kept_days

PLAN = phone_plan(study(), schedule(blocks=2, launches=1), fingerprint=FINGERPRINT)
MORNING: tuple[Body, ...] = (
    Session(outing=1),
    Prepared(preparation="P1"),
    Prepared(preparation="P2"),
    SetUp(set_up=1),
)


def day(*bodies: Body) -> Day:
    return day_of(PLAN, replay(chain(drafts(bodies), server_time="2026-01-17T09:00:00Z")))


@pytest.mark.parametrize("kept", kept_days(), ids=lambda kept: kept["name"])
def test_kept_days_come_to_what_they_always_came_to(kept: dict[str, Any]) -> None:
    assert expected_of(kept["plan"], kept["drafts"]) == kept["expected"]


def test_a_day_goes_from_state_to_state() -> None:
    said: list[Body] = []
    states = [day().state]
    steps: list[Body] = [
        *MORNING,
        Launched(launch=1),
        Landed(launch=1, peg="1"),
        Launched(launch=2),
        Landed(launch=2, peg="2"),
        Read(launch=2, text="5.1", value=5.1),
        Read(launch=1, text="5.0", value=5.0),
        SetUp(set_up=2),
        Launched(launch=3),
        SetAside(launch=3, cause="nose under the snow"),
        Skipped(launches=[4]),
        RoundEnded(block="1"),
    ]
    for body in steps:
        said.append(body)
        states.append(day(*said).state)
    assert states == [
        "morning", "prepare", "prepare", "set up", "ready",
        "landed", "ready", "landed", "read", "read", "set up",
        "ready", "landed", "ready", "end of coat", "morning",
    ]  # fmt: skip
    assert day(*said).marks[3] == "set aside"
    assert day(*said).marks[4] == "skipped"
    assert day(*said).made == 4


def test_what_is_waited_for_is_named() -> None:
    assert day(*MORNING[:2]).waiting_for == ("P2",)


def test_a_reading_outweighs_that_a_launch_was_to_be_skipped() -> None:
    found = day(*MORNING, Skipped(launches=[1]), Launched(launch=1), Read(launch=1, text="5", value=5.0))
    assert found.marks[1] == "read"


def test_what_is_recorded_elsewhere_moves_a_phone_on_and_counts_as_nothing_made() -> None:
    second_phone = day(Elsewhere(launches=[1]))
    assert (second_phone.state, second_phone.next and second_phone.next["number"]) == ("ready", 2)
    assert (second_phone.marks[1], second_phone.made) == ("elsewhere", 0)
    a_round_on_paper = day(*MORNING, SetAside(launch=1, cause="gust"), Elsewhere(launches=[2, 3, 4]))
    assert (a_round_on_paper.state, a_round_on_paper.next and a_round_on_paper.next["number"]) == (
        "morning",
        5,
    )
    assert a_round_on_paper.made == 1
    assert day(Elsewhere(launches=[*range(1, 9)])).state == "done"


def test_what_is_recorded_or_left_out_outweighs_that_it_is_elsewhere() -> None:
    said = (*MORNING, Elsewhere(launches=[1, 2, 3]), SetAside(launch=1, cause="gust"), Skipped(launches=[2]))
    assert [day(*said).marks[number] for number in (1, 2, 3)] == ["set aside", "skipped", "elsewhere"]


def test_the_plan_names_no_treatment_beside_its_launches() -> None:
    named = {one["name"] for one in PLAN["treatments"]}
    assert all(not named & set(map(str, launch.values())) for launch in PLAN["launches"])
    assert set(PLAN["key"].values()) == named
