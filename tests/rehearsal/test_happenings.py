"""Records for the log, from a played schedule: complete, in order, the same for the same seed."""

from __future__ import annotations

import uuid
from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from evenglide.fieldlog.chain import chain
from evenglide.fieldlog.fold import replay
from evenglide.fieldlog.state import State
from evenglide.plan.schedule import plan_schedule
from evenglide.rehearsal.chance import rehearsal_source
from evenglide.rehearsal.happenings import drafts
from evenglide.rehearsal.hill_club_world import HILL_CLUB, hill_club_study
from evenglide.rehearsal.play import Played, play
from evenglide.rehearsal.shore_world import SHORE, shore_study
from evenglide.rehearsal.world import World
from evenglide.study.schedule import Schedule
from evenglide.study.starting_sets import STARTING_SETS
from evenglide.study.study import Study
from tests.rehearsal.worlds import STUDY, WORLD, digest, one_coat, pairs, played, world_with

SEALED = "ab" * 32
KEPT = "1e4a3c74ef607c4bdb3a94a9c836468cc3d43664c863a509dec0d4d83624f9b0"
ROUGH = replace(
    world_with(
        launch_scatter=0.08,
        void_chance=0.1,
        short_void_chance=0.5,
        short_below=0.95,
        peg_lost_chance=0.05,
        lane=10.0,
    ),
    people=("Ann", "Bo"),
    place="somewhere made up",
)
PLACES = {"hill club": (HILL_CLUB, hill_club_study(), 6), "shore": (SHORE, shore_study(), 4)}


def state_of(found: Played, world: World) -> State:
    return replay(chain(drafts(found, world, sealed=SEALED), server_time="2026-03-01T00:00:00Z"))


def planned(study: Study, rounds: int) -> Schedule:
    return plan_schedule(study, blocks=rounds, launches=4, seed=11)


@pytest.mark.parametrize("name", PLACES)
def test_a_log_says_what_was_played_and_raises_no_question(name: str) -> None:
    world, study, rounds = PLACES[name]
    schedule = planned(study, rounds)
    found = play(study, schedule, world=world, uniform=rehearsal_source(3).random)
    state = state_of(found, world)
    assert state.questions == ()
    assert list(state.launches) == [one.number for one in schedule.launches]
    assert state.made == tuple(one.number for one in schedule.launches)
    assert set(state.preparations) == {one.preparation for one in schedule.launches}
    assert set(state.set_ups) == {one.set_up for one in schedule.launches}
    assert len(state.sessions) == len({one.outing for one in schedule.launches})
    assert len(state.blocks) == rounds


def test_each_launch_is_told_as_it_was_played() -> None:
    found = played(pairs(30, 4), world=ROUGH)
    state = state_of(found, ROUGH)
    met = Counter[str]()
    for one in found.launches:
        told = state.launches[one.launch.number]
        assert told.launched
        assert (told.reading.text if told.reading else "") == one.text
        assert (told.reading.value if told.reading else None) == one.value
        assert (told.at_least, told.stopped, told.peg_lost) == (one.at_least, one.stopped, one.peg_lost)
        assert (told.set_aside.cause if told.set_aside else "") == one.cause
        if told.set_aside:
            assert told.set_aside.value_seen == told.set_aside.after_reading == one.value_seen
            met["seen" if one.value_seen else "unseen"] += 1
        met["at least"] += one.at_least
        met["lost"] += one.peg_lost
    assert min(met[kind] for kind in ("seen", "unseen", "at least", "lost")) > 0


def test_stops_checks_and_returns_are_told() -> None:
    study = replace(STUDY, surfaces=(STUDY.surfaces[0], replace(STUDY.surfaces[1], after_s=9.0)))
    stopped = played(one_coat("bare", 2, surface="pan"), study=study)
    assert [one.stopped for one in state_of(stopped, WORLD).launches.values()] == [True, True]
    for kind, field in (("wear check", "wear_check"), ("return to bare", "return_to_bare")):
        found = played(one_coat("coat", 1, kind=kind))  # type: ignore[arg-type]
        assert getattr(state_of(found, WORLD).launches[1], field)


def test_guesses_are_told_by_the_reader() -> None:
    found = played(pairs(3, 1), study=replace(STUDY, hidden_from=("reader",)), world=ROUGH)
    told = state_of(found, ROUGH).guesses
    assert [(one.said.preparation, one.said.treatment) for one in told] == [
        (guess.preparation, guess.treatment) for guess in found.guesses
    ]
    assert {one.said.who for one in told} == {"Bo"}


def test_records_are_numbered_and_the_clock_never_goes_back() -> None:
    records = drafts(played(pairs(6, 5), world=ROUGH), ROUGH, sealed=SEALED)
    assert [draft.sequence for draft in records] == list(range(1, len(records) + 1))
    times = [datetime.fromisoformat(draft.device_time) for draft in records]
    assert times == sorted(times)
    assert all(moment.utcoffset() == timedelta(0) for moment in times)


def test_pegs_are_read_in_walks() -> None:
    records = drafts(played(pairs(1, 5)), replace(WORLD, pegs_per_walk=4), sealed=SEALED)
    kinds = "".join({"launched": "L", "read": "R"}.get(draft.body.kind, "") for draft in records)
    assert kinds == "LLLLRRRRLLLLRRRRLLRR"


def test_ids_follow_from_the_seal_and_what_is_said() -> None:
    found = played(pairs(2, 2))
    mine = drafts(found, WORLD, sealed=SEALED)
    other = drafts(found, WORLD, sealed="cd" * 32)
    assert len({draft.id for draft in mine}) == len(mine)
    assert {draft.id for draft in mine}.isdisjoint(draft.id for draft in other)
    assert {uuid.UUID(draft.id).version for draft in mine} == {5}


def test_the_same_seed_gives_the_same_bytes_for_good() -> None:
    """The digest was taken once; a change of it changes every rehearsal that somebody has kept."""
    found = played(pairs(3, 3, surfaces=("firm", "pan")), world=ROUGH)
    assert digest(drafts(found, ROUGH, sealed=SEALED)) == KEPT
    again = played(pairs(3, 3, surfaces=("firm", "pan")), world=ROUGH, seed=6)
    assert digest(drafts(again, ROUGH, sealed=SEALED)) != KEPT


# ----------------------------------------------------------------------------------------------- clock


def test_coats_and_rig_take_their_time() -> None:
    """Hands work on 5 and 10 minutes, the coat waits 15, the rig takes 12, a launch 2."""
    first, second = played(pairs(1, 1)).launches
    start = datetime.fromisoformat("2026-01-10T09:00:00+00:00")
    assert first.moment.prepared == start + timedelta(minutes=30)
    assert first.moment.anchored == start + timedelta(minutes=42)
    assert first.moment.released == start + timedelta(minutes=44)
    assert (second.moment.prepared, second.moment.anchored) == (None, None)
    assert second.moment.hours == pytest.approx(46 / 60)


def test_one_item_is_coated_anew_in_the_middle_of_a_set_up() -> None:
    launches = [
        replace(one, number=number, preparation=label, treatment=treatment)
        for number, (label, treatment) in enumerate([("p", "bare"), ("q", "coat")], start=1)
        for one in one_coat(treatment, 1).launches
    ]
    found = played(Schedule(launches=tuple(launches), seed=1, rule=""))
    second = found.launches[1].moment
    assert second.prepared is not None
    assert second.anchored is None
    assert second.released - found.launches[0].moment.released == timedelta(minutes=10 + 15 + 2)
    kinds = [draft.body.kind for draft in drafts(found, WORLD, sealed=SEALED)]
    assert kinds.count("prepared") == 2
    assert kinds.index("launched") < len(kinds) - 1 - kinds[::-1].index("prepared")


@pytest.mark.parametrize("name", PLACES)
def test_outings_begin_when_the_study_says_and_fit_its_hours(name: str) -> None:
    world, study, rounds = PLACES[name]
    found = play(study, planned(study, rounds), world=world, uniform=rehearsal_source(3).random)
    for one in found.launches:
        outing = study.costs.outings[one.launch.outing - 1]
        begun = one.moment.released - timedelta(hours=one.moment.hours)
        assert begun.strftime("%Y-%m-%d %H:%M") == f"{outing.day} {outing.start}"
        assert one.moment.released.strftime("%H:%M") <= outing.end


def test_outings_beyond_the_stated_ones_follow_week_by_week() -> None:
    days = {one.moment.released.date().isoformat() for one in played(pairs(12, 1)).launches}
    assert days == {"2026-01-10", "2026-01-17", "2026-01-24"}


# ---------------------------------------------------------------------------------- the two worlds


@pytest.mark.parametrize("name", PLACES)
def test_worlds_are_labelled_invented_and_know_their_study(name: str) -> None:
    world, study, _ = PLACES[name]
    world.check(study)
    for words in (world.told, world.place, world.weather, study.title):
        assert "invented" in words
    assert "Nothing here was measured." in world.told
    starting = STARTING_SETS["snow" if name == "hill club" else "shore"]
    assert study.surfaces == starting.surfaces
    assert set(world.surfaces) == {surface.name for surface in study.surfaces}
