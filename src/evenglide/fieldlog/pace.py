"""How long things took outside, from the records: what the next plan should reckon with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

from evenglide.fieldlog.bodies import Launched, Prepared, SetUp
from evenglide.fieldlog.oddities import moment_of
from evenglide.fieldlog.state import Fact

LONGEST_LAUNCH_S = 900.0
LONGEST_SET_UP_S = 7200.0
"""Longer gaps hold something else: lunch, a shower (chosen)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A typical time [s], and from how many it was taken."""

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
        From the last launch before the rig was moved until it stood.
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
        Medians.
    """
    launches = {one["number"]: one for one in plan["launches"]}
    between: dict[str, list[float]] = {}
    moving: list[float] = []
    last: dict[str, tuple[float, int | None]] = {}
    hands_on: dict[str, list[float]] = {}
    waiting: dict[str, list[float]] = {}
    for fact in facts:
        body, device = fact.body, fact.entry.device
        moment = moment_of(fact.entry.device_time)
        if fact.withdrawn or moment is None:
            continue
        now = moment.timestamp()
        if isinstance(body, Launched) and body.launch in launches:
            here = launches[body.launch]
            before, set_up = last.get(device, (now, None))
            if set_up == here["set_up"] and 0 < now - before <= LONGEST_LAUNCH_S:
                between.setdefault(here["surface"], []).append(now - before)
            last[device] = (now, here["set_up"])
        elif isinstance(body, SetUp):
            before, set_up = last.get(device, (now, None))
            if set_up is not None and 0 < now - before <= LONGEST_SET_UP_S:
                moving.append(now - before)
        elif isinstance(body, Prepared) and body.preparation in plan["key"]:
            treatment = plan["key"][body.preparation]
            for seconds, kept in ((body.hands_on_s, hands_on), (body.cure_s, waiting)):
                if seconds is not None and seconds > 0:
                    kept.setdefault(treatment, []).append(seconds)
    return Pace(
        launch=_typical(between),
        set_up=_measured(moving),
        hands_on=_typical(hands_on),
        waiting=_typical(waiting),
    )


def _typical(times: Mapping[str, list[float]]) -> dict[str, Measured]:
    return {name: found for name, each in times.items() if (found := _measured(each)) is not None}


def _measured(times: Iterable[float]) -> Measured | None:
    kept = list(times)
    return Measured(seconds=median(kept), count=len(kept)) if kept else None
