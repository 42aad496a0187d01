"""What holds for any log: replay, merging, the chain."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.fieldlog.bodies import AtLeast, Body, Corrected, Launched, Noted, Prepared, Read, SetAside
from evenglide.fieldlog.chain import GENESIS, chain, chained, find_break, hash_of, sound
from evenglide.fieldlog.events import Draft, Event, canonical, derived_id
from evenglide.fieldlog.fold import fold, replay
from evenglide.fieldlog.merging import merge, replay_order
from evenglide.fieldlog.state import EMPTY, State

LAUNCH = st.integers(1, 6)
TEXT = st.text(st.characters(codec="utf-8"), max_size=5)
VALUE = st.floats(0.1, 20, allow_nan=False)
DEVICES = ("laptop", "phone", "tablet")


def identity(device: str, number: int) -> str:
    return derived_id(device, number)


BODY: st.SearchStrategy[Body] = st.one_of(
    st.builds(Launched, launch=LAUNCH),
    st.builds(Read, launch=LAUNCH, text=TEXT, value=VALUE),
    st.builds(AtLeast, launch=LAUNCH),
    st.builds(SetAside, launch=LAUNCH, cause=TEXT, value_seen=st.none() | st.booleans()),
    st.builds(Noted, words=TEXT),
    st.builds(Prepared, preparation=st.sampled_from("AB"), treatment=st.none() | TEXT),
    st.builds(
        Corrected,
        target=st.builds(identity, st.sampled_from(DEVICES), st.integers(1, 6)),
        text=TEXT,
        value=VALUE,
        withdrawn=st.booleans(),
    ),
)


@st.composite
def logs(draw: st.DrawFn) -> tuple[Event, ...]:
    """Logs of up to three devices, in any order of arrival that keeps nothing."""
    made: list[Draft] = []
    for device in DEVICES:
        for number, body in enumerate(draw(st.lists(BODY, max_size=6)), start=1):
            time = f"2026-01-17T08:{draw(st.integers(10, 59))}:00Z"
            made.append(
                Draft(
                    id=identity(device, number), device=device, sequence=number, device_time=time, body=body
                )
            )
    return chain(draw(st.permutations(made)), server_time="2026-01-17T20:00:00Z")


def told(state: State) -> object:
    """What a state says, without ids of its questions' order."""
    return replace(state, questions=tuple(sorted(state.questions, key=repr)))


@given(logs(), st.integers())
def test_arrival_plays_no_part_in_the_replay(log: tuple[Event, ...], seed: int) -> None:
    shuffled = list(log)
    random.Random(seed).shuffle(shuffled)
    assert replay_order(shuffled) == replay_order(log)
    assert replay(shuffled) == replay(log)


@given(logs())
def test_each_device_keeps_its_order_and_nothing_is_dropped(log: tuple[Event, ...]) -> None:
    order = replay_order(log)
    assert sorted(event.id for event in order) == sorted(event.id for event in log)
    for device in DEVICES:
        numbers = [event.sequence for event in order if event.device == device]
        assert numbers == sorted(numbers)
    assert [fact.entry.event for fact in replay(log).facts] == [event.id for event in order]


@given(logs())
def test_folding_one_by_one_is_replaying_all(log: tuple[Event, ...]) -> None:
    state = EMPTY
    for event in replay_order(log):
        before = state
        state = fold(state, event)
        assert fold(before, event) == state
    assert state == replay(log)


def union(*copies: Sequence[Event]) -> frozenset[tuple[str, bytes]]:
    """All that is in several copies after merging them one after the other."""
    own: list[Event] = []
    for copy in copies:
        own += merge(own, copy).new
    return frozenset((event.id, canonical(event.to_record())) for event in own)


@given(logs(), st.data())
def test_merging_is_commutative_associative_and_idempotent(
    log: tuple[Event, ...], data: st.DataObject
) -> None:
    """Copies of one log, each with some of its events."""
    events = st.lists(st.sampled_from(log), unique_by=lambda event: event.id) if log else st.just([])
    one, other, third = (tuple(data.draw(events)) for _ in range(3))
    assert union(one, other) == union(other, one)
    assert union(tuple(one), tuple(merge(one, other).new), third) == union(one, other, third)
    left = [*one, *merge(one, other).new]
    right = [*other, *merge(other, third).new]
    assert union(left, third) == union(one, right)
    again = merge(one, one)
    assert (again.new, again.already, again.conflicts) == ((), len(one), ())
    assert replay([*one, *merge(one, other).new]) == replay([*other, *merge(other, one).new])


@given(logs(), st.data())
def test_any_change_breaks_the_chain_where_it_was_made(log: tuple[Event, ...], data: st.DataObject) -> None:
    assert find_break(log) is None
    if not log:
        return
    place = data.draw(st.integers(0, len(log) - 1))
    change = data.draw(st.sampled_from(["device", "device_time", "server_time", "id"]))
    altered = list(log)
    altered[place] = replace(log[place], **{change: getattr(log[place], change) + "x"})
    found = find_break(altered)
    assert found is not None
    assert (found.position, found.altered) == (place + 1, True)
    without = [*log[:place], *log[place + 1 :]]
    lost = find_break(without)
    if place == len(log) - 1:
        assert lost is None  # the end of a log can be cut off unseen; other copies show it
    else:
        assert lost is not None
        assert (lost.position, lost.altered) == (place + 1, False)


def test_a_hash_is_that_of_the_text_put_together() -> None:
    """Reckoned with sha256sum: printf '%s' "$previous$record" | sha256sum."""
    record = canonical({"b": 1, "a": "é"})
    assert record.decode() == '{"a":"é","b":1}'
    assert hash_of(GENESIS, record) == EXPECTED_HASH


EXPECTED_HASH = "4b07360da64111d2215a060d1b7642e8b1e20b9cf0b9e3dc7ff74326ab4c754e"


def test_the_same_body_under_one_id_is_there_already_and_another_is_a_conflict() -> None:
    draft = Draft(id="a", device="d", sequence=1, device_time="", body=Read(launch=1, text="5.9"))
    mine = chained(draft, server_time="now")
    later = chained(draft, server_time="later")
    other = chained(replace(draft, body=Read(launch=1, text="6.9")), server_time="now")
    assert merge([mine], [later]).already == 1
    assert merge([mine], [other]).conflicts == (other,)
    assert sound(mine)


@pytest.mark.parametrize(
    ("streams", "order"),
    [
        ({"a": [None, 1, None, 3], "b": [2, None]}, ["a1", "a2", "a3", "b1", "b2", "a4"]),
        ({"a": [2], "b": [2]}, ["a1", "b1"]),
        ({"a": [5, 3, 6], "b": [4, 6]}, ["b1", "a1", "a2", "a3", "b2"]),
        ({"a": [None], "b": [1, None]}, ["a1", "b1", "b2"]),
    ],
)
def test_streams_are_merged_by_launch_numbers(streams: dict[str, list[int | None]], order: list[str]) -> None:
    made = [
        Draft(
            id=f"{device}{number}",
            device=device,
            sequence=number,
            device_time="",
            body=Noted(words="") if launch is None else Launched(launch=launch),
        )
        for device, launches in streams.items()
        for number, launch in enumerate(launches, start=1)
    ]
    assert [event.id for event in replay_order(chain(made))] == order
