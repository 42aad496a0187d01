"""The batch against one study at a time, through files; and laws that every judge must keep."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from evenglide.analysis.batch import NO_SIZE, BatchJudge, BatchVerdicts, judge_batch
from evenglide.analysis.claims import SIZES, VERDICTS
from evenglide.analysis.rule import Rule
from evenglide.answer.provenance import table_provenance
from evenglide.answer.results import Answer, Contrast
from evenglide.answer.table import answer_launches
from evenglide.readings.launches import Launches
from evenglide.steps.judge import judge_table
from evenglide.typing import Scale
from tests.analysis.random_studies import RandomPlan, random_plan, with_order

TWELVE_DIGITS = 1e-12
PLANS, STUDIES = 125, 4
STATED = ("estimate", "se", "df")
KINDS = ("difference", "alike", "matters")


def told(contrast: Contrast) -> list[float]:
    """Every number of the primary verdict and of own-pair; NaN for null, and 0 as df of no test."""
    own = contrast.own_pair
    numbers = [
        *(getattr(contrast, name) for name in STATED),
        *(getattr(contrast, f"p_{kind}") for kind in KINDS),
        *(getattr(contrast, f"p_{kind}_adjusted") for kind in KINDS),
        *((None,) * len(STATED) if own is None else (getattr(own, name) for name in STATED)),
    ]
    return [np.nan if number is None else number for number in numbers]


def of_batch(judge: BatchJudge, plan: RandomPlan) -> tuple[BatchVerdicts, np.ndarray]:
    """Verdicts, and the same numbers as `told`, shape (contrasts, numbers, studies)."""
    values = judge.values(plan.readings, plan.void)
    found, own = judge.verdicts(judge.estimates(values)), judge.estimates(values, own_pair=True)
    numbers = [
        *(getattr(found.estimates, name) for name in STATED),
        *found.p,
        *found.p_adjusted,
        *(getattr(own, name) for name in STATED),
    ]
    return found, np.stack(numbers, axis=1)


def differences(answer: Answer, found: BatchVerdicts, numbers: np.ndarray, study: int) -> list[str]:
    """What the batch says otherwise than the answer about one study."""
    contrasts = [contrast for surface in answer.surfaces for contrast in surface.contrasts]
    assert len(contrasts) == len(numbers)
    out = []
    for place, contrast in enumerate(contrasts):
        one, batch = np.array(told(contrast)), numbers[place, :, study]
        off = np.abs(one - batch) > TWELVE_DIGITS * np.maximum(1, np.abs(one))
        if (off | (np.isnan(one) != np.isnan(batch))).any():
            out.append(f"contrast {place}: {one} against {batch}")
        size = int(found.size[place, study])
        said = VERDICTS[found.verdict[place, study]], None if size == NO_SIZE else SIZES[size]
        if said != (contrast.verdict, contrast.size):
            out.append(f"contrast {place}: {(contrast.verdict, contrast.size)} against {said}")
    return out


def test_batch_is_judge_on_files_for_500_random_studies(tmp_path: Path) -> None:
    wrong, met = [], {"null": 0, "item unit": 0, "verdicts": set(), "sizes": set(), "patterns": 0}
    table = tmp_path / "study.csv"
    for seed in range(PLANS):
        plan = random_plan(seed, STUDIES)
        found, numbers = of_batch(BatchJudge(plan.skeleton(), plan.rule), plan)
        for study in range(STUDIES):
            plan.write(table, study)
            answer = judge_table(str(table), plan.options).answer
            assert answer.scale == plan.rule.scale
            wrong += [
                f"plan {seed}, study {study}, {text}" for text in differences(answer, found, numbers, study)
            ]
        met["null"] += int(np.isnan(found.p[0]).sum())
        met["patterns"] += int(np.ptp(np.nan_to_num(found.estimates.df), axis=1).max() > 0)
        met["verdicts"] |= set(found.verdict.ravel().tolist())
        met["sizes"] |= set(found.size.ravel().tolist())
    assert wrong == []
    # The draw must have met what makes it hard.
    assert met["null"] > 20 and met["patterns"] > 10
    assert met["verdicts"] == {0, 1, 2, 3} and met["sizes"] == {NO_SIZE, 0, 1, 2}


@pytest.mark.parametrize("seed", [3, 4, 11, 12])
def test_batch_is_the_answer_with_a_main_surface_and_surfaces_not_reached(seed: int) -> None:
    plan = random_plan(seed, STUDIES)
    skeleton = plan.skeleton()
    last = len(skeleton.surface.labels) - 1
    rule = replace(plan.rule, main=last, unmet=2, surface_margins={last: (-0.2, 0.2)})
    judge = BatchJudge(skeleton, rule)
    found, numbers = of_batch(judge, plan)
    for study in range(STUDIES):
        void = plan.void[:, study]
        cause = ("gust",) * len(void)
        one = replace(skeleton, value=plan.readings[:, study], void=void, cause=cause, decimals=17)
        answer = answer_launches(one, rule, provenance=table_provenance("0" * 64))
        assert differences(answer, found, numbers, study) == []


def numbers_of(plan: RandomPlan) -> np.ndarray:
    """All numbers of a plan's studies."""
    return of_batch(BatchJudge(plan.skeleton(), plan.rule), plan)[1]


@pytest.mark.parametrize("seed", range(12))
def test_the_unit_of_the_readings_changes_nothing_that_has_none(seed: int) -> None:
    plan = random_plan(seed, STUDIES)
    low, high = plan.rule.margin or (-0.1, 0.1)
    scale = 1.0 if plan.rule.scale == "ratio" else 100.0
    metres = replace(plan, rule=replace(plan.rule, margin=(low, high)))
    centimetres = replace(
        plan,
        readings=plan.readings * 100,
        rule=replace(plan.rule, margin=(low * scale, high * scale)),
    )
    expected = numbers_of(metres)
    expected[:, [0, 1, 9, 10]] *= scale
    # Pairs apart by a rounding error only have a p of their own.
    np.testing.assert_allclose(numbers_of(centimetres), expected, rtol=1e-7, atol=1e-9 * scale)


@pytest.mark.parametrize("seed", range(12))
def test_neither_the_order_of_rows_nor_labels_change_anything(seed: int) -> None:
    plan = random_plan(seed, STUDIES)
    order = np.random.default_rng(seed).permutation(len(plan.readings))
    expected = judge_batch(plan.skeleton(), plan.readings, void=plan.void, rule=plan.rule)
    shuffled = judge_batch(
        with_order(plan.skeleton(), order), plan.readings[order], void=plan.void[order], rule=plan.rule
    )
    np.testing.assert_allclose(shuffled.p, expected.p, rtol=1e-9, atol=1e-12)
    np.testing.assert_array_equal(shuffled.verdict, expected.verdict)
    renamed = plan.skeleton()
    last = len(renamed.block.labels) - 1
    block = replace(renamed.block, codes=last - renamed.block.codes)
    again = judge_batch(replace(renamed, block=block), plan.readings, void=plan.void, rule=plan.rule)
    np.testing.assert_allclose(again.p, expected.p, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("seed", range(12))
def test_treatments_by_other_names_only_change_places(seed: int) -> None:
    plan = random_plan(seed, STUDIES)
    skeleton = plan.skeleton()
    count = len(skeleton.treatment.labels)
    turned = replace(skeleton.treatment, codes=(-skeleton.treatment.codes) % count)  # keeps the reference
    found = judge_batch(replace(skeleton, treatment=turned), plan.readings, void=plan.void, rule=plan.rule)
    expected = judge_batch(skeleton, plan.readings, void=plan.void, rule=plan.rule)
    places = np.arange(len(expected.verdict)).reshape(-1, count - 1)[:, ::-1].ravel()
    np.testing.assert_allclose(found.p_adjusted[:, places], expected.p_adjusted, rtol=1e-9, atol=1e-12)
    np.testing.assert_array_equal(found.verdict[places], expected.verdict)


@pytest.mark.parametrize("seed", range(12))
def test_reference_and_treatment_in_each_others_place_turn_the_sign(seed: int) -> None:
    plan = random_plan(seed, STUDIES)
    skeleton = plan.skeleton()
    turned = replace(skeleton.treatment, codes=np.array([1, 0, 2])[skeleton.treatment.codes])
    place = np.arange(0, len(skeleton.surface.labels)) * (len(skeleton.treatment.labels) - 1)
    found = judge_batch(replace(skeleton, treatment=turned), plan.readings, void=plan.void, rule=plan.rule)
    expected = judge_batch(skeleton, plan.readings, void=plan.void, rule=plan.rule)
    np.testing.assert_allclose(
        found.estimates.estimate[place], -expected.estimates.estimate[place], rtol=1e-9, atol=1e-12
    )
    np.testing.assert_allclose(found.p[0, place], expected.p[0, place], rtol=1e-9, atol=1e-12)


def without_items_or_directions(skeleton: Launches) -> Launches:
    """The same plan, launched one way with gear that nobody named."""
    direction = replace(skeleton.direction, codes=np.zeros_like(skeleton.direction.codes))
    return replace(skeleton, item=replace(skeleton.item, named=False), direction=direction)


@pytest.mark.parametrize("seed", range(12))
def test_a_constant_of_a_round_changes_nothing(seed: int) -> None:
    plan = random_plan(seed, STUDIES)
    skeleton = without_items_or_directions(plan.skeleton())
    rule = replace(plan.rule, scale="difference", margin=(-0.3, 0.3))
    of_round = np.random.default_rng(seed).normal(0, 10, (len(skeleton.block.labels), STUDIES))
    expected = judge_batch(skeleton, plan.readings, void=plan.void, rule=rule)
    moved = plan.readings + of_round[skeleton.block.codes]
    found = judge_batch(skeleton, moved, void=plan.void, rule=rule)
    np.testing.assert_allclose(found.p, expected.p, rtol=1e-7, atol=1e-10)


@pytest.mark.parametrize("seed", range(12))
def test_more_launches_of_a_preparation_are_no_more_degrees_of_freedom(seed: int) -> None:
    plan = random_plan(seed, STUDIES)
    once = judge_batch(plan.skeleton(), plan.readings, void=plan.void, rule=plan.rule)
    doubled = np.repeat(np.arange(len(plan.readings)), 2)
    twice = judge_batch(
        with_order(plan.skeleton(), doubled), plan.readings[doubled], void=plan.void[doubled], rule=plan.rule
    )
    np.testing.assert_array_equal(twice.estimates.df, once.estimates.df)
    np.testing.assert_allclose(twice.p, once.p, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize(("reading", "scale"), [(np.nan, "difference"), (0.0, "ratio"), (np.inf, "ratio")])
def test_a_reading_that_nothing_can_be_made_of_is_refused_unless_set_aside(
    reading: float, scale: Scale
) -> None:
    plan = random_plan(1, STUDIES)
    rule = Rule(scale=scale, margin=(-0.3, 0.3))
    readings, void = plan.readings.copy(), plan.void.copy()
    readings[5, 1] = reading
    void[5, 1] = True
    aside = judge_batch(plan.skeleton(), readings, void=void, rule=rule)
    expected = judge_batch(plan.skeleton(), plan.readings, void=void, rule=rule)
    np.testing.assert_array_equal(aside.p, expected.p)
    void[5, 1] = False
    with pytest.raises(ValueError, match="valid reading"):
        judge_batch(plan.skeleton(), readings, void=void, rule=rule)
