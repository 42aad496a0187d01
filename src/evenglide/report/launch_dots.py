"""Every launch as a dot where it stopped, preparation by preparation.

One row for each preparation, rounds from the first to the last; along a row the distance, down a
row the time, so that wear and drift show as a slant. A peg stands at what the preparation gave.
Colour and shape tell the treatment, and its name stands in the row. Launches set aside lie apart at
the foot; a reading that is only a lower bound carries a tick towards farther.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evenglide.report.look import CIRCLE, LIGHT, TreatmentMark, treatment_mark
from evenglide.report.pen import (
    Ruler,
    Spec,
    hairlines,
    numbers_at,
    picture,
    points,
    shortened,
    sign,
    uprights,
    words,
)
from evenglide.report.preparations import Launch, Preparation, round_name
from evenglide.show.numbers import plain, round_ticks, whole

DRAWN_AT_MOST = 2_000
"""Launches drawn on one page; more would be a grey cloud and a slow page."""

ROW = 24
ROW_LEAST_WITH_LABEL = 12
ROW_LEAST_WITH_LINE = 4
ROUND_GAP = 9
TALLEST = 1_500
AXIS = 40
AXIS_ABOVE = 26
TALL = 420
"""Height of all rows from which the distances stand above them too. [px]"""

DOT = 36
"""Area of a launch: six pixels across. [px2]"""

UNREAD_PITCH, UNREAD_AT_MOST = 14, 12
"""Room for a launch set aside without a reading, and how many of them are drawn one by one. [px]"""

PEG = "M-0.22,-1L0.22,-1L0.22,-0.82L0.06,-0.82L0.06,0.7L0,1L-0.06,0.7L-0.06,-0.82L-0.22,-0.82Z"
CROSSED = "M-1,0A1,1,0,1,1,1,0A1,1,0,1,1,-1,0M-0.7,-0.7L0.7,0.7M-0.7,0.7L0.7,-0.7"
TICK = "M0.5,0L2.4,0M1.6,-0.7L2.4,0L1.6,0.7"

Drawn = Sequence[tuple[Preparation, tuple[Launch, ...]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where things stand across the picture. [px]."""

    width: float
    labels: float
    round_names: float
    ticks: int

    @property
    def left(self) -> float:
        """Left end of the lane."""
        return self.labels + self.round_names


WIDE = Frame(width=740, labels=146, round_names=74, ticks=6)
NARROW = Frame(width=342, labels=92, round_names=0, ticks=5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A preparation and the depth of its row. [px]."""

    preparation: Preparation
    top: float
    height: float
    begins_round: bool

    @property
    def middle(self) -> float:
        """Depth of the middle of the row."""
        return self.top + self.height / 2


def thinned(preparations: Sequence[Preparation], *, budget: int) -> Drawn:
    """Choose the launches to draw: all, or so many, spread evenly over each preparation."""
    total = sum(len(preparation.launches) for preparation in preparations)
    if total <= budget:
        return tuple((preparation, preparation.launches) for preparation in preparations)
    step = total / budget
    chosen, passed = [], 0
    for preparation in preparations:
        kept = tuple(
            launch
            for place, launch in enumerate(preparation.launches, start=passed)
            if int((place + 1) / step) > int(place / step)
        )
        passed += len(preparation.launches)
        chosen.append((preparation, kept))
    return tuple(chosen)


def launch_chart(
    preparations: Sequence[Preparation], *, frame: Frame, axis_title: str, budget: int = DRAWN_AT_MOST
) -> Spec:
    """Draw every launch on one surface.

    Parameters
    ----------
    preparations : sequence of Preparation
        Round by round, from `preparations_on`.
    frame : Frame
        `WIDE` or `NARROW`.
    axis_title : str
        What lies along the lane, with its unit.
    budget : int, optional
        Launches drawn at most.

    Returns
    -------
    dict
        Vega-Lite, without grammar version and configuration.
    """
    rows = _rows(preparations)
    drawn = thinned(preparations, budget=budget)
    low, high = _ends(preparations)
    ruler = Ruler(low=low, high=high, left=frame.left, right=frame.width)
    foot = rows[-1].top + rows[-1].height if rows else 0.0
    head = rows[0].top if rows else 0.0
    parted = [row.top + row.height for row in rows if row.height >= ROW_LEAST_WITH_LINE]
    layers = [hairlines(parted, left=frame.left, right=frame.width), *_labels(rows, frame)]
    for code in sorted({preparation.treatment for preparation in preparations}):
        layers += _treatment(code, rows, drawn=drawn, ruler=ruler)
    aside, foot = _aside_rows(drawn, ruler, frame=frame, foot=foot)
    layers = [*_axis(ruler, foot, ticks=frame.ticks, title=axis_title, head=head), *layers, *aside]
    return picture(layers, width=frame.width, height=foot + AXIS)


def _aside_rows(drawn: Drawn, ruler: Ruler, *, frame: Frame, foot: float) -> tuple[list[Spec], float]:
    """Lay launches set aside in rows at the foot: those that were read where they stopped, others apart."""
    layers: list[Spec] = []
    for marks in (_set_aside, _unread):
        depth = foot + ROUND_GAP + ROW / 2
        if not (row := marks(drawn, ruler, depth=depth)):
            continue
        if not layers:
            layers.append(words([("set aside", depth)], left=frame.round_names, color=LIGHT["soft"]))
        layers += row
        foot += (ROUND_GAP if len(layers) == len(row) + 1 else 0) + ROW
    return layers, foot


def _rows(preparations: Sequence[Preparation]) -> list[Row]:
    """Give each preparation its row; rounds stand a little apart while there is room for names."""
    rounds = len({preparation.block for preparation in preparations})
    room = TALLEST - ROUND_GAP * min(rounds, 40)
    height = min(ROW, room / max(len(preparations), 1))
    gap = 0.0 if height < ROW_LEAST_WITH_LABEL else ROUND_GAP
    crowded = height < ROW_LEAST_WITH_LABEL
    rows: list[Row] = []
    top = float(ROW * len({preparation.treatment for preparation in preparations})) if crowded else 0.0
    top += AXIS_ABOVE if height * len(preparations) > TALL else 0.0
    block = None
    for preparation in preparations:
        begins = preparation.block != block
        top += gap if begins and rows else 0.0
        rows.append(Row(preparation=preparation, top=top, height=height, begins_round=begins))
        top, block = top + height, preparation.block
    return rows


def _ends(preparations: Sequence[Preparation]) -> tuple[float, float]:
    """Shortest and longest reading, with some room on both sides."""
    launches = [launch for preparation in preparations for launch in preparation.launches]
    values = [launch.value for launch in launches if launch.value is not None] or [0.0, 1.0]
    low, high = min(values), max(values)
    room = 0.04 * (high - low) or 0.5
    return low - room, high + 1.5 * room


def _axis(ruler: Ruler, foot: float, *, ticks: int, title: str, head: float) -> list[Spec]:
    """Faint uprights at round distances, their numbers at the foot and, with room there, the head."""
    numbers = round_ticks(ruler.low, ruler.high, about=ticks)
    depths = (head - AXIS_ABOVE / 2, foot + 14) if head >= AXIS_ABOVE else (foot + 14,)
    written = [(number, depth, plain(number)) for depth in depths for number in numbers]
    return [
        uprights(numbers, ruler, top=head, foot=foot + 4, strokeWidth=1, strokeDash=[1, 3]),
        numbers_at(written, ruler, align="center"),
        words([(title, foot + 32)], left=ruler.right, align="right", color=LIGHT["soft"]),
    ]


def _labels(rows: Sequence[Row], frame: Frame) -> list[Spec]:
    """Name of the round once, and of the treatment in each row; a key where rows are too low for names."""
    if rows and rows[0].height < ROW_LEAST_WITH_LABEL:
        return _key(rows, frame)
    layers = []
    for code in sorted({row.preparation.treatment for row in rows}):
        own = [
            (shortened(row.preparation.treatment_name, room=frame.labels - 12), row.middle)
            for row in rows
            if row.preparation.treatment == code
        ]
        layers.append(words(own, left=frame.round_names, color=treatment_mark(code).colour))
    rounds = [
        (shortened(round_name(row.preparation.block), room=frame.round_names - 6), row.middle)
        for row in rows
        if row.begins_round
    ]
    if frame.round_names and any(row.preparation.block for row in rows):
        layers.append(words(rounds, left=0, color=LIGHT["soft"]))
    return layers


def _key(rows: Sequence[Row], frame: Frame) -> list[Spec]:
    """Name each treatment once, beside its shape, above all rows."""
    names = {row.preparation.treatment: row.preparation.treatment_name for row in rows}
    layers = []
    for place, code in enumerate(sorted(names)):
        mark, depth = treatment_mark(code), 10.0 + ROW * place
        name = shortened(names[code], room=frame.width - 30)
        layers.append(sign(left=6, depth=depth, **_painted(mark)))
        layers.append(words([(name, depth)], left=18, color=mark.colour))
    return layers


def _treatment(code: int, rows: Sequence[Row], *, drawn: Drawn, ruler: Ruler) -> list[Spec]:
    """Draw launches, lower bounds and pegs of one treatment."""
    mark = treatment_mark(code)
    dots, bounds, pegs = [], [], []
    for row, (preparation, launches) in zip(rows, drawn, strict=True):
        if preparation.treatment != code:
            continue
        for launch in launches:
            if launch.cause is None and launch.value is not None:
                dot = (launch.value, row.top + row.height * (0.12 + 0.76 * launch.place))
                dots.append(dot)
                bounds += [dot] if launch.at_least else []
        if preparation.value is not None and launches:
            pegs.append((preparation.value, row.middle))
    peg: Spec = {"shape": PEG, "size": (0.9 * rows[0].height) ** 2, "fill": mark.colour, "stroke": None}
    layers = [_dots(dots, ruler, mark), points(pegs, ruler, **peg)]
    if bounds:
        layers.append(points(bounds, ruler, shape=TICK, **_outline(mark, size=DOT * 1.6)))
    return layers


def _dots(places: Sequence[tuple[float, float]], ruler: Ruler, mark: TreatmentMark) -> Spec:
    faint = {"fillOpacity": 0.7, "strokeOpacity": 0.8}
    return points(places, ruler, **_painted(mark), **faint)


def _painted(mark: TreatmentMark) -> Spec:
    """Shape and paint of one launch; solid shapes a little larger, to weigh as much as the open circle."""
    fill, stroke = (mark.colour, None) if mark.filled else (None, mark.colour)
    size = DOT if mark.shape == CIRCLE else DOT + 6
    return {"shape": mark.shape, "size": size, "fill": fill, "stroke": stroke, "strokeWidth": 1.1}


def _outline(mark: TreatmentMark, *, size: float) -> Spec:
    return {"size": size, "fill": None, "stroke": mark.colour, "strokeWidth": 1.2}


def _set_aside(drawn: Drawn, ruler: Ruler, *, depth: float) -> list[Spec]:
    """Draw launches set aside at the foot, hollow and crossed, each in its treatment's colour."""
    by_treatment: dict[int, list[tuple[float, float]]] = {}
    for preparation, launches in drawn:
        for launch in launches:
            if launch.cause is not None and launch.value is not None:
                by_treatment.setdefault(preparation.treatment, []).append((launch.value, depth))
    return [
        points(places, ruler, shape=CROSSED, **_outline(treatment_mark(code), size=80))
        for code, places in sorted(by_treatment.items())
    ]


def _unread(drawn: Drawn, ruler: Ruler, *, depth: float) -> list[Spec]:
    """Draw launches set aside without a reading side by side at the lane's left end, and count them."""
    codes = sorted(
        preparation.treatment
        for preparation, launches in drawn
        for launch in launches
        if launch.cause is not None and launch.value is None
    )
    if not codes:
        return []
    step = UNREAD_PITCH * ruler.unit_per_pixel
    shown = codes[:UNREAD_AT_MOST]
    places = [(code, (ruler.low + step * (place + 0.6), depth)) for place, code in enumerate(shown)]
    layers = [
        points(
            [spot for own, spot in places if own == code],
            ruler,
            shape=CROSSED,
            **_outline(treatment_mark(code), size=56),
        )
        for code in sorted(set(shown))
    ]
    told = f"{whole(len(codes))} without a reading"
    beside = ruler.low + step * (len(shown) + 0.4)
    return [*layers, numbers_at([(beside, depth, told)], ruler, align="left")]
