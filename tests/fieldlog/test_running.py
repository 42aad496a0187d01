"""A day kept up to date event by event is the day of the whole log, and costs little."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from evenglide.fieldlog.bodies import Body, Landed, Launched, Prepared, Read, Session, SetUp, parse_body
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.events import Draft, Event
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.pace import pace_of
from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.fieldlog.running import RunningDay
from evenglide.fieldlog.state import LaunchState
from tests.fieldlog.elsewhere_days import partly_elsewhere
from tests.fieldlog.made_up import drafts, schedule, study
from tests.fieldlog.random_days import FINGERPRINT, vector
from tests.reference_data import kept_days


def events(day: dict) -> list[Event]:
    made = [Draft(**{**draft, "body": parse_body(draft["body"])}) for draft in day["drafts"]]
    return list(chain(made))


@pytest.mark.parametrize("kept", kept_days(), ids=lambda kept: kept["name"])
def test_event_by_event_is_the_whole(kept: dict) -> None:
    running = RunningDay(kept["plan"])
    for event in events(kept):
        running.add([event])
    assert running.day().to_dict() == kept["expected"]


@pytest.mark.parametrize("seed", range(300, 360))
def test_in_any_order_of_arrival_and_in_any_portions(seed: int) -> None:
    day = vector(seed) if seed % 3 else partly_elsewhere(seed)
    chance = random.Random(seed)
    arriving = events(day)
    chance.shuffle(arriving)
    running = RunningDay(day["plan"])
    while arriving:
        portion = chance.randint(1, 5)
        running.add(arriving[:portion])
        running.add(arriving[:portion])  # sent twice, as a phone does that was not answered
        arriving = arriving[portion:]
    assert running.day().to_dict() == day["expected"]


def test_a_new_event_folds_only_what_it_touches() -> None:
    plan = phone_plan(study(), schedule(blocks=200, launches=5), fingerprint=FINGERPRINT)
    bodies: list[Body] = [Session(), Prepared(preparation="P1"), SetUp(set_up=1)]
    for launch in plan["launches"]:
        bodies += [
            Launched(launch=launch["number"]),
            Landed(launch=launch["number"], peg="1"),
            Read(launch=launch["number"], text="5.1", value=5.1),
        ]
    recorded = drafts(bodies)
    running = RunningDay(plan)
    running.add(recorded)
    before = running.folded
    assert before < 2 * len(recorded)
    running.add(drafts([Read(launch=17, text="5.2", value=5.2)], device="second phone"))
    assert running.folded - before == 4  # the records of that launch
    running.day()
    assert running.folded - before == 4 + 3  # and those that frame the day


def without_place(launch: LaunchState) -> LaunchState:
    return replace(launch, position=0)


@pytest.mark.parametrize("seed", range(300, 330))
def test_it_knows_of_launches_paces_and_corrections_what_a_replay_knows(seed: int) -> None:
    day = vector(seed)
    recorded = events(day)
    running = RunningDay(day["plan"])
    for event in random.Random(seed).sample(recorded, len(recorded)):
        running.add([event])
    whole = replay(recorded)
    state = running.state()
    assert state.made == whole.made
    assert {number: without_place(one) for number, one in state.launches.items()} == {
        number: without_place(one) for number, one in whole.launches.items()
    }
    assert pace_of(day["plan"], running.timed()) == pace_of(day["plan"], whole.facts)
    for fact in whole.facts:
        alone = running.fact(fact.entry.event)
        assert (alone.body, alone.withdrawn, alone.corrections, alone.latest) == (
            fact.body,
            fact.withdrawn,
            fact.corrections,
            fact.latest,
        )


def test_launches_that_changed_places_stand_in_the_order_in_which_they_were_made() -> None:
    recorded = drafts(
        [Launched(launch=5), Launched(launch=3), Launched(launch=4, order=2.5), Launched(launch=7)]
    )
    running = RunningDay(phone_plan(study(), schedule(), fingerprint=FINGERPRINT))
    running.add(recorded)
    assert running.state().made == replay(recorded).made == (4, 5, 3, 7)  # type: ignore[arg-type]


def test_a_number_that_came_twice_fills_no_gap() -> None:
    running = RunningDay(phone_plan(study(), schedule(), fingerprint=FINGERPRINT))
    numbered = zip((1, 2, 2, 5), drafts([Launched(launch=one) for one in (1, 2, 3, 4)]), strict=True)
    running.add([replace(one, sequence=number) for number, one in numbered])
    assert running.gaps() == {"phone": 2}
