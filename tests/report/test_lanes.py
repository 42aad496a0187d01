from __future__ import annotations

import math

import pytest

from evenglide.report.findings import findings_of
from evenglide.report.lanes import (
    CHEVRON_LEFT,
    CHEVRON_RIGHT,
    FLAG_LEFT,
    FLAG_RIGHT,
    Lane,
    end_labels,
    lane_chart,
    lane_of,
    shared_track,
    small_lane_chart,
)
from evenglide.report.look import LIGHT
from evenglide.report.pen import Ruler, Spec
from evenglide.report.wording import DISTANCE
from evenglide.show.numbers import NO_BREAK
from tests.report import made_up

TRACK = Ruler(low=-20.0, high=20.0, left=0, right=400)


def lane(**changes: object) -> Lane:
    facts = {"estimate": 9.0, "bar": (4.0, 15.0), "margin": (-4.8, 5.0), "kind": "farther", "settled": True}
    return Lane(**{**facts, **changes})  # type: ignore[arg-type]


def marks(chart: Spec, kind: str) -> list[dict[str, object]]:
    layers = chart["layer"]
    assert isinstance(layers, list)
    return [layer["mark"] for layer in layers if layer["mark"]["type"] == kind]


def shapes(chart: Spec) -> list[object]:
    return [mark["shape"] for mark in marks(chart, "point")]


def test_settled_is_full_and_open_is_dashed() -> None:
    (bar,) = marks(lane_chart(lane(), TRACK), "bar")
    assert bar["color"] == LIGHT["farther"]
    assert "strokeDash" not in bar
    (bar,) = marks(lane_chart(lane(kind="soft", settled=False), TRACK), "bar")
    assert bar["fill"] is None
    assert bar["strokeDash"]


def test_the_flag_blows_towards_the_estimate_and_is_open_when_open() -> None:
    assert shapes(lane_chart(lane(), TRACK)) == [FLAG_RIGHT]
    chart = lane_chart(lane(estimate=-9.0, bar=(-15.0, -4.0), settled=False), TRACK)
    assert shapes(chart) == [FLAG_LEFT]
    (flag,) = marks(chart, "point")
    assert flag["fill"] == LIGHT["paper"]
    (full,) = marks(lane_chart(lane(), TRACK), "point")
    for weight in ("size", "strokeWidth"):
        assert flag[weight] < full[weight]  # type: ignore[operator]  # what settles nothing is quieter


def test_what_leaves_the_lane_ends_in_a_chevron() -> None:
    assert shapes(lane_chart(lane(bar=(-50.0, 15.0)), TRACK)) == [CHEVRON_LEFT, FLAG_RIGHT]
    assert shapes(lane_chart(lane(bar=(4.0, None)), TRACK)) == [CHEVRON_RIGHT, FLAG_RIGHT]
    assert shapes(lane_chart(lane(bar=(None, None)), TRACK)) == [CHEVRON_LEFT, CHEVRON_RIGHT, FLAG_RIGHT]


def test_without_a_margin_no_strip_without_an_estimate_no_flag() -> None:
    assert marks(lane_chart(lane(margin=None), TRACK), "rect") == []
    chart = lane_chart(lane(estimate=None, bar=None), TRACK)
    assert marks(chart, "point") == []
    assert marks(chart, "bar") == []
    assert len(marks(chart, "rect")) == 1


def test_one_range_for_all_lanes_with_every_flag_and_strip_in_it() -> None:
    lanes = [lane_of(finding) for finding in findings_of(made_up.answer(), DISTANCE)]
    track = shared_track(lanes, percent=True)
    assert track.low == -track.high
    for one in lanes:
        assert one.estimate is not None and one.margin is not None
        assert track.low < one.estimate < track.high
        assert track.low < one.margin[0] < one.margin[1] < track.high


def test_a_hopeless_bar_does_not_squeeze_the_others() -> None:
    track = shared_track([lane(), lane(), lane(bar=(-900.0, 900.0))], percent=False)
    assert track.high <= 50
    assert shared_track([lane(estimate=None, bar=None, margin=None)], percent=False).high > 0


def test_nothing_is_drawn_below_minus_a_hundred_percent() -> None:
    track = shared_track([lane(estimate=150.0, bar=(20.0, 300.0))], percent=True)
    assert track.low == -100.0
    assert track.high >= 172.5


def test_ends_of_the_track_in_words() -> None:
    (finding, *_) = findings_of(made_up.answer(), DISTANCE)
    words = [text.replace(NO_BREAK, " ") for text in end_labels(TRACK, finding.effects)]
    assert words == ["20 % shorter", "20 % farther"]


def test_a_lane_shows_percent_not_logarithms() -> None:
    finding = next(findings_of(made_up.answer(), DISTANCE))
    assert finding.contrast.estimate is not None
    assert lane_of(finding).estimate == pytest.approx(100 * math.expm1(finding.contrast.estimate))


@pytest.mark.parametrize("draw", [lane_chart, small_lane_chart])
def test_no_estimate_is_a_square_or_a_diamond(draw: object) -> None:
    assert callable(draw)
    drawn = {str(shape) for shape in shapes(draw(lane(), TRACK))}
    assert drawn.isdisjoint({"square", "diamond"})
