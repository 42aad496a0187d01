"""The lane: where the distance stayed the same, what does not matter, what still fits, and a flag.

One lane is drawn for each finding, all over one range. A dotted line stands where the distance is
the same, a sand-coloured strip over what is too small to matter, a bar over what still fits and a
flag at the estimate. A full bar and a full flag mean settled, a dashed bar and an open flag too
close to call; the flag blows towards farther or shorter. What runs out of the lane ends in a
chevron.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from evenglide.report.findings import Finding
from evenglide.report.look import LIGHT
from evenglide.report.pen import Ruler, Spec, picture, points, rule, strip, uprights
from evenglide.report.wording import Effects
from evenglide.show.numbers import plain, round_step, with_unit
from evenglide.typing import Interval

LANE_WIDTH = 434
LANE_HEIGHT = 58
SMALL_WIDTH = 200
SMALL_HEIGHT = 24
INSET = 2
"""Room beside the track, so that a mark at its end is not cut. [px]"""

GROUND, SMALL_GROUND = 40, 17
"""Depth of the ground below the top of a lane. [px]"""

BAR = 10
POLE, SMALL_POLE = 20.5, 9.0
"""Half the height of a flag's pole. [px]"""

FOOT, SMALL_FOOT = 9.0, 5.0
"""How far the pole reaches below the ground. [px]"""

STRIP_TOP, STRIP_FOOT = 36, 14
CHEVRON_ROOM = 12
"""Where a bar that runs out of the lane stops short, to leave room for its chevron. [px]"""

STEPS_WANTED = 4
"""Round numbers from the middle of a lane to its end, at most; the end is one of them."""

QUIET = 0.72
"""Size of an open flag beside a full one: an estimate that settles nothing must not catch the eye."""

FARTHEST = 2.5
"""A bar is cut where it reaches more than so many times as far out as the rest."""

LOWEST_PERCENT = -100.0

FLAG_RIGHT = "M0,1L0,-1L0.82,-0.7L0,-0.4Z"
FLAG_LEFT = "M0,1L0,-1L-0.82,-0.7L0,-0.4Z"
CHEVRON_RIGHT = "M-0.5,-1L0.5,0L-0.5,1"
CHEVRON_LEFT = "M0.5,-1L-0.5,0L0.5,1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """What stands in one lane, in the unit in which effects are written (percent or the response's)."""

    estimate: float | None
    bar: Interval | None
    margin: tuple[float, float] | None
    kind: str
    settled: bool

    @property
    def colour(self) -> str:
        """Colour of bar and flag."""
        return LIGHT[self.kind]


def lane_of(finding: Finding) -> Lane:
    """Put a finding into the numbers of its lane."""
    effects, contrast = finding.effects, finding.contrast
    kind = {"higher": "farther", "lower": "shorter", "alike": "alike"}.get(contrast.verdict, "soft")
    return Lane(
        estimate=None if contrast.estimate is None else effects.shown(contrast.estimate),
        bar=shown_interval(effects, finding.bar),
        margin=effects.shown_margin,
        kind=kind,
        settled=finding.is_settled,
    )


def shown_interval(effects: Effects, interval: Interval | None) -> Interval | None:
    """Put an interval into the unit in which effects are written; an open end stays open."""
    if interval is None:
        return None
    low, high = interval
    return (None if low is None else effects.shown(low), None if high is None else effects.shown(high))


def shared_track(
    lanes: Iterable[Lane], *, percent: bool, left: float = INSET, right: float = LANE_WIDTH - INSET
) -> Ruler:
    """Choose one range for all lanes: every flag and strip in it, and bars as far as they leave room.

    A bar of a hopelessly wide interval would squeeze all others; it is cut where it reaches more
    than `FARTHEST` times as far out as the rest. A distance cannot shrink by more than 100 %.

    Parameters
    ----------
    lanes : iterable of Lane
    percent : bool
        Effects are percent changes.
    left, right : float, optional
        Ends of the track in the picture. [px]
    """
    lanes = list(lanes)
    near = [1.15 * abs(lane.estimate) for lane in lanes if lane.estimate is not None]
    near += [2.2 * max(abs(edge) for edge in lane.margin) for lane in lanes if lane.margin]
    far = [
        max(abs(end) for end in lane.bar if end is not None) for lane in lanes if lane.bar and any(lane.bar)
    ]
    limit = FARTHEST * max([*near, median(far) if far else 0.0])
    reach = max([*near, *(min(1.04 * end, limit) for end in far)], default=0.0) or 1.0
    step = round_step(reach / STEPS_WANTED)
    edge = math.ceil(reach / step - 1e-9) * step
    return Ruler(low=max(-edge, LOWEST_PERCENT) if percent else -edge, high=edge, left=left, right=right)


def lane_layers(lane: Lane, track: Ruler, *, top: float = 0) -> list[Spec]:
    """Draw one lane as Vega-Lite layers, its upper edge at `top`."""
    ground = top + GROUND
    edges = {"top": ground - STRIP_TOP, "foot": ground + STRIP_FOOT}
    layers = [strip(*_within(lane.margin, track), track, **edges)] if lane.margin else []
    layers.append(rule(track.low, track.high, track, depth=ground, strokeWidth=1.5))
    layers.append(_same(track, **edges))
    layers += _bar(lane, track, ground)
    if lane.estimate is not None:
        layers.append(_flag(lane, track, foot=ground + FOOT, pole=POLE, line=1.9))
    return layers


def lane_chart(lane: Lane, track: Ruler) -> Spec:
    """Draw one lane alone, without words: the sentence beside it and the scale below are the page's."""
    return picture(lane_layers(lane, track), width=LANE_WIDTH, height=LANE_HEIGHT)


def small_lane_chart(lane: Lane, track: Ruler) -> Spec:
    """Draw a lane as high as a line of text, for one line of a table."""
    edges = {"top": 0.0, "foot": float(SMALL_HEIGHT)}
    layers = [strip(*_within(lane.margin, track), track, **edges)] if lane.margin else []
    layers.append(rule(track.low, track.high, track, depth=SMALL_GROUND, strokeWidth=1.5))
    layers.append(_same(track, **edges))
    if lane.bar is not None and (ends := _clipped(lane.bar, track)):
        dash = [1, 0] if lane.settled else [3, 4]
        pen: Spec = {"color": lane.colour, "strokeWidth": 3, "strokeCap": "round", "strokeDash": dash}
        layers.append({**rule(*ends, track, depth=SMALL_GROUND), "mark": {"type": "rule", **pen}})
    if lane.estimate is not None and track.low <= lane.estimate <= track.high:
        layers.append(_flag(lane, track, foot=SMALL_GROUND + SMALL_FOOT, pole=SMALL_POLE, line=1.4))
    return picture(layers, width=SMALL_WIDTH, height=SMALL_HEIGHT)


def end_labels(track: Ruler, effects: Effects) -> tuple[str, str]:
    """Words for both ends of a track: ``20 % shorter``, ``20 % farther``."""
    wording, unit = effects.wording, effects.shown_unit
    return (
        f"{with_unit(plain(-track.low), unit)} {wording.less}",
        f"{with_unit(plain(track.high), unit)} {wording.more}",
    )


def _same(track: Ruler, *, top: float, foot: float) -> Spec:
    dotted: Spec = {"strokeDash": [1.5, 3], "strokeWidth": 1.5, "strokeCap": "round", "color": LIGHT["soft"]}
    return uprights([0.0], track, top=top, foot=foot, **dotted)


def _bar(lane: Lane, track: Ruler, ground: float) -> list[Spec]:
    """Draw what still fits: full or dashed, its ends round, or a chevron where it runs out of the lane."""
    if lane.bar is None:
        return []
    cut_low = lane.bar[0] is None or lane.bar[0] < track.low
    cut_high = lane.bar[1] is None or lane.bar[1] > track.high
    ends = _clipped(lane.bar, track, room=CHEVRON_ROOM * track.unit_per_pixel)
    if ends is None:
        return []
    mark: Spec = {"type": "bar", "height": BAR}
    for side, cut in (("Left", cut_low), ("Right", cut_high)):
        for corner in ("Top", "Bottom"):
            mark[f"cornerRadius{corner}{side}"] = 0 if cut else BAR / 2
    if lane.settled:
        mark["color"] = lane.colour
    else:
        mark |= {"fill": None, "stroke": lane.colour, "strokeWidth": 1.75, "strokeDash": [4, 3]}
    values = {"values": [{"low": ends[0], "high": ends[1]}]}
    encoding = track.along("low", to="high") | {"y": {"value": ground}}
    layers: list[Spec] = [{"data": values, "mark": mark, "encoding": encoding}]
    outline: Spec = {"size": 200, "fill": None, "stroke": lane.colour, "strokeWidth": 1.75}
    if cut_low:
        layers.append(points([(track.low, ground)], track, shape=CHEVRON_LEFT, xOffset=4, **outline))
    if cut_high:
        layers.append(points([(track.high, ground)], track, shape=CHEVRON_RIGHT, xOffset=-4, **outline))
    return layers


def _flag(lane: Lane, track: Ruler, *, foot: float, pole: float, line: float) -> Spec:
    """Plant the flag, its pole's foot at a depth; an open one is smaller and thinner."""
    assert lane.estimate is not None
    if not lane.settled:
        pole, line = QUIET * pole, QUIET * line
    return points(
        [(lane.estimate, foot - pole)],
        track,
        shape=FLAG_LEFT if lane.estimate < 0 else FLAG_RIGHT,
        size=(2 * pole) ** 2,
        fill=lane.colour if lane.settled else LIGHT["paper"],
        stroke=lane.colour,
        strokeWidth=line,
        strokeJoin="round",
        strokeCap="round",
    )


def _within(margin: tuple[float, float], track: Ruler) -> tuple[float, float]:
    return max(margin[0], track.low), min(margin[1], track.high)


def _clipped(bar: Interval, track: Ruler, *, room: float = 0.0) -> tuple[float, float] | None:
    """Both ends of a bar within the track, short of its end by `room` where cut; None where none is left."""
    low = track.low + room if bar[0] is None or bar[0] < track.low else bar[0]
    high = track.high - room if bar[1] is None or bar[1] > track.high else bar[1]
    return (low, high) if low <= high else None
