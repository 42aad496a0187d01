"""A plan played many times over, on all cores, with the same result on any number of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from functools import reduce
from operator import add

from evenglide.answer.rehearsed import PlayedTrouble, Scenario
from evenglide.plan.beliefs import ScatterBelief
from evenglide.rehearsal.drawing import Chunk, draw
from evenglide.rehearsal.judging import Judge, batch_judge
from evenglide.rehearsal.staging import Stage, set_stage, without_last_outing
from evenglide.rehearsal.supposed import Truth
from evenglide.rehearsal.tally import Tally, shares, tally
from evenglide.rehearsal.troubles import Trouble
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study

LARGEST_CHUNK, SMALLEST_CHUNK = 4096, 64
MOST_READINGS = 2**21
"""In one array of a chunk: 16 MB, so that a few of them fit into any machine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """What is played.

    Parameters
    ----------
    study : Study
    schedule : Schedule
    truths : tuple of Truth
    scenarios : tuple of tuple of Trouble
        Troubles that go together.
    together : tuple of Trouble
        All that were asked for; none where everything is played by itself.
    belief : ScatterBelief
    source : str
        Where `belief` comes from.
    times : int
        Studies for each truth in each scenario.
    seed : int
    """

    study: Study
    schedule: Schedule
    truths: tuple[Truth, ...]
    scenarios: tuple[tuple[Trouble, ...], ...]
    together: tuple[Trouble, ...] = ()
    belief: ScatterBelief
    source: str = "stated"
    times: int
    seed: int


def rehearse(
    play: Play,
    *,
    judge: Callable[[Stage], Judge] = batch_judge,
    threads: int = 1,
    done: Callable[[float], None] = lambda _: None,
) -> tuple[Scenario, ...]:
    """Play a plan many times over.

    Parameters
    ----------
    play : Play
    judge : callable, optional
        From a stage, who answers many studies of it at once.
    threads : int, optional
        The result does not depend on it.
    done : callable, optional
        Is told the share of the work that is done, in [0, 1].

    Returns
    -------
    tuple of Scenario
    """
    stages = [stage_of(play, troubles) for troubles in play.scenarios]
    judges = [judge(stage) for stage in stages]
    tasks = [(at, chunk) for at in range(len(stages)) for chunk in chunks_of(play)]
    counted: list[list[list[Tally]]] = [[[] for _ in play.truths] for _ in stages]

    def work(task: tuple[int, Chunk]) -> list[Tally]:
        at, chunk = task
        return _play_chunk(play, chunk, stage=stages[at], troubles=play.scenarios[at], judge=judges[at])

    with ThreadPoolExecutor(max_workers=threads) as pool:
        for place, ((at, _), tallies) in enumerate(zip(tasks, pool.map(work, tasks), strict=True), start=1):
            for kept, one in zip(counted[at], tallies, strict=True):
                kept.append(one)
            done(place / len(tasks))
    return tuple(
        _scenario(play, troubles, [reduce(add, tallies) for tallies in of_truths])
        for troubles, of_truths in zip(play.scenarios, counted, strict=True)
    )


def chunks_of(play: Play) -> tuple[Chunk, ...]:
    """Part the studies of a play into chunks, by the size of its schedule alone.

    Parameters
    ----------
    play : Play

    Returns
    -------
    tuple of Chunk
    """
    launches = len(play.schedule.launches)
    size = min(LARGEST_CHUNK, max(SMALLEST_CHUNK, MOST_READINGS // launches))
    return tuple(
        Chunk(seed=play.seed, number=number, studies=min(size, play.times - first))
        for number, first in enumerate(range(0, play.times, size))
    )


def stage_of(play: Play, troubles: Sequence[Trouble]) -> Stage:
    """Make the schedule of a play ready; one without its last outing where that is spoilt.

    Parameters
    ----------
    play : Play
    troubles : sequence of Trouble

    Returns
    -------
    Stage
    """
    left = play.schedule
    if any(trouble.name == "spoilt-outing" for trouble in troubles):
        left = without_last_outing(play.schedule) or play.schedule
    return set_stage(play.study, left)


def _play_chunk(
    play: Play, chunk: Chunk, *, stage: Stage, troubles: Sequence[Trouble], judge: Judge
) -> list[Tally]:
    """Play one chunk under every truth, with the same luck."""
    drawn = draw(stage, chunk, belief=play.belief, troubles=troubles)
    void = None if drawn.void is None else drawn.void[stage.counted]
    return [
        tally(play.study, judge(drawn.readings(truth)[stage.counted], void), truth=truth)
        for truth in play.truths
    ]


def _scenario(play: Play, troubles: Sequence[Trouble], counted: Sequence[Tally]) -> Scenario:
    return Scenario(
        troubles=tuple(PlayedTrouble(**asdict(one)) for one in troubles),
        truths=tuple(
            shares(play.study, one, truth=truth, studies=play.times)
            for truth, one in zip(play.truths, counted, strict=True)
        ),
    )
