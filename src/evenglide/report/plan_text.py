"""A plan told in plain lines: what will be done, what it takes, what it can find, what to mind."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from evenglide.plan.limits import Plan, Reach
from evenglide.show.numbers import count, listed
from evenglide.show.table import text_block
from evenglide.study.cautions import usual_cautions
from evenglide.study.study import Study

SHORTEST_DECIMAL = 0.0001
LONGEST_OUTING_H = 8.0
"""From the first step to the last of a day outside, before one has to ask: common practice, no source. [h]"""


def plan_text(study: Study, plan: Plan, *, width: int = 88) -> str:
    """Tell a plan.

    Parameters
    ----------
    study : Study
    plan : Plan
    width : int, optional
        Characters in a line.

    Returns
    -------
    str
        Without a line break at the end.
    """
    effort = plan.effort
    rows = [
        ("To do", _to_do(plan)),
        ("It takes", _takes(plan)),
        ("Drawn", f"With seed {plan.schedule.seed}: {plan.schedule.rule}."),
        *_named("Can be found", _reach_lines(study, plan)),
        *_named("Mind", _remarks(study, plan)),
        *_named("Cautions", usual_cautions(study)),
    ]
    head = f"{study.title}\n{count(effort.rounds, 'round')} on {count(effort.outings, 'outing')}."
    told = "\n".join(line for part in head.splitlines() for line in textwrap.wrap(part, width))
    return f"{told}\n\n{text_block(rows, width=width)}"


def _named(name: str, lines: Iterable[str]) -> list[tuple[str, str]]:
    return [(name if at == 0 else "", line) for at, line in enumerate(lines)]


def _to_do(plan: Plan) -> str:
    kinds = [launch.kind for launch in plan.schedule.launches]
    more = [
        f"{kinds.count(kind)} {told}"
        for kind, told in (
            ("practice", "for practice"),
            ("wear check", "to check wear"),
            ("return to bare", "to check that the gear is bare again"),
        )
        if kind in kinds
    ]
    also = f", and {', '.join(more)}" if more else ""
    return (
        f"{count(plan.effort.preparations, 'preparation')}, {count(plan.effort.set_ups, 'rig set-up')}, "
        f"{count(kinds.count('launch'), 'launch', 'launches')} that count{also}."
    )


def _takes(plan: Plan) -> str:
    effort = plan.effort
    hours = effort.seconds / 3600
    if not effort.untimed:
        return f"About {hours:.1f} hours."
    return (
        f"About {hours:.1f} hours, with what is usual for {listed(effort.untimed)}: the study gives no time."
    )


def _reach_lines(study: Study, plan: Plan) -> list[str]:
    """Say what the order alone can show at best and whether that can count, alike surfaces together."""
    alike: dict[tuple[int, int, float, float], list[str]] = {}
    for one in plan.reach:
        who = one.surface if len(study.treatments) == 2 else f"{one.surface} ({one.treatment})"
        alike.setdefault((one.rounds, one.orders, one.smallest_p, one.needed), []).append(who)
    facts = {(one.rounds, one.orders, one.smallest_p, one.needed): one for one in plan.reach}
    lines = [f"{listed(names)}: {_reach(facts[key])}" for key, names in alike.items()]
    if plan.joint_p is not None:
        enough = "would do" if plan.joint_p <= study.level else "would be needed"
        lines.append(
            f"All surfaces together, as they share preparations: {_p(plan.joint_p)} at best, "
            f"and {_p(study.level)} {enough}."
        )
    return lines


def _reach(one: Reach) -> str:
    told = (
        f"{count(one.rounds, 'round')} and {count(one.orders, 'possible order')}, so the test by the order "
        f"can give {_p(one.smallest_p)} at best"
    )
    if one.can_reject:
        return f"{told}; {_p(one.needed)} would do."
    return (
        f"{told}, and {_p(one.needed)} would be needed. THAT TEST CANNOT SHOW A DIFFERENCE HERE, whatever is "
        "measured; the verdict then rests on the t test alone."
    )


def _remarks(study: Study, plan: Plan) -> list[str]:
    remarks = []
    if not all(one.can_reject for one in plan.reach):
        remarks.append(
            "More rounds, fewer surfaces or a main surface give the test by the order something to say."
        )
    if any(one.rounds < 3 for one in plan.reach):
        remarks.append(
            "Fewer than three rounds: the scatter between preparations is hardly known, and nearly every "
            "answer stays open."
        )
    available = plan.effort.available
    if available is not None and plan.effort.seconds > available:
        remarks.append(f"It does not fit: the outings hold {available / 3600:.1f} hours in all.")
    each = plan.effort.seconds / 3600 / plan.effort.outings
    if available is None and each > LONGEST_OUTING_H:
        remarks.append(f"That is {each:.0f} hours an outing: spread the rounds with --outings.")
    if study.hidden_from:
        remarks.append(
            "schedule.csv names the treatments: keep it from those who must not know them "
            f"({listed(study.hidden_from)}). They go by the tags."
        )
    if study.design.layout == "in sequence":
        remarks.append(
            "One preparation follows the other, so whatever drifts with time drifts between them; the rig is "
            "set up for each by itself."
        )
    if plan.unrestricted:
        remarks.append(
            "A balanced order was asked for, but so few rounds would leave fewer than 200 orders: the order "
            "is not restricted."
        )
    if plan.wear_unchecked:
        remarks.append(
            "Wear is not checked in every round: a coat must have met another surface, and its first surface "
            "must be allowed after the others."
        )
    if study.margin is None and all(surface.margin is None for surface in study.surfaces):
        remarks.append(
            "The study states no difference that matters, so it can never find two treatments alike."
        )
    if not study.void_reasons:
        remarks.append(
            "No cause is listed for setting a launch aside: every one set aside will be a departure."
        )
    return remarks


def _p(value: float) -> str:
    return f"{value:.2g}" if value >= SHORTEST_DECIMAL else f"{value:.0e}"
