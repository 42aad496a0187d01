"""Studies with half-way checks, from their logs: what holds at each check, who stopped, what waits."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest

from evenglide.analysis.look_plan import look_plan
from evenglide.answer.looking import already_seen, check_looks, check_time, look_made, waiting_launches
from evenglide.answer.results import Contrast
from evenglide.answer.study import StudyAnswer, answer_study
from evenglide.errors import StudyError
from evenglide.fieldlog.bodies import Body, Launched, Look, Read, SetAside
from evenglide.fieldlog.events import Event
from evenglide.fieldlog.fold import replay
from evenglide.maths.distributions import t_upper
from evenglide.maths.multiplicity import holm
from evenglide.report.first_screen import first_screen
from evenglide.report.referee import contrast_table
from evenglide.report.text import answer_text
from evenglide.report.wording import choose_wording
from evenglide.study.schedule import Schedule
from tests.answer.json_checks import check_plain, closed_validator
from tests.fieldlog.made_up import CAUSE, STUDY_TEXT, log_of, schedule, study

TEXT = f'{STUDY_TEXT}\n[looks]\nat = ["1/2", 1]\n'
ROUNDS, LAUNCHES = 10, 3
PLAN = schedule(blocks=ROUNDS, launches=LAUNCHES)
HALF = 2 * 2 * LAUNCHES * ROUNDS // 2
"""Launches of the first five rounds on both surfaces."""
WORDING = choose_wording("m", mark_given=True)


def played(
    effects: dict[str, float], *, plan: Schedule = PLAN, coat: float = 0.02, seed: int = 5
) -> list[Body]:
    """What a phone records: a distance for each launch, the effect in log units by surface."""
    chance = np.random.default_rng(seed)
    coats: dict[tuple[str, str], float] = {}
    bodies: list[Body] = []
    for one in plan.launches:
        own = coats.setdefault((one.preparation, one.surface), float(chance.normal(0, coat)))
        treated = effects[one.surface] if one.treatment != "bare" else 0.0
        value = round(6.0 * float(np.exp(own + treated + chance.normal(0, 0.01))), 3)
        bodies += [Launched(launch=one.number), Read(launch=one.number, text=f"{value:.3f}", value=value)]
    return bodies


def made(bodies: Sequence[Body], launches: int) -> list[Body]:
    """The first launches of a record."""
    return list(bodies[: 2 * launches])


def answered(
    bodies: Sequence[Body], *, text: str = TEXT, early: bool = False, plan: Schedule = PLAN
) -> StudyAnswer:
    return answer_study(study(text), plan, log_of(plan, bodies, text=text), early=early)


def contrasts(found: StudyAnswer) -> dict[str, Contrast]:
    return {str(surface.surface): surface.contrasts[0] for surface in found.answer.surfaces}


BIG = played({"cold powder": 0.6, "melt pan": 0.04})
"""Plain at once on powder, not on the pan."""


def test_before_the_first_check_nothing_is_answered() -> None:
    with pytest.raises(StudyError) as refused:
        answered(made(BIG, HALF - 1))
    (problem,) = refused.value.problems
    assert problem.code == "too-early"
    assert problem.found == f"{HALF - 1} of {2 * HALF} planned launches made and read"
    assert "round 5 of 10" in problem.expected and "--early" in problem.remedy
    assert not re.search("paraffin|bare", f"{problem}")


def test_at_the_check_only_its_launches_count() -> None:
    """Whatever was launched since waits for the end: the answer is the same to the last digit."""
    at, later = answered(made(BIG, HALF)), answered(made(BIG, HALF + 17))
    assert later.answer.surfaces == at.answer.surfaces
    assert later.answer.conduct is not None
    assert later.answer.conduct.left_out == {"after the check": tuple(range(HALF + 1, HALF + 18))}
    assert later.answer.conduct.departures == ()
    for contrast in contrasts(at).values():
        looks = contrast.looks
        assert looks is not None
        assert (looks.planned, looks.preparations, looks.reached) == ((0.5, 1.0), 20, 1)
        assert looks.at[0].preparations == 10 and looks.at[0].planned and not looks.ended_early


def test_the_numbers_of_a_look_are_those_of_its_launches_alone() -> None:
    """Estimate and t from a study of five rounds; p and interval from the calibrated bounds."""
    short = schedule(blocks=5)
    alone = contrasts(
        answered(played({"cold powder": 0.6, "melt pan": 0.04}, plan=short), text=STUDY_TEXT, plan=short)
    )
    tables = look_plan(study(TEXT), PLAN)
    for name, contrast in contrasts(answered(made(BIG, HALF))).items():
        plain, (one, two) = alone[name], tables.tables((name, "paraffin rub"))
        assert (contrast.estimate, contrast.se, contrast.df) == (plain.estimate, plain.se, plain.df)
        assert contrast.interval == plain.interval
        assert contrast.p_difference == pytest.approx(float(two.repeated(plain.p_difference, 0)), rel=1e-12)
        assert contrast.p_alike == pytest.approx(float(one.repeated(plain.p_alike, 0)), rel=1e-12)
        assert plain.p_matters is not None and plain.p_difference is not None
        matters = min(1.0, 2 * float(one.repeated(plain.p_matters / 2, 0)))
        assert contrast.p_matters == pytest.approx(matters, rel=1e-12)
        assert contrast.p_difference is not None
        assert contrast.p_difference > plain.p_difference
        for interval, tail in (
            (contrast.interval_alike, one.nominal(0.05, 0)),
            (contrast.interval_adjusted, two.nominal(0.05 / 2, 0) / 2),
        ):
            assert interval is not None and contrast.estimate is not None and interval[0] is not None
            assert contrast.se is not None and contrast.df is not None
            half = (contrast.estimate - interval[0]) / contrast.se
            assert half == pytest.approx(float(t_upper(tail, contrast.df)), rel=1e-10)


def test_holm_runs_on_repeated_p_values_and_the_interval_agrees() -> None:
    for bodies in (made(BIG, HALF), BIG):
        found = list(contrasts(answered(bodies)).values())
        for name in ("difference", "alike", "matters"):
            p = [getattr(one, f"p_{name}") for one in found]
            adjusted = [getattr(one, f"p_{name}_adjusted") for one in found]
            np.testing.assert_allclose(adjusted, holm(p), rtol=1e-12)
        for one in found:
            assert one.interval_adjusted is not None and one.p_difference_adjusted is not None
            low, high = one.interval_adjusted
            assert low is not None and high is not None
            assert (low > 0 or high < 0) == (one.p_difference_adjusted <= 0.05)


def test_a_surface_that_stopped_keeps_its_answer() -> None:
    """Settled at the check; what comes later there, even against it, changes nothing."""
    at = contrasts(answered(made(BIG, HALF)))["cold powder"]
    assert at.verdict == "higher" and at.looks is not None and at.looks.stopped_at == 1
    against = played({"cold powder": -0.6, "melt pan": 0.04})
    late = answered([*made(BIG, HALF), *against[2 * HALF :]])
    end = contrasts(late)["cold powder"]
    assert (end.verdict, end.p_difference, end.interval_adjusted) == (
        "higher",
        at.p_difference,
        at.interval_adjusted,
    )
    assert (end.estimate, end.se, end.df) == (at.estimate, at.se, at.df)
    assert end.looks is not None and (end.looks.reached, end.looks.stopped_at) == (2, 1)
    assert "settled-at-a-check" in {note.code for note in end.notes}
    other = contrasts(late)["melt pan"]
    assert other.looks is not None and other.looks.stopped_at != 1 and other.df == 8.0


def test_launches_that_a_stopped_surface_spares_are_not_missing() -> None:
    kept = [
        body
        for body in BIG
        if not (body.launch > HALF and PLAN.launches[body.launch - 1].surface == "cold powder")  # type: ignore[union-attr]
    ]
    found = answered(kept)
    assert found.answer.conduct is not None
    assert found.answer.conduct.departures == () and found.answer.conduct.left_out == {}
    both = {name: one.looks for name, one in contrasts(found).items()}
    assert all(one is not None and one.reached == 2 for one in both.values())
    whole = contrasts(answered(BIG))
    assert contrasts(found)["melt pan"].p_difference == whole["melt pan"].p_difference


def test_a_round_that_was_left_out_is_waited_for_and_a_launch_is_not() -> None:
    events = log_of(PLAN, made(BIG, HALF), text=TEXT)
    assert len(waiting_launches(PLAN, replay(events))) == HALF
    gap = [body for body in made(BIG, HALF) if body.launch != 20]  # type: ignore[union-attr]
    assert len(waiting_launches(PLAN, replay(log_of(PLAN, gap, text=TEXT)))) == HALF
    day_two = BIG[2 * HALF :]
    assert len(waiting_launches(PLAN, replay(log_of(PLAN, day_two, text=TEXT)))) == HALF
    with pytest.raises(StudyError):
        answered(day_two)


def test_ended_early_the_last_look_spends_what_is_left() -> None:
    found = answered(made(BIG, int(1.6 * HALF)), early=True)
    pan = contrasts(found)["melt pan"]
    assert pan.looks is not None and pan.looks.ended_early
    assert [one.planned for one in pan.looks.at] == [True, False]
    assert pan.looks.at[1].share == pytest.approx(0.8)
    whole = contrasts(answered(BIG))["melt pan"]
    assert whole.looks is not None and pan.looks.at[0] == whole.looks.at[0]
    told = {one.code for one in found.answer.conduct.departures} if found.answer.conduct else set()
    assert "launches-missing" in told
    assert "Ended before its plan" in first_screen(found.answer, WORDING).text


def test_a_void_costs_degrees_of_freedom_and_no_more() -> None:
    """The nominal level of a look stays; t is held to it with what is left."""
    lost = {one.number for one in PLAN.launches if one.block == "3" and one.surface == "melt pan"}
    bodies: list[Body] = [
        SetAside(launch=body.launch, cause=CAUSE, value_seen=False)
        if isinstance(body, Read) and body.launch in lost
        else body
        for body in made(BIG, HALF)
    ]
    pan, whole = contrasts(answered(bodies))["melt pan"], contrasts(answered(made(BIG, HALF)))["melt pan"]
    assert pan.looks is not None and whole.looks is not None
    assert pan.looks.at[0].df == 2.0 and whole.looks.at[0].df == 3.0
    two = look_plan(study(TEXT), PLAN).tables(("melt pan", "paraffin rub"))[1]
    nominal = float(two.nominal(0.05, 0))
    assert pan.looks.at[0].bound_difference == pytest.approx(float(t_upper(nominal / 2, 2.0)), rel=1e-10)


def test_one_look_is_answered_as_ever() -> None:
    plain = answered(BIG, text=STUDY_TEXT).answer
    stated = answered(BIG, text=f"{STUDY_TEXT}\n[looks]\nnumber = 1\n").answer
    assert stated.surfaces == plain.surfaces and stated.audit == plain.audit
    assert all(one.looks is None for surface in plain.surfaces for one in surface.contrasts)


def test_the_end_is_told_with_the_repeated_p_values() -> None:
    """They are never smaller than those of a study without checks, of which they are made."""
    plain, checked = contrasts(answered(BIG, text=STUDY_TEXT)), contrasts(answered(BIG))
    pan, other = plain["melt pan"], checked["melt pan"]
    assert pan.p_difference is not None and other.p_difference is not None
    assert pan.p_difference < other.p_difference < 1.2 * pan.p_difference


def test_the_answer_keeps_its_contract() -> None:
    for bodies, early in ((made(BIG, HALF), False), (BIG, False), (made(BIG, 100), True)):
        document = answered(bodies, early=early).answer.to_dict()
        check_plain(document)
        closed_validator("answer").validate(document)


def test_all_settled_needs_no_further_check() -> None:
    """Whoever launches on all the same is answered as at the check."""
    at, later = answered(made(BOTH, HALF)), answered(BOTH)
    assert later.answer.surfaces == at.answer.surfaces
    assert later.answer.conduct is not None and later.answer.conduct.departures == ()


def test_a_check_that_cannot_be_is_left_out_and_told() -> None:
    text = f'{STUDY_TEXT}\n[looks]\nat = ["1/5", 1]\n'
    found = answered(BIG, text=text).answer
    assert "check-not-possible" in {entry.code for entry in found.audit}
    assert found.surfaces == answered(BIG, text=STUDY_TEXT).answer.surfaces
    with pytest.raises(StudyError) as refused:
        check_looks(study(text), PLAN)
    assert refused.value.problems[0].code == "look-too-early"
    check_looks(study(TEXT), PLAN)


# ------------------------------------------------------------------------------- when to answer


def test_without_checks_the_end_is_the_time_to_answer() -> None:
    for text, refused in ((STUDY_TEXT, True), (TEXT, False)):
        state = replay(log_of(PLAN, made(BIG, HALF), text=text))
        if refused:
            with pytest.raises(StudyError, match="made and read"):
                check_time(study(text), PLAN, state)
        else:
            check_time(study(text), PLAN, state)
        check_time(study(text), PLAN, replay(log_of(PLAN, BIG, text=text)))


def test_who_must_not_know_the_treatments_is_warned() -> None:
    text = f'{STUDY_TEXT}\n[blinding]\nhidden_from = ["reader"]\n'
    with pytest.raises(StudyError) as refused:
        check_time(study(text), PLAN, replay(log_of(PLAN, made(BIG, HALF), text=text)))
    assert "must not see it" in refused.value.problems[0].remedy


@pytest.mark.parametrize(
    ("text", "launches", "early", "record"),
    [
        (STUDY_TEXT, 2 * HALF, False, None),
        (STUDY_TEXT, HALF, True, Look(number=1, launches=HALF)),
        (TEXT, HALF, False, Look(number=1, planned=1, launches=HALF)),
        (TEXT, HALF + 24, True, Look(number=1, launches=HALF + 24)),
        (TEXT, 2 * HALF, False, None),
    ],
    ids=["end", "one look, early", "at a check", "beyond it, early", "end of two"],
)
def test_an_answer_before_the_end_is_recorded_once(
    text: str, launches: int, early: bool, record: Look | None
) -> None:
    bodies = made(BIG, launches)

    def asked(more: Sequence[Body]) -> tuple[tuple[Event, ...], Body | None]:
        events = log_of(PLAN, [*bodies, *more], text=text)
        found = answer_study(study(text), PLAN, events, early=early)
        return events, look_made(PLAN, replay(events), events, judged=found.looks)

    events, told = asked([])
    assert told == record and not already_seen(events)
    if record is not None:
        events, told = asked([record])
        assert told is None
        assert already_seen(events) == (record.planned is None)


# --------------------------------------------------------------------------------- in words

FORBIDDEN = re.compile(r"\bp\b|\blooks?\b|\bt\b|degrees of freedom|contrast|\blevel\b|bound", re.IGNORECASE)


def screen_of(found: StudyAnswer) -> str:
    return first_screen(found.answer, WORDING).text


NEITHER = played({"cold powder": 0.0, "melt pan": 0.02}, coat=0.05)
BOTH = played({"cold powder": 0.8, "melt pan": 0.8})


@pytest.mark.parametrize(
    ("bodies", "told", "not_told"),
    [
        (
            made(BIG, HALF),
            [
                "This is a half-way check",
                "10 of 20 planned preparations",
                "Cold powder: settled for good",
                "Go on as planned with the rest",
                "Melt pan: open at this check; the plan goes on",
            ],
            ["new sealed study"],
        ),
        (made(NEITHER, HALF), ["Nothing is settled yet. Go on as planned"], ["new sealed study"]),
        (
            made(BOTH, HALF),
            ["Cold powder and melt pan: settled for good", "The study may stop here"],
            ["Go on as planned"],
        ),
        (
            BIG,
            ["Cold powder: settled at a half-way check, after 10 of 20 planned preparations"],
            ["This is a half-way check"],
        ),
    ],
    ids=["one settled", "none settled", "all settled", "the end"],
)
def test_the_first_screen_says_what_stopping_means(
    bodies: list[Body], told: list[str], not_told: list[str]
) -> None:
    found = answered(bodies)
    screen = screen_of(found)
    text = re.sub(r"\s+", " ", answer_text(found.answer, WORDING))
    for words in told:
        assert words in screen.replace("\N{NO-BREAK SPACE}", " ")
        assert words in text.replace("\N{NO-BREAK SPACE}", " ")
    assert not any(words in screen for words in not_told)
    assert not FORBIDDEN.search(screen)


def test_the_referee_sees_bounds_and_repeated_p_values() -> None:
    table: dict[str, Any] = {}
    found = answered(BIG).answer
    for row in contrast_table(found, found.surfaces[1]).rows:
        table[row[0]] = row[1]
    assert {
        "repeated p, difference",
        "half-way check 1, estimate",
        "the end, repeated p of the same",
    } <= table.keys()
    assert table["half-way check 1, preparations"] == "10 of 20"
    assert table["the end, t for difference, alike, matters"].startswith("2.3")


def test_a_study_without_checks_is_told_as_ever() -> None:
    check: Callable[[str], bool] = lambda words: "check" in words.lower() and "half" in words.lower()  # noqa: E731
    found = answered(BIG, text=STUDY_TEXT)
    assert not check(screen_of(found))
    rows = [row[0] for row in contrast_table(found.answer, found.answer.surfaces[0]).rows]
    assert not any(check(row) for row in rows) and "p, difference" in rows
