"""What is written down of each launch: lanes, voids, wear, drift, and scatter of the size stated."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evenglide.errors import NeverStops, StudyError
from evenglide.glide.launcher import Springs
from evenglide.glide.law import DecelerationLaw
from evenglide.rehearsal.play import Played
from evenglide.rehearsal.world import ItemTruth, World
from evenglide.study.study import Item, Surface, Treatment
from tests.rehearsal.worlds import DRY, SPEED, STUDY, WORLD, one_coat, pairs, played, world_with

RUN_OUT = SPEED**2 / (2 * 0.5)
LUCKY = replace(
    world_with(
        launch_scatter=0.05,
        preparation_scatter=0.02,
        set_up_scatter=0.03,
        void_chance=0.1,
        reading_noise=0.01,
    ),
    speed_spread=0.02,
    preparation_scatter=0.03,
)


def logs(found: Played) -> np.ndarray:
    return np.log([one.true_distance for one in found.launches])


def test_without_luck_physics_is_all_there_is() -> None:
    bare, coat = (played(one_coat(name, 1)).launches[0] for name in ("bare", "coat"))
    assert (bare.text, bare.value, bare.cause, bare.at_least, bare.stopped) == ("9.00", 9.0, "", False, False)
    assert coat.true_distance == pytest.approx(RUN_OUT / 0.8, rel=1e-14)
    assert coat.text == "11.25"
    assert bare.true_speed == SPEED


def test_the_same_seed_gives_the_same_records() -> None:
    schedule = pairs(3, 4)
    assert played(schedule, world=LUCKY) == played(schedule, world=LUCKY)
    assert played(schedule, world=LUCKY) != played(schedule, world=LUCKY, seed=6)


def test_luck_of_one_launch_does_not_move_that_of_others() -> None:
    schedule = pairs(6, 4)
    calm = played(schedule, world=LUCKY)
    rough = played(schedule, world=world_with(of=LUCKY, void_chance=0.5))
    assert logs(calm) == pytest.approx(logs(rough), abs=0)
    kept = [one for one in rough.launches if not one.cause]
    assert 0 < len(kept) < len(rough.launches)
    assert [calm.launches[one.launch.number - 1].text for one in kept] == [one.text for one in kept]


def test_a_launch_that_leaves_the_lane_is_read_as_the_lane() -> None:
    one = played(one_coat("bare", 1), world=world_with(lane=7.8)).launches[0]
    assert (one.text, one.at_least) == ("7.80", True)
    assert one.true_distance == pytest.approx(RUN_OUT)


@pytest.mark.parametrize(("after", "stopped", "text"), [(5.0, False, "8.75"), (6.5, True, "9.00")])
def test_a_launch_that_stops_before_its_time_says_so(after: float, stopped: bool, text: str) -> None:
    study = replace(
        STUDY, surfaces=(Surface(name="pan", mark="timed mark", after_s=after, minutes_per_launch=4.0),)
    )
    one = played(one_coat("bare", 1, surface="pan"), study=study, world=world_with("pan", law=DRY)).launches[
        0
    ]
    assert (one.stopped, one.text) == (stopped, text)


@pytest.mark.parametrize(
    ("step", "text"), [(0.01, "9.00"), (0.05, "9.00"), (0.1, "9.0"), (0.25, "9.00"), (1.0, "9")]
)
def test_readings_have_the_decimals_of_their_step(step: float, text: str) -> None:
    assert played(one_coat("bare", 1), world=world_with(reading_step=step)).launches[0].text == text


def test_coarse_readings_lie_on_their_step() -> None:
    found = played(one_coat("bare", 50), world=world_with(reading_step=0.25, launch_scatter=0.1))
    values = np.array([one.value for one in found.launches], dtype=np.float64)
    assert values / 0.25 == pytest.approx(np.round(values / 0.25), abs=1e-9)
    assert np.max(np.abs(values - np.exp(logs(found)))) <= 0.125 + 1e-9


# ------------------------------------------------------------------------------------------ set aside


def test_voids_come_as_often_as_stated_with_the_causes_of_the_study() -> None:
    found = played(one_coat("bare", 2000), world=world_with(void_chance=0.1)).launches
    void = [one for one in found if one.cause]
    assert len(void) / 2000 == pytest.approx(0.1, abs=3 * math.sqrt(0.09 / 2000))
    assert {one.cause for one in void} == set(STUDY.void_reasons)
    assert all(one.text == "" and not one.value_seen for one in void)


def test_voids_that_depend_on_the_result_fall_on_short_launches_only() -> None:
    world = world_with(launch_scatter=0.1, short_void_chance=0.5, short_below=0.9)
    found = played(one_coat("bare", 2000), world=world).launches
    short = [one for one in found if one.true_distance < 0.9 * RUN_OUT]
    void = [one for one in found if one.cause]
    assert {one.launch.number for one in void} <= {one.launch.number for one in short}
    assert len(void) / len(short) == pytest.approx(0.5, abs=3 * math.sqrt(0.25 / len(short)))
    assert all(one.value_seen and one.text for one in void)
    counted = np.mean([math.log(one.true_distance) for one in found if not one.cause])
    assert counted - np.mean([math.log(one.true_distance) for one in found]) > 0.01


def test_lost_pegs_leave_no_reading_and_no_cause() -> None:
    found = played(one_coat("bare", 500), world=world_with(peg_lost_chance=0.2)).launches
    lost = [one for one in found if one.peg_lost]
    assert 50 < len(lost) < 150
    assert all(not one.text and not one.cause for one in lost)


def test_a_study_without_causes_gets_one() -> None:
    found = played(
        one_coat("bare", 5), world=world_with(void_chance=1.0), study=replace(STUDY, void_reasons=())
    )
    assert {one.cause for one in found.launches} == {"rig moved"}


# ------------------------------------------------------------------------------- what changes with use


def test_wear_brings_a_coat_back_to_bare() -> None:
    found = played(one_coat("coat", 40), world=world_with(wear_per_launch=0.2))
    expected = [math.log(RUN_OUT) - math.log(0.8) * 0.8**used for used in range(40)]
    assert logs(found) == pytest.approx(expected, rel=1e-12)


def test_a_strip_leaves_its_share() -> None:
    world = replace(WORLD, left_after_strip=0.25)
    (one,) = played(one_coat("coat", 1, kind="return to bare"), world=world).launches
    assert math.log(one.true_distance / RUN_OUT) == pytest.approx(-0.25 * math.log(0.8), rel=1e-12)


def test_drift_follows_the_hours_of_an_outing() -> None:
    world = world_with(drift_per_hour=0.5, bend_per_hour_squared=-0.1)
    found = played(pairs(8, 2), world=world)
    for one in found.launches:
        hours = one.moment.hours
        bare = math.log(RUN_OUT) - 0.5 * hours + 0.1 * hours**2
        effect = -math.log(0.8) if one.launch.treatment == "coat" else 0.0
        assert math.log(one.true_distance) == pytest.approx(bare + effect, rel=1e-12)
    starts = [one.moment.hours for one in found.launches if one.launch.number in (1, 17)]
    assert starts[0] == starts[1]


def test_items_differ_and_their_mass_slows_the_launch() -> None:
    world = replace(
        WORLD,
        launcher=Springs(stiffness=120.0, latch_stretch=0.4),
        items={"one": ItemTruth(mass=1.5), "two": ItemTruth(mass=3.0, factor=1.1)},
    )
    light, heavy = played(pairs(2, 1), world=world).launches[:2]
    assert heavy.true_speed == pytest.approx(light.true_speed / math.sqrt(2))
    bare = {one.launch.item: one for one in (light, heavy)}
    assert set(bare) == {"one", "two"}
    effect = {"bare": 0.0, "coat": -math.log(0.8)}
    ratio = math.log(heavy.true_distance / light.true_distance)
    expected = -math.log(2) - math.log(1.1) + effect[heavy.launch.treatment] - effect[light.launch.treatment]
    assert ratio == pytest.approx(expected, rel=1e-10)


# ----------------------------------------------------------------------------------- sizes of scatter

N = 1500
FIVE_PER_CENT = 3 / math.sqrt(2 * N)
"""Three standard errors of a standard deviation from N values, relative."""


@pytest.mark.parametrize(
    ("world", "expected"),
    [
        (world_with(launch_scatter=0.05), 0.05),
        (replace(WORLD, speed_spread=0.02), 0.04),
        (replace(world_with(launch_scatter=0.03), speed_spread=0.02), 0.05),
    ],
)
def test_scatter_of_launches(world: World, expected: float) -> None:
    """Under dry friction distance goes as the square of launch speed."""
    spread = np.std(logs(played(one_coat("bare", N), world=world)), ddof=1)
    assert spread == pytest.approx(expected, rel=FIVE_PER_CENT)


@pytest.mark.parametrize(
    ("world", "within", "between"),
    [
        (replace(WORLD, preparation_scatter=0.03), 0.03, 0.03),
        (world_with(preparation_scatter=0.03), 0.03, 0.03),
        (world_with(set_up_scatter=0.03), 0.0, 0.03),
    ],
)
def test_scatter_of_preparations_and_set_ups(world: World, within: float, between: float) -> None:
    found = played(pairs(N, 1), world=world)
    value = {(one.launch.block, one.launch.item): one for one in found.launches}

    def log_of(block: int, item: str) -> float:
        one = value[f"{block}", item]
        return math.log(one.true_distance) + (math.log(0.8) if one.launch.treatment == "coat" else 0.0)

    table = np.array([[log_of(block, item) for item in ("one", "two")] for block in range(1, N + 1)])
    assert np.std(table[:, 0], ddof=1) == pytest.approx(between, rel=FIVE_PER_CENT)
    difference = np.std(table[:, 0] - table[:, 1], ddof=1)
    assert difference == pytest.approx(within * math.sqrt(2), rel=FIVE_PER_CENT, abs=1e-12)


def test_one_coat_carries_its_luck_to_every_surface() -> None:
    schedule = pairs(400, 1, surfaces=("firm", "pan"))
    study = replace(
        STUDY, surfaces=(STUDY.surfaces[0], replace(STUDY.surfaces[1], mark="run-out", after_s=None))
    )

    def correlation(world: World) -> float:
        found = played(schedule, world=world, study=study)
        by_surface = {
            name: [math.log(one.true_distance) for one in found.launches if one.launch.surface == name]
            for name in ("firm", "pan")
        }
        bare = np.array(
            [one.launch.treatment == "bare" for one in found.launches if one.launch.surface == "firm"]
        )
        return float(np.corrcoef(np.array(by_surface["firm"])[bare], np.array(by_surface["pan"])[bare])[0, 1])

    assert correlation(replace(WORLD, preparation_scatter=0.03)) > 0.999
    own = world_with("pan", of=world_with(preparation_scatter=0.03), preparation_scatter=0.03)
    assert abs(correlation(own)) < 3 / math.sqrt(400)


# --------------------------------------------------------------------------------------------- refusals


def test_everything_a_world_lacks_is_told_at_once() -> None:
    study = replace(
        STUDY,
        surfaces=(*STUDY.surfaces, Surface(name="ice"), Surface(name="firm", mark="gate times")),
        items=(*STUDY.items, Item(name="three")),
        treatments=(*STUDY.treatments, Treatment(name="oil")),
    )
    with pytest.raises(StudyError) as caught:
        played(pairs(1, 1), study=study)
    told = [(problem.code, problem.found) for problem in caught.value.problems]
    assert told == [
        ("not-in-this-world", "ice"),
        ("not-in-this-world", "three"),
        ("not-in-this-world", "oil"),
        ("mark-not-played", "gate times"),
    ]


def test_a_slope_that_nothing_stops_on_is_refused() -> None:
    with pytest.raises(NeverStops):
        played(one_coat("bare", 1), world=world_with(law=DecelerationLaw(c0=0.05), grade=-0.01))


def test_guesses_come_where_something_is_hidden() -> None:
    schedule = pairs(200, 1)
    assert played(schedule).guesses == ()
    hidden = replace(STUDY, hidden_from=("reader",))
    found = played(schedule, study=hidden, world=replace(WORLD, guess_right=0.7)).guesses
    truth = {one.preparation: one.treatment for one in schedule.launches}
    assert len(found) == 400
    right = np.mean([guess.treatment == truth[guess.preparation] for guess in found])
    assert right == pytest.approx(0.7, abs=3 * math.sqrt(0.21 / 400))
