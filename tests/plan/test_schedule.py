"""Laws that every schedule keeps, whatever the study, and the first launches of some."""

from __future__ import annotations

import hashlib
import random
from collections import Counter, defaultdict
from collections.abc import Iterable
from itertools import groupby
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenglide.errors import StudyError
from evenglide.plan.rounds import surface_path
from evenglide.plan.schedule import plan_schedule
from evenglide.plan.table import write_schedule
from evenglide.plan.tags import BIRDS, Tags
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Outing, Study, Surface
from tests.study.made_up import made_up_study

SEED = 20260117
SETS = st.integers(0, 2**40)


@st.composite
def plans(draw: st.DrawFn) -> tuple[Study, dict[str, Any]]:
    """A study and wishes for its plan that can be met."""
    surfaces = draw(st.integers(1, 4))
    before: dict[int, tuple[int, ...]] = {}
    if surfaces > 1 and draw(st.booleans()):
        before = {1: (0,)} if draw(st.booleans()) else {0: tuple(range(1, surfaces))}
    sequence, directions = draw(st.booleans()), draw(st.sampled_from([("out",), ("out", "back")]))
    complete = draw(st.booleans())
    study = made_up_study(
        treatments=3 if complete else 2,
        items=1 if sequence else 3 if complete else 2,
        surfaces=surfaces,
        not_after=before,
        hidden=draw(st.booleans()),
        blocks="complete blocks" if complete else "pairs",
        preparations=draw(st.sampled_from(["shared over surfaces", "fresh on each surface"])),
        directions=directions,
        order="balanced" if sequence and not complete and draw(st.booleans()) else "uniform",
        practice_launches=draw(st.integers(0, 2)),
        wear_check=draw(st.integers(0, 2)),
        return_to_bare=draw(st.integers(0, 2)),
    )
    blocks = draw(st.integers(4, 9))
    wishes = {
        "blocks": blocks,
        "launches": len(directions) * draw(st.integers(1, 4)),
        "seed": draw(SETS),
        "outings": draw(st.none() | st.integers(1, blocks)),
    }
    return study, wishes


def by(launches: Iterable[ScheduledLaunch], *names: str) -> dict[Any, list[ScheduledLaunch]]:
    """Launches by the values of some of their fields."""
    parted: dict[Any, list[ScheduledLaunch]] = defaultdict(list)
    for one in launches:
        parted[tuple(getattr(one, name) for name in names)].append(one)
    return parted


def counted(schedule: Schedule) -> list[ScheduledLaunch]:
    return [one for one in schedule.launches if one.kind == "launch"]


@given(plans())
def test_the_same_seed_gives_the_same_bytes(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    assert write_schedule(plan_schedule(study, **wishes)) == write_schedule(plan_schedule(study, **wishes))


@given(plans())
def test_numbers_run_from_one_without_gaps(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    numbers = [one.number for one in plan_schedule(study, **wishes).launches]
    assert numbers == list(range(1, len(numbers) + 1))


@given(plans())
def test_every_round_holds_each_treatment_once_on_each_surface(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    schedule = plan_schedule(study, **wishes)
    met = by(counted(schedule), "block", "surface")
    assert len(met) == wishes["blocks"] * len(study.surfaces)
    for launches in met.values():
        treatments = Counter(treatment for _, treatment in {(o.preparation, o.treatment) for o in launches})
        assert treatments == {treatment.name: 1 for treatment in study.treatments}


@given(plans())
def test_every_preparation_is_launched_equally_on_each_surface(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    schedule = plan_schedule(study, **wishes)
    ways = len(study.design.directions)
    each = by(counted(schedule), "preparation", "surface", "direction")
    assert {len(launches) for launches in each.values()} == {wishes["launches"] // ways}
    shared = study.design.preparations == "shared over surfaces"
    surfaces = by(counted(schedule), "preparation")
    met = {len({one.surface for one in launches}) for launches in surfaces.values()}
    assert met == {len(study.surfaces) if shared else 1}
    for name, wanted in (("practice", study.design.practice_launches),):
        kinds = Counter(one.set_up for one in schedule.launches if one.kind == name)
        gear = {
            set_up: len({o.preparation for o in some})
            for (set_up,), some in by(counted(schedule), "set_up").items()
        }
        assert kinds == Counter({set_up: wanted * count for set_up, count in gear.items() if wanted})


@given(plans())
def test_launches_alternate_within_a_set_up(plan: tuple[Study, dict[str, Any]]) -> None:
    """A B B A: each turn holds each preparation once, every other turn the other way round."""
    study, wishes = plan
    for launches in by(plan_schedule(study, **wishes).launches, "set_up", "kind").values():
        labels = [one.preparation for one in launches]
        size = len(set(labels))
        turns = [labels[start : start + size] for start in range(0, len(labels), size)]
        assert all(turn == (turns[0] if at % 2 == 0 else turns[0][::-1]) for at, turn in enumerate(turns))
        assert len(set(turns[0])) == size


@given(plans())
def test_one_item_carries_one_preparation_at_a_time(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    for launches in by(plan_schedule(study, **wishes).launches, "item").values():
        coats = [label for label, _ in groupby(one.preparation for one in launches)]
        assert len(coats) == len(set(coats))


@given(plans())
def test_no_surface_comes_after_one_that_may_not_come_before_it(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    forbidden = {surface.name: set(surface.not_after) for surface in study.surfaces}
    for launches in by(plan_schedule(study, **wishes).launches, "preparation").values():
        before: set[str] = set()
        for one in launches:
            assert not forbidden[one.surface] & before
            before.add(one.surface)


@given(plans())
def test_both_preparations_of_a_round_meet_the_same_ground(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    for launches in by(counted(plan_schedule(study, **wishes)), "block").values():
        paths = {
            tuple(
                (surface, direction)
                for (surface, direction), _ in groupby((o.surface, o.direction) for o in some)
            )
            for some in by(launches, "preparation").values()
        }
        if study.design.preparations == "shared over surfaces":
            assert len(paths) == 1


@given(plans())
def test_no_treatment_stays_on_one_item_throughout(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    if study.design.layout == "in sequence":
        return
    for surface in study.surfaces:
        here = [one for one in counted(plan_schedule(study, **wishes)) if one.surface == surface.name]
        for launches in by(here, "treatment").values():
            assert len({one.item for one in launches}) > 1


@given(plans())
def test_rounds_are_spread_over_outings_and_never_cut(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    outings = by(plan_schedule(study, **wishes).launches, "block")
    found = [{one.outing for one in launches} for launches in outings.values()]
    assert all(len(outing) == 1 for outing in found)
    sizes = Counter(min(outing) for outing in found)
    assert set(sizes) == set(range(1, (wishes["outings"] or 1) + 1))
    assert max(sizes.values()) - min(sizes.values()) <= 1


@given(plans())
def test_tags_tell_preparations_apart_and_nothing_else(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    launches = plan_schedule(study, **wishes).launches
    if not study.hidden_from:
        assert {one.tag for one in launches} == {""}
        return
    tags = {one.preparation: one.tag for one in launches}
    assert all(len({one.tag for one in some}) == 1 for some in by(launches, "preparation").values())
    dealt = sorted(tags, key=lambda label: int(label.removeprefix("p")))
    first = [tags[label] for label in dealt[: len(BIRDS)]]
    assert len({tag.lstrip("• ") for tag in first}) == len(first)
    for some in by(launches, "set_up").values():
        assert len({one.tag.count("•") for one in some}) == len({one.preparation for one in some})


KEPT = [
    ({"surfaces": 4}, {"blocks": 6, "launches": 6}, "4734f94f726d67b4"),
    (
        {"surfaces": 3, "hidden": True, "not_after": {0: (2,)}, "wear_check": 2},
        {"blocks": 5, "launches": 3},
        "0425e48c128e737e",
    ),
    (
        {"surfaces": 2, "preparations": "fresh on each surface"},
        {"blocks": 6, "launches": 2, "outings": 3},
        "3f40865b81fababe",
    ),
    (
        {"items": 1, "order": "balanced", "directions": ("out", "back")},
        {"blocks": 9, "launches": 4},
        "e02dc18d147a28ac",
    ),
    (
        {"treatments": 3, "items": 3, "blocks": "complete blocks"},
        {"blocks": 8, "launches": 2},
        "a5008c19c0bdae36",
    ),
]


@pytest.mark.parametrize(("design", "wishes", "kept"), KEPT)
def test_the_same_seed_gives_the_bytes_it_always_gave(
    design: dict[str, Any], wishes: dict[str, int], kept: str
) -> None:
    """Digests of lists made by the first version: whoever changes them breaks sealed studies' seeds."""
    made = write_schedule(plan_schedule(made_up_study(**design), **wishes, seed=SEED))
    assert hashlib.sha256(made.encode()).hexdigest()[:16] == kept


def test_blinding_changes_no_order() -> None:
    wishes = {"blocks": 6, "launches": 2, "seed": SEED}
    seen, hidden = (plan_schedule(made_up_study(hidden=hide), **wishes) for hide in (False, True))
    assert [one.treatment for one in seen.launches] == [one.treatment for one in hidden.launches]


# ----------------------------------------------------------------------------------- single cases


def test_alternation_begins_elsewhere_from_round_to_round() -> None:
    launches = plan_schedule(made_up_study(), blocks=6, launches=3, seed=SEED).launches
    starts = [some[0] for some in by(launches, "set_up").values()]
    for surface in ("surface 0", "surface 1"):
        items = [one.item for one in starts if one.surface == surface]
        assert items in (["slider 1", "slider 2"] * 3, ["slider 2", "slider 1"] * 3)


def test_surfaces_take_turns_in_every_place_and_after_every_other() -> None:
    surfaces = [Surface(name=name) for name in "abc"]
    assert [surface_path(surfaces, turn=turn) for turn in range(6)] == [
        ("a", "b", "c"), ("b", "c", "a"), ("c", "a", "b"),
        ("c", "b", "a"), ("a", "c", "b"), ("b", "a", "c"),
    ]  # fmt: skip


def test_directions_change_their_order_from_round_to_round() -> None:
    study = made_up_study(surfaces=1, directions=("out", "back"))
    launches = plan_schedule(study, blocks=4, launches=2, seed=SEED).launches
    ways = [
        [way for way, _ in groupby(one.direction for one in some)] for some in by(launches, "block").values()
    ]
    assert ways == [["out", "back"], ["back", "out"]] * 2


def test_wear_check_goes_back_to_the_first_surface_unless_forbidden() -> None:
    free = made_up_study(surfaces=3, wear_check=2)
    for launches in by(plan_schedule(free, blocks=3, launches=2, seed=SEED).launches, "block").values():
        worn = [one for one in launches if one.kind == "wear check"]
        assert [len(some) for some in by(worn, "preparation").values()] == [2, 2]
        assert {one.surface for one in worn} == {launches[0].surface} != {launches[8].surface}
    tide = made_up_study(surfaces=2, not_after={0: (1,)}, wear_check=2)
    assert "wear check" not in {
        one.kind for one in plan_schedule(tide, blocks=3, launches=2, seed=1).launches
    }


def test_return_to_bare_ends_a_coat_where_the_rig_stands() -> None:
    study = made_up_study(surfaces=2, return_to_bare=1)
    for launches in by(plan_schedule(study, blocks=3, launches=2, seed=SEED).launches, "block").values():
        assert [one.kind for one in launches[-2:]] == ["return to bare"] * 2
        assert len({one.set_up for one in launches[-3:]}) == 1
        assert {one.treatment for one in launches[-2:]} == {"bare", "rub 1"}


def test_a_treatment_that_stays_goes_to_items_of_its_own() -> None:
    study = made_up_study(items=8, stays=True, return_to_bare=2)
    schedule = plan_schedule(study, blocks=4, launches=2, seed=SEED)
    carried = by(schedule.launches, "item")
    assert len(carried) == 8
    assert all(len({one.treatment for one in launches}) == 1 for launches in carried.values())
    assert "return to bare" not in {one.kind for one in schedule.launches}


def test_pairs_of_three_treatments_hold_the_others_in_turn() -> None:
    study = made_up_study(treatments=3, blocks="pairs")
    launches = plan_schedule(study, blocks=6, launches=1, seed=SEED).launches
    rounds = [{one.treatment for one in some} for some in by(launches, "block").values()]
    assert rounds == [{"bare", "rub 1"}, {"bare", "rub 2"}] * 3


def test_an_outing_meets_its_own_surfaces_only() -> None:
    cold = Outing(day="2026-01-17", start="08:30", end="12:30", surfaces=("surface 0",))
    warm = Outing(day="2026-03-20", start="08:30", end="12:30", surfaces=("surface 1",))
    schedule = plan_schedule(made_up_study(outings=(cold, warm)), blocks=6, launches=2, seed=SEED)
    assert {(one.outing, one.surface) for one in schedule.launches} == {(1, "surface 0"), (2, "surface 1")}
    for surface in ("surface 0", "surface 1"):
        rubbed = {o.item for o in schedule.launches if o.surface == surface and o.treatment == "rub 1"}
        assert rubbed == {"slider 1", "slider 2"}


@pytest.mark.parametrize(
    ("study", "wishes", "code"),
    [
        (made_up_study(), {"blocks": 0, "launches": 2}, "bad-count"),
        (made_up_study(), {"blocks": 4, "launches": 0}, "bad-count"),
        (made_up_study(directions=("out", "back")), {"blocks": 4, "launches": 3}, "bad-count"),
        (made_up_study(), {"blocks": 4, "launches": 2, "outings": 5}, "too-many-outings"),
        (made_up_study(items=6, stays=True), {"blocks": 4, "launches": 2}, "too-few-items"),
        (made_up_study(), {"blocks": 1, "launches": 2}, "no-order"),
        (made_up_study(), {"blocks": 1000, "launches": 26}, "bad-count"),
        (
            made_up_study(outings=(Outing(day="2026-01-17", start="08", end="09", surfaces=("surface 0",)),)),
            {"blocks": 4, "launches": 2},
            "surface-not-met",
        ),
        (
            made_up_study(
                items=1,
                order="balanced",
                outings=(
                    Outing(day="2026-01-17", start="08", end="09", surfaces=("surface 0",)),
                    Outing(day="2026-01-18", start="08", end="09", surfaces=()),
                ),
            ),
            {"blocks": 8, "launches": 2},
            "balanced-order",
        ),
    ],
)
def test_plans_that_cannot_be(study: Study, wishes: dict[str, int], code: str) -> None:
    with pytest.raises(StudyError) as caught:
        plan_schedule(study, **wishes, seed=SEED)
    assert [problem.code for problem in caught.value.problems] == [code]


def test_balanced_order_is_within_its_limit_and_says_so() -> None:
    study = made_up_study(items=1, surfaces=1, order="balanced")
    for seed in range(20):
        schedule = plan_schedule(study, blocks=8, launches=1, seed=seed)
        late = [some[-1].treatment == "rub 1" for some in by(schedule.launches, "block").values()]
        assert abs(2 * sum(late) - 8) <= 4
        assert schedule.largest_imbalance == 4
        assert "at most 4" in schedule.rule


def test_tags_have_no_letters_in_order_no_numbers_and_no_colours() -> None:
    assert len(set(BIRDS)) == len(BIRDS)
    colours = ("black", "white", "red", "green", "blue", "gold", "yellow", "grey", "brown")
    assert not [bird for bird in BIRDS if any(colour in bird for colour in colours)]
    dealt = Tags(random.Random(SEED).random).deal(5)
    assert sorted(tag.count("•") for tag in dealt) == [1, 2, 3, 4, 5]
