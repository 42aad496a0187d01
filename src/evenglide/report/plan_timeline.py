"""The outings of a layout as lanes of hours: making ready, moving the rig, launching, time to spare."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from evenglide.plan.results import Offer, Step, StepKind, Timeline
from evenglide.report.look import LIGHT
from evenglide.report.offer_words import hours
from evenglide.report.pen import Ruler, Spec, numbers_at, picture, rules, uprights, words
from evenglide.report.plan_words import outing_day
from evenglide.show.numbers import NO_BREAK, count, plain, round_ticks
from evenglide.show.table import Table

WIDE, NARROW = 740.0, 342.0
LANE, BAR, TOP = 58.0, 18.0, 26.0
SHOWN_AT_MOST = 8
"""Outings drawn; more of them are alike, and stand in the table."""
MINUTES = 60.0

DRAWN: dict[str, tuple[str, float]] = {
    "prepare": ("treatment-1", 1.0),
    "wait": ("treatment-1", 0.35),
    "set up": ("alike", 1.0),
    "launch": ("farther", 1.0),
    "to spare": ("line", 1.0),
}
"""Token and strength of each kind of time."""
KINDS: dict[StepKind, str] = {
    "prepare": "prepare",
    "wait": "wait",
    "set up": "set up",
    "practice": "launch",
    "launch": "launch",
    "wear check": "launch",
    "return to bare": "launch",
    "to spare": "to spare",
}
NAMES = {
    "prepare": "preparing",
    "wait": "waiting",
    "set up": "setting up or moving the rig",
    "launch": "launching",
    "to spare": "to spare",
}


def timeline_finding(offer: Offer) -> str:
    """Tell in one sentence how the days go."""
    taken = offer.recommended
    launching = sum(step.minutes for one in offer.timelines for step in one.steps if _kind(step) == "launch")
    share = 100.0 * launching / max(taken.minutes, 1.0)
    spare = min(taken.slack_of_outings, default=0.0)
    kept = hours(spare) if spare >= 1.0 else "nothing"
    return f"Launching takes {share:.0f}{NO_BREAK}% of the time; the fullest outing keeps {kept} to spare"


def timeline_chart(offer: Offer, *, width: float) -> Spec:
    """Draw each outing as a lane of hours.

    Parameters
    ----------
    offer : Offer
    width : float
        Of the picture. [px]

    Returns
    -------
    dict
        Vega-Lite, without grammar version and configuration.
    """
    shown = offer.timelines[:SHOWN_AT_MOST]
    ruler = Ruler(low=0.0, high=max(one.window for one in shown), left=2.0, right=width - 10.0)
    foot = TOP + LANE * len(shown) - 12.0
    layers: list[Spec] = []
    for place, one in enumerate(shown):
        layers += _lane(offer, one, ruler, depth=TOP + LANE * place)
    ticks = round_ticks(0.0, ruler.high / MINUTES, about=7 if width > NARROW else 4)
    layers.append(uprights([MINUTES * at for at in ticks], ruler, top=foot, foot=foot + 5))
    told = [(MINUTES * at, foot + 17, f"{plain(at)}{NO_BREAK}h") for at in ticks if at > 0]
    layers.append(numbers_at(told, ruler, align="center", color=LIGHT["soft"]))
    return picture(layers, width=width, height=foot + 28)


def timeline_table(offer: Offer) -> Table:
    """Tabulate what each outing holds."""
    rows = [
        (outing_day(offer, one.outing), hours(start), hours(minutes), words_of)
        for one in offer.timelines
        for start, minutes, words_of in _told(one)
    ]
    return Table(
        caption="What each outing holds, from its beginning",
        columns=("outing", "after", "takes", "what"),
        rows=tuple(rows),
        align=("left", "right", "right", "left"),
    )


def timeline_key(offer: Offer) -> tuple[tuple[str, str, float], ...]:
    """Kinds of time that are drawn: name, token and strength."""
    met = {_kind(step) for one in offer.timelines for step in one.steps}
    return tuple((NAMES[name], *DRAWN[name]) for name in DRAWN if name in met)


def more_words(offer: Offer) -> str:
    """Say how many outings are not drawn."""
    others = len(offer.timelines) - SHOWN_AT_MOST
    return f"{count(others, 'other outing')} like these." if others > 0 else ""


def _kind(step: Step) -> str:
    return KINDS[step.kind]


def _lane(offer: Offer, one: Timeline, ruler: Ruler, *, depth: float) -> Iterator[Spec]:
    window = f", {hours(one.window)} from {one.start}" if one.start else f", {hours(one.window)}"
    yield words([(f"{outing_day(offer, one.outing)}{window}", depth - 8)], left=2.0, color=LIGHT["soft"])
    for name, (token, strength) in DRAWN.items():
        stretches = [
            (step.start, step.start + step.minutes, depth + BAR / 2 + 2)
            for step in one.steps
            if _kind(step) == name and step.minutes > 0
        ]
        if stretches:
            yield rules(stretches, ruler, color=LIGHT[token], strokeOpacity=strength, strokeWidth=BAR)
    begins = [steps[0].start for _, steps in _rounds(one)]
    yield uprights(begins, ruler, top=depth, foot=depth + BAR + 6, color=LIGHT["ink"], strokeWidth=1.25)


def _rounds(one: Timeline) -> Iterator[tuple[str, Sequence[Step]]]:
    for name, steps in groupby((step for step in one.steps if step.round), key=lambda step: step.round):
        yield name, list(steps)


def _told(one: Timeline) -> Iterator[tuple[float, float, str]]:
    """Steps in words, those of one kind on one surface put together."""
    for key, steps in groupby(one.steps, key=lambda step: (step.kind, step.round, step.surface)):
        group = list(steps)
        kind, named, surface = key
        what = {"prepare": "prepare", "wait": "wait", "set up": "set up the rig", "to spare": "to spare"}.get(
            kind, f"{count(sum(step.count for step in group), 'launch', 'launches')} ({kind})"
        )
        what = what.replace(" (launch)", "")
        where = f" on {surface}" if surface else ""
        of_round = f", round {named}" if named else ""
        yield group[0].start, sum(step.minutes for step in group), f"{what}{where}{of_round}"
