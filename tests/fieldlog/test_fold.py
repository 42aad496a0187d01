"""What a log says altogether: corrections, flags, and what is odd about it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evenglide.fieldlog.bodies import (
    AtLeast,
    Block,
    Body,
    Conflicting,
    Corrected,
    Guess,
    Landed,
    Launched,
    Noted,
    PegLost,
    Prepared,
    Read,
    SetAside,
    SetUp,
    Stopped,
    parse_body,
)
from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.events import Draft, derived_id
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import State
from tests.fieldlog.made_up import PHONE, drafts


def state_of(*bodies: Body) -> State:
    return replay(chain(drafts(bodies)))


def of_two(first: list[Body], second: list[Body]) -> State:
    return replay(chain([*drafts(first, device="a"), *drafts(second, device="b")]))


def event(number: int, device: str = PHONE) -> str:
    return derived_id(device, number)


def value(state: State, launch: int = 1) -> float | None:
    reading = state.launches[launch].reading
    return None if reading is None else reading.value


def codes(state: State) -> list[str]:
    return [question.code for question in state.questions]


READ = Read(launch=1, text="5.9", value=5.9)


def test_a_correction_replaces_what_was_read_and_the_text_stays_in_the_log() -> None:
    state = state_of(READ, Corrected(target=event(1), text="6.1", value=6.1))
    reading = state.launches[1].reading
    assert reading is not None
    assert (reading.value, reading.text, reading.corrections) == (6.1, "6.1", 1)
    assert state.facts[0].entry.body == READ
    assert codes(state) == []


def test_the_peg_and_the_clip_are_kept_by_a_later_word_that_names_none() -> None:
    landed = Landed(launch=1, peg="3", clip="a.mp4")
    launch = state_of(Launched(launch=1, peg="2"), landed, Landed(launch=1)).launches[1]
    assert (launch.peg, launch.clip) == ("3", "a.mp4")
    assert state_of(Launched(launch=1, peg="2"), Landed(launch=1)).launches[1].peg == "2"


def test_a_correction_of_a_correction_replaces_it() -> None:
    state = state_of(
        READ,
        Corrected(target=event(1), text="6.1", value=6.1),
        Corrected(target=event(2), text="6.2", value=6.2),
        Corrected(target=event(3), text="6.3", value=6.3),
    )
    assert value(state) == 6.3
    assert state.facts[0].latest == event(4)
    assert state.facts[0].corrections == 3


def test_a_reading_can_be_taken_back_and_brought_back() -> None:
    gone = Corrected(target=event(1), withdrawn=True)
    assert value(state_of(READ, gone)) is None
    again = Corrected(target=event(2), text="5.9", value=5.9)
    assert value(state_of(READ, gone, again)) == 5.9


def test_a_launch_set_aside_by_mistake_counts_again() -> None:
    aside = SetAside(launch=1, cause="touched")
    assert state_of(aside).launches[1].set_aside is not None
    assert state_of(aside, Corrected(target=event(1), withdrawn=True)).launches[1].set_aside is None


def test_a_correction_of_other_fields() -> None:
    made = Prepared(preparation="P1", item="slider 1", grams=4.0)
    state = state_of(made, Corrected(target=event(1), changes={"item": "slider 2"}))
    assert state.preparations["P1"] == made.model_copy(update={"item": "slider 2"})


def test_corrections_of_different_fields_are_both_applied() -> None:
    made = Prepared(preparation="P1", item="slider 1", grams=4.0)
    first = Corrected(target=event(1), changes={"item": "slider 2"})
    second = Corrected(target=event(1), changes={"grams": 5.0})
    prepared = state_of(made, first, second).preparations["P1"]
    assert (prepared.item, prepared.grams) == ("slider 2", 5.0)


@pytest.mark.parametrize(
    ("recorded", "correction", "field", "said"),
    [
        (SetAside(launch=1, cause="a"), {"text": "b"}, "cause", "b"),
        (Noted(launch=1, words="a"), {"text": "b"}, "words", "b"),
        (AtLeast(launch=1, value=7.0), {"value": 8.0}, "value", 8.0),
        (Read(launch=1, text="5.9", value=5.9, unit="m"), {"value": 59.0, "unit": "cm"}, "unit", "cm"),
    ],
)
def test_text_and_value_of_a_correction_mean_what_they_are_about(
    recorded: Body, correction: dict[str, object], field: str, said: object
) -> None:
    state = state_of(recorded, Corrected(target=event(1), **correction))  # type: ignore[arg-type]
    assert getattr(state.facts[0].body, field) == said


def test_a_doubtful_text_counts_once_it_is_corrected() -> None:
    doubtful = Read(launch=1, text="6.l", unread=True)
    assert codes(state_of(doubtful)) == ["unread"]
    state = state_of(doubtful, Corrected(target=event(1), text="6.1", value=6.1))
    assert (value(state), codes(state)) == (6.1, [])


def test_corrections_from_a_device_that_never_spoke_of_the_launch_are_applied() -> None:
    """Its records come first in the replay."""
    state = of_two([READ], [Corrected(target=event(1, "a"), text="6.1", value=6.1)])
    assert isinstance(state.facts[0].body, Corrected)
    assert value(state) == 6.1


def test_two_devices_that_correct_differently_are_told() -> None:
    first = [READ, Corrected(target=event(1, "a"), launch=1, text="6.1", value=6.1)]
    second: list[Body] = [Corrected(target=event(1, "a"), launch=1, text="6.2", value=6.2)]
    state = of_two(first, second)
    assert codes(state) == ["corrected-differently"]
    assert value(state) == 6.2
    same: list[Body] = [Corrected(target=event(1, "a"), launch=1, text="6.1", value=6.1)]
    assert codes(of_two(first, same)) == []


@pytest.mark.parametrize(
    ("bodies", "code"),
    [
        ([READ, Corrected(target="elsewhere", text="6")], "correction-of-nothing"),
        ([READ, Corrected(target=event(2), text="6")], "correction-in-a-circle"),
        ([READ, Corrected(target=event(1), changes={"launch": 2})], "correction-does-not-fit"),
        ([READ, Corrected(target=event(1), changes={"value": "far"})], "correction-does-not-fit"),
        ([Launched(launch=1), Launched(launch=1)], "launched-twice"),
        ([READ, Read(launch=1, text="6.1", value=6.1)], "read-twice"),
        ([READ, PegLost(launch=1)], "read-though-lost"),
        ([SetAside(launch=1, cause="a"), SetAside(launch=1, cause="b")], "set-aside-twice"),
        ([Stopped(launch=1), AtLeast(launch=1)], "stopped-and-at-least"),
        ([Read(launch=1, text="?")], "unread"),
        ([Prepared(preparation="P1", item="a"), Prepared(preparation="P1", item="b")], "prepared-twice"),
        ([SetUp(set_up=1, surface="a"), SetUp(set_up=1, surface="b")], "set-up-twice"),
        ([parse_body({"kind": "glided", "version": 1})], "unknown-record"),
        ([Conflicting(event="a", body={})], "conflicting-records"),
    ],
)
def test_what_is_odd_is_kept_and_asked_about(bodies: list[Body], code: str) -> None:
    state = state_of(*bodies)
    assert codes(state) == [code]
    assert len(state.facts) == len(bodies)


@pytest.mark.parametrize(
    "bodies",
    [
        [Launched(launch=1), Launched(launch=2)],
        [READ, Read(launch=1, text="5.90", value=5.9)],
        [PegLost(launch=1)],
        [SetAside(launch=1, cause="a"), SetAside(launch=1, cause="a")],
        [Stopped(launch=1), AtLeast(launch=2)],
        [Prepared(preparation="P1", item="a"), Prepared(preparation="P1", item="a")],
        [SetUp(set_up=1, surface="a"), SetUp(set_up=2, surface="b")],
        [SetAside(launch=1, cause="a"), Corrected(target=event(1), text="b")],
    ],
)
def test_what_is_not_odd_is_not_asked_about(bodies: list[Body]) -> None:
    assert codes(state_of(*bodies)) == []


def test_the_first_reading_stands_and_the_others_are_kept() -> None:
    launch = state_of(READ, Read(launch=1, text="6.1", value=6.1)).launches[1]
    assert launch.reading is not None
    assert (launch.reading.value, [one.value for one in launch.further]) == (5.9, [6.1])


def test_a_reading_that_can_be_read_stands_before_one_that_cannot() -> None:
    launch = state_of(Read(launch=1, text="?", unread=True), READ).launches[1]
    assert launch.reading is not None
    assert (launch.reading.value, [one.text for one in launch.further]) == (5.9, ["?"])


@pytest.mark.parametrize(("bodies", "after"), [([READ, "void"], True), (["void", READ], False)])
def test_whether_a_launch_was_set_aside_after_its_reading(bodies: list[object], after: bool) -> None:
    void = SetAside(launch=1, cause="touched")
    cause = state_of(*(void if body == "void" else body for body in bodies)).launches[1].set_aside  # type: ignore[misc]
    assert cause is not None
    assert cause.after_reading is after


def test_the_order_made_is_that_of_the_releases() -> None:
    state = state_of(*(Launched(launch=number) for number in (1, 3, 2, 4)))
    assert state.made == (1, 3, 2, 4)


def test_a_place_that_was_said_wins() -> None:
    state = state_of(Launched(launch=1, order=3.5), *(Launched(launch=number) for number in (2, 3, 4)))
    assert state.made == (2, 3, 1, 4)


def test_things_of_the_day_know_after_which_launch_they_were_said() -> None:
    state = state_of(Block(block="1"), READ, Guess(preparation="P1", treatment="bare"))
    assert (state.blocks[0].after_launch, state.guesses[0].after_launch) == (0, 1)


def at(times: list[str], numbers: list[int] | None = None) -> list[Draft]:
    made = drafts([Noted(words=str(index)) for index in range(len(times))])
    numbers = numbers or [draft.sequence for draft in made]
    return [
        replace(draft, device_time=time, sequence=number)
        for draft, time, number in zip(made, times, numbers, strict=True)
    ]


@pytest.mark.parametrize(
    ("times", "found"),
    [
        (["2026-01-17T09:00:00Z", "2026-01-17T08:57:59Z"], ["clock-jumped"]),
        (["2026-01-17T09:00:00Z", "2026-01-17T08:58:00Z"], []),
        (["2026-01-17T09:00:00Z", "2026-01-17T10:00:00+01:00"], []),
        (["2026-01-17T09:00:00Z", "2036-01-17T08:58:00Z"], []),
        (["2026-01-17T09:00:00Z", "no clock", "2026-01-17T08:00:00Z"], ["clock-jumped"]),
        (["2026-01-17T09:00:00Z", "2026-01-17T08:00:00"], []),
    ],
)
def test_a_clock_that_jumps_back_is_told_and_moves_nothing(times: list[str], found: list[str]) -> None:
    state = replay(chain(at(times)))
    assert codes(state) == found
    assert [one.said.words for one in state.remarks] == [str(index) for index in range(len(times))]


@pytest.mark.parametrize(
    ("numbers", "found", "facts"),
    [
        ([1, 2, 3], [], {}),
        ([1, 4, 5], ["records-missing"], {"first": 2, "last": 3}),
        ([1, 2, 2], ["record-number-twice"], {"number": 2}),
    ],
)
def test_holes_and_repeats_in_the_numbers_of_a_device(
    numbers: list[int], found: list[str], facts: dict[str, int]
) -> None:
    state = replay(chain(at([""] * 3, numbers)))
    assert codes(state) == found
    assert all(facts.items() <= question.facts.items() for question in state.questions)


def test_a_long_chain_of_corrections() -> None:
    chained = [Corrected(target=event(n), text=str(n), value=float(n)) for n in range(1, 3000)]
    assert value(state_of(READ, *chained)) == 2999.0
