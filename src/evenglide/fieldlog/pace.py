"""How long things took outside, from the records: what the next plan should reckon with.

Means, because a plan adds up: a walk to read the pegs after every fifth launch belongs to the time that five
launches take. Each device's clock is compared with itself alone, and what no launch or set-up can take is
left out: clocks that jump, lunch, records typed in afterwards.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import Any

from evenglide.fieldlog.bodies import Launched, Prepared, SetUp
from evenglide.fieldlog.oddities import moment_of
from evenglide.fieldlog.state import Fact

SHORTEST_LAUNCH_S, LONGEST_LAUNCH_S = 5.0, 900.0
SHORTEST_SET_UP_S, LONGEST_SET_UP_S = 30.0, 7200.0
LONGEST_WORK_S = 6 * 3600.0
"""Shorter ones were typed in afterwards, longer ones hold something else: lunch, a shower (chosen)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A mean time [s], and of how many it is the mean."""

    seconds: float
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """Typical times of a study so far; what was never timed is missing.

    Parameters
    ----------
    launch : mapping of str to Measured
        From one launch to the next on one set-up, by surface.
    set_up : Measured or None
        From the last launch or preparation before until the rig stood; the last pegs are read in that time.
        By a device that recorded the last launch before.
    hands_on, waiting : mapping of str to Measured
        Of one preparation, by treatment.
    """

    launch: Mapping[str, Measured]
    set_up: Measured | None
    hands_on: Mapping[str, Measured]
    waiting: Mapping[str, Measured]


def pace_of(plan: Mapping[str, Any], facts: Sequence[Fact]) -> Pace:
    """Take typical times from the clocks of the devices, each device's by itself.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.
    facts : sequence of Fact
        In the order of replay.

    Returns
    -------
    Pace
    """
    launches = {one["number"]: one for one in plan["launches"]}
    standing = [fact for fact in facts if not fact.withdrawn]
    before_set_up = _launches_before(plan, standing)
    places = _places(standing)
    between: dict[str, list[float]] = {}
    moving: list[float] = []
    last: dict[str, _Last] = {}
    for fact in standing:
        body, device = fact.body, fact.entry.device
        moment = moment_of(fact.entry.device_time)
        if moment is None or not isinstance(body, Launched | Prepared | SetUp):
            continue
        now, before = moment.timestamp(), last.get(device)
        taken, seen = (now - before.moment, before.seen) if before else (0.0, 0)
        last[device] = _Last(moment=now, seen=seen)
        if isinstance(body, SetUp):
            # A device that did not see the launches before was elsewhere: with the gear, or in a pocket.
            stood_by = seen == before_set_up.get(body.set_up)
            if stood_by and SHORTEST_SET_UP_S <= taken <= LONGEST_SET_UP_S:
                moving.append(taken)
        elif isinstance(body, Launched) and body.launch in launches:
            here = launches[body.launch]
            # The next number alone: another device may have recorded those in between.
            follows = before and before.launch == body.launch - 1 and before.set_up == here["set_up"]
            if follows and SHORTEST_LAUNCH_S <= taken <= LONGEST_LAUNCH_S:
                surface = places.get(here["set_up"]) or here["surface"]
                between.setdefault(surface, []).append(taken)
            last[device] = _Last(
                moment=now, launch=body.launch, set_up=here["set_up"], seen=max(seen, body.launch)
            )
    hands_on, waiting = _work(plan["key"], standing)
    return Pace(
        launch=_typical(between),
        set_up=_measured(moving),
        hands_on=_typical(hands_on),
        waiting=_typical(waiting),
    )


def _work(
    key: Mapping[str, str], facts: Iterable[Fact]
) -> tuple[dict[str, list[float]], dict[str, list[float]]]:
    """Times of work and of waiting, by what was put on."""
    hands_on: dict[str, list[float]] = {}
    waiting: dict[str, list[float]] = {}
    for fact in facts:
        body = fact.body
        if isinstance(body, Prepared) and body.preparation in key:
            treatment = body.treatment or key[body.preparation]
            for seconds, kept in ((body.hands_on_s, hands_on), (body.cure_s, waiting)):
                if seconds is not None and 0 < seconds <= LONGEST_WORK_S:
                    kept.setdefault(treatment, []).append(seconds)
    return hands_on, waiting


def _launches_before(plan: Mapping[str, Any], facts: Iterable[Fact]) -> dict[int, int]:
    """The last launch that anybody made before each planned set-up; 0 where there was none."""
    first: dict[int, int] = {}
    for one in plan["launches"]:
        first.setdefault(one["set_up"], one["number"])
    made = sorted({fact.body.launch for fact in facts if isinstance(fact.body, Launched)})
    places = {set_up: bisect_left(made, number) for set_up, number in first.items()}
    return {set_up: made[place - 1] if place else 0 for set_up, place in places.items()}


def _places(facts: Sequence[Fact]) -> dict[int, str | None]:
    """Where the rig stood, where that was said; what was said first stands."""
    return {fact.body.set_up: fact.body.surface for fact in reversed(facts) if isinstance(fact.body, SetUp)}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Last:
    """What a device recorded last, when [s], and the highest launch that it has seen."""

    moment: float
    seen: int
    launch: int | None = None
    set_up: int | None = None


def _typical(times: Mapping[str, list[float]]) -> dict[str, Measured]:
    return {name: found for name, each in times.items() if (found := _measured(each)) is not None}


def _measured(times: Iterable[float]) -> Measured | None:
    kept = list(times)
    return Measured(seconds=fmean(kept), count=len(kept)) if kept else None
