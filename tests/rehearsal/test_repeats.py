"""Many studies at once: the same on any number of threads, as one by one, as through files, as promised."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from evenglide.answer.rehearsed import Scenario, Share
from evenglide.answer.results.plain import to_plain
from evenglide.answer.study import answer_study
from evenglide.maths.chance import alike_chance, difference_chance
from evenglide.plan.chances import chances_of, is_exact
from evenglide.plan.designs import LayoutDesign, SurfaceDesign
from evenglide.rehearsal import repeats
from evenglide.rehearsal.drawing import Chunk, draw
from evenglide.rehearsal.example import example_log
from evenglide.rehearsal.judging import batch_judge, comparisons_of
from evenglide.rehearsal.repeats import Play, chunks_of, rehearse, stage_of
from evenglide.rehearsal.supposed import standing_truths
from evenglide.rehearsal.troubles import TROUBLES, Trouble
from evenglide.study.study import Item, Study, Treatment
from tests.rehearsal.one_by_one import SIZES, VERDICTS, one_by_one
from tests.rehearsal.plans import (
    BELIEF,
    MARGIN,
    SURFACES,
    a_play,
    a_study,
    planned,
    seal_of,
    shared,
    troubles,
)

THREE = (Treatment(name="bare", reference=True), Treatment(name="rub"), Treatment(name="wax"))
STUDIES: dict[str, Study] = {
    "fresh": a_study(),
    "shared, a main surface": shared(a_study(main="ice")),
    "three treatments": shared(a_study(treatments=THREE)),
    "both ways": replace(a_study(), design=replace(a_study().design, directions=("out", "back"))),
    "in metres": a_study(scale="difference", margin=(-0.5, 0.5)),
    "no margin": a_study(margin=None),
}
ROUGH = ("set-aside=40 %", "wishful-set-aside", "drift", "outliers", "decimetre", "lane-end")


def in_json(scenarios: tuple[Scenario, ...]) -> str:
    return json.dumps([to_plain(one) for one in scenarios])


@pytest.mark.parametrize("study", STUDIES.values(), ids=STUDIES)
def test_the_batch_says_what_studies_answered_one_by_one_say(study: Study) -> None:
    belief = BELIEF if study.scale == "ratio" else replace(BELIEF, preparations=0.15, launches=0.3)
    play = a_play(study, scenarios=((), troubles(*ROUGH)), belief=belief, times=25)
    assert rehearse(play) == rehearse(play, judge=one_by_one)


def test_a_spoilt_outing_is_judged_as_what_is_left() -> None:
    """Also where a surface is then not met at all: it stays open and keeps its part of the error rate."""
    study = a_study()
    schedule = planned(study, outings=2)
    late = tuple(replace(row, outing=2) if row.surface == "slush" else row for row in schedule.launches)
    play = a_play(study, replace(schedule, launches=late), scenarios=(troubles("spoilt-outing"),), times=40)
    (found,) = rehearse(play)
    assert (found,) == rehearse(play, judge=one_by_one)
    met = {one.surface: one.open.share for one in found.truths[3].comparisons}
    assert met["slush"] == 1.0 > met["powder"]


def test_the_same_bytes_on_one_two_and_four_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(repeats, "LARGEST_CHUNK", 64)
    play = a_play(
        shared(a_study()), scenarios=((), *((one,) for one in troubles("set-aside", "lane-end"))), times=500
    )
    assert len(chunks_of(play)) == 8
    texts = {in_json(rehearse(play, threads=threads)) for threads in (1, 2, 4)}
    assert len(texts) == 1
    assert texts != {in_json(rehearse(replace(play, seed=4)))}


def test_chunks_hold_every_study_once_and_depend_on_the_plan_alone() -> None:
    play = a_play(a_study(), times=9000)
    chunks = chunks_of(play)
    assert sum(chunk.studies for chunk in chunks) == 9000
    assert [chunk.number for chunk in chunks] == list(range(len(chunks)))
    first, second = (Chunk(seed=1, number=number, studies=5).source().random() for number in (0, 1))
    assert first != second
    assert Chunk(seed=1, number=0, studies=5).source("set-aside").random() != first


def test_progress_is_told_to_the_end() -> None:
    told: list[float] = []
    rehearse(a_play(a_study(), scenarios=((), troubles("drift")), times=10), done=told.append)
    assert told == [0.5, 1.0]


# ----------------------------------------------------------------------------------- through files

FILES = [
    ("fresh", ()),
    ("shared, a main surface", ("set-aside=15 %", "wishful-set-aside", "lane-end")),
    ("both ways", ("decimetre",)),
    ("in metres", ("spoilt-outing",)),
]


@pytest.mark.parametrize(("name", "wrong"), FILES)
def test_studies_written_as_logs_are_answered_as_the_batch_answers_them(
    name: str, wrong: tuple[str, ...]
) -> None:
    study = STUDIES[name]
    belief = BELIEF if study.scale == "ratio" else replace(BELIEF, preparations=0.15, launches=0.3)
    schedule = planned(study, rounds=4, launches=2, outings=2)
    play = a_play(study, schedule, belief=belief, together=troubles(*wrong))
    stage = stage_of(play, play.together)
    drawn = draw(stage, Chunk(seed=8, number=0, studies=4), belief=belief, troubles=play.together)
    judge, seal = batch_judge(stage), seal_of(study, schedule)
    for truth in (play.truths[0], play.truths[3]):
        void = None if drawn.void is None else drawn.void[stage.counted]
        batch = judge(drawn.readings(truth)[stage.counted], void)
        for at in range(4):
            events = example_log(drawn, truth, seal=seal, study_number=at, typed=False)
            both = answer_study(study, schedule, events)
            answer, read = both.answer, drawn.readings(truth)[stage.counted, at]
            kept = ~both.launches.void
            assert np.array_equal(both.launches.at_least[kept], (read == drawn.lane)[kept])
            assert void is None or np.array_equal(both.launches.void, void[:, at])
            found = {
                (surface.surface, one.treatment): (one.verdict, one.size)
                for surface in answer.surfaces
                for one in surface.contrasts
            }
            for row, key in enumerate(comparisons_of(study)):
                expected = VERDICTS[batch.verdict[row, at]], SIZES[batch.size[row, at]]
                assert found.get(key, ("open", "unsettled")) == expected


# -------------------------------------------------------------------------------------- promises

MANY = 20_000
SIGMAS = 4.0


def share_of(count: int) -> float:
    return Share.of(count, MANY).error


def test_shares_of_verdicts_are_the_exact_chances_of_one_comparison() -> None:
    """Six pairs on one surface with two items: t on 6 - 1 - 1 degrees of freedom, known scatter."""
    study = a_study(surfaces=SURFACES[:1])
    belief = replace(BELIEF, df=None)
    (scenario,) = rehearse(a_play(study, belief=belief, times=MANY))
    se = math.sqrt((0.03**2 + 0.06**2 / 4) * item_columns(study))
    for truth in scenario.truths:
        (one,) = truth.comparisons
        differs = float(difference_chance(df=4, se=se, effect=one.effect, level=0.05))
        found = one.higher.share + one.lower.share
        assert found == pytest.approx(differs, abs=4 * share_of(round(found * MANY)))
        if truth.truth == "none":
            alike = float(alike_chance(df=4, se=se, effect=0.0, margin=MARGIN, level=0.05))
            assert one.alike.share < alike + 4 * one.alike.error
            assert one.alike.share > alike - one.wrong.share - 4 * one.alike.error


def test_several_comparisons_are_settled_as_often_as_the_planner_works_out() -> None:
    """Fresh preparations of one item on three surfaces: the planner needs no simulation there."""
    one_item = replace(a_study().design, layout="in sequence")
    study = a_study(items=(Item(name="slider"),), design=one_item)
    belief = replace(BELIEF, df=6.0)
    surfaces = tuple(
        SurfaceDesign(surface=one.name, rounds=tuple(range(6)), launches=4, margin=study.margin)
        for one in SURFACES
    )
    layout = LayoutDesign(surfaces=surfaces, rounds=6)
    assert is_exact(layout, belief)
    (case,) = chances_of([layout], belief, effects=(0.0, 0.5, 1.0, 2.0))[0].cases
    (scenario,) = rehearse(a_play(study, belief=belief, times=MANY))
    for at, truth in enumerate(scenario.truths):
        for one in truth.comparisons:
            planned_for = case.of(one.surface)
            assert planned_for.conclusive is not None
            found = one.higher.share + one.lower.share
            assert found == pytest.approx(planned_for.differs[at], abs=SIGMAS * share_of(round(found * MANY)))
            assert 1.0 - one.open.share == pytest.approx(
                planned_for.conclusive[at], abs=SIGMAS * one.open.error
            )
    (family,) = scenario.truths[0].families
    assert family.any_wrong.share == pytest.approx(case.any_differs[0], abs=SIGMAS * family.any_wrong.error)


def item_columns(study: Study) -> float:
    """Variance of the estimate in preparations: the mean of six differences, items regressed out."""
    rows = [row for row in planned(study).launches if row.treatment == "rub"]
    sign = np.array([1.0 if item == "slider 1" else -1.0 for _, item in {(r.block, r.item) for r in rows}])
    return 2.0 / len(sign) / (1.0 - sign.mean() ** 2)


@pytest.mark.parametrize("study", [a_study(), shared(a_study(treatments=THREE))], ids=["fresh", "three"])
@pytest.mark.parametrize("wrong", [(), ("set-aside=20 %", "faster-item", "drift")], ids=["calm", "rough"])
def test_something_wrong_is_no_more_frequent_than_the_error_rate(
    study: Study, wrong: tuple[str, ...]
) -> None:
    """No effect: any false difference. Exactly what matters: any false likeness, of either half."""
    truths = standing_truths(study, ["none", "margin"])
    found = rehearse(a_play(study, truths=truths, scenarios=(troubles(*wrong),), times=4000))
    for truth in found[0].truths:
        (family,) = truth.families
        assert 0.01 < family.any_wrong.share < 0.05 + 3.5 * family.any_wrong.error


def test_a_main_surface_has_an_error_rate_of_its_own() -> None:
    play = a_play(shared(a_study(main="ice")), times=2000)
    main, others = rehearse(play)[0].truths[0].families
    assert (main.surfaces, others.surfaces) == (("ice",), ("powder", "slush"))
    assert main.any_wrong.share > 0.02


def test_a_lane_that_ends_too_early_misleads() -> None:
    calm, rough = rehearse(a_play(a_study(), scenarios=((), troubles("lane-end=50 %")), times=400))
    for one, other in zip(calm.truths[2].comparisons, rough.truths[2].comparisons, strict=True):
        assert other.wrong.share > one.wrong.share + 0.3


def test_a_larger_effect_is_found_more_often_and_shares_add_up() -> None:
    (scenario,) = rehearse(a_play(a_study(), times=1000))
    by_name = {truth.truth: truth for truth in scenario.truths}
    for one, other in zip(by_name["margin"].comparisons, by_name["twice"].comparisons, strict=True):
        assert other.higher.share > one.higher.share + 0.1
    for truth in scenario.truths:
        for one in truth.comparisons:
            assert one.right.share + one.open.share + one.wrong.share == pytest.approx(1.0, abs=1e-12)
            assert one.higher.share + one.lower.share + one.alike.share == pytest.approx(
                1.0 - one.open.share, abs=1e-12
            )


def test_an_error_is_never_nought() -> None:
    assert Share.of(0, 100).error > 0.0
    assert Share.of(50, 100).error == pytest.approx(0.05, rel=0.02)


def test_every_trouble_can_be_played_together() -> None:
    study = shared(a_study())
    play: Play = a_play(
        study, planned(study, outings=2), scenarios=(tuple(_alone(name) for name in TROUBLES),), times=50
    )
    assert len(rehearse(play)[0].truths[0].comparisons) == 3


def _alone(name: str) -> Trouble:
    return troubles(name)[0]
