"""The true effect of an invented world: closed forms, and what playing it many times gives."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evenglide.errors import OutOfRangeError
from evenglide.glide.law import DecelerationLaw
from evenglide.rehearsal.hill_club_world import HILL_CLUB, RUB, hill_club_study
from evenglide.rehearsal.shore_world import SHORE, WAX, shore_study
from evenglide.rehearsal.truth import joined, true_log_ratio, true_log_ratio_as_scheduled
from evenglide.rehearsal.world import Effect, ItemTruth, World
from evenglide.study.study import Study
from tests.rehearsal.worlds import SPEED, STUDY, WORLD, pairs, played, world_with

BOTH_WAYS = replace(STUDY, design=replace(STUDY.design, directions=("out", "back")))
THREE_ERRORS = 3.0
"""Standard errors of a simulation; its seed is fixed, so the test cannot flicker."""


def test_run_out_under_dry_friction() -> None:
    assert true_log_ratio(WORLD, STUDY, surface="firm", treatment="coat") == pytest.approx(
        -math.log(0.8), rel=1e-12
    )


def test_timed_mark_under_dry_friction() -> None:
    treated, bare = (SPEED * 5 - factor * 0.4 * 25 / 2 for factor in (0.8, 1.0))
    assert true_log_ratio(WORLD, STUDY, surface="pan", treatment="coat") == pytest.approx(
        math.log(treated / bare), rel=1e-12
    )


def test_the_reference_has_no_effect() -> None:
    for surface in ("firm", "pan"):
        assert true_log_ratio(WORLD, STUDY, surface=surface, treatment="bare") == 0.0


def test_items_time_of_day_and_what_a_strip_leaves_do_not_enter() -> None:
    world = world_with(drift_per_hour=0.3, bend_per_hour_squared=-0.02)
    world = replace(
        world, items={**world.items, "two": ItemTruth(mass=1.5, factor=1.4)}, left_after_strip=0.5
    )
    assert true_log_ratio(world, STUDY, surface="firm", treatment="coat") == pytest.approx(
        -math.log(0.8), rel=1e-12
    )


def test_a_slope_cancels_in_both_directions() -> None:
    """Harmonically exact under dry friction but for the cosine, which both treatments share."""
    world = world_with(grade=0.01)
    assert true_log_ratio(world, BOTH_WAYS, surface="firm", treatment="coat") == pytest.approx(
        -math.log(0.8), rel=1e-9
    )
    one_way = true_log_ratio(world, STUDY, surface="firm", treatment="coat")
    assert one_way == pytest.approx(math.log((0.5 + 0.0980665) / (0.4 + 0.0980665)), rel=1e-3)


@pytest.mark.parametrize(
    ("mark", "expected"), [("run-out", 2 / (1 / 2 + 1 / 6)), ("timed mark", 4.0), ("number", 3.0)]
)
def test_directions_are_joined_as_preparations_are(mark: str, expected: float) -> None:
    joined_value = math.exp(joined([math.log(2.0), math.log(6.0)], mark))  # type: ignore[arg-type]
    assert joined_value == pytest.approx(expected, rel=1e-14)


def test_wear_takes_from_the_effect_as_scheduled() -> None:
    """Strength 1, 0.9, 0.81 over three launches of a coat: the log effect shrinks alike."""
    world = world_with(wear_per_launch=0.1)
    worn = true_log_ratio_as_scheduled(world, STUDY, schedule=pairs(4, 3), surface="firm", treatment="coat")
    assert worn == pytest.approx(-math.log(0.8) * (1 + 0.9 + 0.81) / 3, rel=1e-12)


def test_what_a_strip_leaves_takes_from_the_effect_as_scheduled() -> None:
    """From the second round on, bare items were coated before: a tenth of the coat is still on them."""
    world = replace(WORLD, left_after_strip=0.1)
    left = true_log_ratio_as_scheduled(world, STUDY, schedule=pairs(4, 2), surface="firm", treatment="coat")
    assert left == pytest.approx(-math.log(0.8) * (1 - 0.1 * 3 / 4), rel=1e-12)


def test_without_a_round_of_both_there_is_no_such_value() -> None:
    schedule = pairs(2, 1)
    bare = replace(schedule, launches=tuple(one for one in schedule.launches if one.treatment == "bare"))
    assert math.isnan(
        true_log_ratio_as_scheduled(WORLD, STUDY, schedule=bare, surface="firm", treatment="coat")
    )


def test_unknown_names_are_refused() -> None:
    with pytest.raises(OutOfRangeError, match="surface: found ice"):
        true_log_ratio(WORLD, STUDY, surface="ice", treatment="coat")
    with pytest.raises(OutOfRangeError, match="treatment: found oil"):
        true_log_ratio_as_scheduled(WORLD, STUDY, schedule=pairs(1, 1), surface="firm", treatment="oil")


def mean_difference(
    world: World, study: Study, *, surface: str, rounds: int, seed: int
) -> tuple[float, float]:
    """Treated less reference over many rounds of one launch per coat and direction, and its error."""
    schedule = pairs(rounds, 1, surfaces=(surface,), directions=study.design.directions)
    names = {old: new.name for old, new in zip(("one", "two"), study.items, strict=True)}
    treatments = {"bare": study.treatments[0].name, "coat": study.treatments[1].name}
    launches = tuple(
        replace(one, item=names[one.item], treatment=treatments[one.treatment], outing=1, block=one.block)
        for one in schedule.launches
    )
    logs: dict[tuple[str, str], list[float]] = {}
    found = played(replace(schedule, launches=launches), world=world, study=study, seed=seed)
    for one in found.launches:
        logs.setdefault((one.launch.block, one.launch.treatment), []).append(math.log(one.true_distance))
    mark = next(known.mark for known in study.surfaces if known.name == surface)
    value = {key: joined(cell, mark) for key, cell in logs.items()}
    blocks = sorted({block for block, _ in value})
    differences = np.array(
        [value[block, study.treatments[1].name] - value[block, study.treatments[0].name] for block in blocks]
    )
    # Items swap from round to round, so their difference is a known contrast, taken out by pairs of rounds.
    two = differences.reshape(-1, 2).mean(axis=1)
    return float(two.mean()), float(two.std(ddof=1) / math.sqrt(len(two)))


def calm(world: World) -> World:
    """Without drift and wear: what is left is the effect and luck."""
    surfaces = {
        name: replace(truth, drift_per_hour=0.0, bend_per_hour_squared=0.0, wear_per_launch=0.0)
        for name, truth in world.surfaces.items()
    }
    return replace(world, surfaces=surfaces, left_after_strip=0.0)


HILL = [(HILL_CLUB, hill_club_study(), one.name, RUB) for one in hill_club_study().surfaces]
SHORES = [(SHORE, shore_study(), one.name, WAX) for one in shore_study().surfaces]


@pytest.mark.parametrize(
    ("world", "study", "surface", "treatment"), [*HILL, *SHORES], ids=lambda value: str(value)[:20]
)
def test_playing_many_times_gives_the_true_effect(
    world: World, study: Study, surface: str, treatment: str
) -> None:
    world = calm(world)
    mean, error = mean_difference(world, study, surface=surface, rounds=400, seed=20)
    truth = true_log_ratio(world, study, surface=surface, treatment=treatment)
    assert error < 0.012
    assert abs(mean - truth) < THREE_ERRORS * error


def test_an_effect_on_drag_is_worth_less_than_one_on_friction() -> None:
    law = DecelerationLaw(c0=0.5, c2=0.02)
    on_friction, on_drag = (
        true_log_ratio(world_with(law=law, effects={"coat": effect}), STUDY, surface="firm", treatment="coat")
        for effect in (Effect(c0=0.8), Effect(c2=0.8))
    )
    assert 0 < on_drag < on_friction < -math.log(0.8)
