"""The rehearsal of one plan: what is played, what cannot be, and what came of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from evenglide.answer.rehearsed import Rehearsal, Unplayed
from evenglide.constants import VERSION
from evenglide.errors import OptionError, Problem, StudyError
from evenglide.fieldlog.events import Event
from evenglide.plan.scatter import FoundScatter
from evenglide.rehearsal.drawing import draw, reading_step, typical
from evenglide.rehearsal.example import example_log
from evenglide.rehearsal.repeats import Play, chunks_of, rehearse, stage_of
from evenglide.rehearsal.scatters import supposed_scatter
from evenglide.rehearsal.staging import without_last_outing
from evenglide.rehearsal.supposed import margins_of, standing_truths, stated_truths
from evenglide.rehearsal.troubles import NOTHING, TROUBLES, Trouble, named_troubles
from evenglide.study.schedule import Schedule
from evenglide.study.seal import Seal
from evenglide.study.study import Study

TIMES = 4096
"""Studies for each truth in each scenario: no share is then off by more than 0.008 (standard error)."""
FEWEST_ITEMS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What somebody wants to see.

    Parameters
    ----------
    truths : tuple of str
        As typed; those that follow from the difference that matters if empty.
    troubles : tuple of str
        As typed; every one by itself if empty, none if it is ``("nothing",)``.
    times : int
    seed : int
    """

    truths: tuple[str, ...] = ()
    troubles: tuple[str, ...] = ()
    times: int = TIMES
    seed: int


def plan_play(
    study: Study, schedule: Schedule, scatter: FoundScatter, *, wishes: Wishes
) -> tuple[Play, tuple[Unplayed, ...]]:
    """Decide what is played.

    Parameters
    ----------
    study : Study
    schedule : Schedule
    scatter : FoundScatter
    wishes : Wishes

    Returns
    -------
    Play
    tuple of Unplayed
        Usual troubles that this plan cannot have.

    Raises
    ------
    OptionError
        With every truth and trouble that cannot be played.
    StudyError
        If no launch of the schedule counts.
    """
    if not any(launch.kind == "launch" for launch in schedule.launches):
        raise StudyError([_nothing_planned()])
    problems: list[Problem] = []
    with _gathered(problems):
        truths = stated_truths(study, wishes.truths) if wishes.truths else standing_truths(study)
    with _gathered(problems):
        alone, together, unplayed = _troubles(study, schedule, wishes.troubles)
    if problems:
        raise OptionError(problems)
    if study.looks > 1:
        unplayed += (
            Unplayed(trouble="half-way checks", why="answers are those of the same study without them"),
        )
    play = Play(
        study=study,
        schedule=schedule,
        truths=truths,
        scenarios=((), *((one,) for one in alone), *((together,) if len(together) > 1 else ())),
        together=together,
        belief=scatter.belief,
        source=scatter.used.source,
        times=wishes.times,
        seed=wishes.seed,
    )
    return play, unplayed


def rehearse_play(
    play: Play,
    *,
    sealed: bool,
    unplayed: Sequence[Unplayed] = (),
    example: str | None = None,
    threads: int = 1,
    done: Callable[[float], None] = lambda _: None,
) -> Rehearsal:
    """Rehearse what was decided.

    Parameters
    ----------
    play : Play
    sealed : bool
        The plan is the sealed one.
    unplayed : sequence of Unplayed, optional
    example : str, optional
        Where the report of one study was written.
    threads, done : optional
        As for `rehearse`.

    Returns
    -------
    Rehearsal
    """
    study = play.study
    return Rehearsal(
        title=study.title,
        sealed=sealed,
        studies=play.times,
        error=0.5 / float(play.times) ** 0.5,
        seed=play.seed,
        level=study.level,
        scale=study.scale,
        unit=study.unit,
        margins=tuple(margins_of(study).items()),
        typical=typical(study),
        scatter=supposed_scatter(play.belief, study, source=play.source),
        scenarios=rehearse(play, threads=threads, done=done),
        unplayed=tuple(unplayed),
        example=example,
        version=VERSION,
    )


def example_of(play: Play, seal: Seal) -> tuple[Event, ...]:
    """Write the first of the studies that were played as a log.

    With the effect that is exactly what matters if that was played, else under the last truth; and with
    everything that goes wrong together, where that was asked for.

    Parameters
    ----------
    play : Play
    seal : Seal
        Of the plan.

    Returns
    -------
    tuple of Event
    """
    truth = next((one for one in play.truths if one.name == "margin"), play.truths[-1])
    stage = stage_of(play, play.together)
    drawn = draw(stage, chunks_of(play)[0], belief=play.belief, troubles=play.together)
    return example_log(drawn, truth, seal=seal)


@contextmanager
def _gathered(problems: list[Problem]) -> Iterator[None]:
    """Keep what is wrong with one kind of wish until all are read."""
    try:
        yield
    except OptionError as error:
        problems += error.problems


def _troubles(
    study: Study, schedule: Schedule, texts: Sequence[str]
) -> tuple[tuple[Trouble, ...], tuple[Trouble, ...], tuple[Unplayed, ...]]:
    """Troubles that are played by themselves, those that were asked for together, those that cannot be."""
    if tuple(texts) == (NOTHING,):
        return (), (), ()
    found = named_troubles(
        texts or tuple(TROUBLES),
        item=study.item_word,
        reference=study.reference.name,
        expected_voids=study.expected_voids or 0.0,
    )
    reasons = [(one, _why_not(one, study, schedule)) for one in found]
    if texts and (problems := [_not_here(one, why) for one, why in reasons if why]):
        raise OptionError(problems)
    missing = tuple(Unplayed(trouble=one.name, why=why) for one, why in reasons if why)
    return tuple(one for one, why in reasons if not why), found if texts else (), missing


def _why_not(trouble: Trouble, study: Study, schedule: Schedule) -> str:
    """Why a plan cannot have a trouble; "" if it can."""
    if trouble.name == "spoilt-outing" and without_last_outing(schedule) is None:
        return "all launches are on one outing"
    if trouble.name == "faster-item" and len({one.item for one in schedule.launches}) < FEWEST_ITEMS:
        return f"there is one {study.item_word} only"
    if trouble.name in ("centimetre", "decimetre") and reading_step(study, trouble.name) is None:
        return f"readings are in {study.unit}"
    return ""


def _not_here(trouble: Trouble, why: str) -> Problem:
    return Problem(
        code="trouble-not-here",
        where="--trouble",
        found=f"{trouble.name}, but {why}",
        expected="a trouble that this plan can have",
        remedy="Leave it out.",
    )


def _nothing_planned() -> Problem:
    return Problem(
        code="nothing-planned",
        where="schedule.csv",
        found="no launch that counts",
        expected="launches of the kind `launch`",
        remedy="Plan anew with `evenglide plan`.",
    )
